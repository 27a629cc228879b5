"""``python -m benchmarks.live``: 24 cooks that go on at once, each with a look about every minute; and on to 200.

The page's own code throughout: the store, the watching, the line, the crew. Measured with processes that reckon on this
machine; then with stand-ins in their place, nodes that sleep as long as a process took for the same question, so that
one machine shows what four or sixteen would do; then on paper and in virtual time (``queueing.py``).
"""

from __future__ import annotations

import argparse
import asyncio
import os
import tempfile
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from rich.console import Console

from benchmarks import tables
from benchmarks.page import _children, _resident_mb
from benchmarks.queueing import Work, on_paper, simulated
from benchmarks.run import about
from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.store import Entry, Store
from pitreckon.reckon import Outlook
from pitreckon.web import app as app_module
from pitreckon.web.live.asked import Again
from pitreckon.web.live.crew import Crew
from pitreckon.web.live.giveway import PROCESS, GaveWayError
from pitreckon.web.live.hiring import Here
from pitreckon.web.live.live import CLOSE_S, FRESH, Live
from pitreckon.web.live.questions import Reckoned
from pitreckon.web.live.watched import Watched
from pitreckon.web.live.worker import Process
from pitreckon.web.settings import Clock, WebSettings

START = datetime(2026, 10, 10, 12, 0, tzinfo=UTC)
NOW = START + timedelta(hours=5)
COOKS, MANY = 24, 200
BETWEEN_S = 60.0
READING_EVERY_S = 20.0
PROCESSES = "processes here"
SEED = 20261130
PLAN = """\
[cook]
name = "harvest table {n}"
zone = "UTC"
serve = "2026-10-11 02:00"

[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "240 F"
"""
ITEM = """
[[item]]
name = "{name}"
cut = "{cut}"
pieces = 2
weight = "{weight}"
put_on = "2026-10-10 12:00"
"""
ITEMS = {
    "racks": ("st-louis-ribs", "2 lb 10 oz"),
    "butts": ("boston-butt", "7 lb 10 oz"),
    "spares": ("spareribs", "3 lb"),
}
Took = dict[str, list[float]]


def fill(store: Store, cooks: int) -> None:
    """So many cooks at their fifth hour, the pit read every five minutes, each item looked at and wrapped."""
    for n in range(cooks):
        plan = PLAN.format(n=n) + "".join(
            ITEM.format(name=name, cut=cut, weight=weight) for name, (cut, weight) in ITEMS.items()
        )
        store.add_cook(plan, f"harvest table {n}", cook_id=f"c{n}")
        wander = np.random.default_rng([SEED, n]).normal(0.0, 3.0, 60)
        events: list[Any] = [
            Reading(START + timedelta(minutes=5 * i), "pit air", "barn pit", None, 114.0 + float(w))
            for i, w in enumerate(wander)
        ]
        for name in ITEMS:
            events += [
                Act(START, name, "put on"),
                Look(START + timedelta(hours=3), name, None, "colour", 0.8, "amber"),
                Act(START + timedelta(hours=3.5), name, "wrapped", detail="foil"),
            ]
        store.append(f"c{n}", [Entry(f"e{k}", event, "barn box") for k, event in enumerate(events)])


class Timed(Process):
    """A process whose answers are timed, by question, in seconds of a core: what others do here is not in them."""

    took: Took
    is_warm = False

    async def ask(self, question: Any, *args: Any, **more: Any) -> Any:
        before_s = self._core_s()
        answer = await super().ask(question, *args, **more)
        if self.is_warm:
            self.took.setdefault(question.__name__, []).append(self._core_s() - before_s)
        self.is_warm = True  # the first answer has the start of the process in it
        return answer

    def _core_s(self) -> float:
        if self._shared is None or not self._shared[PROCESS]:
            return 0.0
        fields = Path(f"/proc/{self._shared[PROCESS]}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")  # to 10 ms


class Timing(Here):
    """Processes of this machine, timed."""

    def __init__(self, most: int, took: Took) -> None:
        super().__init__(most)
        self.took = took

    def hire(self) -> Timed:
        made = Timed(256 * 1024 * 1024)
        made.took = self.took
        return made


class StandIn:
    """A node that sleeps as long as the same question took of a core, by chance one of the times measured."""

    def __init__(self, took: Mapping[str, Sequence[float]], dice: np.random.Generator) -> None:
        self.threads, self.progress = 1, ""
        self._took, self._dice = took, dice
        self._leave = asyncio.Event()

    async def ask(self, question: Any, *_args: Any, **_more: Any) -> Any:
        name = question.__name__
        self._leave.clear()
        with suppress(TimeoutError):
            await asyncio.wait_for(self._leave.wait(), float(self._dice.choice(self._took.get(name, (0.1,)))))
            raise GaveWayError("it was left")
        outlook = Outlook("harvest table", "UTC", NOW, None, 8, 1, (), ())
        again = Again(NOW, 8)
        first = Reckoned(replace(outlook, thinking_again=True), (), again)
        answers = {"reckoned_now": Reckoned(outlook, (), again), "answered_first": first, "replanned": None}
        return answers.get(name, ())

    def give_way(self) -> None:
        self._leave.set()

    def forget(self, key: str) -> None:
        """It keeps nothing."""

    def close(self) -> None:
        """Nothing runs."""


class Nodes:
    """Where stand-ins come from."""

    cores = 1

    def __init__(self, most: int, took: Took) -> None:
        self.most, self._took, self._hired = most, took, 0

    def hire(self) -> StandIn:
        self._hired += 1
        return StandIn(self._took, np.random.default_rng([SEED, self.most, self._hired]))

    def close(self) -> None:
        """Nothing runs."""


@dataclass
class Seen:
    """What the phones of a house saw [s]. first: a new outlook; full: the whole answer; most_waiting: at a moment"""

    first: list[float] = field(default_factory=list)
    full: list[float] = field(default_factory=list)
    most_waiting: int = 0
    worker_mb: list[float] = field(default_factory=list)


async def house(crew: Crew, cooks: int, for_s: float, *, readings: bool, between_s: float = BETWEEN_S) -> Seen:
    """A server with so many cooks that are watched, for so long after each has had its first outlook."""
    with tempfile.TemporaryDirectory() as folder:
        path = str(Path(folder) / "ledger.sqlite")
        with Store.open(path) as store:
            await asyncio.to_thread(fill, store, cooks)
        clock = Clock(1.0, datetime.now(UTC), NOW)
        crews[path] = crew
        app = app_module.make_app(WebSettings(path, clock=clock, argon_memory_kib=64))
        seen = Seen()
        async with app.router.lifespan_context(app):
            state = app.state.app_state
            live: Live = state.live
            all_known = asyncio.Barrier(cooks)
            phones = [
                asyncio.create_task(
                    _phone(live, state.store, clock, n, for_s, all_known, seen, readings=readings, between_s=between_s)
                )
                for n in range(cooks)
            ]
            watching = asyncio.create_task(_watch(live.crew, seen))
            await asyncio.gather(*phones)
            watching.cancel()
            seen.worker_mb = [mb for child in _children(os.getpid()) if (mb := _resident_mb(child)) > 100.0]
        return seen


async def _watch(crew: Crew, seen: Seen) -> None:
    while True:
        seen.most_waiting = max(seen.most_waiting, crew.told().waiting)
        await asyncio.sleep(0.2)


async def _phone(
    live: Live,
    store: Store,
    clock: Clock,
    n: int,
    for_s: float,
    all_known: asyncio.Barrier,
    seen: Seen,
    *,
    readings: bool,
    between_s: float,
) -> None:
    """Looks again and again, by chance about a minute after the last answer; a device beside it, if one is wanted."""
    cook_id, dice = f"c{n}", np.random.default_rng([SEED, 7, n])
    watched = await live.watched(cook_id)
    with live.listening(watched) as news:
        while watched.asked is None:
            await news.get()
        await all_known.wait()
        ends = time.monotonic() + for_s
        device = asyncio.create_task(_device(store, clock, cook_id, dice)) if readings else None
        k = 0
        while time.monotonic() + (pause := float(dice.exponential(between_s))) < ends:
            await asyncio.sleep(pause)
            k += 1
            item = list(ITEMS)[k % len(ITEMS)]
            look = Look(clock.now(), item, None, "probe feel", float(dice.uniform(0.2, 0.5)), "")
            begun = time.monotonic()
            (receipt,) = await asyncio.wrap_future(
                await asyncio.to_thread(store.append_soon, cook_id, [Entry(f"look{k}", look, "phone")])
            )
            await _until(news, lambda seq=receipt.seq: watched.shown.seq >= seq)
            seen.first.append(time.monotonic() - begun)
            await _until(news, lambda seq=receipt.seq: _rests_on(watched, seq))
            seen.full.append(time.monotonic() - begun)
        if device is not None:
            device.cancel()


def _rests_on(watched: Watched, seq: int) -> bool:
    return watched.asked is not None and watched.asked.seq >= seq


async def _until(news: asyncio.Queue[Any], holds: Any) -> None:
    while not holds():
        await news.get()


async def _device(store: Store, clock: Clock, cook_id: str, dice: np.random.Generator) -> None:
    k = 0
    await asyncio.sleep(float(dice.uniform(0.0, READING_EVERY_S)))
    while True:
        k += 1
        reading = Reading(clock.now(), "pit air", "barn pit", None, 114.0 + float(dice.normal(0.0, 3.0)))
        await asyncio.wrap_future(
            await asyncio.to_thread(store.append_soon, cook_id, [Entry(f"r{k}", reading, "barn box")])
        )
        await asyncio.sleep(READING_EVERY_S)


crews: dict[str, Crew] = {}
"""Of each house, by its ledger."""


def _row(what: str, workers: int, cooks: int, seen: Seen, took: Took, *, readings: bool) -> dict[str, Any]:
    first, full = np.quantile(seen.first, (0.5, 0.95)), np.quantile(seen.full, (0.5, 0.95))
    row = {
        "what": what + (", readings too" if readings else ""),
        "workers": workers,
        "cooks": cooks,
        "looks": len(seen.full),
        "first_s_median": float(first[0]),
        "first_s_p95": float(first[1]),
        "full_s_median": float(full[0]),
        "full_s_p95": float(full[1]),
        "most_waiting": seen.most_waiting,
        "worker_mb": max(seen.worker_mb, default=None),
    }
    if not readings:
        paper = on_paper(cooks, workers, work_of(took))
        row |= {"paper_s_median": paper.p50_s, "paper_s_p95": paper.p95_s}
    return row


def timed(for_s: float) -> Took:
    """What each question takes, of a house with room for all of them: three cooks, a look every few seconds."""
    took = Took()
    asyncio.run(house(Crew(Timing(2, took)), 3, for_s, readings=False, between_s=8.0))
    return took


def measured(for_s: float, took: Took) -> list[dict[str, Any]]:
    """Processes here, one for each of two cores; with looks alone, then with a device at each pit besides."""
    rows = []
    for readings in (False, True):
        seen = asyncio.run(house(Crew(Timing(2, {})), COOKS, for_s, readings=readings))
        rows.append(_row(PROCESSES, 2, COOKS, seen, took, readings=readings))
    return rows


def stood_in(for_s: float, took: Took) -> list[dict[str, Any]]:
    """Nodes that sleep, all houses at once: sleeping takes no core."""

    async def all_houses() -> list[Seen]:
        made = [house(Crew(Nodes(workers, took)), cooks, for_s, readings=False) for cooks, workers in HOUSES]
        return list(await asyncio.gather(*made))

    what, rows = "stand-ins that sleep", []
    for (cooks, workers), seen in zip(HOUSES, asyncio.run(all_houses()), strict=True):
        rows.append(_row(what, workers, cooks, seen, took, readings=False))
    return rows


HOUSES = ((COOKS, 1), (COOKS, 2), (COOKS, 4), (MANY, 8), (MANY, 16))
GRID = tuple((cooks, workers) for cooks in (24, 50, 100, 200) for workers in (1, 2, 4, 8, 16))


def work_of(took: Took) -> Work:
    """What the houses of the bench ask, as measured."""
    before_s = CLOSE_S + float(np.median(took.get("answered_first", [0.0])))
    return Work(BETWEEN_S, FRESH.total_seconds(), took["reckoned_now"], before_s)


def papers(took: Took) -> list[dict[str, Any]]:
    """On paper and in virtual time."""
    rows, work = [], work_of(took)
    for cooks, workers in GRID:
        paper, tried = on_paper(cooks, workers, work), simulated(cooks, workers, work, SEED)
        rows.append(
            {
                "cooks": cooks,
                "workers": workers,
                "busy": tried.busy,
                "paper_s_median": paper.p50_s,
                "paper_s_p95": paper.p95_s,
                "tried_s_median": tried.p50_s,
                "tried_s_p95": tried.p95_s,
            }
        )
    return rows


def picture(rows: Sequence[Mapping[str, Any]], took: Took) -> None:
    """How the answer's 95 % falls with workers and grows with cooks: on paper (lines), in virtual time (dots)."""
    import matplotlib as mpl  # noqa: PLC0415

    mpl.use("svg")
    mpl.rcParams["svg.hashsalt"] = "live"
    from matplotlib import pyplot as plt  # noqa: PLC0415

    figure, axes = plt.subplots(figsize=(7.2, 4.2), layout="constrained")
    cooks = np.unique(np.geomspace(2, 400, 60).round().astype(int))
    for workers, style in zip((1, 2, 4, 8, 16), ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1))), strict=True):
        (line,) = axes.plot(
            cooks,
            [on_paper(int(n), workers, work_of(took)).p95_s for n in cooks],
            ls=style,
            label=f"{workers} worker{'s' if workers > 1 else ''}",
        )
        dots = [row for row in rows if row["workers"] == workers]
        axes.plot(
            [row["cooks"] for row in dots], [row["tried_s_p95"] for row in dots], "o", color=line.get_color(), ms=4
        )
    axes.set(xscale="log", yscale="log", xlabel="cooks that go on, each with a look about every minute")
    axes.set(ylabel="the whole answer after a look, 95 % [s]", ylim=(1.0, 500.0))
    axes.set_xticks([2, 5, 10, 24, 50, 100, 200, 400], labels=["2", "5", "10", "24", "50", "100", "200", "400"])
    axes.grid(visible=True, alpha=0.3)
    axes.legend()
    figure.savefig(tables.HERE / "live.svg", metadata={"Date": None})


def main() -> None:
    """Measure, keep, and write."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.live")
    parser.add_argument("--seconds", type=float, default=120.0, help="of each house, after its first outlooks")
    parser.add_argument("--quick", action="store_true", help="twenty seconds of each; keeps nothing")
    parser.add_argument("--nodes", action="store_true", help="stand-ins and paper anew; what was measured stays")
    asked = parser.parse_args()
    for_s = 20.0 if asked.quick else asked.seconds
    app_module.crew_of = lambda settings: crews.pop(settings.store)
    console, before, took = Console(width=220), about(), timed(for_s / 2.0)
    if asked.nodes:
        kept = tables.load("live")
        before = {**before, "load before": kept["about"]["load before"]}
        rows = [row for row in kept["rows"] if row["what"].startswith(PROCESSES)]
        paper = on_paper(COOKS, 2, work_of(took))
        rows[0] |= {"paper_s_median": paper.p50_s, "paper_s_p95": paper.p95_s}
    else:
        rows = measured(for_s, took)
    console.print(tables.of_part("live", rows), markup=False)
    rows += stood_in(for_s, took)
    on_it = papers(took)
    for part, found in (("live", rows), ("livepaper", on_it)):
        console.print(tables.of_part(part, found), markup=False)
    after = {"load after": round(os.getloadavg()[0], 1)}
    times = {f"{name}, median core s": round(float(np.median(each)), 2) for name, each in sorted(took.items())}
    if not asked.quick:
        tables.save("live", rows, {**before, **after, **times})
        tables.save("livepaper", on_it, {**before, **after})
        picture(on_it, took)
        tables.render()


if __name__ == "__main__":
    main()
