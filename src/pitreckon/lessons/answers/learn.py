"""What answers come to: how many got the plate, how many would, which line costs most of them, and whom."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.lessons.answers.answer import Answer
from pitreckon.lessons.answers.averaging import FreeShare, Range, belief, share_of_each, weights_of
from pitreckon.lessons.answers.calling import Plates
from pitreckon.lessons.answers.levels import COUNT, LEFT_OVER, STRICT, Known, Pool, Told, learn_levels
from pitreckon.lessons.answers.members import as_dealt, by_answer, each_of, groups_of, pool_of, run_of, told_by
from pitreckon.lessons.card.cooked import Piece
from pitreckon.lessons.card.readers import Readers
from pitreckon.lessons.card.script import Script
from pitreckon.lessons.marks import Marks

DRAWS: Final = 200
AS_DEALT: Final = 1500
WORTH_ANSWERS: Final = 4.0
"""The readers of ``data/readers.toml`` count for so many answers in which pits, heights and settings readers have."""


@dataclass(frozen=True)
class Cooks:
    """Members of answers, and readers as dealt, who cooked by the card; all that reckoning with answers needs.

    readers: of the answers, in their order; each: members an answer; told: how well they fit
    mended: the plates if a line is ended when it really is there, by line from 0
    """

    readers: Readers
    each: int
    pool: Pool
    told: Told
    mended: dict[int, Plates]

    def some(self, which: Sequence[int]) -> Cooks:
        """Of some answers alone."""
        at = list(which)
        mended = {n: each.some(at) for n, each in self.mended.items()}
        return Cooks(self.readers, self.each, self.pool.some(at), self.told.some(at), mended)


@dataclass(frozen=True)
class Usual:
    """The readers as dealt, who cooked by the card, and their plates."""

    readers: Readers
    pool: Pool
    plates: Plates


@dataclass(frozen=True)
class Learned:
    """What the answers come to.

    got: share of the answers that got the plate, as they say; share: of all its readers those who
        would say so, after the answers; belief: what the levels count for in it, beside the free share
    costs: what share more of those who answered would have got it if a line was ended when it really was there
    weights: what every member of every answer counts for among such readers, (answers, members), sum 1
    answer_share, answer_costs: the share of each answer's like by the levels, and what each line cost it,
        (draws, answers)
    """

    known: Known
    got: Range
    share: Range
    belief: float
    free: FreeShare
    costs: dict[int, Range]
    weights: Floats
    answer_share: Floats
    answer_costs: dict[int, Floats]

    def share_of(self, which: Bools) -> Range:
        """Of readers like some of the answers those who would get the plate. which: (answers,)"""
        return Range.mixed(self.answer_share[:, which].mean(axis=1), self.free.draws_of(which), self.belief)

    @property
    def weak(self) -> int | None:
        """The line that costs most; None: there is none."""
        return max(self.costs, key=lambda n: self.costs[n].middle) if self.costs else None


def usual_of(piece: Piece, script: Script, marks: Marks, seed: int, threads: int | None = None) -> Usual:
    """Readers as dealt cook by the card."""
    readers = as_dealt(AS_DEALT, seed)
    run = run_of(piece, script, marks, readers, threads=threads)
    return Usual(readers, pool_of(readers), run.plates)


def cook_for(
    answers: Sequence[Answer],
    piece: Piece,
    script: Script,
    marks: Marks,
    seed: int,
    *,
    each: int | None = None,
    threads: int | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Cooks:
    """Every answer's members cook by the card, and once more for each line as if that were ended rightly."""
    each = each or each_of(len(answers))
    readers = groups_of(answers, script, each, seed)
    tell(f"{readers.size} readers like those who answered cook by the card")
    on_pit = [n for n, line in enumerate(script.lines) if line.on_pit]
    run = run_of(piece, script, marks, readers, threads=threads)
    mended = {}
    for n in looked(script):
        tell(f"and again, with line {n + 1} as it should be")
        again = run_of(piece, script, marks, readers, ideal_lines=(n,), threads=threads)
        mended[n] = again.plates.by_answer(each)
    told = told_by(answers, run, on_pit)
    return Cooks(readers, each, by_answer(pool_of(readers), each), told, mended)


def looked(script: Script) -> list[int]:
    """Lines that can be ended by a look, from 0."""
    return [n for n, line in enumerate(script.lines) if line.on_pit and line.look is not None]


def learn(cooks: Cooks, usual: Usual, seed: int) -> Learned:
    """The levels after the answers, and what follows from them."""
    known = learn_levels(cooks.pool, cooks.told)
    n = cooks.told.said_right.size
    shares, of_answers = np.empty(DRAWS), np.empty((DRAWS, n))
    costs = {line: np.empty((DRAWS, n)) for line in cooks.mended}
    for d, levels in enumerate(known.draws(DRAWS, seed)):
        of_answers[d] = share_of_each(cooks.pool, cooks.told.plates, levels)
        as_dealt_share = float(share_of_each(usual.pool, usual.plates, levels))
        shares[d] = _of_all(as_dealt_share, of_answers[d])
        for line, cost in _costs(cooks, levels).items():
            costs[line][d] = cost
    before = np.zeros(COUNT)  # what readers with these pits, settings and heights would say, for all that they say
    promised = _of_all(
        float(share_of_each(usual.pool, usual.plates, before)), share_of_each(cooks.pool, cooks.told.plates, before)
    )
    free = FreeShare(promised, cooks.told.said_right)
    believed = belief(cooks.pool, cooks.told, free, seed)
    return Learned(
        known=known,
        got=Range.counted(int(np.sum(free.got)), n),
        share=Range.mixed(np.clip(shares, 0.0, 1.0), free.draws(), believed),
        belief=believed,
        free=free,
        costs={line: Range.of(each.mean(axis=1)) for line, each in costs.items()},
        weights=weights_of(cooks.pool, known.mean) / n,
        answer_share=of_answers,
        answer_costs=costs,
    )


def _of_all(as_dealt: float, of_answers: Floats) -> float:
    """The share of all readers, of those as dealt and of the like of each answer, (answers,)."""
    n = of_answers.size
    return (WORTH_ANSWERS * as_dealt + n * float(of_answers.mean())) / (WORTH_ANSWERS + n)


def _costs(cooks: Cooks, levels: Floats) -> dict[int, Floats]:
    """What each line cost those who answered, (answers,): members count by how well they fit what was written."""
    strict, left_over = float(levels[STRICT]), float(levels[LEFT_OVER])
    weight = cooks.pool.weight(levels) + cooks.told.log(strict, left_over)[0]
    part = np.exp(weight - weight.max(axis=1, keepdims=True))
    part /= part.sum(axis=1, keepdims=True)
    right = cooks.told.plates.right(strict)
    return {line: np.sum(part * (each.right(strict) - right), axis=1) for line, each in cooks.mended.items()}
