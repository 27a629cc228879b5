// One tap records: the form that works without a script is caught here and goes into the outbox.

import { onOutbox, put, withdraw, type Recorded, type Waiting } from "./outbox";
import { begun, putOn, refreshUnless, standsAs } from "./part";
import { takeShot } from "./photo";
import { hears } from "./stream";
import { boot, newId, word } from "./boot";
import { ageWords, instant } from "./when";

/** Of a note, so that there is room for the name of a photo behind it. */
const MOST_NOTE = 220;
let hush: number | undefined;

export function tell(words: string, undo?: () => void): void {
  const told = document.getElementById("told");
  if (!told) return;
  told.replaceChildren(Object.assign(document.createElement("span"), { textContent: words }));
  if (undo) {
    const button = Object.assign(document.createElement("button"), { className: "tap", textContent: word("Undo"), type: "button" });
    button.addEventListener("click", undo);
    told.append(button);
  }
  told.classList.add("up");
  window.clearTimeout(hush);
  hush = window.setTimeout(() => told.classList.remove("up"), 9000);
}

/** What is asked before a tap is recorded: of the button, or of its whole item where that is not on the pit. */
function asks(button: HTMLButtonElement): string {
  const panel = button.closest<HTMLElement>(".panel")?.dataset.ask ?? "";
  return button.dataset.ask ?? (button.value.startsWith("act|put on|") ? "" : panel);
}

function ask(question: string, then: () => void): void {
  tell(question);
  const button = Object.assign(document.createElement("button"), { className: "tap", textContent: word("Recordit"), type: "button" });
  button.addEventListener("click", then);
  document.getElementById("told")?.append(button);
}

function clock(at: string): string {
  const nearest = new Date(Math.round(Date.parse(at) / 60_000) * 60_000); // as the server rounds
  const hour12 = boot.hands === "12";
  return nearest.toLocaleTimeString("en-GB", { hour: hour12 ? "numeric" : "2-digit", minute: "2-digit", hour12 });
}

/** What was tapped waits from that moment on, before any database has it. */
function waitsNow(): void {
  document.body.dataset.waiting = String(Number(document.body.dataset.waiting ?? 0) + 1);
}

async function keep(event: Recorded, photo?: Blob, says = ""): Promise<void> {
  waitsNow();
  await put(event, photo, says);
}

/** One tap may record several events; one Undo takes all of them back. */
function record(events: Recorded[], words: string, photo?: Blob): void {
  void Promise.all(events.map((event, n) => keep(event, n === 0 ? photo : undefined, words)));
  tell(words, () => void undo(events, words));
}

async function undo(events: Recorded[], words: string): Promise<void> {
  for (const event of [...events].reverse()) {
    if (event.what === "put on") putOn.delete(event.on ?? "");
    if (!(await withdraw(event.id))) {
      await keep({ id: newId(), at: instant(), kind: "correction", of: event.id, note: "taken back" });
    }
  }
  tell(`${word("Taken")}: ${words}`);
}

function fieldOf(form: HTMLFormElement, name: string): string {
  const field = form.elements.namedItem(name);
  if (field instanceof RadioNodeList || field instanceof HTMLInputElement) return field.value;
  return "";
}

function fromButton(form: HTMLFormElement, button: HTMLButtonElement): void {
  const [kind = "look", what = "", raw = ""] = button.value.split("|");
  const on = fieldOf(form, "on");
  const panel = button.closest(".panel")?.id.replace("panel-", "") ?? "";
  const value = raw.startsWith("spot-") ? `${fieldOf(form, raw)} ${boot.degrees}` : raw;
  const piece = Number(fieldOf(form, panel ? `piece-${panel}` : "piece"));
  const event: Recorded = { id: newId(), at: instant(Number(fieldOf(form, "ago") || 0)), kind: kind as Recorded["kind"], on, what, value };
  if (Number.isInteger(piece) && piece > 0) event.piece = piece;
  if (what === "put on") {
    putOn.add(on);
    standsAs(button.closest<HTMLElement>(".panel"), "");
  }
  const shot = takeShot(button);
  const typed = fieldOf(form, "note").trim();
  const both = [typed, shot?.note ?? ""].filter(Boolean).join("; ");
  const note = both.length > MOST_NOTE ? typed : both;
  const file = form.querySelector<HTMLInputElement>("#photo");
  const photo = shot?.photo ?? file?.files?.[0];
  if (note) event.note = note;
  const more = form.querySelector<HTMLDetailsElement>("#more");
  for (const field of more?.querySelectorAll("input") ?? []) field.value = "";
  if (more) more.open = false;
  const says = raw.startsWith("spot-") ? `${button.dataset.says ?? what} ${value}` : button.dataset.says ?? what;
  record([event], `${on}: ${says}, ${clock(event.at)}`, photo);
}

/** The acts of a what-if, as its form has them for pages without a script. */
function fromActs(form: HTMLFormElement, button: HTMLButtonElement): void {
  const fields = new FormData(form);
  const all = (name: string): string[] => fields.getAll(name).map(String);
  const [on, what, value] = [all("on"), all("what"), all("value")];
  const events = what.map((each, n): Recorded => {
    return { id: newId(), at: instant(), kind: "act", on: on[n] ?? "", what: each, value: value[n] ?? "" };
  });
  record(events, button.dataset.says ?? what.join(", "));
}

export function catchForms(): void {
  document.addEventListener("submit", (submitted) => {
    const form = submitted.target as HTMLFormElement;
    const button = submitted.submitter as HTMLButtonElement | null;
    const place = new URL(form.action).pathname.split("/").pop() ?? "";
    if (!["record", "acts"].includes(place) || !button || !boot.cook) return;
    if (form.id === "look" || form.classList.contains("records")) {
      submitted.preventDefault();
      const question = asks(button);
      if (question) ask(question, () => fromButton(form, button));
      else fromButton(form, button);
    } else if (place === "acts") {
      submitted.preventDefault();
      fromActs(form, button);
    } else if (form.dataset.takesBack) {
      submitted.preventDefault();
      void keep({ id: newId(), at: instant(), kind: "correction", of: form.dataset.takesBack, note: "taken back" });
      tell(`${word("Taken")}.`);
    }
  });
  document.addEventListener("input", (changed) => {
    const field = changed.target as HTMLInputElement;
    for (const shown of document.querySelectorAll(`[data-shows="${CSS.escape(field.name || "-")}"]`)) {
      shown.textContent = field.value;
    }
  });
}

function line(each: Waiting): HTMLLIElement {
  const item = document.createElement("li");
  const age = ageWords((Date.now() - each.tapped) / 1000);
  const { event } = each;
  const plain = event.kind === "correction" ? word("Taking") : `${event.on ?? ""}: ${event.what ?? ""} ${event.value ?? ""}`;
  const words = each.says || plain;
  const span = document.createElement("span");
  const at = each.says ? "" : clock(event.at); // what was told says when
  span.append(Object.assign(document.createElement("b"), { textContent: at }), ` ${words} `);
  const waits = `${each.trouble ? word("Troubled").replace("{why}", each.trouble) : ""}${word("Waiting").replace("{age}", age)}`;
  const state = each.refused ? word("Refused").replace("{why}", each.refused) : waits;
  span.append(Object.assign(document.createElement("small"), { textContent: state }));
  item.append(span);
  const away = Object.assign(document.createElement("button"), { className: "tap small", textContent: word("Takeback"), type: "button" });
  away.addEventListener("click", () => void withdraw(event.id));
  item.append(away);
  return item;
}

const PATIENCE_MS = 3000;

export function showOutbox(): void {
  let held: Waiting[] = [];
  let tapped = begun();
  const draw = (): void => {
    const list = document.getElementById("outbox");
    document.body.dataset.waiting = String(held.filter((each) => !each.refused).length);
    if (!list) return;
    list.hidden = held.length === 0;
    list.replaceChildren(...held.map(line));
  };
  let trouble: string | undefined;
  onOutbox((all) => {
    // The server tells of what it has taken in, of this phone's own too; where its word does not come the page asks.
    if (all.length > held.length) tapped = begun();
    if (all.length < held.length) refreshUnless(hears() ? tapped : begun(), hears() ? PATIENCE_MS : 0);
    const now = all.find((each) => each.trouble)?.trouble;
    if (now && now !== trouble) tell(word("Notyet").replace("{why}", now));
    trouble = now;
    held = all;
    draw();
  });
  window.setInterval(draw, 10_000);
  document.addEventListener("pitreckon:page", draw);
}

// Bones are drawn to size: how many CSS pixels a millimetre has here is not known to a browser, so a person may set it.
const KEY = "pitreckon-card";
const CARD_MM = 85.6;

export function pixelsPerMm(): number {
  const set = Number(localStorage.getItem(KEY));
  return set > 100 ? set / CARD_MM : matchMedia("(pointer: coarse)").matches ? 6.0 : 3.78;
}

export function drawToSize(): void {
  for (const picture of document.querySelectorAll<SVGElement>("svg[data-mm]")) {
    picture.setAttribute("width", String(30 * pixelsPerMm() * 0.5));
    picture.setAttribute("height", String(40 * pixelsPerMm()));
  }
  const box = document.getElementById("card-box");
  const slider = document.getElementById("card-width") as HTMLInputElement | null;
  if (!box || !slider) return;
  document.getElementById("measure")?.removeAttribute("hidden");
  slider.value = String(pixelsPerMm() * CARD_MM);
  const show = (): void => void (box.style.width = `${slider.value}px`);
  slider.addEventListener("input", () => {
    localStorage.setItem(KEY, slider.value);
    show();
  });
  show();
}
