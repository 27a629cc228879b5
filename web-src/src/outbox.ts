// What was recorded and is not yet known to be kept by the server. In IndexedDB, so that it outlives the page; in memory
// where there is no IndexedDB. Sent in order, each under an id of its own, so that a retry never doubles anything.

import type { IDBPDatabase } from "idb";
import { boot, word } from "./boot";
import { madeSmall } from "./photo";
import { phoneStore } from "./store";

export interface Recorded {
  id: string;
  at: string;
  kind: "look" | "act" | "correction";
  on?: string;
  what?: string;
  value?: string;
  piece?: number;
  note?: string;
  of?: string;
}

export interface Waiting {
  n?: number;
  cook: string;
  tapped: number;
  event: Recorded;
  /** A picture that goes first: its name comes into the note. */
  photo?: Blob;
  /** What was told of it when it was tapped, in the person's language. */
  says?: string;
  /** Why the server will never take it. */
  refused?: string;
  /** Why the server cannot take it now. */
  trouble?: string;
}

/** What became of one that was sent: later stands for "no word of the server" and has none. */
type Outcome = { kept: true } | { refused: string } | { later: string };
type Listener = (waiting: Waiting[]) => void;

const LONGEST_WAIT = 15_000;
let base: IDBPDatabase | null = null;
let memory: Waiting[] = [];
let counter = 1;
let sending = false;
let pause = 1000;
let timer: number | undefined;
const listeners: Listener[] = [];

export async function openOutbox(): Promise<void> {
  base = await phoneStore();
  await tell();
  void send();
}

export function onOutbox(listener: Listener): void {
  listeners.push(listener);
}

export async function waiting(): Promise<Waiting[]> {
  return base ? ((await base.getAll("outbox")) as Waiting[]) : [...memory];
}

async function tell(): Promise<void> {
  const all = await waiting();
  for (const listener of listeners) listener(all);
}

export async function put(event: Recorded, photo?: Blob, says = ""): Promise<void> {
  const entry: Waiting = { cook: boot.cook, tapped: Date.now(), event, says, ...(photo ? { photo } : {}) };
  if (base) await base.add("outbox", entry);
  else memory.push({ ...entry, n: counter++ });
  await tell();
  pause = 1000;
  void send();
}

async function drop(n: number | undefined): Promise<void> {
  if (n === undefined) return;
  if (base) await base.delete("outbox", n);
  else memory = memory.filter((each) => each.n !== n);
}

async function mark(entry: Waiting, changes: Partial<Waiting>): Promise<void> {
  const marked = { ...entry, ...changes };
  if (base) await base.put("outbox", marked);
  else memory = memory.map((each) => (each.n === entry.n ? marked : each));
}

/** Take an entry back that has not left yet; false: it has. */
export async function withdraw(id: string): Promise<boolean> {
  const found = (await waiting()).find((each) => each.event.id === id);
  if (!found || (sending && !found.refused)) return false;
  await drop(found.n);
  await tell();
  return true;
}

export async function send(): Promise<void> {
  if (sending) return;
  sending = true;
  window.clearTimeout(timer);
  try {
    for (;;) {
      const next = (await waiting()).find((each) => !each.refused);
      if (!next) return;
      const outcome = next.photo ? await postPhoto(next) : await post(next);
      if ("kept" in outcome && next.photo) continue; // now with its name in the note, it goes itself
      if ("later" in outcome) {
        if (outcome.later !== (next.trouble ?? "")) {
          await mark(next, { trouble: outcome.later });
          await tell();
        }
        pause = Math.min(pause * 2, LONGEST_WAIT);
        timer = window.setTimeout(() => void send(), pause);
        return;
      }
      if ("kept" in outcome) await drop(next.n);
      else await mark(next, outcome);
      pause = 1000;
      await tell();
    }
  } finally {
    sending = false;
  }
}

/** Try at once: the network may be back. */
export function sendSoon(): void {
  pause = 1000;
  void send();
}

/** A picture goes before its entry, which then has the picture's name; sent twice it is the same picture. */
async function postPhoto(entry: Waiting): Promise<Outcome> {
  const body = new FormData();
  body.append("photo", await madeSmall(entry.photo as Blob), "photo.jpg");
  let answer: Response;
  try {
    answer = await fetch(`/cook/${encodeURIComponent(entry.cook)}/photo`, {
      method: "POST",
      headers: { "X-Pitreckon-Form": boot.token },
      body,
      signal: AbortSignal.timeout(60_000),
    });
  } catch {
    return { later: "" };
  }
  if (answer.status === 401) return { later: "" };
  if (!answer.ok) {
    const words = await wordsOf(answer);
    return answer.status === 429 || answer.status >= 500 ? { later: words } : { refused: words || word("No") };
  }
  const { photo } = (await answer.json()) as { photo: string };
  const { photo: _sent, ...left } = entry;
  await replace({ ...left, event: { ...entry.event, note: `${entry.event.note ?? ""} [photo ${photo}]`.trim() } });
  return { kept: true };
}

async function replace(entry: Waiting): Promise<void> {
  if (base) await base.put("outbox", entry);
  else memory = memory.map((each) => (each.n === entry.n ? entry : each));
}

async function post(entry: Waiting): Promise<Outcome> {
  let answer: Response;
  try {
    answer = await fetch(`/api/cooks/${encodeURIComponent(entry.cook)}/events`, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-Pitreckon-Form": boot.token },
      body: JSON.stringify({ events: [entry.event] }),
      signal: AbortSignal.timeout(10_000),
    });
  } catch {
    return { later: "" };
  }
  if (answer.ok) return { kept: true };
  if (answer.status === 401) return { later: "" }; // kept until somebody has logged in again
  const words = await wordsOf(answer);
  return answer.status === 429 || answer.status >= 500 ? { later: words } : { refused: words || word("No") };
}

/** What the server says is wrong, and what would help. */
async function wordsOf(answer: Response): Promise<string> {
  try {
    const { error } = (await answer.json()) as { error: { trouble: string; remedy: string } };
    return `${error.trouble}. ${error.remedy}.`;
  } catch {
    return "";
  }
}
