// With HTTPS (or on the machine itself) the page opens even when the server is away: the last of each page is kept.
const KEPT = "pitreckon-1";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("message", (event) => {
  if (event.data === "forget") event.waitUntil(caches.delete(KEPT));
});

self.addEventListener("fetch", (event) => {
  const asked = event.request;
  const where = new URL(asked.url);
  const kept = where.origin === self.location.origin && asked.method === "GET" && !where.pathname.endsWith("/stream");
  if (!kept || where.pathname.startsWith("/login") || where.pathname.startsWith("/pair")) return;
  event.respondWith(fresh(asked));
});

async function fresh(asked) {
  const shelf = await caches.open(KEPT);
  const built = new URL(asked.url).pathname.startsWith("/static/assets/");
  if (built) {
    const known = await shelf.match(asked);
    if (known) return known;
  }
  try {
    const answer = await fetch(asked);
    if (answer.ok && !answer.redirected) await shelf.put(asked, answer.clone());
    return answer;
  } catch (away) {
    const known = await shelf.match(asked);
    if (known) return known;
    throw away;
  }
}
