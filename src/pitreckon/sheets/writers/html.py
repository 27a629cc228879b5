"""A sheet as HTML: a fragment for the live page, and a whole document that prints. Jinja2 escapes every text."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from pitreckon.extras import loading
from pitreckon.sheets.model import Sheet, by_day, free_words, hands_words, row_times

if TYPE_CHECKING:
    from markupsafe import Markup

HERE: Final = Path(__file__).parents[1]
STEPS_TOGETHER: Final = 4
"""A row of more steps goes on in a row below with its time again, so that none is longer than a page."""
Paper = Literal["a4", "letter"]
PAPERS: Final[dict[Paper, str]] = {"a4": "A4", "letter": "letter"}
"""Names of page sizes in CSS Paged Media: 210 × 297 mm (ISO 216) and 8.5 × 11 in."""

_TIME = r"(?:[A-Z][a-z]{2} )?\d{1,2}:\d\d(?: [ap]m)?"
_AMOUNT = r"\d+(?:\.\d+)? (?:°[FC]|%|lb|oz|kg|g|min|h)(?!\w)"
TOGETHER: Final = re.compile(rf"(\(?{_TIME}(?:–{_TIME})?\)?|{_AMOUNT})")
"""What no line is broken in: times, stretches of time, amounts with their units."""


def fragment_of(sheet: Sheet) -> str:
    """The sheet as one ``<article class="sheet">`` with no style of its own."""
    return template_of("sheet.html", kept=_kept)(sheet, steps_together=STEPS_TOGETHER)


def page_of(sheet: Sheet, paper: Paper = "a4", faces: str = "", head: str = "") -> str:
    """A whole HTML document with its style, which asks for nothing else.

    faces: CSS that brings a typeface; without it the reader's own sans serif is used; head: elements for its head
    """
    style = (HERE / "templates" / "sheet.css").read_text(encoding="utf-8")
    made = f"{sheet.reader.day(sheet.made_utc)} {sheet.reader.clock(sheet.made_utc)}"
    rest = {"fragment": fragment_of(sheet), "style": style, "faces": faces, "size": PAPERS[paper], "head": head}
    return template_of("document.html")(sheet, made=made, **rest)


def script_element(document: Mapping[str, Any]) -> str:
    """The JSON-LD as an element for the head of a page; nothing in it can end the element."""
    text = json.dumps(document, ensure_ascii=False).replace("<", "\\u003c")
    return f'<script type="application/ld+json">{text}</script>'


@cache
def template_of(name: str, **filters: Callable[[str], str]) -> Callable[..., str]:
    """A template of sheets: what it makes of a sheet and of whatever else it asks for. HTML is escaped."""
    with loading("jinja2", "a sheet in a file"):
        from jinja2 import Environment, FileSystemLoader, StrictUndefined  # noqa: PLC0415  a terminal does not need it

    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=name.endswith(".html"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= filters
    words = {"by_day": by_day, "free_words": free_words, "hands_words": hands_words, "row_times": row_times}
    template = made.get_template(name, globals=words)
    return lambda sheet, **more: template.render(sheet=sheet, reader=sheet.reader, say=sheet.reader.say or str, **more)


def _kept(text: str) -> Markup:
    """The text escaped, with no line broken inside what belongs together."""
    from markupsafe import Markup, escape  # noqa: PLC0415  comes with Jinja2

    parts = TOGETHER.split(text)  # every second one is one to be kept
    whole = (Markup('<span class="kept">{}</span>').format(p) if i % 2 else escape(p) for i, p in enumerate(parts))
    return Markup("").join(whole)
