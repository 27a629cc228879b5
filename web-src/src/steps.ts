// A long form asks one thing at a time; without this script all of it is there at once. Rows are added as wanted.

import { word } from "./boot";

function button(says: string, act: () => void, css = "tap"): HTMLButtonElement {
  const made = Object.assign(document.createElement("button"), { type: "button", className: css, textContent: says });
  made.addEventListener("click", act);
  return made;
}

/** Steps of a form, with ways on and back. A step with a fault in it stands first. */
function inSteps(form: HTMLFormElement): void {
  const steps = Array.from(form.querySelectorAll<HTMLFieldSetElement>(":scope > .step"));
  const send = form.querySelector<HTMLButtonElement>(":scope > .send");
  if (steps.length < 2 || !send) return;
  let at = Math.max(steps.findIndex((step) => step.querySelector("[aria-invalid], .fault")), 0);
  const where = Object.assign(document.createElement("p"), { className: "key" });
  const ways = Object.assign(document.createElement("div"), { className: "ways" });
  const back = button(word("Back"), () => show(at - 1));
  const on = button(word("On"), () => {
    const wrong = Array.from(steps[at]?.querySelectorAll<HTMLInputElement>("input, select") ?? []).find((each) => !each.checkValidity());
    if (wrong) wrong.reportValidity();
    else show(at + 1);
  }, "tap wide");
  ways.append(back, on);
  send.before(where, ways);

  const show = (step: number, focus = true): void => {
    at = Math.min(Math.max(step, 0), steps.length - 1);
    steps.forEach((each, n) => (each.hidden = n !== at));
    where.textContent = `${at + 1} / ${steps.length}`;
    back.hidden = at === 0;
    on.hidden = at === steps.length - 1;
    send.hidden = at !== steps.length - 1;
    if (!focus) return;
    window.scrollTo({ top: 0 });
    steps[at]?.querySelector<HTMLElement>("input:not([type=hidden]), select")?.focus({ preventScroll: true });
  };
  show(at, false);
  // Enter on the last field of a step leads on, and does not send what is half filled in.
  form.addEventListener("keydown", (pressed) => {
    if (pressed.key !== "Enter" || at === steps.length - 1 || (pressed.target as Element).tagName !== "INPUT") return;
    pressed.preventDefault();
    on.click();
  });
}

/** One more row, like the last one and empty. */
export function addRow(adder: Element): void {
  const rows = adder.previousElementSibling;
  const last = rows?.lastElementChild;
  if (!rows || !last) return;
  const made = last.cloneNode(true) as HTMLElement;
  const n = rows.children.length;
  for (const field of made.querySelectorAll<HTMLInputElement | HTMLSelectElement>("input, select")) {
    if (field instanceof HTMLSelectElement) field.selectedIndex = 0;
    else if (field.type === "checkbox") field.checked = false;
    else field.value = "";
    field.name = field.name.replace(/\d+/, String(n));
    field.removeAttribute("aria-invalid");
  }
  for (const each of made.querySelectorAll("[id], [for]")) {
    for (const key of ["id", "for"]) {
      const value = each.getAttribute(key);
      if (value) each.setAttribute(key, value.replace(/\d+/, String(n)));
    }
  }
  for (const fault of made.querySelectorAll(".fault")) fault.remove();
  const number = made.querySelector("[data-n]");
  if (number) number.textContent = String(n + 1);
  rows.append(made);
}

export function makeSteps(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form[data-steps]")) inSteps(form);
}

export function catchAdders(): void {
  document.addEventListener("click", (clicked) => {
    const adder = (clicked.target as Element).closest("[data-add]");
    if (!adder) return;
    clicked.preventDefault();
    addRow(adder);
    const made = adder.previousElementSibling?.lastElementChild;
    made?.querySelector<HTMLElement>("select, input")?.focus();
    made?.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
