"""``python -m validation.days.plain``: days that cooks really do, planned, and lived on unseen scenarios.

The planned day, or where it cannot be as it was asked the one with the change that helps most, is held against three
dumb plans of the same day. Results are kept day by day; what is kept is not done again, unless ``--anew``.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from rich.console import Console

from pitreckon.errors import InputError
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.read import read_wishes
from pitreckon.plan.schedule.check import faults_of
from pitreckon.plan.schedule.problem import day_of
from pitreckon.plan.schedule.scenarios import cases_of, options_of
from pitreckon.plan.schedule.schedule import Answer, Schedule
from pitreckon.plan.schedule.slots import on_time, run_course
from pitreckon.plan.schedule.solve import plan
from pitreckon.plan.schedule.tables import Day
from pitreckon.plan.wishes import Wishes
from validation.days.baseline import all_at_once, by_thumb, naive
from validation.days.doors import differences
from validation.marked import put

HERE = Path(__file__).resolve().parent / "ordinary"
README = HERE.parents[1] / "README.md"
RESULTS = HERE.parents[1] / "results" / "ordinary.json"
BEGIN, END = "<!-- made by python -m validation.days.plain: begin -->", "<!-- end of ordinary days -->"
SUPPERS, SEED = 2000, 20261129
LOT = 400
"""Suppers that are lived at once, each lot of them with a seed of its own, so that many take no more memory."""
DUMB = ("mean", "thumb", "at once")
Found = dict[str, Any]


def files() -> list[Path]:
    """The ordinary days, in order."""
    return sorted(HERE.glob("*.toml"))


def judged(path: Path, suppers: int = SUPPERS, **more: Any) -> Found:
    """Plan a day, with what helps most where it cannot be as asked, and live it. more: for ``plan``"""
    wishes = read_wishes(path)
    begun = time.perf_counter()
    answer = plan(wishes, **more)
    row: Found = {
        "day": path.stem,
        "items": len(wishes.items),
        "pits": len(wishes.pits),
        "asked": wishes.chance,
        "possible": answer.schedule is not None,
        "took_s": round(time.perf_counter() - begun, 1),
        "gap": answer.solving.gap if np.isfinite(answer.solving.gap) else None,
        "why": list(answer.why),
        "changes": [change.what for change in answer.changes],
        "taken": "",
    }
    best = next((change for change in answer.changes if change.wishes is not None), None)
    if answer.schedule is None and best is not None and best.wishes is not None:
        row["taken"] = best.what
        answer = plan(best.wishes, **{**more, "explain": False})
    return row | _lived(answer, wishes, suppers)


def _lived(answer: Answer, asked: Wishes, suppers: int) -> Found:
    schedule, wishes = answer.best, answer.wishes
    if schedule is None or wishes is None:
        return {"chance": None, "kept": answer.schedule is not None}
    amounts = amounts_of(wishes)
    cases = cases_of(wishes, amounts)
    mine = [[case for case in own if _is(case, schedule, case.wish.label)][:1] for own in cases]
    days = [day_of(wishes, amounts, options_of(wishes, mine, each, seed)) for each, seed in _lots(suppers)]
    serve = wishes.serve_utc.timestamp()
    put_on = [schedule.item(wish.label).put_on_utc.timestamp() - serve for wish in wishes.items]
    # The dumb plans are of the day as it was asked for, on the same suppers.
    theirs = amounts_of(asked)
    usual = [[own[0]] for own in cases_of(asked, theirs)]
    seen = day_of(asked, theirs, options_of(asked, usual, 128, 1))
    unseen = [day_of(asked, theirs, options_of(asked, usual, each, seed)) for each, seed in _lots(suppers)]
    masses = [amount.mass_kg for amount in theirs]
    guesses = {
        "mean": naive(seen),
        "thumb": by_thumb(seen, asked, masses),
        "at once": all_at_once(seen, asked, masses),
    }
    return {
        "chance": schedule.chance,
        "kept": answer.schedule is not None,
        "faults": list(faults_of(wishes, schedule, chance=0.0)),
        "doors": differences(wishes, schedule),
        "unseen": answer.solving.unseen,
        "suppers": suppers,
        "lived": _share(days, put_on),
        "dumb": {name: _share(unseen, [guess.put_on_s for guess in each]) for name, each in guesses.items()},
    }


def _is(case: Any, schedule: Schedule, label: str) -> bool:
    item = schedule.item(label)
    return case.pit == item.pit and abs(case.set_c - item.set_c) < 0.01 and case.stages == item.stages


def _lots(suppers: int) -> list[tuple[int, int]]:
    """How many suppers each lot has, and its seed."""
    return [(min(LOT, suppers - at), SEED + at // LOT) for at in range(0, suppers, LOT)]


def _share(days: Sequence[Day], put_on: Sequence[float]) -> float:
    """In which share of the suppers of all lots all of it is on time."""
    good = 0
    for day in days:
        ok = np.ones(day.members, dtype=bool)
        for task, at_s in zip(day.tasks, put_on, strict=True):
            ok &= on_time(task, run_course(task, task.options[0], np.array([at_s]), day.away))[0]
        good += int(ok.sum())
    return good / sum(day.members for day in days)


def holds(row: Found) -> bool:
    """Does a promise hold on unseen suppers, within two standard errors of both?"""
    p = row["chance"]
    error = math.sqrt(max(p * (1.0 - p), 0.01) * (1.0 / row["suppers"] + 1.0 / row["unseen"]))
    return bool(row["lived"] >= p - 2.0 * error)


def run(anew: bool, console: Console) -> list[Found]:
    """All days; those kept are not planned again."""
    kept: dict[str, Found] = {}
    if RESULTS.exists() and not anew:
        kept = {str(row["day"]): row for row in json.loads(RESULTS.read_text("utf-8"))}
    for path in files():
        if path.stem in kept:
            continue
        try:
            row = judged(path)
        except InputError as refused:
            row = {"day": path.stem, "refused": str(refused)}
        kept[path.stem] = row
        RESULTS.write_text(json.dumps([kept[name] for name in sorted(kept)], indent=1, ensure_ascii=False) + "\n")
        console.print({k: v for k, v in row.items() if k != "why"})
    return [kept[path.stem] for path in files()]


def page(rows: list[Found]) -> str:
    """The table, and what came of the suppers."""
    lines = [
        "| day | items, pits | asked | promised | lived | gap | s | dumb: mean + 2 h, thumb + 1 h, at once | how |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    done = [row for row in rows if row.get("lived") is not None]
    for row in rows:
        if row.get("lived") is None:
            lines.append(f"| {row['day']} | | | – | – | | | | {row.get('refused') or '; '.join(row['why'])} |")
            continue
        how = "as asked" if row["possible"] else f"with: {row['taken']}" if row["taken"] else "the nearest"
        dumb = ", ".join(_percent(row["dumb"][name]) for name in DUMB)
        gap = "–" if row["gap"] is None else f"{row['gap']:.2f}"
        lines.append(
            f"| {row['day']} | {row['items']}, {row['pits']} | {_percent(row['asked'])} | {_percent(row['chance'])} | "
            f"{_percent(row['lived'])} | {gap} | {row['took_s']} | {dumb} | {how} |"
        )
    good = [row for row in done if row["kept"]]
    ours = float(np.mean([row["lived"] for row in good])) if good else math.nan
    best = {name: float(np.mean([row["dumb"][name] for row in good])) for name in DUMB} if good else {}
    kept = sum(holds(row) for row in good)
    bias = 100.0 * float(np.mean([row["chance"] - row["lived"] for row in good])) if good else math.nan
    suppers = max((row["suppers"] for row in good), default=0)
    told = [row for row in done if "doors" in row]
    words = (
        f"{len(rows)} days: {sum(bool(row.get('possible')) for row in rows)} planned as asked, "
        f"{sum(row['kept'] and not row['possible'] for row in done)} with the change that helps most. On those "
        f"{len(good)} days {_percent(ours)} of the suppers were ready and still good, held as long as was allowed; by "
        f"the dumb plans {', '.join(f'{_percent(share)} ({name})' for name, share in best.items())}. The promise held "
        f"within two standard errors on {kept} of {len(good)}{_missed(good)}; on average {abs(bias):.1f} points "
        f"{'more' if bias >= 0.0 else 'less'} were promised than lived. The checker found "
        f"{sum(len(row['faults']) for row in done)} faults. On {len(told)} days outlook, JSON, sheet, calendar, page, "
        f"alerts were held against the plan: {sum(len(row['doors']) for row in told)} acts had another minute. Seed "
        f"{SEED}, {suppers} suppers a day."
    )
    return "\n".join([*lines, "", words]) + "\n"


def _missed(rows: list[Found]) -> str:
    """Which promises did not hold, and by how much."""
    late = [row for row in rows if not holds(row)]
    words = [f"{row['day']} by {100.0 * (row['chance'] - row['lived']):.0f} points" for row in late]
    return f" (not of {', '.join(words)})" if words else ""


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def main() -> None:
    """Plan, live, and with ``--write`` put the table into ``validation/README.md``."""
    parser = argparse.ArgumentParser(prog="python -m validation.days.plain", description=__doc__)
    parser.add_argument("--anew", action="store_true", help="forget what is kept")
    parser.add_argument("--write", action="store_true", help="put the table into validation/README.md")
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    made = page(run(given.anew, console))
    console.print(made, markup=False)
    if given.write:
        put(made, BEGIN, END, README)


if __name__ == "__main__":
    main()
