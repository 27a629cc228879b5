"""``python -m validation.days``: plan the twenty days; live each through on scenarios that no choice has seen.

Dumb planning (``validation.days.baseline``) is held against the same suppers. Results are kept day by day;
what is kept is not done again, unless ``--anew``.
"""

from __future__ import annotations

import argparse
import json
import time
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from rich.console import Console

from pitreckon.errors import InputError
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.read import read_wishes
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import cases_of, options_of
from pitreckon.plan.schedule.schedule import Schedule
from pitreckon.plan.schedule.slots import on_time, run_course
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.tables import Day
from pitreckon.plan.wishes import Wishes
from pitreckon.work.spread import spread
from validation.days.baseline import naive
from validation.marked import put

HERE = Path(__file__).resolve().parent
README = HERE.parent / "README.md"
RESULTS = HERE.parent / "results" / "days.json"
BEGIN, END = "<!-- made by python -m validation.days: begin -->", "<!-- end of days -->"
SUPPERS, SEED = 7200, 20261126
Found = dict[str, object]


@dataclass(frozen=True)
class Lived:
    """Suppers of one day. held_h: mean time that the first piece of an item waits in the warm, over items."""

    suppers: int
    on_time: float
    held_h: float


def files() -> list[Path]:
    """The days, the easiest first."""
    return sorted(HERE.glob("*.toml"))


def planned(path: Path) -> tuple[Found, Wishes, Schedule | None]:
    """Plan a day, and say how it went."""
    wishes = read_wishes(path)
    begun = time.perf_counter()
    answer = plan(wishes)
    took_s = time.perf_counter() - begun
    schedule = answer.schedule
    row: Found = {
        "day": path.stem,
        "items": len(wishes.items),
        "pits": len(wishes.pits),
        "asked": wishes.chance,
        "possible": schedule is not None,
        "chance": None if (best := answer.best) is None else best.chance,
        "status": answer.solving.status,
        "gap": answer.solving.gap if np.isfinite(answer.solving.gap) else None,
        "took_s": round(took_s, 1),
        "scenarios_s": round(answer.solving.scenarios_s, 1),
        "faults": [] if schedule is None else list(faults_of(wishes, schedule)),
        "why": list(answer.why),
        "changes": [change.what for change in answer.changes],
    }
    return row, wishes, answer.best


def live(wishes: Wishes, schedule: Schedule, suppers: int) -> tuple[Lived, Lived]:
    """The planned day and the guessed one, on the same suppers."""
    amounts = amounts_of(wishes)
    cases = cases_of(wishes, amounts)
    guesses = naive(day_of(wishes, amounts, options_of(wishes, [[own[0]] for own in cases], 256, 1)))
    chosen = []
    for own, wish in zip(cases, wishes.items, strict=True):
        item = schedule.item(wish.label)
        same = [c for c in own if c.pit == item.pit and abs(c.set_c - item.set_c) < 0.01 and c.stages == item.stages]
        chosen.append([same[0], own[0]])
    day = day_of(wishes, amounts, options_of(wishes, chosen, suppers, SEED))
    serve = wishes.serve_utc.timestamp()
    put_on = [schedule.item(wish.label).put_on_utc.timestamp() - serve for wish in wishes.items]
    return _lived(day, put_on, 0), _lived(day, [guess.put_on_s for guess in guesses], 1)


def _lived(day: Day, put_on: list[float], which: int) -> Lived:
    ok = np.ones(day.members, dtype=bool)
    held: list[NDArray[np.float64]] = []
    for task, at_s in zip(day.tasks, put_on, strict=True):
        course = run_course(task, task.options[min(which, len(task.options) - 1)], np.array([at_s]), day.away)
        ok &= on_time(task, course)[0]
        held.append(np.maximum(-course.ready_first[0], 0.0))
    mean_h = float(np.mean(np.where(np.isfinite(held), held, 0.0))) / 3600.0
    return Lived(day.members, float(ok.mean()), mean_h)


def of_day(suppers: int, path: Path) -> Found:
    """The row of a day: planned, then lived."""
    try:
        row, wishes, schedule = planned(path)
        if schedule is not None:
            ours, dumb = live(wishes, schedule, suppers)
            row |= {"lived": asdict(ours), "naive": asdict(dumb)}
    except InputError as refused:
        row = {"day": path.stem, "refused": str(refused)}
    return row


def run(anew: bool, console: Console, workers: int = 1, on: str | None = None) -> list[Found]:
    """All days; those kept are not planned again.

    workers, on: as ``work.spread`` has them; the planner has all cores of where it runs, so one at a time by default
    """
    kept: dict[str, Found] = {}
    if RESULTS.exists() and not anew:
        kept = {str(row["day"]): row for row in json.loads(RESULTS.read_text("utf-8"))}
    suppers = SUPPERS // (sum(1 for _ in files()) - 2) + 1  # some have no day to live
    left = [path for path in files() if path.stem not in kept]
    for path, row in spread(partial(of_day, suppers), left, on=on, workers=workers):
        kept[path.stem] = row
        RESULTS.parent.mkdir(exist_ok=True)
        RESULTS.write_text(json.dumps([kept[name] for name in sorted(kept)], indent=1, ensure_ascii=False) + "\n")
        console.print(path.stem, {k: v for k, v in row.items() if k not in {"day", "why"}})
    return [kept[path.stem] for path in files()]


def page(rows: list[Found]) -> str:
    """The table, and what came of the suppers."""
    head = (
        "| day | items, pits | asked | chance, unseen | solver, gap | took, s (scenarios) "
        "| suppers on time (held, h) | dumb |"
    )
    lines = [head, "|---|---|---|---|---|---|---|---|"]
    lines += [_row(row) for row in rows]
    done = [row for row in rows if "lived" in row and row["possible"]]
    rest = [row for row in rows if "lived" in row and not row["possible"]]
    equal = [str(row["day"])[:2] for row in (*done, *rest) if _dumb_wins(row)]
    words = f"{_sums(done)} on the {len(done)} days that can be done as asked. "
    if rest:
        words += f"{_sums(rest)} on the {len(rest)} others, of which the nearest was lived. "
    words += "Dumb planning was not asked whether hands, pits and room allow it. "
    words += f"It did as well or better on: {', '.join(equal) or 'none'}. Seed {SEED}."
    lines += ["", words, "", "Those that cannot be done as asked:", ""]
    for row in rows:
        if row.get("possible"):
            continue
        why = str(row.get("refused") or "; ".join(row.get("why", [])))  # type: ignore[arg-type]
        changes = ", or ".join(row.get("changes", []))  # type: ignore[arg-type]
        lines.append(f"- *{row['day']}*: {why}" + (f". Instead: {changes}." if changes else "."))
    return "\n".join(lines) + "\n"


def _dumb_wins(row: Found) -> bool:
    ours, dumb = row["lived"]["on_time"], row["naive"]["on_time"]  # type: ignore[index]
    return bool(dumb > 0.0 and dumb >= ours)


def _sums(rows: list[Found]) -> str:
    """Suppers on time and hours held, as planned and by dumb planning."""
    total = sum(row["lived"]["suppers"] for row in rows)  # type: ignore[index]
    ours, dumb = (
        [sum(row[who][what] * row[who]["suppers"] for row in rows) / total for what in ("on_time", "held_h")]  # type: ignore[index]
        for who in ("lived", "naive")
    )
    return (
        f"Of {total} simulated suppers {100 * ours[0]:.0f} % on time as planned, with {ours[1]:.1f} h held on average, "
        f"against {100 * dumb[0]:.0f} % by dumb planning (mean time and two hours), with {dumb[1]:.1f} h held,"
    )


def _row(row: Found) -> str:
    if "refused" in row:
        return f"| {row['day']} | | | refused | | | | |"
    chance = "–" if row["chance"] is None else f"{100 * row['chance']:.0f} %"  # type: ignore[operator]
    gap = "–" if row["gap"] is None else f"{row['gap']:.2f}"
    both = []
    for who in ("lived", "naive"):
        got = row.get(who)
        both.append("–" if got is None else f"{100 * got['on_time']:.0f} % ({got['held_h']:.1f})")  # type: ignore[index]
    possible = "" if row["possible"] else ", not as asked"
    return (
        f"| {row['day']} | {row['items']}, {row['pits']} | {100 * row['asked']:.0f} % | {chance}{possible} | "  # type: ignore[operator]
        f"{row['status']}, {gap} | {row['took_s']} ({row['scenarios_s']}) | {both[0]} | {both[1]} |"
    )


def main() -> None:
    """Plan, live, and with ``--write`` put the table into ``validation/README.md``."""
    parser = argparse.ArgumentParser(prog="python -m validation.days", description=__doc__)
    parser.add_argument("--anew", action="store_true", help="forget what is kept")
    parser.add_argument("--workers", type=int, default=1, help="days at a time; each takes all cores")
    parser.add_argument("--on", default=None, help="address of a Dask cluster, instead of this machine's processes")
    parser.add_argument("--write", action="store_true", help="put the table into validation/README.md")
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    rows = run(given.anew, console, given.workers, given.on)
    made = page(rows)
    console.print(made, markup=False)
    if given.write:
        put(made, BEGIN, END, README)


if __name__ == "__main__":
    main()
