"""A sheet as Markdown: tables and lists that any reader of it shows, and whatever others wrote kept as text."""

import re

from pitreckon.sheets.model import (
    Blank,
    Block,
    Caution,
    Checklist,
    Heading,
    KeyFigures,
    Row,
    Sheet,
    Stage,
    Stages,
    Step,
    Table,
    Text,
    Timetable,
    by_day,
    free_words,
    hands_words,
    row_times,
)
from pitreckon.sheets.reader import Reader

TICK = "☐"
_MARKS = re.compile(r"([\\`*_\[\]<>|~#&])")
_LEAD = re.compile(r"^(\s*)([-+=]|\d+[.)])(?=\s|$)")


def plain(text: str) -> str:
    """Text that Markdown shows as it is, on one line.

    >>> plain("*two* | <b>racks</b>")
    '\\\\*two\\\\* \\\\| \\\\<b\\\\>racks\\\\</b\\\\>'
    """
    one_line = " ".join(text.split())
    return _LEAD.sub(_escape_lead, _MARKS.sub(r"\\\1", one_line))


def _escape_lead(found: re.Match[str]) -> str:
    mark = found[2]
    return found[1] + (f"{mark[:-1]}\\{mark[-1]}" if len(mark) > 1 else f"\\{mark}")


def markdown_of(sheet: Sheet) -> str:
    """The whole sheet as Markdown with tables (CommonMark and pipes)."""
    parts = [f"# {plain(sheet.title)}", plain(sheet.subtitle)]
    parts += [text for block in sheet.blocks if (text := _block(block, sheet.reader))]
    if sheet.foot:
        parts.append(f"*{plain(sheet.foot)}*")
    return "\n\n".join(parts) + "\n"


def _block(block: Block, reader: Reader) -> str:
    match block:
        case Heading(text, level):
            return f"{'#' * level} {plain(text)}"
        case Text(text, weight):
            return f"**{plain(text)}**" if weight == "lead" else plain(text)
        case KeyFigures(figures):
            return "\n".join(
                f"- {plain(f.name)}: **{plain(f.value)}**" + (f" {plain(f.note)}" if f.note else "") for f in figures
            )
        case Timetable(rows, write):
            return "\n\n".join(
                f"**{plain(day)}**\n\n{_timetable(of_day, write, reader)}" for day, of_day in by_day(rows, reader)
            )
        case Table(head, cells, _):
            return _table(head, cells, block.aligned)
        case Stages(stages):
            return "\n".join(f"{n}. {_stage(stage)}" for n, stage in enumerate(stages, 1))
        case Checklist(lines):
            return "\n".join(
                f"- [ ] **{plain(line.what)}**" + "".join(f", {plain(t)}" for t in (line.amount, line.why) if t)
                for line in lines
            )
        case Caution(title, texts):
            return f"**{plain(title)}**\n\n" + "\n".join(f"- {plain(text)}" for text in texts)
        case Blank(title, head, lines):
            return f"## {plain(title)}\n\n" + _table(head, (("",) * len(head),) * lines, ("left",) * len(head))


def _stage(stage: Stage) -> str:
    until = f" until {plain(stage.look_for)}." if stage.look_for else ""
    note = f" *{plain(stage.note)}*" if stage.note else ""
    return f"**{plain(stage.do)}**{until or '.'} {plain(stage.takes)}.{note}"


def _table(head: tuple[str, ...], rows: tuple[tuple[str, ...], ...], aligned: tuple[str, ...]) -> str:
    rule = "|".join("---:" if align == "right" else "---" for align in aligned)
    lines = [f"| {' | '.join(plain(cell) for cell in cells)} |" for cells in (head, *rows)]
    return "\n".join([lines[0], f"|{rule}|", *lines[1:]])


def _timetable(rows: tuple[Row, ...], write: tuple[str, ...], reader: Reader) -> str:
    head = ("when", "what to do", "what to look for first", *write)
    lines = [f"| {' | '.join(plain(cell) for cell in head)} |", "|" + "---|" * len(head)]
    for row in rows:
        at, window = row_times(row, reader)
        when = [f"**{plain(at)}**", *([plain(window)] if window else [])]
        extra = [plain(t) for t in (row.where, hands_words(row)) if t]
        for n, step in enumerate(row.steps):
            last = n == len(row.steps) - 1
            free = [f"*{plain(text)}*"] if last and (text := free_words(row, reader)) else []
            cells = (
                "<br>".join(when) if n == 0 else "",
                "<br>".join([_do(step), *(extra if n == 0 else []), *free]),
                "<br>".join(plain(t) for t in (step.look_for, step.sure, step.note) if t),
                *("",) * len(write),
            )
            lines.append(f"| {' | '.join(cells)} |")
    return "\n".join(lines)


def _do(step: Step) -> str:
    return f"{TICK} **{plain(f'{step.what}: {step.do}' if step.what else step.do)}**"
