"""An item in several lots: what does not lie on one pit at once goes on several, or one lot after the other."""

from dataclasses import replace

from pitreckon.plan.buying.amounts import Amount, amounts_of
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import room_for
from pitreckon.plan.wishes import ItemWish, Wishes

MOST_LOTS = 6


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


def lots_that_fit(wishes: Wishes) -> tuple[Wishes, tuple[str, ...]]:
    """The wishes with every item that lies on none of its pits at once in as few lots as do; and what was parted.

    What does not fit in any number of lots is left as it is. Raises InputError: as ``amounts_of``.
    """
    notes: list[str] = []
    amounts = amounts_of(wishes)
    for item in wishes.items:
        index = wishes.items.index(item)
        if _lies(wishes, item, amounts[index]):
            continue
        most = min(MOST_LOTS, amounts[index].pieces)
        for count in range(2, most + 1):
            parted = in_lots(wishes, amounts, index, count)
            if all(_lies(parted, parted.items[n], amounts_of(parted)[n]) for n in range(index, index + count)):
                notes.append(
                    f"{item.label}: {amounts[index].pieces} do not lie on a pit at once, so they go in {count} lots"
                )
                wishes, amounts = parted, amounts_of(parted)
                break
    return wishes, tuple(notes)


def _lies(wishes: Wishes, item: ItemWish, amount: Amount) -> bool:
    pits = [pit for pit in wishes.pits if not item.pits or pit.label in item.pits]
    lot = Pieces(item.label, item.cut, amount.pieces, amount.mass_kg, item.thickness_factor)
    return any(room_for(pit, [lot]).fits for pit in pits)


def _label(item: ItemWish, number: int) -> str:
    return f"{item.label[:52]}, lot {number}"
