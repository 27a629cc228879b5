// Temperatures over time: what was measured as lines, what is reckoned as smoke.

import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { boot } from "./boot";

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
}

const DASHES = [[], [7, 4], [2, 3], [10, 3, 2, 3], [4, 4]];
let drawn: uPlot | null = null;

function scaled(value: number | null): number | null {
  return value === null || boot.degrees === "C" ? value : value * 1.8 + 32;
}

function colour(name: string): string {
  return getComputedStyle(document.documentElement).getPropertyValue(name).trim();
}

function hatch(ink: string, slant: number): CanvasPattern | string {
  const tile = document.createElement("canvas");
  const size = 8 * devicePixelRatio;
  tile.width = tile.height = size;
  const pen = tile.getContext("2d");
  if (!pen) return "transparent";
  pen.strokeStyle = ink;
  pen.globalAlpha = 0.4;
  pen.lineWidth = devicePixelRatio;
  pen.beginPath();
  if (slant % 2 === 0) {
    pen.moveTo(0, size);
    pen.lineTo(size, 0);
  } else {
    pen.moveTo(0, 0);
    pen.lineTo(size, size);
  }
  pen.stroke();
  return pen.createPattern(tile, "repeat") ?? "transparent";
}

/** All lines on one axis of time, as uPlot wants them. */
function table(answer: Answer): { data: uPlot.AlignedData; series: uPlot.Series[]; bands: uPlot.Band[] } {
  const ink = colour("--ink");
  const tables: uPlot.AlignedData[] = [];
  const series: uPlot.Series[] = [{}];
  const bands: uPlot.Band[] = [];
  answer.bands.forEach((band, n) => {
    const of = series.length;
    tables.push([band.at, band.high.map(scaled), band.mid.map(scaled), band.low.map(scaled)]);
    const name = band.what === "core" ? `${band.on}, core` : `${band.on}, air at the grate`;
    const dash = DASHES[n % DASHES.length] ?? [];
    series.push(
      { label: `${name}, high`, stroke: "transparent", points: { show: false } },
      { label: `${name}, reckoned`, stroke: ink, width: 1.5, dash, points: { show: false }, spanGaps: true },
      { label: `${name}, low`, stroke: "transparent", points: { show: false } },
    );
    bands.push({ series: [of, of + 2], fill: () => hatch(ink, n) as unknown as string });
  });
  for (const line of answer.measured) {
    tables.push([line.at, line.value.map(scaled)]);
    const spot = line.what === "spot temperature";
    const name = `${line.on}${line.piece ? ` ${line.piece}` : ""}, ${spot ? "spot" : "measured"}`;
    series.push({ label: name, stroke: ink, width: spot ? 0 : 2.5, points: { show: spot, size: 9, fill: ink } });
  }
  return { data: uPlot.join(tables), series, bands };
}

export async function drawChart(place: HTMLElement): Promise<void> {
  let answer: Answer;
  try {
    const asked = await fetch(place.dataset.chart ?? "", { signal: AbortSignal.timeout(15_000) });
    if (!asked.ok) return;
    answer = (await asked.json()) as Answer;
  } catch {
    return;
  }
  if (answer.bands.length + answer.measured.length === 0) return;
  const { data, series, bands } = table(answer);
  const ink = colour("--ink");
  const axis: uPlot.Axis = { stroke: ink, grid: { stroke: colour("--line"), width: 1 }, ticks: { stroke: ink }, font: "14px Atkinson Hyperlegible" };
  const options: uPlot.Options = {
    width: place.clientWidth,
    height: 300,
    series,
    bands,
    legend: { show: false },
    cursor: { drag: { x: false, y: false } },
    tzDate: (at) => uPlot.tzDate(new Date(at * 1e3), answer.zone),
    axes: [
      { ...axis, values: (_u, ticks) => ticks.map((at) => hour(at, answer.zone)) },
      { ...axis, size: 46, values: (_u, ticks) => ticks.map((t) => `${t}°`) },
    ],
    hooks: { draw: [(plot) => nowLine(plot, answer.now, ink)] },
  };
  drawn?.destroy();
  place.replaceChildren();
  drawn = new uPlot(options, data, place);
  place.append(key(answer));
}

function hour(at: number, zone: string): string {
  const hour12 = boot.hands === "12";
  const how = hour12 ? ({ hour: "numeric", hour12 } as const) : ({ hour: "2-digit", minute: "2-digit", hour12 } as const);
  return new Date(at * 1000).toLocaleTimeString("en-GB", { timeZone: zone, ...how });
}

function nowLine(plot: uPlot, now: number | null, ink: string): void {
  if (now === null) return;
  const x = plot.valToPos(now, "x", true);
  plot.ctx.save();
  plot.ctx.fillStyle = ink;
  plot.ctx.fillRect(x - devicePixelRatio, plot.bbox.top, 2 * devicePixelRatio, plot.bbox.height);
  plot.ctx.restore();
}

/** The lines in words, with a sample of each dash, and where each stands now. */
function key(answer: Answer): HTMLElement {
  const list = document.createElement("ul");
  list.className = "chart-key";
  answer.bands.forEach((band, n) => {
    const item = document.createElement("li");
    const dash = (DASHES[n % DASHES.length] ?? []).join(" ");
    item.innerHTML = `<svg viewBox="0 0 36 8" width="36" height="8" aria-hidden="true"><path d="M0 4H36" stroke-dasharray="${dash}"/></svg>`;
    const at = band.at.findLastIndex((each) => answer.now !== null && each <= answer.now);
    const mid = at < 0 ? null : scaled(band.mid[at] ?? null);
    const value = mid === null ? "" : ` ${Math.round(mid)} °${boot.degrees} now`;
    item.append(`${band.on}, ${band.what === "core" ? "core" : "air at the grate"}${value}`);
    list.append(item);
  });
  return list;
}
