// The server's time as this page knows it. A phone's own clock may be wrong, and a replay runs faster.

interface Known {
  server: number;
  here: number;
  speed: number;
}

let known: Known = { server: Date.now(), here: performance.now(), speed: 1 };
let heard = performance.now();

export function serverSays(now: string, speed: number): void {
  const server = Date.parse(now);
  if (Number.isFinite(server)) known = { server, here: performance.now(), speed };
}

/** The server's time now, less some minutes. */
export function instant(minutesAgo = 0): string {
  const at = known.server + (performance.now() - known.here) * known.speed - minutesAgo * 60_000;
  return new Date(at).toISOString();
}

export function heardNow(): void {
  heard = performance.now();
}

export function sinceHeard(): number {
  return (performance.now() - heard) / 1000;
}

export function ageWords(seconds: number): string {
  if (seconds < 90) return `${Math.round(seconds)} s`;
  if (seconds < 5400) return `${Math.round(seconds / 60)} min`;
  return `${Math.round(seconds / 3600)} h`;
}
