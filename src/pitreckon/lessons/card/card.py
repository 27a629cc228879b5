"""A recipe card's reckoning: a finished cook's lines, timed for readers' pits, and how many of them would succeed."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Bools, Floats
from pitreckon.lessons.card.changes import LineChange, try_lines
from pitreckon.lessons.card.cooked import Cooked, Piece, cook_all
from pitreckon.lessons.card.finished import FinishedItem
from pitreckon.lessons.card.readers import Readers, deal
from pitreckon.lessons.card.script import Script, script_of, with_times
from pitreckon.lessons.card.sensitivity import Moved, move_table
from pitreckon.lessons.marks import Marks, Usual

READERS: Final = 2000
TABLE_READERS, TRY_READERS = 400, 800
"""How many of them the rows of the table and the changes are tried on: the same for all, so that they compare."""
FEWEST_OF_A_KIND: Final = 30
"""Readers with one kind of pit, from which on their share is told."""


@dataclass(frozen=True, slots=True)
class Share:
    """A share of readers [-], of how many, and its standard error [-]."""

    share: float
    of: int

    @property
    def error(self) -> float:
        """Standard error."""
        return float(np.sqrt(self.share * (1.0 - self.share) / max(self.of, 1)))


@dataclass(frozen=True, slots=True)
class Card:
    """A card as reckoned.

    script: its lines with their times; marks: past which a plate is not the same; right: who gets it, as written
    faults: share of readers by what goes wrong, most first; by_pit: right by kind of pit (catalog key)
    table: how the times move; changes: what would help, best first; begin_s: before the meal, so that nine in ten are
    in time [s]; total_s: tenth, middle, nine tenths from put-on to the end of the last line [s]
    """

    finished: FinishedItem
    piece: Piece
    script: Script
    marks: Marks
    right: Share
    faults: tuple[tuple[str, float], ...]
    by_pit: tuple[tuple[str, Share], ...]
    table: tuple[Moved, ...]
    changes: tuple[LineChange, ...]
    total_s: tuple[float, float, float]
    simulated: int
    seed: int

    @property
    def change(self) -> LineChange | None:
        """The line to change; None: no single one helps much."""
        return self.changes[0] if self.changes and self.changes[0].helps else None

    @property
    def begin_s(self) -> float:
        """How long before the meal to begin, so that nine readers in ten are in time [s]."""
        return self.total_s[2]


def card_of(
    done: FinishedItem,
    *,
    readers: int = READERS,
    seed: int = 1,
    pit: str | None = None,
    threads: int | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Card:
    """Reckon a card from a finished cook.

    readers: how many are simulated, 100 or more; pit: kind that all of them have; None: as they come
    tell: hears how far it is, in words

    Raises InputError: too few readers.
    """
    label = done.item.label
    tell(f"{label}: {readers} readers cook it by its marks")
    everybody = deal(readers, seed, pit=pit)
    piece = Piece.of(done.cut, done.item)
    plain = script_of(done)
    ideal = cook_all(piece, plain, everybody, ideal=True, threads=threads)
    marks = Marks.of(done.cut, Usual.of(ideal))
    script = with_times(plain, _quantiles(ideal, plain))
    tell(f"{label}: they cook it again by the card")
    cooked = cook_all(piece, script, everybody, threads=threads)
    few = deal(min(TABLE_READERS, readers), seed + 1, pit=pit)
    some = deal(min(TRY_READERS, readers), seed, pit=pit)

    def retimed(changed: Script) -> Script:
        return timed(piece, changed, few, threads)

    tell(f"{label}: each line of the card is tried in another way")
    base = cook_all(piece, retimed(script), some, threads=threads)
    changes = try_lines(piece, script, some, marks, base, retimed, done.grate_c, threads)
    right = cooked.right(marks)
    faults = sorted(((word, float(which.mean())) for word, which in cooked.faults(marks).items()), key=lambda e: -e[1])
    tell(f"{label}: the times for other pits and weights")
    table = move_table(piece, script, few, threads)
    return Card(
        finished=done,
        piece=piece,
        script=script,
        marks=marks,
        right=Share(float(right.mean()), right.size),
        faults=tuple((word, share) for word, share in faults if share > 0.0),
        by_pit=_by_pit(everybody, right),
        table=table,
        changes=changes,
        total_s=_spread(cooked.total_s),
        simulated=2 * everybody.size + (1 + len(table)) * few.size + (1 + len(changes)) * (some.size + few.size),
        seed=seed,
    )


def timed(piece: Piece, script: Script, readers: Readers, threads: int | None = None) -> Script:
    """A card with its times written for these readers."""
    return with_times(script, _quantiles(cook_all(piece, script, readers, ideal=True, threads=threads), script))


def _quantiles(cooked: Cooked, script: Script) -> list[tuple[float, float, float]]:
    return [_spread(cooked.line_s[n]) for n in range(len(script.lines))]


def _spread(times: Floats) -> tuple[float, float, float]:
    """Tenth, middle and nine tenths [s]; who never gets there is left out, and counted as not done in time."""
    low, middle, high = (float(each) for each in np.nanquantile(times, (0.1, 0.5, 0.9)))
    return low, middle, high


def _by_pit(readers: Readers, right: Bools) -> tuple[tuple[str, Share], ...]:
    kinds = np.concatenate([np.full(group.size, group.pit) for group in readers.groups])
    found = []
    for key in catalog.pits():
        of = kinds == key
        if int(of.sum()) >= FEWEST_OF_A_KIND:
            found.append((key, Share(float(right[of].mean()), int(of.sum()))))
    return tuple(sorted(found, key=lambda each: -each[1].share))
