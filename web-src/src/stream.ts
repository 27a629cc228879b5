// The server says that there is something newer; this page fetches it.

import { sendSoon } from "./outbox";
import { refresh } from "./part";
import { boot } from "./boot";
import { heardNow, serverSays } from "./when";

let source: EventSource | null = null;
let last = -1;
let told = boot.told;
let fresh = false;
let waitingPart: number | undefined;

function soon(ms: number): void {
  window.clearTimeout(waitingPart);
  waitingPart = window.setTimeout(() => {
    void refresh();
    document.dispatchEvent(new CustomEvent("pitreckon:newer"));
  }, ms);
}

function on(kind: string, act: (data: Record<string, unknown>, seq: number) => void): void {
  source?.addEventListener(kind, (event) => {
    heardNow();
    const message = event as MessageEvent<string>;
    act(JSON.parse(message.data) as Record<string, unknown>, Number(message.lastEventId || 0));
  });
}

/** Does the server tell this page what is new? */
export function hears(): boolean {
  return source?.readyState === EventSource.OPEN;
}

export function listen(): void {
  source?.close();
  source = null;
  told = boot.told;
  last = -1;
  if (!boot.cook || !document.getElementById("part") || typeof EventSource === "undefined") return;
  source = new EventSource(`/cook/${encodeURIComponent(boot.cook)}/stream`);
  source.onopen = () => (fresh = true);
  on("hello", (data, seq) => {
    serverSays(String(data.now), Number(data.speed));
    sendSoon();
    // What was told between the making of the page, or the end of the last connection, and this one was not heard.
    if (fresh && (data.told !== told || (last >= 0 && seq !== last))) soon(0);
    fresh = false;
    told = "";
    last = seq;
  });
  on("ledger", (data, seq) => {
    last = seq;
    if (data.urgent) soon(0);
  });
  on("outlook", () => soon(0));
  on("what-ifs", () => {
    if (boot.page === "plan") soon(0);
  });
  on("changes", () => {
    if (boot.page === "now") soon(0);
  });
  on("closing", () => undefined);
  source.onerror = () => {
    if (source?.readyState === EventSource.CLOSED) window.setTimeout(listen, 3000); // refused for good: ask anew
  };
}

// Phones put a page's stream to sleep; whoever looks at it again wants the latest.
document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") {
    soon(0);
    if (source?.readyState !== EventSource.OPEN) listen();
  }
});
window.addEventListener("online", () => {
  sendSoon();
  listen();
});
