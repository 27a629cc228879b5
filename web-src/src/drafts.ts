// What is being typed outlives the page, the browser and the battery: kept in the phone until the server has it.

import { addRow } from "./steps";

type Filled = [string, string][];
interface Draft {
  /** What the server had put into the form when it was begun: a draft of something else is none of this one. */
  base: string;
  filled: Filled;
  sent: boolean;
}

const KEPT = "pitreckon-draft ";
const LEFT_OUT = new Set(["form_token", "password"]);

function keyOf(form: HTMLFormElement): string {
  return `${KEPT}${document.body.dataset.who ?? ""} ${form.id} ${new URL(form.action).pathname}`;
}

function filledIn(form: HTMLFormElement): Filled {
  const all: Filled = [];
  new FormData(form).forEach((value, name) => {
    if (typeof value === "string" && !LEFT_OUT.has(name)) all.push([name, value]);
  });
  return all;
}

function read(key: string): Draft | null {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null") as Draft | null;
  } catch {
    return null;
  }
}

function write(key: string, draft: Draft): void {
  try {
    localStorage.setItem(key, JSON.stringify(draft));
  } catch {
    // the phone keeps nothing: the form works all the same
  }
}

/** Put a draft into its form, with as many rows as it had. */
function restore(form: HTMLFormElement, filled: Filled): void {
  const left = new Map<string, string[]>();
  for (const [name, value] of filled) left.set(name, [...(left.get(name) ?? []), value]);
  for (let turn = 0; turn < 40; turn++) {
    const lacks = Array.from(left).find(([name, values]) => {
      const fields = form.querySelectorAll(`[name="${CSS.escape(name)}"]`);
      return fields.length === 0 || (fields[0] instanceof HTMLInputElement && fields[0].type === "checkbox" ? false : fields.length < values.length);
    });
    const stem = lacks?.[0].replace(/\d*_.*/, "") ?? "";
    const adder = stem && form.querySelector(`[data-add][value="${CSS.escape(stem)}"]`);
    if (!adder) break;
    addRow(adder);
  }
  for (const field of form.querySelectorAll<HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement>("[name]")) {
    if (LEFT_OUT.has(field.name) || field instanceof HTMLButtonElement) continue;
    const values = left.get(field.name) ?? [];
    if (field instanceof HTMLInputElement && (field.type === "checkbox" || field.type === "radio")) {
      field.checked = values.includes(field.value);
    } else {
      field.value = values.shift() ?? "";
    }
  }
}

export function keepDrafts(): void {
  const here = new Set<string>();
  for (const form of document.querySelectorAll<HTMLFormElement>("form.sheet[method=post][id]")) {
    const key = keyOf(form);
    const base = JSON.stringify(filledIn(form));
    here.add(key);
    const found = read(key);
    if (found && found.base === base && JSON.stringify(found.filled) !== base) {
      restore(form, found.filled);
      tellRestored(form, key);
    }
    let soon: number | undefined;
    const keep = (sent: boolean): void => {
      write(key, { base, filled: filledIn(form), sent });
      form.dataset.kept = "yes";
    };
    form.addEventListener("input", () => {
      window.clearTimeout(soon);
      delete form.dataset.kept;
      soon = window.setTimeout(() => keep(false), 150);
    });
    form.addEventListener("submit", () => {
      window.clearTimeout(soon);
      keep(true);
    });
    window.addEventListener("pagehide", () => {
      if (soon !== undefined && !read(key)?.sent) keep(false);
    });
  }
  // What was sent, and whose form is not shown again with a fault, the server has taken.
  for (let n = localStorage.length - 1; n >= 0; n--) {
    const key = localStorage.key(n);
    if (key?.startsWith(KEPT) && !here.has(key) && read(key)?.sent) localStorage.removeItem(key);
  }
}

function tellRestored(form: HTMLFormElement, key: string): void {
  const line = Object.assign(document.createElement("p"), { className: "restored" });
  line.setAttribute("role", "status");
  const text = document.createElement("span");
  text.textContent = document.body.dataset.wordDraft ?? "";
  const away = Object.assign(document.createElement("button"), { type: "button", className: "tap small", textContent: document.body.dataset.wordEmpty ?? "" });
  away.addEventListener("click", () => {
    localStorage.removeItem(key);
    form.reset();
    line.remove();
  });
  line.append(text, away);
  form.prepend(line);
}
