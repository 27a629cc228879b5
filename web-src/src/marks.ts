// Marks of what was measured: each pit and each probe has a shape of its own, so that no colour has to be told apart.

/** sides: 0 for a circle, -1 for a plus, -2 for a cross; turn: in degrees; full: filled with ink, else with paper */
export interface Mark {
  sides: number;
  turn: number;
  full: boolean;
}

const PITS: Mark[] = [
  { sides: 0, turn: 0, full: true },
  { sides: 4, turn: 45, full: true },
  { sides: 5, turn: -90, full: true },
];
const PROBES: Mark[] = [
  { sides: 3, turn: -90, full: false },
  { sides: 4, turn: 0, full: false },
  { sides: 3, turn: 90, full: false },
  { sides: 0, turn: 0, full: false },
  { sides: 6, turn: 0, full: false },
];
const BY_HAND: Mark[] = [
  { sides: -1, turn: 0, full: true },
  { sides: -2, turn: 0, full: true },
];

/** The mark of the n-th line of its kind. */
export function markOf(what: string, n: number): Mark {
  const all = what === "pit air" ? PITS : what === "probe" ? PROBES : BY_HAND;
  return all[n % all.length] ?? (PITS[0] as Mark);
}

/** The outline of a mark about a point, as the lines of a path. */
function outline(mark: Mark, x: number, y: number, r: number): [number, number][][] {
  const at = (angle: number): [number, number] => {
    const rad = (angle * Math.PI) / 180;
    return [x + r * Math.cos(rad), y + r * Math.sin(rad)];
  };
  if (mark.sides < 0) {
    const turn = mark.sides === -1 ? 0 : 45;
    return [[at(turn), at(turn + 180)], [at(turn + 90), at(turn + 270)]];
  }
  const sides = mark.sides || 24;
  return [Array.from({ length: sides }, (_, n) => at(mark.turn + (360 / sides) * n))];
}

export function drawMark(pen: CanvasRenderingContext2D, mark: Mark, x: number, y: number, r: number, ink: string, paper: string): void {
  pen.beginPath();
  for (const line of outline(mark, x, y, r)) {
    line.forEach(([px, py], n) => (n ? pen.lineTo(px, py) : pen.moveTo(px, py)));
    if (mark.sides >= 0) pen.closePath();
  }
  pen.strokeStyle = ink;
  pen.lineWidth = r / 2.5;
  if (mark.sides >= 0) {
    pen.fillStyle = mark.full ? ink : paper;
    pen.fill();
  }
  pen.stroke();
}

/** The same as a picture for the key. */
export function markPicture(mark: Mark): string {
  const path = outline(mark, 18, 8, 5.5)
    .map((line) => `M${line.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}${mark.sides >= 0 ? "Z" : ""}`)
    .join("");
  return `<path d="M2 8H34"/><path class="${mark.full ? "full" : "hollow"}" d="${path}"/>`;
}
