"""How what a cook waits for costs more with more hours, items, looks and members: processor time, on one thread.

One rack at its fifth hour with four looks and 512 members; one of the four grows in each row, the rest stays. What is
timed: the whole anew with one more look; the update that goes on with it from before; all that could be done now. Load
a clock run on, and processor time hardly longer: of a few rounds the least is told.
"""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import timedelta
from typing import Any

from benchmarks import tables
from benchmarks.updates import CUTS, STAGES, START
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.onward import onward
from pitreckon.reckon.whatif import what_ifs

PICTURE = tables.HERE / "pictures" / "costs.svg"
USUAL = {"hours": 5, "items": 1, "looks": 4, "members": 512}
ALONG = {
    "hours": (1, 2, 3, 4, 5, 6, 7),
    "items": (1, 2, 3, 4, 5, 6),
    "looks": (0, 1, 2, 4, 8, 16),
    "members": (128, 256, 512, 1024, 2048),
}
WORKS = {"the whole anew": "whole_s", "a look": "look_s", "what-ifs": "suppose_s"}
WRAPPED_H = 3.5
FEWEST, TURNS = 2, 2


def cook_of(hours: float, items: int, looks: int) -> tuple[Cook, Ledger, Ledger]:
    """A cook at an hour, its ledger, and that with one more look at its first item; each item has so many looks."""
    now = START + timedelta(hours=hours)
    plans = tuple(
        ItemPlan(label, cut, 1, mass_kg, "pit", START, stages=STAGES)
        for label, (cut, mass_kg, _) in list(CUTS.items())[:items]
    )
    cook = Cook(
        "bench", "UTC", START + timedelta(hours=14), 0.0, 15.0, 0.5, (PitPlan("pit", "pellet-cooker", 115.0),), plans
    )
    events: list[Reading | Look | Act] = [
        Reading(START + timedelta(minutes=5 * i), "pit air", "pit", None, 114.0 + (7 * i) % 5 - 2.0)
        for i in range(int(12 * hours) + 1)
    ]
    for plan in plans:
        events.append(Act(START, plan.label, "put on"))
        if hours > WRAPPED_H:
            events.append(Act(START + timedelta(hours=WRAPPED_H), plan.label, "wrapped", detail="foil"))
        events += [_look(plan.label, (k + 1) * hours / (looks + 1)) for k in range(looks)]
    more = Ledger.of([*events, Look(now, plans[0].label, None, "colour", 0.75)])
    return cook, Ledger.of(events), more


def _look(label: str, hour: float) -> Look:
    if hour > WRAPPED_H:
        return Look(START + timedelta(hours=hour), label, None, "probe feel", 0.1 + 0.06 * hour)
    return Look(START + timedelta(hours=hour), label, None, "colour", 0.3 * hour**0.8)


def costs_rows(quick: bool = False) -> list[dict[str, Any]]:
    """Rows: along what, at which value, and the processor time of each work [s]."""
    return [
        {"along": along, "at": value, **_timed({**USUAL, along: value}, 1 if quick else TURNS)}
        for along, values in ALONG.items()
        for value in (values[:FEWEST] if quick else values)
    ]


def _timed(at: Mapping[str, int], turns: int) -> dict[str, float]:
    cook, ledger, more = cook_of(at["hours"], at["items"], at["looks"])
    now, members = START + timedelta(hours=at["hours"]), at["members"]
    before = reckoning(cook, ledger, now=now, members=members, threads=1)
    whole = _least(lambda: reckoning(cook, more, now=now, members=members, threads=1), turns)
    look = _least(lambda: onward(before, more, now), turns)
    return {"whole_s": whole, "look_s": look, "suppose_s": _least(lambda: what_ifs(before), turns)}


def _least(work: Callable[[], object], turns: int) -> float:
    """Processor time of the quickest of so many turns, of all threads [s]."""
    work()
    took = []
    for _ in range(turns):
        begin = time.process_time()
        work()
        took.append(time.process_time() - begin)
    return min(took)


def draw(rows: Sequence[Mapping[str, Any]]) -> bytes:
    """A panel for each of what grows, a line for each work."""
    import matplotlib as mpl  # noqa: PLC0415  a developer's tool

    from pitreckon.sheets.pictures.canvas import INK, PAPER, bare, figure  # noqa: PLC0415

    made, axes = figure(240.0 * len(ALONG), len(ALONG))
    for (panel,), along in zip(axes, ALONG, strict=True):
        bare(panel)
        of = [row for row in rows if row["along"] == along]
        for (work, key), dashes in zip(WORKS.items(), ("-", ":", "--"), strict=True):
            panel.plot([row["at"] for row in of], [row[key] for row in of], dashes, marker="o", color=INK, label=work)
        panel.set_ylim(bottom=0.0)
        panel.set_xticks([row["at"] for row in of], [f"{row['at']:,}" for row in of])
        panel.set_xlabel(along, color=INK)
        panel.set_ylabel("processor time, s", color=INK)
        panel.legend(frameon=False, fontsize=9)
    made.tight_layout()
    out = io.BytesIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "costs"}):
        made.savefig(out, format="svg", facecolor=PAPER, metadata={"Date": None})
    return out.getvalue()
