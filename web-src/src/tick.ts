// What goes on by itself: rests and holds count down, the big clock goes, and its page keeps the screen awake.

import { boot } from "./boot";
import { instant } from "./when";

export function spanWords(seconds: number): string {
  const minutes = Math.max(Math.round(seconds / 60), 0);
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
}

function tick(): void {
  const now = Date.parse(instant());
  for (const each of document.querySelectorAll<HTMLElement>("[data-ends]")) {
    const left = (Date.parse(each.dataset.ends ?? "") - now) / 1000;
    const words = (document.body.dataset.wordLeft ?? "").replace("{state}", each.dataset.standing ?? "").replace("{span}", spanWords(left));
    const text = left > 0 ? words : each.dataset.standing ?? "";
    if (each.textContent !== text) each.textContent = text;
  }
  const hands = document.getElementById("hands");
  if (!hands) return;
  const hour12 = boot.hands === "12";
  const text = new Date(now).toLocaleTimeString("en-GB", {
    timeZone: hands.dataset.zoneOf, hour: hour12 ? "numeric" : "2-digit", minute: "2-digit", hour12,
  });
  if (hands.dataset.says === text) return;
  hands.dataset.says = text;
  const [hour = "", half = ""] = text.split(" ");
  hands.replaceChildren(hour, Object.assign(document.createElement("small"), { textContent: half ? ` ${half}` : "" }));
}

/** The screen stays on: by the browser's own lock, or where that is for secure pages alone by a picture that plays. */
async function stayAwake(): Promise<void> {
  const line = document.getElementById("awake");
  if (!line) return;
  let awake = false;
  try {
    await navigator.wakeLock.request("screen");
    awake = true;
  } catch {
    awake = await played();
  }
  line.textContent = (awake ? line.dataset.yes : line.dataset.no) ?? "";
}

async function played(): Promise<boolean> {
  try {
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = 2;
    const pen = canvas.getContext("2d");
    const picture = document.createElement("video");
    Object.assign(picture, { muted: true, loop: true, playsInline: true, srcObject: canvas.captureStream(1) });
    picture.className = "quiet";
    picture.setAttribute("aria-hidden", "true");
    document.body.append(picture);
    window.setInterval(() => pen?.fillRect(0, 0, 2, 2), 1000);
    await picture.play();
    return true;
  } catch {
    return false;
  }
}

export function startTicking(): void {
  window.setInterval(tick, 1000);
  document.addEventListener("pitreckon:part", tick);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") void stayAwake();
  });
}

export function tickHere(): void {
  tick();
  void stayAwake();
}
