"""What a cook calls its pits and items, found as people write them, and which pieces there are."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.names import by_any_case, label_of
from pitreckon.units import shown


@dataclass(frozen=True, slots=True)
class Labels:
    """The pits and items of a cook by their names in any case, and how many pieces an item has by its label."""

    pits: Mapping[str, str]
    items: Mapping[str, str]
    pieces: Mapping[str, int]

    @classmethod
    def of(cls, cook: Cook) -> Self:
        """Those of a cook."""
        return cls(
            by_any_case(pit.label for pit in cook.pits),
            by_any_case(item.label for item in cook.items),
            {item.label: item.pieces for item in cook.items},
        )

    def label(self, text: str | None, *, of_pit: bool) -> str:
        """The pit's or item's own label; left out it is the cook's only one. Raises InputError: there is none."""
        labels, what = (self.pits, "pit") if of_pit else (self.items, "item")
        only = text is None and len(labels) == 1
        return next(iter(labels.values())) if only else label_of(text or "", labels, what)

    def piece(self, piece: int | str | None, on: str, *, of_pit: bool) -> int | None:
        """The piece of an item, counted from 1; None: not said. Raises InputError: it does not have it, or is a pit."""
        if piece in {None, ""}:
            return None
        if of_pit:
            raise InputError("a pit has no pieces", "Leave the piece blank, or out")
        if isinstance(piece, int):
            number, said = piece, f"{piece}" if abs(piece) < 10**9 else "a huge number"
        else:
            text = piece or ""
            number, said = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0, shown(text)
        pieces = self.pieces[on]
        if not 1 <= number <= pieces:
            trouble = f"{said} is no piece of '{on}', which has {pieces}"
            raise InputError(trouble, f"Write a number from 1 to {pieces}, or leave the piece out")
        return number
