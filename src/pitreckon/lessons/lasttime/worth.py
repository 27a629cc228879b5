"""What each difference between two cooks was worth, in minutes: last time's plan run again with one thing otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.lessons.lasttime.differ import Fact, as_it_went, facts
from pitreckon.lessons.lasttime.run import Run
from pitreckon.lessons.lasttime.spread import Spread
from pitreckon.reckon.prepare import ensemble, tracks_of
from pitreckon.reckon.stages import last_on_pit
from pitreckon.section.simulate import simulate_all

MEMBERS: Final = 96
KINDS_APART: Final = "the two are of different cuts"


@dataclass(frozen=True, slots=True)
class Worth:
    """A difference and what it came to: minutes longer on the pit, likeliest and nine times in ten; nan: not known."""

    key: str
    words: str
    minutes: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Against:
    """This time against last time.

    longer: this time on the pit beyond last time [min]; worths: of each difference by itself, the largest first
    together: of all of them at once, as ``Worth``; None: there is none
    rest: what they leave [min]: the meat itself, the fire's own ways and the model's error
    """

    this: Run
    last: Run
    longer: float
    worths: tuple[Worth, ...]
    together: Worth | None

    @property
    def rest(self) -> float:
        """What the differences leave [min]."""
        told = 0.0 if self.together is None or np.isnan(self.together.minutes) else self.together.minutes
        return self.longer - told


def against(this: Run, last: Run, *, members: int = MEMBERS, seed: int = 1, threads: int | None = None) -> Against:
    """Hold two finished items against each other.

    Each difference is put by itself into last time's plan, and all members cook both; then all of them at once.

    Raises InputError: they are of different cuts
    """
    if this.finished.item.cut != last.finished.item.cut:
        names = f"{this.finished.cut.name.lower()} and {last.finished.cut.name.lower()}"
        raise InputError(f"{KINDS_APART}: {names}", "Choose two cooks of one cut")
    found = facts(this.finished, last.finished)
    before = as_it_went(last.finished)
    plans = [before, *(each.change(before) for each in found)]
    if len(found) > 1:
        plans.append(_all_of(before, found))
    ready = ready_s(plans, members, seed, threads)
    worths = [_worth(f.key, f.words, ready[0], other) for f, other in zip(found, ready[1:], strict=False)]
    together = _worth("together", "", ready[0], ready[-1]) if found else None
    worths.sort(key=lambda each: -abs(np.nan_to_num(each.minutes)))
    return Against(this, last, (this.off_s - last.off_s) / 60.0, tuple(worths), together)


def _all_of(cook: Cook, found: Sequence[Fact]) -> Cook:
    for each in found:
        cook = each.change(cook)
    return cook


def ready_s(plans: Sequence[Cook], members: int, seed: int, threads: int | None = None) -> list[Floats]:
    """When each member of each plan is at the end of its last stage on the pit [s since put-on], (members,) each.

    The members' standard numbers are the same in all plans, so that differences are of the plans alone.
    """
    jobs, lasts = [], []
    for cook in plans:
        item = cook.items[0]
        (track,) = tracks_of(cook, item, Ledger(), item.put_on_utc, seed)
        jobs.append(ensemble(track, track.prior(members), track.horizon_s).job)
        lasts.append(last_on_pit(track.stages))
    traces = simulate_all(jobs, threads=threads)
    return [np.asarray(trace.stage_end_s[last]) for trace, last in zip(traces, lasts, strict=True)]


def _worth(key: str, words: str, before: Floats, after: Floats) -> Worth:
    minutes = Spread.of((after - before) / 60.0)
    return Worth(key, words, minutes.mid, minutes.low, minutes.high)
