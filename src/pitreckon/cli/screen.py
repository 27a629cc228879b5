"""The screen that commands print on: whoever asked for metric reads nothing else."""

from textwrap import fill
from typing import Any, Final

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pitreckon.text.quoted import metric
from pitreckon.units import Scale

NARROW: Final = 70
"""Fewer columns than a table wants, as on a phone held upright."""


class Screen(Console):
    """A console that writes every text in the degrees and weights that were asked for.

    Most texts are made in them; what the model, the planner and the rules say in words is written over here.
    """

    def __init__(self, degrees: Scale, **more: Any) -> None:
        super().__init__(highlight=False, **more)
        self.metric = degrees == "C"

    def render_str(self, text: str, **how: Any) -> Text:
        """A text, with its mark-up, in the reader's units."""
        return super().render_str(metric(text) if self.metric else text, **how)


def print_table(console: Console, table: Table, least: int = NARROW) -> None:
    """A table of texts; on fewer columns than ``least`` each row as lines of its own, so that no cell is lost."""
    if console.width >= least:
        console.print(table)
        return
    if table.title is not None:
        console.print(table.title, style="italic")
    for first, *rest in zip(*(column.cells for column in table.columns), strict=True):
        console.print(first, style="bold")
        for column, cell in zip(table.columns[1:], rest, strict=True):
            if cell:
                console.print("  " + "  ".join(each for each in (str(column.header), str(cell)) if each))


def print_hung(console: Console, text: str, indent: int = 3) -> None:
    """A sentence set in, and what of it goes on in the next line a little more, so that sentences can be told apart."""
    said = metric(text) if isinstance(console, Screen) and console.metric else text
    lead = " " * indent
    console.print(fill(said, console.width, initial_indent=lead, subsequent_indent=f"{lead}  ", break_on_hyphens=False))
