"""All that is said of a card's answers: read, weighed, for whom it fails, and the card written anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.errors import InputError
from pitreckon.lessons.answers.again import Again, write_again
from pitreckon.lessons.answers.answer import Answer
from pitreckon.lessons.answers.averaging import Range
from pitreckon.lessons.answers.folder import TakenIn
from pitreckon.lessons.answers.kept import KeptCard
from pitreckon.lessons.answers.learn import Learned, cook_for, learn, usual_of

FEWEST: Final = 5
"""Answers, fewer of which tell nothing of a card."""
FEWEST_LIKE: Final = 3
"""Answers that have something in common, from which on they are told apart."""
LOW_M, HIGH_M = 500.0, 1500.0
WORTH: Final = 0.03
"""A line that costs fewer than this is no weak line (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Whom:
    """Readers who have something in common.

    what: pit | altitude | thickness; key: catalog key of the pit, ``low`` | ``middle`` | ``high`` or the thickness
    answers, got: how many, and how many of them got the plate; share: of such readers who would
    cost: what the weak line costs them; None: there is none
    """

    what: str
    key: str
    answers: int
    got: int
    share: Range
    cost: Range | None


@dataclass(frozen=True)
class Outcome:
    """What the answers come to. whom: those who have something in common, most answers first"""

    card: KeptCard
    taken: TakenIn
    learned: Learned
    whom: tuple[Whom, ...]
    again: Again
    seed: int

    @property
    def weak(self) -> int | None:
        """The line that costs most, from 0; None: none costs much."""
        return weak_of(self.learned)


def weak_of(learned: Learned) -> int | None:
    """The line that costs most, from 0; None: none costs much."""
    line = learned.weak
    return line if line is not None and learned.costs[line].middle >= WORTH else None


def outcome_of(
    card: KeptCard,
    taken: TakenIn,
    seed: int = 1,
    *,
    threads: int | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Outcome:
    """Reckon what answers come to.

    Raises InputError: too few of them can be.
    """
    answers = taken.answers
    if len(answers) < FEWEST:
        few = f"{len(answers)} answer{'' if len(answers) == 1 else 's'} can be counted"
        trouble = f"only {few} of {len(answers) + len(taken.refused)}" if taken.refused else f"only {few}"
        first = f"; the first that cannot: {taken.refused[0].file}: {taken.refused[0].why}" if taken.refused else ""
        raise InputError(trouble, f"Take in {FEWEST} or more that can be{first}".rstrip("."))
    usual = usual_of(card.piece, card.script, card.marks, seed, threads)
    cooks = cook_for(answers, card.piece, card.script, card.marks, seed, threads=threads, tell=tell)
    learned = learn(cooks, usual, seed)
    again = write_again(card, cooks, usual, learned, seed, threads=threads, tell=tell)
    return Outcome(card, taken, learned, tuple(_whom(answers, learned, weak_of(learned))), again, seed)


def height_of(altitude_m: float) -> str:
    """Low, middle or high."""
    return "low" if altitude_m < LOW_M else "high" if altitude_m > HIGH_M else "middle"


def _whom(answers: Sequence[Answer], learned: Learned, weak: int | None) -> Iterator[Whom]:
    """Everybody who has something in common with enough others, but not with all."""
    parts = {
        "pit": [each.pit for each in answers],
        "altitude": [height_of(each.altitude_m) for each in answers],
        "thickness": [each.thickness for each in answers],
    }
    got = np.array([not each.came_out for each in answers])
    for what, keys in parts.items():
        found = []
        for key in dict.fromkeys(keys):
            which = np.array([each == key for each in keys])
            if FEWEST_LIKE <= which.sum() < len(answers):
                cost = None if weak is None else _of(learned.answer_costs[weak], which)
                share = learned.share_of(which)
                found.append(Whom(what, key, int(which.sum()), int(got[which].sum()), share, cost))
        yield from sorted(found, key=lambda each: -each.answers)


def _of(draws: Floats, which: Floats) -> Range:
    return Range.of(draws[:, which].mean(axis=1))
