"""The demo's last part: the day comes in by itself, and the page that shows it ends when told."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from conftest import Call
from tests.patience import comes

from pitreckon.cli import demo, demopage
from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.ledger.store import Store
from pitreckon.web.live.replay import replay
from pitreckon.web.settings import STATIC, Clock, Day

BEGIN = datetime(2026, 10, 17, 12, 0, tzinfo=UTC)


def a_day() -> Day:
    events: list[Act | Reading] = [Act(BEGIN, "racks", "put on")]
    events += [Reading(BEGIN + timedelta(minutes=m), "pit air", "barn pit", None, 120.0 + m) for m in range(0, 60, 5)]
    return Day("demo", "a day", demo.COOK_FILE, Ledger.of(events))


def run(store: Store, clock: Clock, least: int) -> int:
    """What has come in once so much has, and a moment later."""

    def has() -> int:
        return len(store.ledger("demo")) if store.cooks() else 0

    async def one() -> None:
        closing = asyncio.Event()
        task = asyncio.create_task(replay(store, a_day(), clock, closing))
        await comes(lambda: has() >= least, f"{least} entries")
        await asyncio.sleep(0.3)
        closing.set()
        await task

    asyncio.run(one())
    return has()


def test_the_day_comes_in_as_the_clock_goes(tmp_path: Path) -> None:
    with Store.open(tmp_path / "day.sqlite") as store:
        early = run(store, Clock(0.001, shows=BEGIN + timedelta(minutes=10)), 4)
        assert early == 4  # put on, and the readings of 0, 5 and 10 minutes
        late = run(store, Clock(0.001, shows=BEGIN + timedelta(hours=2)), len(a_day().ledger))
        assert late == len(a_day().ledger)  # and nothing twice


@pytest.mark.kernel
@pytest.mark.skipif(not STATIC.is_dir(), reason="the page is not built; make env builds it")
def test_the_demo_ends_with_the_page(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demo, "MOMENTS", ())
    monkeypatch.setattr(demopage, "SHOW_S", 1.0)
    answer = pitreckon("demo", tmp_path / "day", "--members", "8")
    assert (answer.code, answer.err) == (0, "")
    assert "on the live page, an hour a minute" in answer.out
    assert "/pair/" in answer.out
    assert "it answers (200)" in answer.out
    assert answer.out.endswith("The page has ended.\n")
    assert (tmp_path / "day" / demopage.STORE).is_file()
