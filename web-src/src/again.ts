// A page that waits for an answer asks for itself again, and takes over what is new without loading anew: whatever was
// opened stays open, and nothing is taken from under somebody's fingers.

export function lookAgain(): void {
  const waits = document.querySelector<HTMLElement>("[data-again]");
  if (!waits || window.location.pathname.startsWith("/login")) return;
  window.setTimeout(() => void ask(), 1000 * Number(waits.dataset.again));
}

async function ask(): Promise<void> {
  if (!document.querySelector("[data-again]")) return; // another page has come into the document
  try {
    const answer = await fetch(window.location.href, { headers: { Accept: "text/html" } });
    if (answer.ok) takeOver(new DOMParser().parseFromString(await answer.text(), "text/html"));
  } catch {
    // away; the next turn asks again
  }
  lookAgain();
}

function takeOver(made: Document): void {
  const [old, fresh] = [document.querySelector("main"), made.querySelector("main")];
  if (!old || !fresh || old.contains(document.activeElement?.closest("input, textarea, select") ?? null)) return;
  const open = Array.from(old.querySelectorAll("details"), (each) => each.open);
  fresh.querySelectorAll("details").forEach((each, n) => (each.open = open[n] ?? each.open));
  const focused = Array.from(old.querySelectorAll("a, button, summary")).indexOf(document.activeElement as Element);
  old.replaceChildren(...fresh.childNodes);
  if (focused >= 0) old.querySelectorAll<HTMLElement>("a, button, summary")[focused]?.focus({ preventScroll: true });
}
