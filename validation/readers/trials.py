"""The trials of cards that learn: which population of twin readers follows which card, dealt before anything is run.

Streams "fit" and "tune" may be looked at as often as one likes: the spreads of ``lessons/answers/levels.py`` were
chosen on them. "test" was looked at twice, "again" and "once" once, each reported in its time; the
table is of "once". "last" is settled and nobody has looked at it: it is for the next version.
"""

from __future__ import annotations

import pickle
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pitreckon.lessons.card.script import Script
from validation.readers.answering import Answered, answered
from validation.readers.cards import Written, written
from validation.readers.population import Population, population

SEEDS = {"fit": 4101, "test": 4202, "again": 4303, "tune": 4404, "once": 4505, "last": 4606}
CARDS = {
    "fit": ("as cooked", "line 1 too long", "line 2 too long", "thighs", "as cooked"),
    "test": ("as cooked", "line 1 too long", "line 2 too long", "thighs", "as cooked"),
    "again": ("as cooked", "line 1 far too long", "line 3 far too long", "thighs", "line 2 too long"),
    "tune": (
        *("as cooked", "thighs", "line 2 too long", "as cooked", "line 1 far too long", "as cooked"),
        *("line 3 far too long", "thighs", "as cooked", "line 2 too long", "line 1 far too long", "as cooked"),
    ),
    "once": ("as cooked", "line 1 far too long", "line 3 far too long", "thighs", "line 2 too long"),
    "last": ("as cooked", "line 1 far too long", "line 3 far too long", "thighs", "line 2 too long"),
}
"""By the number of the population. A line too long goes by the clock, so much longer than readers take."""
TOO_LONG = {"too": 1.25, "line 1 far": 1.5, "line 3 far": 4.0}
"""Far: chosen on "fit" so that this line, and not the wrap, costs most: there it cost 57 and 42 plates in a hundred."""
READERS = {
    "fit": (240, 150),
    "test": (400, 120),
    "again": (300, 100),
    "tune": (120, 0),
    "once": (400, 60),
    "last": (400, 40),
}
"""How many readers a population has, and how many of them show what each line costs (none: it is not asked)."""
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Trial:
    """A card and the readers of one population who followed it.

    gains: what the share of right plates would gain if a line was ended when it is really there, by line from 0
    """

    what: str
    of: Population
    card: Written
    answered: tuple[Answered, ...]
    gains: dict[int, float]

    @property
    def true(self) -> float:
        """Share of all readers who find their plate right."""
        return float(np.mean([not each.answer.came_out for each in self.answered]))

    @property
    def by_marks(self) -> float:
        """Share of plates that are right by the card's marks, whatever their readers say."""
        return float(np.mean([each.right for each in self.answered]))

    @property
    def weak(self) -> int | None:
        """The line that costs most plates; None: there is but one."""
        return max(self.gains, key=lambda n: self.gains[n]) if len(self.gains) > 1 else None


def looked_lines(script: Script) -> list[int]:
    """Lines on the pit that could be ended by a look, from 0."""
    return [n for n, line in enumerate(script.lines) if line.on_pit and line.look is not None]


def card_for(what: str, all_written: Sequence[Written]) -> Written:
    """The card of a trial."""
    thighs = next(each for each in all_written if (each.item, each.what) == ("thighs", "robust"))
    if what == "thighs":
        return thighs
    racks = next(each for each in all_written if (each.item, each.what) == ("racks", "robust"))
    if what == "as cooked":
        return racks
    n = int(what.split()[1]) - 1
    longer = TOO_LONG.get(" ".join(what.split()[:3]), TOO_LONG["too"])
    line = racks.script.lines[n]
    kept_s = 300.0 * round(longer * line.middle_s / 300.0)
    stage = replace(line.stage, took_s=kept_s)  # the cook took so long: no time that is written anew brings it back
    wrong = replace(line, by_clock=True, stage=stage, from_s=kept_s, middle_s=kept_s, to_s=kept_s)
    return replace(racks, what=what, script=racks.script.with_line(n, wrong))


def trial(stream: str, number: int, all_written: Sequence[Written], pool: Executor) -> Trial:
    """Run one."""
    of, what = population(SEEDS[stream], number), CARDS[stream][number]
    card = card_for(what, all_written)
    many, few = READERS[stream]
    base = list(pool.map(answered, [(of, i, card, ()) for i in range(many)], chunksize=10))
    lines = looked_lines(card.script)
    gains = {}
    for n in lines if len(lines) > 1 and few else []:
        mended = pool.map(answered, [(of, i, card, (n,)) for i in range(few)], chunksize=10)
        gains[n] = float(np.mean([each.right for each in mended]) - np.mean([each.right for each in base[:few]]))
    return Trial(what, of, card, tuple(base), gains)


def trials(stream: str, kept: Path, pool: Executor) -> list[Trial]:
    """All of a stream, as they were kept in a folder, else run anew."""
    kept.mkdir(parents=True, exist_ok=True)
    found, cards = [], written()
    for number, what in enumerate(CARDS[stream]):
        file = kept / f"{stream}-{number}.pickle"
        if not file.exists():
            file.write_bytes(pickle.dumps(trial(stream, number, cards, pool)))
            print(f"{stream} {number} is dealt", flush=True)
        found.append(replace(pickle.loads(file.read_bytes()), card=card_for(what, cards)))
    return found
