// What the page says about itself.

function read() {
  const body = document.body.dataset;
  return {
    page: body.page ?? "",
    cook: body.cook ?? "",
    now: body.now ?? "",
    speed: Number(body.speed ?? 1),
    told: body.told ?? "",
    token: body.token ?? "",
    hands: body.hands ?? "24",
    degrees: body.degrees ?? "F",
  };
}

export const boot = read();

/** Another page stands in this document now. */
export function bootAgain(): void {
  Object.assign(boot, read());
}

/** A text of the page's, by its name. */
export function word(key: string): string {
  return document.body.dataset[`word${key}`] ?? "";
}

/** An id for an entry. crypto.randomUUID is not there over plain HTTP; getRandomValues is. */
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
