import "@fontsource/atkinson-hyperlegible/latin-400.css";
import "@fontsource/atkinson-hyperlegible/latin-700.css";
import "./page.css";
import { boot } from "./boot";
import { catchForms, drawToSize, showOutbox } from "./look";
import { openOutbox, onOutbox } from "./outbox";
import { lookAgain } from "./again";
import { startAlarm } from "./alarm";
import { startTicking } from "./tick";
import { keepDrafts } from "./drafts";
import { makeSteps } from "./steps";
import { listen } from "./stream";
import { ageWords, serverSays, sinceHeard } from "./when";

document.documentElement.classList.add("script");
if (boot.now) serverSays(boot.now, boot.speed);

function age(): void {
  const place = document.getElementById("heard");
  if (!place || !boot.cook) return;
  const seconds = sinceHeard();
  const waits = Number(document.body.dataset.waiting ?? 0);
  const words = seconds > 30 ? `server not heard for ${ageWords(seconds)}` : "";
  const outbox = waits ? `${waits} waiting to be sent` : "";
  const text = [words, outbox].filter(Boolean).join(", ");
  if (place.textContent !== text) place.textContent = text;
  place.classList.toggle("old", Boolean(text));
}

const chart = document.getElementById("chart");
if (chart) {
  let near = false;
  const draw = async (): Promise<void> => {
    if (near) await (await import("./chart")).drawChart(chart);
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

const zone = document.querySelector<HTMLInputElement>("[data-zone]");
if (zone && !zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone;

makeSteps();
keepDrafts();
lookAgain();
catchForms();
showOutbox();
drawToSize();
onOutbox(age);
if (boot.token) void openOutbox();
listen();
startTicking();
startAlarm();
window.setInterval(age, 1000);
if ("serviceWorker" in navigator && boot.token) void navigator.serviceWorker.register("/sw.js").catch(() => undefined);
