// A temperature on an arc that is dragged: thin where it is cool, thick where it is hot. The number beside it can be
// typed, and is all there is without a script.

import { boot } from "./boot";

const [CX, CY, R, TURN] = [150, 148, 116, 200];
const PAGE = 5;
/** Notches are so many degrees apart: the least of these that leaves room for their numbers. */
const APART = [10, 20, 50, 100];
const MOST_NOTCHES = 6;

/** Where a share of the arc lies: it begins lower left, and ends lower right. */
function place(share: number, r: number): [number, number] {
  const angle = ((180 + (TURN - 180) / 2 - share * TURN) * Math.PI) / 180;
  return [CX + r * Math.cos(angle), CY - r * Math.sin(angle)];
}

function shareOf(x: number, y: number): number {
  const angle = (Math.atan2(CY - y, x - CX) * 180) / Math.PI;
  const from = 180 + (TURN - 180) / 2;
  const below = angle < -90 ? angle + 360 : angle;
  return Math.min(Math.max((from - below) / TURN, 0), 1);
}

/** The arc as a wedge of smoke. */
function wedge(): string {
  const steps = Array.from({ length: 41 }, (_, n) => n / 40);
  const out = steps.map((share) => place(share, R + 3 + 11 * share));
  const back = steps.reverse().map((share) => place(share, R - 3 - 11 * share));
  return `M${[...out, ...back].map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z`;
}

function draw(dial: HTMLElement, field: HTMLInputElement): void {
  const [least, most, by] = [Number(dial.dataset.least), Number(dial.dataset.most), Number(dial.dataset.by)];
  const shareAt = (value: number): number => Math.min(Math.max((value - least) / (most - least), 0), 1);
  const marks: string[] = [];
  const apart = APART.find((each) => (most - least) / each <= MOST_NOTCHES) ?? 100;
  for (let value = Math.ceil(least / apart) * apart; value <= most; value += apart) {
    const [[x1, y1], [x2, y2], [tx, ty]] = [place(shareAt(value), R - 16), place(shareAt(value), R - 24), place(shareAt(value), R - 42)];
    marks.push(`<path d="M${x1} ${y1}L${x2} ${y2}"/><text x="${tx}" y="${ty + 5}">${value}</text>`);
  }
  const arc = document.createElement("div");
  arc.className = "arc";
  arc.tabIndex = 0;
  arc.setAttribute("role", "slider");
  arc.setAttribute("aria-label", dial.dataset.says ?? "");
  arc.setAttribute("aria-valuemin", String(least));
  arc.setAttribute("aria-valuemax", String(most));
  arc.innerHTML = `<svg viewBox="0 0 300 190" aria-hidden="true"><path class="wedge" d="${wedge()}"/><g class="notches">${marks.join("")}</g><circle class="coal" r="19"/></svg>`;
  dial.prepend(arc);

  const show = (): void => {
    const value = Number(field.value);
    const [x, y] = place(shareAt(value), R);
    const coal = arc.querySelector("circle");
    coal?.setAttribute("cx", x.toFixed(1));
    coal?.setAttribute("cy", y.toFixed(1));
    arc.setAttribute("aria-valuenow", String(value));
    arc.setAttribute("aria-valuetext", `${value} °${boot.degrees}`);
  };
  const set = (value: number): void => {
    field.value = String(Math.min(Math.max(value, least), most));
    field.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const turn = (each: PointerEvent): void => {
    const box = arc.getBoundingClientRect();
    const scale = 300 / box.width;
    const share = shareOf((each.clientX - box.left) * scale, (each.clientY - box.top) * scale);
    set(Math.round((least + share * (most - least)) / by) * by);
  };
  arc.addEventListener("pointerdown", (each) => {
    if (!(each.target as Element).closest(".wedge, .coal")) return; // between them the page is pulled, and not the dial
    arc.setPointerCapture(each.pointerId);
    arc.focus({ preventScroll: true });
    turn(each);
  });
  arc.addEventListener("pointermove", (each) => {
    if (arc.hasPointerCapture(each.pointerId)) turn(each);
  });
  arc.addEventListener("keydown", (pressed) => {
    const steps: Record<string, number> = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: PAGE, PageDown: -PAGE };
    const step = steps[pressed.key];
    if (step !== undefined) set(Number(field.value) + step * by);
    else if (pressed.key === "Home" || pressed.key === "End") set(pressed.key === "Home" ? least : most);
    else return;
    pressed.preventDefault();
  });
  field.addEventListener("input", show);
  show();
}

export function drawDials(): void {
  for (const dial of document.querySelectorAll<HTMLElement>("[data-dial]:not(:has(.arc))")) {
    const field = dial.querySelector("input");
    if (field) draw(dial, field);
  }
}
