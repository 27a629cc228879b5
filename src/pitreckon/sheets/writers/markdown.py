"""A sheet as Markdown: tables and lists that any reader of it shows, and whatever others wrote kept as text."""

import re

from pitreckon.sheets.model import Sheet
from pitreckon.sheets.writers.html import template_of

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
    write = template_of("sheet.md", plain=plain)
    blocks = (write(sheet, block=block).strip("\n") for block in sheet.blocks)
    parts = [f"# {plain(sheet.title)}", plain(sheet.subtitle), *filter(None, blocks)]
    if sheet.foot:
        parts.append(f"*{plain(sheet.foot)}*")
    return "\n\n".join(parts) + "\n"
