// How a chart is gone over: a finger or a mouse reads a moment off, two fingers pull the time apart, buttons and keys do
// both. The page scrolls on under one finger that goes up or down.

import type uPlot from "uplot";

const LEAST_S = 15 * 60;
const STEP_S: Record<string, number> = { ArrowLeft: -300, ArrowRight: 300, PageDown: -3600, PageUp: 3600 };

export interface View {
  /** What is shown [epoch s]; null: all. */
  from: number | null;
  to: number | null;
  /** The moment that is read off [epoch s]; null: now. */
  at: number | null;
}

export const view: View = { from: null, to: null, at: null };

interface Whole {
  plot: uPlot;
  first: number;
  last: number;
  now: number;
  read: () => void;
}

function shown(all: Whole): [number, number] {
  return [view.from ?? all.first, view.to ?? all.last];
}

/** Show a stretch of time, inside what there is and no narrower than a quarter of an hour. */
export function showStretch(all: Whole, from: number, to: number): void {
  const wide = Math.min(Math.max(to - from, LEAST_S), all.last - all.first);
  const begin = Math.min(Math.max(from, all.first), all.last - wide);
  const whole = wide >= all.last - all.first;
  view.from = whole ? null : begin;
  view.to = whole ? null : begin + wide;
  all.plot.setScale("x", { min: begin, max: begin + wide });
  all.read();
}

/** Pull the time apart about a moment; by more than 1: closer. */
export function closer(all: Whole, by: number, about?: number): void {
  const [from, to] = shown(all);
  const mid = about ?? Math.min(Math.max(view.at ?? all.now, from), to);
  showStretch(all, mid - (mid - from) / by, mid + (to - mid) / by);
}

export function readAt(all: Whole, at: number | null): void {
  view.at = at === null ? null : Math.min(Math.max(at, all.first), all.last);
  const [from, to] = shown(all);
  if (view.at !== null && (view.at < from || view.at > to)) {
    showStretch(all, view.at - (to - from) / 2, view.at + (to - from) / 2);
  }
  all.read();
}

/** Fingers on the plot. */
export function catchFingers(all: Whole): void {
  const over = all.plot.over;
  const down = new Map<number, number>();
  const time = (clientX: number): number => all.plot.posToVal(clientX - over.getBoundingClientRect().left, "x");
  let held: [number, number] | null = null; // the two times that lie under two fingers

  over.style.touchAction = "pan-y";
  over.addEventListener("pointerdown", (each) => {
    down.set(each.pointerId, each.clientX);
    if (down.size === 2) {
      const [one = 0, two = 0] = [...down.values()];
      held = [time(Math.min(one, two)), time(Math.max(one, two))];
    } else if (down.size === 1) readAt(all, time(each.clientX));
  });
  over.addEventListener("pointermove", (each) => {
    if (!down.has(each.pointerId)) {
      if (each.pointerType === "mouse") readAt(all, time(each.clientX));
      return;
    }
    down.set(each.pointerId, each.clientX);
    if (down.size === 1 && !held) readAt(all, time(each.clientX));
    if (down.size !== 2 || !held) return;
    const box = over.getBoundingClientRect();
    const [one, two] = [...down.values()].map((x) => x - box.left).sort((a, b) => a - b) as [number, number];
    if (two - one < 8) return;
    const perPixel = (held[1] - held[0]) / (two - one);
    showStretch(all, held[0] - one * perPixel, held[1] + (box.width - two) * perPixel);
  });
  const up = (each: PointerEvent): void => {
    down.delete(each.pointerId);
    if (down.size === 0) held = null;
  };
  over.addEventListener("pointerup", up);
  over.addEventListener("pointercancel", up);
  over.addEventListener("pointerleave", (each) => {
    up(each);
    if (each.pointerType === "mouse") readAt(all, null);
  });
}

/** One key; false: it is none of the chart's. */
export function pressKey(all: Whole, key: string): boolean {
  const step = STEP_S[key];
  if (step !== undefined) readAt(all, (view.at ?? all.now) + step);
  else if (key === "Home" || key === "End") readAt(all, key === "Home" ? all.first : all.last);
  else if (key === "Escape") readAt(all, null);
  else if (key === "+" || key === "=") closer(all, 2);
  else if (key === "-") closer(all, 0.5);
  else if (key === "0") showStretch(all, all.first, all.last);
  else return false;
  return true;
}

export type { Whole };
