"""A question that only the cook can answer: what a file does not say and what cannot be told from it for sure."""

from __future__ import annotations

from pitreckon.errors import InputError, Place


class UnsureError(InputError):
    """Something has to be asked before a file can be read.

    option: name of the answer (unit, dates, start, or a column's name); choices: what it can be, empty: free
    """

    def __init__(
        self, trouble: str, remedy: str, option: str, choices: tuple[str, ...], place: Place | None = None
    ) -> None:
        super().__init__(trouble, remedy, place)
        self.option = option
        self.choices = choices

    def at(self, *, file: str | None = None, line: int | None = None, field: str | None = None) -> UnsureError:
        """The same with its place filled in."""
        placed = super().at(file=file, line=line, field=field)
        return UnsureError(self.trouble, self.remedy, self.option, self.choices, placed.place)
