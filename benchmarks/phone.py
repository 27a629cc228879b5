"""How long a cook waits after a tap: until it is seen, until the first new answer and the full one, on two phones.

A real server with six items on two pits, ensembles as large as ``serve`` makes them, and two pages in a real browser.
Each page writes down itself when its picture had changed. All of it runs on the same machine.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Page
from tests.web.many import NOW, fill_many
from tests.web.phones import MS, chromium, go, owner
from tests.web.pit_server import Server

ITEM = "long end racks"
LOOKS = 9
STILL_S = 1.0
"""A process that has used no time for so long is at rest [s]."""
WATCH = """() => {
    const seen = window.seen = { tap: 0, told: 0, parts: [] };
    const now = () => performance.timeOrigin + performance.now();
    const drawn = (then) => requestAnimationFrame(() => { const channel = new MessageChannel();
        channel.port1.onmessage = then; channel.port2.postMessage(0); });  // once the frame is painted
    document.addEventListener("click", (each) => {
        if (each.target.closest("[name=record]")) { seen.tap = performance.timeOrigin + each.timeStamp; seen.told = 0; }
    }, true);
    new MutationObserver(() => { if (seen.tap && !seen.told) drawn(() => { seen.told ||= now(); }); })
        .observe(document.getElementById("told"), { childList: true, attributes: true });
    new MutationObserver(() => {
        const says = document.querySelector("#part .thinking");
        if (says) drawn(() => seen.parts.push([now(), Number(says.dataset.seq), says.dataset.behind]));
    }).observe(document.getElementById("part"), { childList: true });
}"""
FULL = "before => seen.parts.some(([, seq, behind]) => seq > before && behind === 'no')"


def phone_rows(quick: bool) -> list[dict[str, Any]]:
    """A row for a process at rest, and one for a process that is at its what-ifs."""
    looks = 2 if quick else LOOKS
    with tempfile.TemporaryDirectory() as folder, chromium() as browser:
        path = Path(folder) / "ledger.sqlite"
        fill_many(path)
        server = Server(path, speed=1.0, shows=NOW, environment={"PIT_MEMBERS": "usual"}).start()
        try:
            return _rows(server, browser, looks)
        finally:
            server.close()


def _rows(server: Server, browser: Browser, looks: int) -> list[dict[str, Any]]:
    phones = [owner(browser, server) for _ in range(2)]
    for page in phones:
        go(page, server, "now")
        page.evaluate(WATCH)
    _tap(phones)  # the first one warms what is loaded late
    rows = []
    for when in ("at rest", "at what-ifs"):
        waits = []
        for _ in range(looks):
            if when == "at rest":
                _until_still(server)
            waits.append(_tap(phones))
        first, full = (sorted(each[what] for each in waits) for what in ("first_two_s", "full_two_s"))
        middle = {key: statistics.median(each[key] for each in waits) for key in waits[0]}
        rows.append({"when": when, "looks": looks, **middle, "first_most_s": first[-1], "full_most_s": full[-1]})
    return rows


def _tap(phones: list[Page]) -> dict[str, float]:
    """One look on the first of two phones; what each waited."""
    one, _ = phones
    before = one.evaluate("Number(document.querySelector('#part .thinking').dataset.seq)")
    for page in phones:
        page.evaluate("seen.parts = []")
    job = one.locator(".jobs li", has_text=ITEM)
    if job.locator("details").get_attribute("open") is None:
        job.locator("summary").tap()
    job.locator("button", has_text="amber").tap()
    for page in phones:
        page.wait_for_function(FULL, arg=before, timeout=MS)
    tap = one.evaluate("seen.tap")
    waits = {"told_ms": one.evaluate("seen.told") - tap}
    for name, page in zip(("one", "two"), phones, strict=True):
        parts = [(at - tap, behind) for at, seq, behind in page.evaluate("seen.parts") if seq > before]
        waits[f"first_{name}_s"] = parts[0][0] / 1e3
        waits[f"full_{name}_s"] = next(ms for ms, behind in parts if behind == "no") / 1e3
    return waits


def _until_still(server: Server) -> None:
    """Until the processes that reckon have nothing to do."""
    assert server.process is not None
    ends, since, used = time.monotonic() + 120.0, time.monotonic(), -1
    while time.monotonic() < ends and time.monotonic() - since < STILL_S:
        now_used = sum(_ticks(child) for child in _children(server.process.pid))
        if now_used > used + 2:
            since = time.monotonic()
        used = now_used
        time.sleep(0.1)


def _children(pid: int) -> list[int]:
    tasks = Path(f"/proc/{pid}/task").glob("*/children")
    return [int(child) for task in tasks for child in task.read_text().split()]


def _ticks(pid: int) -> int:
    """Processor time of a process, in hundredths of a second (proc(5), fields 14 and 15)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return int(fields[11]) + int(fields[12])


if __name__ == "__main__":
    for row in phone_rows(quick=True):
        print(row)
