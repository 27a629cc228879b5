"""The card written anew for the readers that it has: another line where that helps, and times as they take them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.lessons.answers.averaging import weights_of
from pitreckon.lessons.answers.code import card_part
from pitreckon.lessons.answers.kept import KeptCard, coded
from pitreckon.lessons.answers.learn import WORTH_ANSWERS, Cooks, Learned, Usual
from pitreckon.lessons.answers.members import picked
from pitreckon.lessons.card.card import timed
from pitreckon.lessons.card.changes import LineChange, best_first, try_lines
from pitreckon.lessons.card.cooked import Cooked, cook_all
from pitreckon.lessons.card.readers import Readers
from pitreckon.lessons.card.script import Script, with_times

PICKED: Final = 800
FEW: Final = 400
"""Readers on whom the times of a change are written, as of a card."""
FEWEST_OF_A_KIND: Final = 5
"""Answers with one kind of pit, from which on it has times of its own."""


@dataclass(frozen=True)
class Again:
    """The changed card.

    card: with its own code; change: what was changed of its lines, None: only its times; others: what would help too
    by_pit: the card's lines with the times of one kind of pit, by catalog key
    """

    card: KeptCard
    change: LineChange | None
    others: tuple[LineChange, ...]
    by_pit: tuple[tuple[str, Script], ...]


def write_again(
    card: KeptCard,
    cooks: Cooks,
    usual: Usual,
    learned: Learned,
    seed: int,
    *,
    threads: int | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Again:
    """Try every change of the card on readers as they turned out to be, and write the best one with its times."""
    readers = readers_now(cooks, usual, learned, seed)
    few = picked(readers, range(0, readers.size, max(readers.size // FEW, 1)))

    def retimed(changed: Script) -> Script:
        return timed(card.piece, changed, few, threads)

    tell("each line of the card is tried in another way on readers like them")
    base = cook_all(card.piece, card.script, readers, threads=threads)
    changes = try_lines(card.piece, card.script, readers, card.marks, base, retimed, card.grate_c, threads)
    changes = best_first([_at_their_pace(each, card, readers, base, threads) for each in changes])
    best = changes[0] if changes and changes[0].helps else None
    tell("the times are written for them")
    script = card.script if best is None else best.script
    script = timed(card.piece, script, readers, threads)
    share = learned.share.middle + (best.gain if best is not None else 0.0)
    changed = replace(card, script=script, promised=round(min(max(share, 0.0), 1.0), 4), promised_of=readers.size)
    helps = tuple(each for each in changes if each.helps and each is not best)
    kinds = _by_pit(changed, readers, cooks, threads)
    return Again(coded(changed, card_part(card.code)), best, helps[:4], kinds)


def _at_their_pace(
    change: LineChange, card: KeptCard, readers: Readers, base: Cooked, threads: int | None
) -> LineChange:
    """A change that asks for another pace, tried on readers of whom those who were slower than the card stay so."""
    slower = card.script.every_s / change.script.every_s
    if slower <= 1.0:
        return change
    cooked = cook_all(card.piece, change.script, keeping_pace(readers, slower), threads=threads)
    share = float(cooked.right(card.marks).mean())
    return replace(change, share=share, gain=share - float(base.right(card.marks).mean()))


def keeping_pace(readers: Readers, slower: float) -> Readers:
    """The same readers, asked to look so many times as often: who looked less often than asked keeps that pace."""
    groups = []
    for group in readers.groups:
        gap = group.habits.gap
        groups.append(replace(group, habits=replace(group.habits, gap=np.where(gap > 1.0, gap * slower, gap))))
    return Readers(readers.who, tuple(groups))


def readers_now(cooks: Cooks, usual: Usual, learned: Learned, seed: int) -> Readers:
    """Readers as they turned out to be, each as likely as another; those as dealt are among them."""
    n = learned.weights.shape[0]
    rng = np.random.default_rng([seed, 9_377])
    dealt = round(PICKED * WORTH_ANSWERS / (WORTH_ANSWERS + n))
    mine = picked(cooks.readers, _evenly(learned.weights.ravel(), PICKED - dealt, rng))
    others = picked(usual.readers, _evenly(weights_of(usual.pool, learned.known.mean), dealt, rng))
    return Readers(cooks.readers.who, (*mine.groups, *others.groups))


def _evenly(weights: Floats, count: int, rng: np.random.Generator) -> Sequence[int]:
    """Numbers of members by their weights: systematic resampling (from memory)."""
    at = (np.arange(count) + rng.random()) / max(count, 1) * weights.sum()
    return np.minimum(np.searchsorted(np.cumsum(weights), at), weights.size - 1).tolist()  # type: ignore[no-any-return]


def _by_pit(card: KeptCard, readers: Readers, cooks: Cooks, threads: int | None) -> tuple[tuple[str, Script], ...]:
    """Its times on each kind of pit that enough answers have."""
    asked = [group.pit for group in cooks.readers.groups]
    kinds = [key for key in dict.fromkeys(asked) if asked.count(key) >= FEWEST_OF_A_KIND]
    if len(set(asked)) < 2 or not kinds:
        return ()
    cooked = cook_all(card.piece, card.script, readers, ideal=True, threads=threads)
    pit = np.concatenate([np.full(group.size, group.pit) for group in readers.groups])
    found = []
    for key in sorted(kinds, key=lambda each: -asked.count(each)):
        lines = cooked.line_s[:, pit == key]
        if lines.shape[1] and np.isfinite(lines).any(axis=1).all():
            quantiles = [tuple(float(each) for each in np.nanquantile(line, (0.1, 0.5, 0.9))) for line in lines]
            found.append((key, with_times(card.script, quantiles)))  # type: ignore[arg-type]
    return tuple(found)
