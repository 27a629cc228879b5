"""An item in several lots: what does not lie on one pit at once goes on several, or one lot after the other."""

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Final

from pitreckon.plan.buying.amounts import Amount, amounts_of
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import room_for
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes
from pitreckon.text.said import said

MOST_LOTS = 6
IN_LOTS: Final = "{item}: {n} do not lie on a pit at once, so they go in {count} lots"
_LOT: Final = re.compile(r"(.+), lot \d+")
Lies = Callable[[Wishes, ItemWish, Amount], bool]


def in_lots(wishes: Wishes, amounts: tuple[Amount, ...], index: int, count: int) -> Wishes:
    """The wishes with one item in so many lots of about the same size; each goes where and when it is best for it.

    A lot is an item of its own, of the same meat. count: 2 or more, at most as many as there are pieces
    """
    item, pieces = wishes.items[index], amounts[index].pieces
    sizes = [pieces // count + (1 if n < pieces % count else 0) for n in range(count)]
    lots = tuple(
        replace(item, label=_label(item, n), pieces=size, share=item.share * size / pieces)
        for n, size in enumerate(sizes, start=1)
    )
    return replace(wishes, items=(*wishes.items[:index], *lots, *wishes.items[index + 1 :]))


def ways_in_lots(wishes: Wishes) -> tuple[tuple[Wishes, tuple[str, ...]], ...]:
    """The wishes with what lies on none of its pits at once in lots, the fewest first; each way with what was parted.

    As few lots as do are least work. Where they lie on some of their pits only, there is a second way, in which each
    lies on every one: a pit that is taken by other meat is then not the only one.
    Raises InputError: as ``amounts_of``.
    """
    fewest = lots_that_fit(wishes)
    if not fewest[1]:
        return (fewest,)
    more = lots_that_fit(wishes, _lies_on_all)
    return (fewest,) if len(more[0].items) <= len(fewest[0].items) else (fewest, more)


def lots_that_fit(wishes: Wishes, lies: Lies | None = None) -> tuple[Wishes, tuple[str, ...]]:
    """The wishes with every item that lies on none of its pits at once in as few lots as do; and what was parted.

    lies: what a lot has to do; None: to lie on one of its pits
    What does not fit in any number of lots is left as it is. Raises InputError: as ``amounts_of``.
    """
    notes: list[str] = []
    amounts = amounts_of(wishes)
    lies = lies or _lies
    for item in wishes.items:
        index = wishes.items.index(item)
        if _lies(wishes, item, amounts[index]):
            continue
        most = min(MOST_LOTS, amounts[index].pieces)
        for count in range(2, most + 1):
            parted = in_lots(wishes, amounts, index, count)
            if all(lies(parted, parted.items[n], amounts_of(parted)[n]) for n in range(index, index + count)):
                notes.append(said(IN_LOTS, item=item.label, n=amounts[index].pieces, count=count))
                wishes, amounts = parted, amounts_of(parted)
                break
    return wishes, tuple(notes)


def whole_of(label: str) -> str:
    """What a lot is a lot of; an item that was not parted is its own whole.

    >>> whole_of("thighs, lot 2"), whole_of("racks")
    ('thighs', 'racks')
    """
    found = _LOT.fullmatch(label)
    return found[1] if found else label


def _lies_on_all(wishes: Wishes, item: ItemWish, amount: Amount) -> bool:
    """Whether it lies on every pit that it may go on, but for those that not one piece lies on."""
    one = replace(amount, pieces=1)
    pits = [pit for pit in _pits(wishes, item) if _fits(pit, item, one)]
    return bool(pits) and all(_fits(pit, item, amount) for pit in pits)


def _lies(wishes: Wishes, item: ItemWish, amount: Amount) -> bool:
    return any(_fits(pit, item, amount) for pit in _pits(wishes, item))


def _pits(wishes: Wishes, item: ItemWish) -> list[PitWish]:
    return [pit for pit in wishes.pits if not item.pits or pit.label in item.pits]


def _fits(pit: PitWish, item: ItemWish, amount: Amount) -> bool:
    return room_for(pit, [Pieces(item.label, item.cut, amount.pieces, amount.mass_kg, item.thickness_factor)]).fits


def _label(item: ItemWish, number: int) -> str:
    return f"{item.label[:52]}, lot {number}"
