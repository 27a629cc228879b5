// Under the chart: each item as a strip on the chart's own axis, as Now has them: windows as smoke, what was done and seen
// as marks by their shape. What is pulled apart above is pulled apart here.

import type uPlot from "uplot";
import { smoke } from "./chart";

interface Plume {
  act: string;
  says: string;
  at: number[];
  open: number[];
}
export interface Strip {
  on: string;
  put_on: number;
  ready: number | null;
  windows: Plume[];
  done: { at: number; what: string; kind: "act" | "look"; says: string }[];
}

const TALL = 46;
const RAIL = 33;
const HALF = 11;
const FONT = "14px Atkinson Hyperlegible";
const LEAST = 0.05;

/** How likely each act can be done at a moment, where it is worth saying. */
export function openAt(strips: Strip[], at: number): { on: string; says: string; open: number }[] {
  const found: { on: string; says: string; open: number }[] = [];
  for (const strip of strips) {
    for (const each of strip.windows) {
      const n = each.at.findIndex((time) => time >= at);
      if (n < 1) continue;
      const [t0, t1] = [each.at[n - 1] as number, each.at[n] as number];
      const [p0, p1] = [each.open[n - 1] as number, each.open[n] as number];
      const open = p0 + ((p1 - p0) * (at - t0)) / (t1 - t0);
      if (open >= LEAST) found.push({ on: strip.on, says: each.says, open });
    }
  }
  return found;
}

interface Look {
  now: number;
  read: number | null;
  ink: string;
  paper: string;
}

export function drawStrips(canvas: HTMLCanvasElement, plot: uPlot, strips: Strip[] | undefined, look: Look): void {
  const all = strips ?? [];
  const wide = plot.width;
  canvas.hidden = all.length === 0;
  canvas.style.width = `${wide}px`;
  canvas.style.height = `${TALL * all.length}px`;
  canvas.width = wide * devicePixelRatio;
  canvas.height = TALL * all.length * devicePixelRatio;
  canvas.dataset.strips = String(all.length);
  const pen = canvas.getContext("2d");
  if (!pen) return;
  pen.scale(devicePixelRatio, devicePixelRatio);
  const left = plot.bbox.left / devicePixelRatio;
  const right = left + plot.bbox.width / devicePixelRatio;
  const x = (at: number): number => plot.valToPos(at, "x") + left;
  all.forEach((strip, row) => {
    pen.save();
    pen.translate(0, row * TALL);
    pen.font = FONT;
    pen.fillStyle = look.ink;
    pen.fillText(shortened(pen, strip.on, right), 0, 14, right);
    pen.beginPath();
    pen.rect(left, 0, right - left, TALL);
    pen.clip();
    rail(pen, strip, look, x);
    strip.windows.forEach((each, n) => plume(pen, each, n, look.ink, x));
    for (const each of strip.done) mark(pen, x(each.at), each.kind, look);
    pen.restore();
  });
  pen.save();
  for (const [at, dash] of [[look.now, []], [look.read, [4, 4]]] as [number | null, number[]][]) {
    if (at === null || x(at) < left || x(at) > right) continue;
    pen.strokeStyle = look.ink;
    pen.lineWidth = 2;
    pen.setLineDash(dash);
    pen.beginPath();
    pen.moveTo(x(at), 18);
    pen.lineTo(x(at), TALL * all.length);
    pen.stroke();
  }
  pen.restore();
}

function shortened(pen: CanvasRenderingContext2D, name: string, room: number): string {
  let text = name;
  while (text.length > 4 && pen.measureText(text).width > room) text = `${text.slice(0, -2).trimEnd()}…`;
  return text;
}

/** What has been lies dark on the rail; what is to come is dotted; a ring where it is ready. */
function rail(pen: CanvasRenderingContext2D, strip: Strip, look: Look, x: (at: number) => number): void {
  const ends = Math.max(strip.ready ?? 0, ...strip.windows.map((each) => each.at[each.at.length - 1] ?? 0), look.now);
  pen.strokeStyle = look.ink;
  for (const [from, to, wide, dash] of [[strip.put_on, Math.min(look.now, ends), 3, []], [Math.max(look.now, strip.put_on), ends, 2, [1, 5]]] as [number, number, number, number[]][]) {
    if (to <= from) continue;
    pen.lineWidth = wide;
    pen.setLineDash(dash);
    pen.beginPath();
    pen.moveTo(x(from), RAIL);
    pen.lineTo(x(to), RAIL);
    pen.stroke();
  }
  pen.setLineDash([]);
  if (strip.ready === null) return;
  pen.lineWidth = 2;
  pen.fillStyle = look.paper;
  pen.beginPath();
  pen.arc(x(strip.ready), RAIL, 4.5, 0, 2 * Math.PI);
  pen.fill();
  pen.stroke();
}

/** One window: as tall as it is likely to be open, with a hatch of its own. */
function plume(pen: CanvasRenderingContext2D, each: Plume, n: number, ink: string, x: (at: number) => number): void {
  const tall = (open: number): number => HALF * (0.25 + 0.75 * Math.sqrt(open));
  pen.beginPath();
  each.at.forEach((at, k) => pen.lineTo(x(at), RAIL - tall(each.open[k] as number)));
  for (let k = each.at.length - 1; k >= 0; k--) pen.lineTo(x(each.at[k] as number), RAIL + 0.8 * tall(each.open[k] as number));
  pen.closePath();
  const pattern = smoke(ink, n);
  if (typeof pattern !== "string") pattern.setTransform(new DOMMatrix().scale(1 / devicePixelRatio));
  pen.fillStyle = pattern;
  pen.fill();
}

/** An act is an upright stroke, a look a small diamond. */
function mark(pen: CanvasRenderingContext2D, x: number, kind: "act" | "look", look: Look): void {
  pen.strokeStyle = look.ink;
  pen.lineWidth = 2.5;
  pen.beginPath();
  if (kind === "act") {
    pen.moveTo(x, RAIL - 8);
    pen.lineTo(x, RAIL + 8);
  } else {
    pen.fillStyle = look.paper;
    for (const [dx, dy] of [[0, -5], [5, 0], [0, 5], [-5, 0]] as [number, number][]) pen.lineTo(x + dx, RAIL + dy);
    pen.closePath();
    pen.fill();
  }
  pen.stroke();
}
