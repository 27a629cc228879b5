"""Taps beside photos: what a person's taps of a colour differ by from what was measured, as a word on that hand.

Where one piece was tapped and measured at about one time, the two lines of the update give way to their difference: the
colour itself drops out of it, so it tells of the hand whatever the model thinks of the rub. What is left in it is the
bias, the tap's own error and rounding, the photo's error, and what the members say the colour did in between. Put in
place of the two lines, and not beside them, nothing of what they tell is counted twice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.linalg import block_diag
from scipy.special import chdtri

from pitreckon.arrays import Floats
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Look
from pitreckon.ledger.bothways import BothWays
from pitreckon.reckon.hands import HandTold, Whose, told, usual
from pitreckon.reckon.update import LinearObs

PHOTO: Final = "colour in a photo"
ODD: Final = 0.05
"""Differences that are further off than so many in a hundred are doubted; mere lines sooner, for a model may be off."""


@dataclass(frozen=True, eq=False)
class Seen:
    """The lines of a track, and of each the look that it is of, None where it is of none; whose: as of ``told``"""

    lines: LinearObs
    looks: tuple[Look | None, ...]
    whose: tuple[Whose | None, ...]

    def has(self, pair: BothWays) -> bool:
        """Are both of its looks among the lines?"""
        return _row(self.looks, pair.tap) >= 0 and _row(self.looks, pair.photo) >= 0


@dataclass(frozen=True, eq=False)
class _Part:
    """Lines of which the paired ones are differences. mine, photo: how the bias and what the photos share enter each"""

    lines: LinearObs
    mine: Floats
    photo: Floats


def hands_told(own: Seen, all_seen: Sequence[Seen], pairs: Sequence[BothWays]) -> tuple[HandTold, ...]:
    """What one track of a cook says of those who looked at it; of who tapped beside photos, with all of the cook's.

    own: the track, one of ``all_seen``; pairs: of the whole cook
    """
    lines = own.lines
    found = told(own.whose, lines.slope, lines.innovation, lines.covariance)
    used = [pair for pair in pairs if any(each.has(pair) for each in all_seen)]
    beside = sorted({(pair.tap.by, pair.tap.kind) for pair in used} & {each for each in own.whose if each})
    if not beside:
        return found
    kept = [each for each in found if (each.by, each.kind) not in beside]
    for whose in beside:
        mine = [pair for pair in used if (pair.tap.by, pair.tap.kind) == whose]
        kept += _beside(whose, own, all_seen, mine)
    return tuple(sorted(kept, key=lambda each: (each.by, each.kind)))


def _beside(whose: Whose, own: Seen, all_seen: Sequence[Seen], pairs: Sequence[BothWays]) -> Iterator[HandTold]:
    here = [pair for pair in pairs if own.has(pair)]
    parts, left = [_part(own, whose, here, alone=False)], [pair for pair in pairs if pair not in here]
    for other in all_seen:  # a look that names no piece is among the lines of several tracks: its pair counts once
        there = [pair for pair in left if other.has(pair)]
        left = [pair for pair in left if pair not in there]
        if there:
            parts.append(_part(other, whose, there, alone=True))
    mine, photo = (np.concatenate([getattr(part, name) for part in parts]) for name in ("mine", "photo"))
    bias, shared = usual(whose[1]).sd, LOOK_KINDS[PHOTO].errors.shared
    across = bias**2 * np.outer(mine, mine) + shared**2 * np.outer(photo, photo)
    row = 0
    for part in parts:  # what two tracks have in common, of errors, is the bias and what all photos of a cook share
        size = row + part.mine.size
        across[row:size, row:size] = part.lines.covariance
        row = size
    rows = len(mine)
    found = told(
        [whose if each else None for each in mine],
        block_diag(*[part.lines.slope for part in parts]),
        np.concatenate([part.lines.innovation for part in parts]),
        across,
        chance=float(chdtri(rows, ODD)) / rows,
    )
    photos = len({id(pair.photo) for pair in pairs})
    return (replace(each, beside=photos) for each in found)


def _part(seen: Seen, whose: Whose, pairs: Collection[BothWays], *, alone: bool) -> _Part:
    """A track's lines with the differences of these pairs in place of their looks; ``alone``: nothing but those."""
    each = np.eye(len(seen.looks))
    rows = [(_row(seen.looks, pair.tap), _row(seen.looks, pair.photo)) for pair in pairs]
    out = {row for pair in rows for row in pair}
    rest = np.array([each[i] for i in range(len(seen.looks)) if not alone and i not in out])
    apart = np.array([each[tap] - each[photo] for tap, photo in rows])
    turn = np.concatenate([part.reshape(-1, len(seen.looks)) for part in (rest, apart)])
    lines = seen.lines
    turned = LinearObs(turn @ lines.slope, turn @ lines.innovation, turn @ lines.covariance @ turn.T)
    mine = turn @ np.array([float(one == whose) for one in seen.whose])
    return _Part(turned, mine, turn @ np.array([float(k is not None and k.kind == PHOTO) for k in seen.looks]))


def _row(looks: Sequence[Look | None], look: Look) -> int:
    """Of that very look; -1: it is none of them."""
    return next((row for row, each in enumerate(looks) if each is look), -1)
