"""Takes the pictures of the live page for the documentation: the demo's recorded day, at two moments of it.

Run ``.venv/bin/python scripts/make_page_pictures.py`` after a change of the page; it needs Debian's chromium.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "docs" / "pictures"
PORT = 8217
SHOTS = (
    ("14:30", (("now", "light"), ("look", "light"), ("plan", "light"), ("ledger", "light"), ("setup", "light"))),
    ("15:08", (("now", "dark"), ("now", "sun"), ("look", "sun"))),
)
FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"]


def serve_day(clock: str, folder: Path) -> None:
    """A server that stands in the middle of the day."""
    from pitreckon.cli.demo import COOK_FILE, recorded_day  # noqa: PLC0415
    from pitreckon.cook.read import cook_from_text  # noqa: PLC0415
    from pitreckon.ledger.store import Entry, Store  # noqa: PLC0415
    from pitreckon.web.serve import serve  # noqa: PLC0415
    from pitreckon.web.settings import Clock, WebSettings  # noqa: PLC0415

    cook = cook_from_text(COOK_FILE, "harvest-table.toml")
    now = datetime.fromisoformat(f"2026-10-17 {clock}").replace(tzinfo=cook.zone_info).astimezone(UTC)
    day = recorded_day(cook, 1).until(now)
    with Store.open(folder / "ledger.sqlite") as store:
        store.add_cook(COOK_FILE, cook.name, cook_id="harvest")
        store.append("harvest", [Entry(f"e{n}", event, "barn") for n, event in enumerate(day.events)])
    told = (folder / "told.txt").write_text
    serve(WebSettings(str(folder / "ledger.sqlite"), port=PORT, clock=Clock(1.0, datetime.now(UTC), now), tell=told))


def take(clock: str, shots: tuple[tuple[str, str], ...]) -> None:
    """The pictures of one moment."""
    from playwright.sync_api import sync_playwright  # noqa: PLC0415

    place = f"http://127.0.0.1:{PORT}"
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        command = [sys.executable, __file__, clock, folder]
        server = subprocess.Popen(
            command, cwd=ROOT, env={**os.environ, "PYTHONPATH": os.pathsep.join((str(ROOT / "src"), str(ROOT)))}
        )
        try:
            told = Path(folder) / "told.txt"
            while not told.exists():
                time.sleep(0.2)
            time.sleep(0.5)
            urllib.request.urlopen(f"{place}/health").close()
            browser = play.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
            page = browser.new_page(
                viewport={"width": 390, "height": 844}, device_scale_factor=1.5, is_mobile=True, has_touch=True
            )
            page.goto(told.read_text().splitlines()[1])
            page.get_by_role("button", name="Come in").tap()
            page.locator(".strips").wait_for(timeout=120_000)
            for which, theme in shots:
                page.goto(f"{place}/setup" if which == "setup" else f"{place}/cook/harvest/{which}")
                if which == "plan":
                    page.locator("#what-if details").first.wait_for(timeout=60_000)
                page.evaluate("theme => { document.documentElement.dataset.theme = theme }", theme)
                page.wait_for_timeout(400)
                page.screenshot(path=PICTURES / f"{which}-{theme}.png")
            browser.close()
        finally:
            server.terminate()
            server.wait(20)


if __name__ == "__main__":
    if len(sys.argv) == 3:
        serve_day(sys.argv[1], Path(sys.argv[2]))
    else:
        for moment, wanted in SHOTS:
            take(moment, wanted)
