// Temperatures over time: what was measured as marks, each pit and probe with a shape of its own; what is reckoned as
// smoke. A moment is read off by a finger, a mouse or the arrow keys.

import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { boot } from "./boot";
import { drawMark, markOf, markPicture, type Mark } from "./marks";
import { drawStrips, openAt, type Strip } from "./strips";
import { instant } from "./when";
import { catchFingers, closer, pressKey, readAt, showStretch, view, type Whole } from "./view";

interface Band {
  what: string;
  on: string;
  at: number[];
  low: (number | null)[];
  mid: (number | null)[];
  high: (number | null)[];
}
interface Measured {
  what: string;
  on: string;
  piece: number | null;
  at: number[];
  value: number[];
}
interface Answer {
  now: number | null;
  zone: string;
  bands: Band[];
  measured: Measured[];
  strips: Strip[];
}
/** A line of the key: its name, its picture, and what it says at a moment. */
interface Line {
  name: string;
  picture: string;
  at: number[];
  value: (number | null)[];
  mark?: Mark;
  of?: number;
}

const DASHES = [[], [7, 4], [2, 3], [10, 3, 2, 3], [4, 4]];
/** A measured number says nothing of a moment further away than this [s]. */
const NEAR_S = 20 * 60;
const APART_PX = 26;
const OPEN_PICTURE = '<path d="M2 8H34"/><path class="smoke" d="M6 8Q12 2 18 2T30 8Q24 13 18 13T6 8Z"/>';
let whole: Whole | null = null;

function scaled(value: number | null): number | null {
  return value === null || boot.degrees === "C" ? value : value * 1.8 + 32;
}

function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

/** Smoke: a veil, and hatching that tells one band from the next. */
export function smoke(ink: string, slant: number): CanvasPattern | string {
  const tile = document.createElement("canvas");
  const size = 9 * devicePixelRatio;
  tile.width = tile.height = size;
  const pen = tile.getContext("2d");
  if (!pen) return "transparent";
  pen.fillStyle = pen.strokeStyle = ink;
  pen.globalAlpha = 0.1;
  pen.fillRect(0, 0, size, size);
  pen.globalAlpha = 0.38;
  pen.lineWidth = devicePixelRatio;
  pen.beginPath();
  if (slant % 3 === 2) {
    pen.moveTo(0, size / 2);
    pen.lineTo(size, size / 2);
  } else {
    pen.moveTo(0, slant % 3 === 0 ? size : 0);
    pen.lineTo(size, slant % 3 === 0 ? 0 : size);
  }
  pen.stroke();
  return pen.createPattern(tile, "repeat") ?? "transparent";
}

/** All lines on one axis of time, as uPlot wants them, and the key's. */
function table(answer: Answer, words: DOMStringMap): { data: uPlot.AlignedData; series: uPlot.Series[]; bands: uPlot.Band[]; lines: Line[] } {
  const ink = colour("--ink");
  const tables: uPlot.AlignedData[] = [];
  const series: uPlot.Series[] = [{}];
  const bands: uPlot.Band[] = [];
  const lines: Line[] = [];
  const counts: Record<string, number> = {};
  const said = (key: string, on: string): string => (words[key] ?? "{on}").replace("{on}", on);
  for (const line of answer.measured) {
    const value = line.value.map(scaled);
    const mark = markOf(line.what, (counts[line.what] = (counts[line.what] ?? 0) + 1) - 1);
    const byHand = line.what === "spot temperature";
    const key = byHand ? "wordHand" : line.what === "probe" ? "wordProbe" : "wordPit";
    const name = said(key, line.piece ? `${line.on} ${line.piece}` : line.on);
    tables.push([line.at, value]);
    lines.push({ name, picture: markPicture(mark), at: line.at, value, mark, of: series.length });
    series.push({ label: name, stroke: ink, width: byHand ? 0 : 1.5, points: { show: false }, spanGaps: true });
  }
  answer.bands.forEach((band, n) => {
    const of = series.length;
    const mid = band.mid.map(scaled);
    tables.push([band.at, band.high.map(scaled), mid, band.low.map(scaled)]);
    const name = said(band.what === "core" ? "wordCore" : "wordGrate", band.on);
    const dash = DASHES[n % DASHES.length] ?? [];
    const picture = `<rect class="smoke" x="2" y="2" width="32" height="12"/><path d="M2 8H34" stroke-dasharray="${dash.join(" ")}"/>`;
    lines.push({ name, picture, at: band.at, value: mid });
    series.push(
      { label: `${name}, high`, stroke: "transparent", points: { show: false } },
      { label: name, stroke: ink, width: 1.2, dash, points: { show: false }, spanGaps: true },
      { label: `${name}, low`, stroke: "transparent", points: { show: false } },
    );
    bands.push({ series: [of, of + 2], fill: () => smoke(ink, n) as unknown as string });
  });
  return { data: uPlot.join(tables), series, bands, lines };
}

/** The last answer of each address: what there is to be drawn without a network. */
const last = new Map<string, Answer>();

async function ask(where: string): Promise<Answer | undefined> {
  try {
    const asked = await fetch(where, { signal: AbortSignal.timeout(15_000) });
    if (asked.ok) last.set(where, (await asked.json()) as Answer);
  } catch {
    // away; what was known before is drawn
  }
  return last.get(where);
}

export async function drawChart(place: HTMLElement): Promise<void> {
  const answer = await ask(place.dataset.chart ?? "");
  if (!answer) return;
  if (answer.bands.length + answer.measured.length === 0) return;
  const { data, series, bands, lines } = table(answer, place.dataset);
  const [ink, paper] = [colour("--ink"), colour("--paper")];
  const times = data[0] ?? [];
  const [first, end] = [Number(times[0]), Number(times[times.length - 1])];
  const now = answer.now ?? Date.parse(instant()) / 1000; // before the first outlook
  const { canvas, key, under } = rooms(place);
  whole?.plot.destroy();
  const axis: uPlot.Axis = { stroke: ink, grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: ink }, font: "14px Atkinson Hyperlegible" };
  const options: uPlot.Options = {
    width: place.clientWidth,
    height: 300,
    series,
    bands,
    scales: {
      x: { range: (_u, min, max) => [min, max] },
      y: { range: (_u, min, max) => [Math.floor(min / 10 - 0.5) * 10, Math.ceil(max / 10 + 0.5) * 10] },
    },
    legend: { show: false },
    cursor: { show: false },
    tzDate: (at) => uPlot.tzDate(new Date(at * 1e3), answer.zone),
    axes: [
      { ...axis, values: (_u, ticks) => ticks.map((at) => hour(at, answer.zone)) },
      { ...axis, size: 46, values: (_u, ticks) => ticks.map((t) => `${t}°`) },
    ],
    hooks: {
      draw: [
        (plot) => {
          marks(plot, lines, ink, paper);
          upright(plot, answer.now, ink, []);
          if (view.at !== null) upright(plot, view.at, ink, [4, 4]);
          drawStrips(under, plot, answer.strips, { now, read: view.at, ink, paper });
        },
      ],
    },
  };
  const plot = new uPlot(options, data, canvas);
  const read = (): void => {
    plot.redraw(false);
    readOut(place, key, lines, view.at ?? now, answer);
  };
  whole = { plot, first, last: end, now, read };
  if (view.from !== null && view.to !== null) showStretch(whole, view.from, view.to);
  catchFingers(whole);
  read();
}

/** The parts of the chart: made once, so that a new answer takes nothing from under a finger. */
function rooms(place: HTMLElement): { canvas: HTMLElement; key: HTMLElement; under: HTMLCanvasElement } {
  const there = place.querySelector<HTMLElement>(".plot");
  if (there) return { canvas: there, key: place.querySelector(".chart-key") as HTMLElement, under: place.querySelector(".chart-strips") as HTMLCanvasElement };
  const canvas = Object.assign(document.createElement("div"), { className: "plot", tabIndex: 0 });
  canvas.setAttribute("role", "slider");
  canvas.setAttribute("aria-label", place.dataset.wordMoment ?? "");
  canvas.addEventListener("keydown", (pressed) => {
    if (whole && !pressed.ctrlKey && !pressed.metaKey && pressKey(whole, pressed.key)) pressed.preventDefault();
  });
  const ways = Object.assign(document.createElement("div"), { className: "chart-ways" });
  const button = (says: string | undefined, act: (all: Whole) => void): void => {
    const made = Object.assign(document.createElement("button"), { type: "button", className: "tap small", textContent: says ?? "" });
    made.addEventListener("click", () => whole && act(whole));
    ways.append(made);
  };
  button(place.dataset.wordCloser, (all) => closer(all, 2));
  button(place.dataset.wordWider, (all) => closer(all, 0.5));
  button(place.dataset.wordAll, (all) => {
    showStretch(all, all.first, all.last);
    readAt(all, null);
  });
  const key = Object.assign(document.createElement("ul"), { className: "chart-key" });
  const at = Object.assign(document.createElement("p"), { className: "chart-at" });
  const under = Object.assign(document.createElement("canvas"), { className: "chart-strips" });
  under.setAttribute("aria-hidden", "true"); // what it shows is read out with the moment
  place.replaceChildren(canvas, under, ways, at, key);
  return { canvas, key, under };
}

function hour(at: number, zone: string, minutes = false): string {
  const hour12 = boot.hands === "12";
  const how = hour12 && !minutes ? ({ hour: "numeric", hour12 } as const) : ({ hour: hour12 ? "numeric" : "2-digit", minute: "2-digit", hour12 } as const);
  return new Date(at * 1000).toLocaleTimeString("en-GB", { timeZone: zone, ...how });
}

function upright(plot: uPlot, at: number | null, ink: string, dash: number[]): void {
  if (at === null) return;
  const x = plot.valToPos(at, "x", true);
  if (x < plot.bbox.left - 1 || x > plot.bbox.left + plot.bbox.width + 1) return;
  plot.ctx.save();
  plot.ctx.strokeStyle = ink;
  plot.ctx.lineWidth = 2 * devicePixelRatio;
  plot.ctx.setLineDash(dash.map((each) => each * devicePixelRatio));
  plot.ctx.beginPath();
  plot.ctx.moveTo(x, plot.bbox.top);
  plot.ctx.lineTo(x, plot.bbox.top + plot.bbox.height);
  plot.ctx.stroke();
  plot.ctx.restore();
}

/** Marks along each measured line, as far apart as they can be told from each other. */
function marks(plot: uPlot, lines: Line[], ink: string, paper: string): void {
  const { ctx, bbox } = plot;
  for (const { mark, at, value } of lines) {
    if (!mark) continue;
    let before = -Infinity;
    for (let n = at.length - 1; n >= 0; n--) {
      const y = value[n];
      const x = plot.valToPos(at[n] as number, "x", true);
      if (y === null || y === undefined || x < bbox.left || x > bbox.left + bbox.width) continue;
      if (before !== -Infinity && before - x < APART_PX * devicePixelRatio) continue;
      before = x;
      drawMark(ctx, mark, x, plot.valToPos(y, "y", true), 5 * devicePixelRatio, ink, paper);
    }
  }
}

/** What a line says at a moment; null: nothing. */
function valueAt(line: Line, at: number): number | null {
  const after = line.at.findIndex((each) => each >= at);
  const [right, left] = [after < 0 ? line.at.length - 1 : after, Math.max((after < 0 ? line.at.length : after) - 1, 0)];
  const near = Math.abs((line.at[left] as number) - at) <= Math.abs((line.at[right] as number) - at) ? left : right;
  const away = Math.abs((line.at[near] as number) - at);
  return away <= (line.mark ? NEAR_S : 3 * NEAR_S) ? line.value[near] ?? null : null;
}

/** The lines in words with a sample of each, and what each says at the moment that is read off. */
function readOut(place: HTMLElement, key: HTMLElement, lines: Line[], at: number, answer: Answer): void {
  const when = view.at === null ? place.dataset.wordNow ?? "" : hour(at, answer.zone, true);
  const said: string[] = [];
  const row = (name: string, picture: string, text: string): HTMLLIElement => {
    const item = document.createElement("li");
    item.innerHTML = `<svg viewBox="0 0 36 16" width="36" height="16" aria-hidden="true">${picture}</svg>`;
    if (text !== "–") said.push(`${name} ${text}`);
    item.append(Object.assign(document.createElement("span"), { textContent: name }), Object.assign(document.createElement("b"), { textContent: text }));
    return item;
  };
  const opens = openAt(answer.strips ?? [], at).map(({ on, says, open }) => {
    const name = (place.dataset.wordOpen ?? "{on}: {act}").replace("{on}", on).replace("{act}", says);
    return row(name, OPEN_PICTURE, `${Math.round(100 * open)} %`);
  });
  key.replaceChildren(
    ...lines.map((line) => {
      const value = valueAt(line, at);
      return row(line.name, line.picture, value === null ? "–" : `${Math.round(value)} °${boot.degrees}`);
    }),
    ...opens,
  );
  const head = place.querySelector(".chart-at");
  if (head) head.textContent = when;
  const slider = place.querySelector<HTMLElement>(".plot");
  if (slider) slider.dataset.shows = `${view.from ?? whole?.first ?? at} ${view.to ?? whole?.last ?? at}`;
  slider?.setAttribute("aria-valuenow", String(Math.round(at)));
  slider?.setAttribute("aria-valuemin", String(Math.round(whole?.first ?? at)));
  slider?.setAttribute("aria-valuemax", String(Math.round(whole?.last ?? at)));
  slider?.setAttribute("aria-valuetext", `${when}: ${said.join(", ")}`);
}
