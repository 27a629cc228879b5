// The part of a page that changes is made by the server; here it is fetched and put in place.

import { drawDials } from "./dial";
import { ledToTheDoor } from "./door";
import { heardNow } from "./when";

let busy = false;
let again = false;
let asked = 0;

export async function refresh(): Promise<void> {
  const part = document.getElementById("part");
  const where = part?.dataset.part;
  if (!part || !where) return;
  if (busy) {
    again = true;
    return;
  }
  busy = true;
  asked += 1;
  try {
    const answer = await fetch(where, { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(15_000) });
    if (ledToTheDoor(answer)) return;
    if (answer.ok) {
      replace(part, fillPlaces(await answer.text()));
      heardNow();
      document.dispatchEvent(new CustomEvent("pitreckon:part"));
    }
  } catch {
    // away; the stream will say when it is back, and the age is shown meanwhile
  } finally {
    busy = false;
    if (again) {
      again = false;
      void refresh();
    }
  }
}

/** How often the part has been asked for. */
export function begun(): number {
  return asked;
}

/** The same in a while, unless it has been asked for more often by then. */
export function refreshUnless(times: number, ms: number): void {
  window.setTimeout(() => {
    if (asked <= times) void refresh();
  }, ms);
}

/** What of an answer belongs elsewhere on the page (what is next in each course) is put there; the rest is returned. */
function fillPlaces(html: string): string {
  if (!html.includes("<template")) return html;
  const made = document.createElement("template");
  made.innerHTML = html;
  for (const filling of made.content.querySelectorAll<HTMLTemplateElement>("template[data-for]")) {
    const place = document.querySelector<HTMLElement>(`[data-next="${CSS.escape(filling.dataset.for ?? "")}"]`);
    if (place && place.innerHTML !== filling.innerHTML) replace(place, filling.innerHTML);
    const question = putOn.has(filling.dataset.for ?? "") ? "" : filling.dataset.ask ?? "";
    standsAs(place?.closest<HTMLElement>(".panel"), question);
    filling.remove();
  }
  for (const filling of made.content.querySelectorAll<HTMLTemplateElement>("template[data-acts-for]")) {
    const place = document.querySelector<HTMLElement>(`[data-acts="${CSS.escape(filling.dataset.actsFor ?? "")}"]`);
    if (place && place.innerHTML !== filling.innerHTML) replace(place, filling.innerHTML);
    filling.remove();
  }
  return made.innerHTML;
}

/** Items that were put on with a tap here, which the server may not know of yet. */
export const putOn = new Set<string>();

/** An item that is on the pit is recorded without a question; one that is not asks first. */
export function standsAs(panel: HTMLElement | null | undefined, question: string): void {
  if (!panel) return;
  if (question) panel.dataset.ask = question;
  else delete panel.dataset.ask;
  panel.querySelector(".standing")?.toggleAttribute("hidden", !question);
  const chip = document.querySelector(`label[for="${panel.id.replace("panel", "on")}"]`);
  chip?.classList.toggle("off", Boolean(question));
  chip?.querySelector("small")?.toggleAttribute("hidden", !question);
}

/** A field by what it is about: its place among its like may be another in what comes. */
function fieldKey(field: HTMLInputElement): string {
  return `${field.form?.querySelector<HTMLInputElement>("[name=on]")?.value ?? ""} ${field.name.replace(/\d+/, "")}`;
}

function typedIn(part: HTMLElement): HTMLInputElement[] {
  return Array.from(part.querySelectorAll<HTMLInputElement>("details input:not([type=hidden])"));
}

function replace(part: HTMLElement, html: string): void {
  const open = new Set(Array.from(part.querySelectorAll<HTMLElement>("details[open][id]"), (each) => each.id));
  const typed = new Map(typedIn(part).map((each) => [fieldKey(each), each.value === each.defaultValue ? null : each.value]));
  const focused = document.activeElement;
  const held = focused instanceof HTMLInputElement && part.contains(focused) ? fieldKey(focused) : null;
  const label = focused && part.contains(focused) ? focused.getAttribute("aria-label") ?? focused.textContent : null;
  part.innerHTML = html;
  drawDials();
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  // What is being typed stays, and so does the keyboard.
  for (const field of typedIn(part)) {
    const value = typed.get(fieldKey(field));
    if (value != null) {
      field.value = value;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    }
    if (held !== null && fieldKey(field) === held) field.focus({ preventScroll: true });
  }
  if (label !== null && held === null) {
    const same = Array.from(part.querySelectorAll<HTMLElement>("button, a, summary, [tabindex]")).find(
      (each) => (each.getAttribute("aria-label") ?? each.textContent) === label,
    );
    same?.focus({ preventScroll: true });
  }
}
