"""What the work orders are held to: whole ensembles, a re-run from a kept state, the demo's outlook."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from benchmarks import cases
from benchmarks.clock import in_turns
from pitreckon.section.simulate import Job, simulate_all

MEMBERS, ITEM_MEMBERS, ITEMS, KEPT_H = 1024, 512, 6, 5.0
TARGETS_S = {"rack, 6 h": 0.5, "drum, 14 h": 2.5, "block, 14 h": 2.5, "6 items from hour 5": 0.8}
"""On two threads [s]."""


def kept_items(members: int = ITEM_MEMBERS, items: int = ITEMS) -> list[Job]:
    """Six items that go on from a state kept at hour 5: racks, drums and blocks in turn, every one to its end."""
    jobs = []
    for number in range(items):
        kind = list(cases.KINDS.values())[number % len(cases.KINDS)]
        whole = cases.job(kind, members, seed=2 + number)
        kept = simulate_all([replace(whole, snapshot_s=KEPT_H * 3600.0, horizon_s=KEPT_H * 3600.0)])[0].snapshot
        if kept is None:
            raise AssertionError("asked to keep, and nothing was kept")
        jobs.append(replace(whole, start=kept))
    return jobs


def targets(rounds: int = 5) -> list[dict[str, Any]]:
    """Rows: the targets on one thread and two."""
    works: dict[str, list[Job]] = {
        "rack, 6 h": [cases.job(cases.RACK, MEMBERS)],
        "drum, 14 h": [cases.job(cases.DRUM, MEMBERS)],
        "block, 14 h": [cases.job(cases.BLOCK, MEMBERS)],
        "6 items from hour 5": kept_items(),
    }
    calls = {
        (name, threads): (lambda jobs=jobs, threads=threads: simulate_all(jobs, threads=threads))
        for name, jobs in works.items()
        for threads in (1, 2)
    }
    took = in_turns({f"{name}|{threads}": call for (name, threads), call in calls.items()}, rounds)
    rows = []
    for name, jobs in works.items():
        one, two = took[f"{name}|1"], took[f"{name}|2"]
        many = sum(job.members.size for job in jobs)
        for threads, times in ((1, one), (2, two)):
            row = {"work": name, "threads": threads, **times.as_dict(many)}
            rows.append(row | {"target_s": TARGETS_S[name] if threads == 2 else None})
        rows[-1]["over_one_thread"] = one.over(two)
    return rows


def outlook(rounds: int = 5) -> dict[str, Any]:
    """The outlook of the demo's three items, everything round the kernel included."""
    from pitreckon.cli.demo import COOK_FILE  # noqa: PLC0415
    from pitreckon.cook.read import cook_from_text  # noqa: PLC0415
    from pitreckon.reckon import reckon  # noqa: PLC0415

    cook = cook_from_text(COOK_FILE, "demo")
    times = in_turns({"outlook": lambda: reckon(cook, members=512)}, rounds)["outlook"]
    return {"work": "outlook of the demo's three items", "threads": 2, **times.as_dict(3 * 512), "target_s": None}
