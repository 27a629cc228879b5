// A colour measured in a photo: choose one, tap the meat, tap the white, read what was measured, record it.

import { boot } from "./boot";

/** A photo that a recorded look takes along, with where it was measured. */
export interface Shot {
  photo: Blob;
  note: string;
}

const LONGEST = 1600;
/** A JPEG of no more bytes goes as it is. */
const SMALL = 1_500_000;
const MOST_PLACES = 5;
const STEP = 0.02;
const WAIT_MS = 60_000;
const shots = new WeakMap<Element, Shot>();

/** A photo made small, so that it comes through a poor line. What cannot be drawn goes as it is. */
export async function madeSmall(photo: Blob): Promise<Blob> {
  if (photo.type === "image/jpeg" && photo.size <= SMALL) return photo;
  try {
    const drawn = await createImageBitmap(photo);
    const by = Math.min(1, LONGEST / Math.max(drawn.width, drawn.height));
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [Math.round(drawn.width * by), Math.round(drawn.height * by)];
    canvas.getContext("2d")?.drawImage(drawn, 0, 0, canvas.width, canvas.height);
    drawn.close();
    const made = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/jpeg", 0.93));
    return made ?? photo;
  } catch {
    return photo;
  }
}

type Place = [number, number];

class Measuring {
  private readonly shot: HTMLElement;
  private readonly picture: HTMLElement;
  private readonly shown: HTMLImageElement;
  private readonly marks: SVGElement;
  private readonly lead: HTMLElement;
  private readonly found: HTMLElement;
  private meat: Place[] = [];
  private white: Place | null = null;
  private taps: "meat" | "white" = "meat";
  private cross: Place | null = null;
  private photo: Blob | null = null;
  private turn = 0;

  constructor(private readonly box: HTMLElement) {
    const part = <T extends Element>(what: string): T => box.querySelector(what) as T;
    this.shot = part(".shot");
    this.picture = part(".picture");
    this.shown = part(".picture img");
    this.marks = part(".picture svg");
    this.lead = part(".lead");
    this.found = part(".found");
    const file = part<HTMLInputElement>("input[type=file]");
    file.addEventListener("change", () => void this.choose(file));
    this.picture.addEventListener("click", (tap) => {
      const box = this.picture.getBoundingClientRect();
      this.tap([(tap.clientX - box.left) / box.width, (tap.clientY - box.top) / box.height]);
    });
    this.picture.addEventListener("keydown", (key) => this.press(key));
    part<HTMLElement>("[data-do=back]").addEventListener("click", () => this.back());
    part<HTMLElement>("[data-do=white]").addEventListener("click", () => this.go("white"));
  }

  private async choose(file: HTMLInputElement): Promise<void> {
    const given = file.files?.[0];
    file.value = "";
    if (!given) return;
    this.photo = await madeSmall(given);
    if (this.shown.src) URL.revokeObjectURL(this.shown.src);
    this.shown.src = URL.createObjectURL(this.photo);
    [this.meat, this.white, this.cross] = [[], null, null];
    this.shot.hidden = false;
    this.go("meat");
    this.shot.scrollIntoView({ block: "nearest" });
  }

  private go(taps: "meat" | "white"): void {
    this.taps = taps;
    this.turn += 1; // an answer that is still on its way is of other taps
    this.found.hidden = true;
    this.lead.className = "lead";
    this.lead.textContent = this.box.dataset[taps] ?? "";
    this.draw();
  }

  private tap(at: Place): void {
    const inside: Place = [Math.min(Math.max(at[0], 0), 1), Math.min(Math.max(at[1], 0), 1)];
    if (this.taps === "meat") {
      if (this.meat.length >= MOST_PLACES) return;
      this.meat.push(inside);
      this.go(this.meat.length >= MOST_PLACES ? "white" : "meat");
    } else {
      this.white = inside;
      this.draw();
      void this.measure();
    }
  }

  private back(): void {
    if (this.white) this.white = null;
    else this.meat.pop();
    this.go(this.meat.length ? this.taps : "meat");
  }

  private press(key: KeyboardEvent): void {
    const moves: Record<string, Place> = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] };
    const move = moves[key.key];
    const at = this.cross ?? [0.5, 0.5];
    if (move) this.cross = [Math.min(Math.max(at[0] + move[0], 0), 1), Math.min(Math.max(at[1] + move[1], 0), 1)];
    else if (key.key === "Enter" || key.key === " ") this.tap(at);
    else return;
    key.preventDefault();
    this.draw();
  }

  private draw(): void {
    const dot = ([x, y]: Place, name: string): string => `<line class="${name}" x1="${x}" y1="${y}" x2="${x}" y2="${y}"/>`;
    const all = [...this.meat.map((each) => dot(each, "meat"))];
    if (this.white) all.push(dot(this.white, "white"));
    if (this.cross) all.push(dot(this.cross, "cross"));
    this.marks.innerHTML = all.join("");
    const white = this.box.querySelector<HTMLElement>("[data-do=white]");
    if (white) white.hidden = !this.meat.length || this.taps === "white";
  }

  private say(words: string, trouble = false): void {
    this.lead.className = trouble ? "trouble" : "lead";
    this.lead.textContent = words;
  }

  private async measure(): Promise<void> {
    if (!this.photo || !this.white) return;
    const [mine, photo] = [++this.turn, this.photo];
    const body = new FormData();
    const text = (each: Place): string => `${each[0].toFixed(4)},${each[1].toFixed(4)}`;
    body.append("photo", photo, "photo.jpg");
    for (const each of this.meat) body.append("meat", text(each));
    body.append("white", text(this.white));
    body.append("on", this.box.dataset.measure ?? "");
    const piece = document.querySelector<HTMLInputElement>(`#piece-${this.box.dataset.panel ?? ""}`)?.value;
    if (piece) body.append("piece", piece);
    this.say(this.box.dataset.busy ?? "");
    let answer: Response;
    try {
      answer = await fetch(this.box.dataset.to ?? "", {
        method: "POST",
        headers: { "X-Pitreckon-Form": boot.token },
        body,
        signal: AbortSignal.timeout(WAIT_MS),
      });
    } catch {
      if (mine === this.turn) this.say(this.box.dataset.away ?? "", true);
      return;
    }
    if (mine !== this.turn) return;
    const told = (await answer.json().catch(() => null)) as Told | null;
    if (answer.ok && told?.value) this.show(told, photo);
    else this.say(told?.error ? `${told.error.trouble}. ${told.error.remedy}.` : this.box.dataset.away ?? "", true);
  }

  private show(told: Told, photo: Blob): void {
    const later = told.moved ? [] : [this.box.dataset.later ?? ""].filter(Boolean);
    const list = this.found.querySelector("ul");
    list?.replaceChildren(...[...(told.lines ?? []), ...later].map((line) => Object.assign(document.createElement("li"), { textContent: line })));
    const field = document.querySelector<HTMLInputElement>(`[name="${CSS.escape(this.box.dataset.fills || "-")}"]`);
    if (field) field.value = told.value ?? "";
    const button = this.found.querySelector<HTMLButtonElement>("button");
    if (button) {
      button.value = `look|colour in a photo|${told.value ?? ""}`;
      button.dataset.says = (told.lines?.[0] ?? "").replace(/\.$/, "");
      shots.set(button, { photo, note: told.note ?? "" });
    }
    this.say("");
    this.found.hidden = false;
  }

  /** Once it is recorded, the next photo begins anew. */
  over(): void {
    this.shot.hidden = true;
    this.photo = null;
    (this.box as HTMLDetailsElement).open = false;
  }
}

interface Told {
  value?: string;
  note?: string;
  lines?: string[];
  moved?: boolean;
  error?: { trouble: string; remedy: string };
}

const measurings = new WeakMap<Element, Measuring>();

export function startMeasuring(): void {
  for (const box of document.querySelectorAll<HTMLElement>("[data-measure]")) {
    if (!measurings.has(box)) measurings.set(box, new Measuring(box));
  }
}

/** What a button takes along when it is recorded; asked once. */
export function takeShot(button: Element): Shot | undefined {
  const shot = shots.get(button);
  const box = button.closest("[data-measure]");
  if (shot && box) measurings.get(box)?.over();
  return shot;
}
