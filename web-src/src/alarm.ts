// Sound and vibration when it is time to be back and when a fire is off, where the browser allows them. A browser makes
// no sound before somebody has touched the page; what is wanted is kept, and begins with the next touch.

import { instant } from "./when";

const KEY = "pitreckon-sound";
const BEATS = [0, 0.28, 0.56];
let context: AudioContext | null = null;
let embers: Set<string> | null = null;
let told = "";

function wanted(): boolean {
  return localStorage.getItem(KEY) === "on";
}

function wake(): void {
  context ??= new AudioContext();
  if (context.state === "suspended") void context.resume();
}

export function sound(): void {
  navigator.vibrate?.([300, 120, 300, 120, 300]);
  document.body.dataset.sounded = String(Number(document.body.dataset.sounded ?? 0) + 1);
  if (!context || context.state !== "running") return;
  for (const beat of BEATS) {
    const at = context.currentTime + beat;
    const tone = new OscillatorNode(context, { type: "triangle", frequency: 740 });
    const loud = new GainNode(context, { gain: 0 });
    loud.gain.setValueAtTime(0, at);
    loud.gain.linearRampToValueAtTime(0.5, at + 0.02);
    loud.gain.linearRampToValueAtTime(0, at + 0.2);
    tone.connect(loud).connect(context.destination);
    tone.start(at);
    tone.stop(at + 0.22);
  }
}

/** Is it time, or has something begun to be wrong since the last look? */
function listen(): void {
  const first = document.querySelector<HTMLElement>(".first");
  if (!first) return;
  const now = new Set((first.dataset.embers ?? "").split(";").filter(Boolean));
  const fresh = embers !== null && [...now].some((each) => !embers?.has(each));
  embers = now;
  document.body.dataset.listened = String(Number(document.body.dataset.listened ?? 0) + 1);
  const back = first.dataset.back ?? "";
  const due = back !== "" && back !== told && Date.parse(back) <= Date.parse(instant());
  if (due) told = back;
  if ((fresh || due) && wanted()) sound();
}

export function startAlarm(): void {
  window.setInterval(listen, 1000);
  document.addEventListener("pointerdown", () => {
    if (wanted()) wake();
  });
}

/** The buttons of a page that turn it on and try it. */
export function alarmButtons(): void {
  const [turn, test] = [document.getElementById("sound"), document.getElementById("sound-test")];
  const show = (): void => {
    if (!turn) return;
    turn.setAttribute("aria-pressed", String(wanted()));
    turn.textContent = (wanted() ? turn.dataset.on : turn.dataset.off) ?? "";
  };
  turn?.addEventListener("click", () => {
    localStorage.setItem(KEY, wanted() ? "off" : "on");
    wake();
    show();
  });
  test?.addEventListener("click", () => {
    wake();
    window.setTimeout(sound, 60);
  });
  show();
}
