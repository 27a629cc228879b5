"""A sheet on a terminal: Rich, with a plain text of the same for a file."""

import io

from rich.box import HORIZONTALS
from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text as Line

from pitreckon.sheets.model import (
    Blank,
    Block,
    Caution,
    Checklist,
    Heading,
    KeyFigures,
    Picture,
    Row,
    Sheet,
    Stages,
    Table,
    Text,
    Timetable,
    by_day,
    free_words,
    hands_words,
    row_times,
)
from pitreckon.sheets.reader import Reader

TICK = "[ ]"
NARROW = 40


def print_sheet(console: Console, sheet: Sheet) -> None:
    """The whole sheet. Text of others is printed as it is: no mark-up is read in it."""
    console.print(Line(sheet.title, style="bold"), soft_wrap=False)
    console.print(Line(sheet.subtitle))
    for block in sheet.blocks:
        _print(console, block, sheet.reader)
    if sheet.foot:
        console.print()
        console.print(Line(sheet.foot, style="dim"))


def text_of(sheet: Sheet, width: int = 88) -> str:
    """The same as plain text of at most this many columns, without any styling."""
    out = io.StringIO()
    console = Console(file=out, width=max(width, NARROW), no_color=True, highlight=False, legacy_windows=False)
    print_sheet(console, sheet)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"


def _print(console: Console, block: Block, reader: Reader) -> None:
    match block:
        case Heading(text, level):
            console.print()
            console.print(Line(text.upper() if level == 2 else text, style="bold"))
        case Text(text, weight):
            console.print(Line(text, style={"lead": "bold", "plain": "", "fine": "dim"}[weight]))
        case KeyFigures(figures):
            console.print()
            for figure in figures:
                note = f" {figure.note}" if figure.note else ""
                console.print(Line.assemble(f"{figure.name}: ", (figure.value, "bold"), note))
        case Timetable(rows, _):
            for day, of_day in by_day(rows, reader):
                console.print(Line(day, style="underline"))
                console.print(_timetable(of_day, reader))
        case Table(head, cells, _):
            grid = Grid(box=HORIZONTALS, pad_edge=False, header_style="")
            for name, align in zip(head, block.aligned, strict=True):
                grid.add_column(Line(name), justify=align, overflow="fold")
            for row in cells:
                grid.add_row(*(Line(cell) for cell in row))
            console.print(grid)
        case Stages(stages):
            grid = Grid.grid(padding=(0, 1, 1, 0))
            grid.add_column(justify="right")
            grid.add_column(overflow="fold")
            for n, stage in enumerate(stages, 1):
                words = Line(stage.do, style="bold")
                if stage.look_for:
                    words.append(f"\nuntil {stage.look_for}", style="not bold")
                for extra in (stage.takes, stage.note):
                    if extra:
                        words.append(f"\n{extra}", style="not bold dim")
                grid.add_row(Line(f"{n}.", style="bold"), words)
            console.print(grid)
        case Checklist(lines):
            for line in lines:
                amount, why = (f"  {text}" if text else "" for text in (line.amount, line.why))
                console.print(Line.assemble(f"{TICK} ", (line.what, "bold"), amount, (why, "dim")))
        case Caution(title, texts):
            console.print(Line(title, style="bold"))
            for text in texts:
                console.print(Padding(Line(text), (0, 0, 0, 2)))
        case Picture(_, words):
            console.print(Line(words, style="dim"))
        case Blank():
            pass  # there is no writing on a screen


def _timetable(rows: tuple[Row, ...], reader: Reader) -> Grid:
    grid = Grid.grid(padding=(0, 2, 0, 0))
    grid.add_column(no_wrap=True, justify="right")
    grid.add_column(no_wrap=True)
    grid.add_column(overflow="fold")
    for row in rows:
        at, window = row_times(row, reader)
        where = " ".join(part for part in (row.where, hands_words(row, reader)) if part)
        for n, step in enumerate(row.steps):
            head = Line(f"{step.what}: {step.do}" if step.what else step.do, style="bold")
            for lead, words, style in (
                ("when ", step.look_for, ""),
                ("", step.sure, "dim"),
                ("", step.note, ""),
            ):
                if words:
                    head.append(f"\n{lead}{words}", style=f"not bold {style}".strip())
            if n == 0 and where:
                head.append(f"\n{where}", style="not bold dim")
            lead_in = Line.assemble((at, "bold"), f"\n{window}" if window else "") if n == 0 else Line("")
            grid.add_row(lead_in, Line(TICK), head)
        free = free_words(row, reader)
        if free:
            grid.add_row(Line(""), Line(""), Line(free, style="italic"))
        grid.add_row(Line(""), Line(""), Line(""))
    return grid
