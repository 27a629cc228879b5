// All pages of a cook live in one document: another one is fetched and put in its place, and where there is no network the
// last of it is shown, with its age. So nobody meets a browser's error page, over plain HTTP too.

import { boot, bootAgain, word } from "./boot";
import { ledToTheDoor } from "./door";
import { tell } from "./look";
import { phoneStore } from "./store";
import { ageWords } from "./when";

interface Kept {
  html: string;
  at: number;
}

const ROOMS = /^\/(setup|cook\/[^/]+\/(now|look|plan|ledger|clock))$/;
const WAIT_MS = 6000;
const kept = new Map<string, Kept>();
let start: () => void = () => undefined;
let turn = 0;

function isRoom(where: URL): boolean {
  return where.origin === window.location.origin && ROOMS.test(where.pathname) && !where.search;
}

async function keep(path: string, html: string): Promise<void> {
  kept.set(path, { html, at: Date.now() });
  document.documentElement.dataset.kept = String(kept.size);
  await (await phoneStore())?.put("pages", { html, at: Date.now() }, path).catch(() => undefined);
}

async function lastOf(path: string): Promise<Kept | undefined> {
  return kept.get(path) ?? ((await (await phoneStore())?.get("pages", path).catch(() => undefined)) as Kept | undefined);
}

/** The page of an address; null: no word of the server. Somebody who is not let in any more goes to the door, and back to
 * `back`, else to where they are. */
async function ask(path: string, back?: string): Promise<string | null> {
  try {
    const answer = await fetch(path, { headers: { Accept: "text/html" }, signal: AbortSignal.timeout(WAIT_MS) });
    if (ledToTheDoor(answer, back)) return null;
    if (!answer.ok) return null;
    const html = await answer.text();
    await keep(path, html);
    return html;
  } catch {
    return null;
  }
}

function show(html: string, path: string, age: number): void {
  const made = new DOMParser().parseFromString(html, "text/html");
  document.title = made.title;
  const waiting = document.body.dataset.waiting;
  for (const { name } of Array.from(document.body.attributes)) document.body.removeAttribute(name);
  for (const { name, value } of Array.from(made.body.attributes)) document.body.setAttribute(name, value);
  if (waiting !== undefined) document.body.dataset.waiting = waiting;
  document.documentElement.dataset.theme = made.documentElement.dataset.theme;
  document.body.replaceChildren(...made.body.childNodes);
  if (path !== window.location.pathname) window.history.pushState(null, "", path);
  bootAgain();
  start();
  window.scrollTo({ top: 0 });
  document.getElementById("main")?.focus({ preventScroll: true });
  if (age > 0) tell(`${word("Away")} ${word("Old").replace("{age}", ageWords(age))}`);
}

async function go(path: string): Promise<void> {
  const mine = ++turn;
  const before = await lastOf(path);
  const html = navigator.onLine ? await ask(path, path) : null;
  if (mine !== turn) return;
  if (html !== null) show(html, path, 0);
  else if (before) show(before.html, path, (Date.now() - before.at) / 1000);
  else tell(word("Away"));
}

/** Fetch the other pages once, and what draws on them, so that each is there when the network goes. */
async function warm(): Promise<void> {
  void import("./chart").catch(() => undefined);
  for (const link of document.querySelectorAll<HTMLAnchorElement>(".rooms a")) {
    const where = new URL(link.href);
    if (isRoom(where) && where.pathname !== window.location.pathname) await ask(where.pathname);
  }
}

/** The page as it stands here now is the last of it. */
function keepThis(): void {
  if (!isRoom(new URL(window.location.href))) return;
  const copy = document.documentElement.cloneNode(true) as HTMLElement;
  const told = copy.querySelector("#told");
  told?.replaceChildren();
  told?.classList.remove("up");
  void keep(window.location.pathname, copy.outerHTML);
}

/** again: starts whatever a page has, after another page has come into the document. */
export function liveInOneDocument(again: () => void): void {
  start = again;
  if (!boot.token) return;
  keepThis();
  document.addEventListener("pitreckon:part", keepThis);
  document.addEventListener("click", (clicked) => {
    const link = (clicked.target as Element).closest<HTMLAnchorElement>("a[href]");
    if (!link || clicked.defaultPrevented || clicked.button || clicked.metaKey || clicked.ctrlKey || clicked.shiftKey) return;
    const where = new URL(link.href);
    if (!isRoom(where) || link.hasAttribute("download") || link.target) {
      if (!navigator.onLine && where.origin === window.location.origin && where.pathname !== window.location.pathname) {
        clicked.preventDefault();
        tell(word("Away"));
      }
      return;
    }
    clicked.preventDefault();
    void go(where.pathname);
  });
  document.addEventListener("submit", (sent) => {
    const form = sent.target as HTMLFormElement;
    if (new URL(form.action).pathname === "/logout") void phoneStore().then((base) => base?.clear("pages"));
    if (sent.defaultPrevented || navigator.onLine) return;
    sent.preventDefault(); // it would end at a browser's error page; what was typed stays
    tell(word("Away"));
  });
  window.addEventListener("popstate", () => void go(window.location.pathname));
  window.setTimeout(() => void warm(), 2500);
}
