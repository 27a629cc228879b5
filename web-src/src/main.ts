import "@fontsource/atkinson-hyperlegible/latin-400.css";
import "@fontsource/atkinson-hyperlegible/latin-700.css";
import "./page.css";
import { lookAgain } from "./again";
import { alarmButtons, startAlarm } from "./alarm";
import { boot, word } from "./boot";
import { drawDials } from "./dial";
import { keepDrafts } from "./drafts";
import { catchKeys, groupStops } from "./keys";
import { catchForms, drawToSize, showOutbox } from "./look";
import { openOutbox, onOutbox } from "./outbox";
import { startMeasuring } from "./photo";
import { liveInOneDocument } from "./rooms";
import { catchAdders, makeSteps } from "./steps";
import { listen } from "./stream";
import { startTicking, tickHere } from "./tick";
import { ageWords, serverSays, sinceHeard } from "./when";

/** How long the server may be silent before the page says so [s]. */
const SILENT_S = 20;

function age(): void {
  const place = document.getElementById("heard");
  if (!place || !boot.cook) return;
  const seconds = document.getElementById("part") ? sinceHeard() : 0; // the other pages do not listen
  const waits = Number(document.body.dataset.waiting ?? 0);
  const away = !navigator.onLine || seconds > SILENT_S;
  document.body.classList.toggle("away", away);
  const words = away ? `${word("Away")} ${seconds > SILENT_S ? word("Old").replace("{age}", ageWords(seconds)) : ""}` : "";
  const outbox = waits ? word("Waits").replace("{n}", String(waits)) : "";
  const text = [words.trim(), outbox].filter(Boolean).join(" ");
  if (place.textContent !== text) place.textContent = text;
  place.classList.toggle("old", Boolean(text));
}

function startChart(): void {
  const chart = document.getElementById("chart");
  if (!chart) return;
  let near = false;
  const draw = async (): Promise<void> => {
    const drawing = near && chart.isConnected ? await import("./chart").catch(() => null) : null;
    await drawing?.drawChart(chart);
  };
  new IntersectionObserver((seen) => {
    if (!near && seen.some((each) => each.isIntersecting)) {
      near = true;
      void draw();
    }
  }, { rootMargin: "200px" }).observe(chart);
  let soon: number | undefined;
  document.addEventListener("pitreckon:newer", () => {
    window.clearTimeout(soon);
    soon = window.setTimeout(() => void draw(), 1500);
  });
}

/** What each page needs that comes into the document. */
function startPage(): void {
  document.documentElement.classList.add("script");
  if (boot.now) serverSays(boot.now, boot.speed);
  const zone = document.querySelector<HTMLInputElement>("[data-zone]");
  if (zone && !zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone;
  makeSteps();
  groupStops();
  keepDrafts();
  lookAgain();
  drawToSize();
  drawDials();
  startMeasuring();
  startChart();
  listen();
  tickHere();
  alarmButtons();
  age();
  document.dispatchEvent(new CustomEvent("pitreckon:page"));
}

catchForms();
catchAdders();
catchKeys();
document.addEventListener("pitreckon:part", groupStops);
showOutbox();
onOutbox(age);
startTicking();
startAlarm();
startPage();
if (boot.token) void openOutbox();
liveInOneDocument(startPage);
window.setInterval(age, 1000);
if ("serviceWorker" in navigator && boot.token) void navigator.serviceWorker.register("/sw.js").catch(() => undefined);
