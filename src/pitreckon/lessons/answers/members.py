"""Simulated readers of each answer: the same kind of pit, altitude, setting and thickness; how well they fit it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.lessons.answers.answer import FAULTS, Answer
from pitreckon.lessons.answers.calling import MOST_NAMED, Plates
from pitreckon.lessons.answers.levels import CLOCK_DRAWN, LATE_DRAWN, MIDDLES, WIDER, Pool, Told
from pitreckon.lessons.card.cooked import Cooked, Piece, cook_all
from pitreckon.lessons.card.readers import Audience, Group, Readers, audience, deal, group_of
from pitreckon.lessons.card.script import Script
from pitreckon.lessons.marks import Marks
from pitreckon.reckon.levels import ROW

THICKNESS: Final = {"thinner": 0.87, "usual": 1.0, "thicker": 1.15}
"""What is meant by a piece thinner or thicker than the card's (common practice, no source)."""
TIME_S, TIME_SHARE = 240.0, 0.05
"""What a time that a reader wrote is off, and a share of it for what no member has (common practice, no source)."""
STRAY, STRAY_TIMES = 0.1, 5.0
ROUNDS_S: Final = (60.0, 300.0, 600.0, 900.0, 1800.0, 3600.0)
"""To what readers round a time (common practice, no source)."""
FEWEST, MOST_EACH, ALL = 32, 160, 8000
"""Members an answer, and of all answers together, about."""


def drawn_wider() -> Audience:
    """The usual readers, drawn as wide as levels may need them."""
    who = audience()
    return replace(
        who,
        clock_share=CLOCK_DRAWN,
        late_s=LATE_DRAWN * who.late_s,
        look_gap_sd=WIDER["gap"] * who.look_gap_sd,
        colour_sd=WIDER["eye"] * who.colour_sd,
        feel_sd=WIDER["finger"] * who.feel_sd,
        tip_k=WIDER["tip"] * who.tip_k,
    )


def groups_of(answers: Sequence[Answer], script: Script, each: int, seed: int) -> Readers:
    """``each`` readers for every answer, in its order."""
    who = drawn_wider()
    groups = [
        group_of(
            who,
            answer.pit,
            answer.altitude_m,
            each,
            seed + 1009 * (n + 1),
            set_k=answer.set_c - script.set_c,
            thicker=THICKNESS[answer.thickness],
        )
        for n, answer in enumerate(answers)
    ]
    return Readers(who, tuple(groups))


def each_of(answers: int) -> int:
    """How many members an answer has."""
    return int(np.clip(ALL // max(answers, 1), FEWEST, MOST_EACH))


def pool_of(readers: Readers) -> Pool:
    """Their departures from the usual, in a usual reader's spreads; (readers,)."""
    who, usual = readers.who, audience()

    def all_of(name: str) -> Floats:
        return np.concatenate([np.asarray(getattr(group.habits, name), dtype=np.float64) for group in readers.groups])

    z = np.concatenate([group.z for group in readers.groups], axis=1)
    normal = {
        "eye": np.log(all_of("colour")) / usual.colour_sd,
        "finger": (all_of("feel") - 1.0) / usual.feel_sd,
        "gap": np.log(all_of("gap")) / usual.look_gap_sd,
        "held": all_of("held"),
    }
    columns = [normal[name] if name in normal else z[ROW[name]] for name in MIDDLES]
    return Pool(
        normal=np.stack(columns, axis=-1),
        tip=all_of("tip") * who.tip_k / usual.tip_k,
        clocked=all_of("clocked"),
        late=all_of("late") * who.late_s / usual.late_s,
        clock_share=usual.clock_share,
    )


def by_answer(pool: Pool, each: int) -> Pool:
    """The same as (answers, members)."""
    return Pool(
        pool.normal.reshape(-1, each, pool.normal.shape[-1]),
        pool.tip.reshape(-1, each),
        pool.clocked.reshape(-1, each),
        pool.late.reshape(-1, each),
        pool.clock_share,
    )


@dataclass(frozen=True)
class Run:
    """Members as they cooked by the card, and their plates."""

    cooked: Cooked
    plates: Plates


def run_of(
    piece: Piece,
    script: Script,
    marks: Marks,
    readers: Readers,
    *,
    ideal_lines: Sequence[int] = (),
    threads: int | None = None,
) -> Run:
    """They cook. ideal_lines: that are ended when they really are there, from 0"""
    cooked = cook_all(piece, script, readers, ideal_lines=ideal_lines, threads=threads)
    return Run(cooked, Plates.of(cooked, marks))


def told_by(answers: Sequence[Answer], run: Run, on_pit: Sequence[int]) -> Told:
    """How well every answer's members fit it. on_pit: lines on the pit, from 0"""
    n = len(answers)
    ends = np.cumsum(run.cooked.line_s, axis=0)[list(on_pit)].reshape(len(on_pit), n, -1)
    fit = np.stack([_times(answer.ended_s, ends[:, i]) for i, answer in enumerate(answers)])
    named = np.array([[float(word in answer.came_out) for answer in answers] for word in FAULTS])
    all_named = np.array([0 < len(answer.came_out) < MOST_NAMED for answer in answers])
    return Told(fit, run.plates.by_answer(fit.shape[1]), named, np.where(all_named, 1.0 - named, 0.0))


def _times(said: Sequence[float | None], ends: Floats) -> Floats:
    """Logarithm of how likely the times are that a reader wrote, (members,). ends: (lines, members) [s]"""
    found = np.zeros(ends.shape[1])
    before_said, before = 0.0, np.zeros(ends.shape[1])
    rounded_s = rounding_s(said)
    for n, at in enumerate(said[: len(ends)]):
        if at is None:
            continue
        took, takes = at - before_said, ends[n] - before
        sd = float(np.sqrt(TIME_S**2 + (TIME_SHARE * took) ** 2 + rounded_s**2))
        off = (took - np.nan_to_num(takes, nan=1e6)) / sd
        near = np.log((1.0 - STRAY) / sd) - 0.5 * off**2
        far = np.log(STRAY / (STRAY_TIMES * sd)) - 0.5 * np.minimum((off / STRAY_TIMES) ** 2, 20.0)
        found += np.logaddexp(near, far)
        before_said, before = at, ends[n]
    return found


def rounding_s(said: Sequence[float | None]) -> float:
    """What rounding makes the span between two of a reader's times uncertain by, as a standard error [s].

    Steps that do not divide every time are out. Of the others each is as likely beforehand, and a step that is n times
    as wide makes n times as likely that a time fell on one of its marks. A mark is off by step/√12, a span by √2 of it.
    """
    told = [round(at) for at in said if at is not None]
    steps = np.array([step for step in ROUNDS_S if all(at % step == 0 for at in told)])
    if not told or not steps.size:
        return 0.0
    likely = steps ** len(told)
    return float(np.sqrt(likely @ steps**2 / np.sum(likely) / 6.0))


def as_dealt(n: int, seed: int) -> Readers:
    """Readers of whom nobody has answered, drawn as wide as the levels may need them."""
    return deal(n, seed, drawn_wider())


def picked(readers: Readers, which: Sequence[int]) -> Readers:
    """Some of them, by their numbers (one may come more than once), as one group for each that they come from."""
    groups, begin = list[Group](), 0
    chosen = np.asarray(which)
    for group in readers.groups:
        mine = chosen[(chosen >= begin) & (chosen < begin + group.size)] - begin
        begin += group.size
        if mine.size:
            names = group.habits.__dataclass_fields__
            habits = replace(group.habits, **{name: getattr(group.habits, name)[mine] for name in names})
            groups.append(replace(group, z=group.z[:, mine], habits=habits))
    return Readers(readers.who, tuple(groups))
