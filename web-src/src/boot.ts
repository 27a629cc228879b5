// What the page says about itself.

const body = document.body.dataset;

export const boot = {
  page: body.page ?? "",
  cook: body.cook ?? "",
  now: body.now ?? "",
  speed: Number(body.speed ?? 1),
  told: body.told ?? "",
  token: body.token ?? "",
  hands: body.hands ?? "24",
  degrees: body.degrees ?? "F",
};

/** An id for an entry. crypto.randomUUID is not there over plain HTTP; getRandomValues is. */
export function newId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
