"""What is read on paper: the run sheet as a page, and as files to print, to share and for a calendar."""

import re
import threading
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Query
from markupsafe import Markup
from starlette.responses import Response

from pitreckon import sheets
from pitreckon.cook import Cook
from pitreckon.sheets import Sheet, run_sheet
from pitreckon.sheets.writers.html import PAPERS, Paper, fragment_of
from pitreckon.sheets.writers.write import ENDINGS
from pitreckon.web.access.sessions import Viewer
from pitreckon.web.errors import RefusalError
from pitreckon.web.pages.visit import CookVisit, ViewerVisit, Visit, cook_visit, taken_away
from pitreckon.web.views.reader import Preferences

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 20.0
"""How long a sheet waits for the first outlook [s]."""
KINDS: Final = {
    ".pdf": "application/pdf",
    ".ics": "text/calendar; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".md": "text/markdown; charset=utf-8",
    ".txt": "text/plain; charset=utf-8",
}
one_at_a_time = threading.Lock()
"""Setting a page keeps a core busy for a second; several at once would hold up the readings."""


def sheet_of(visit: CookVisit) -> Sheet:
    """The run sheet of a cook as it stands. Raises RefusalError: there is no outlook yet."""
    shown = visit.shown
    if shown.outlook is None:
        raise RefusalError(503, shown.trouble or "the first outlook is still being reckoned", "Try again in a minute")
    return run_sheet(shown.cook, shown.outlook, reader=visit.paper_reader(shown.cook.zone))


def names_in(cook: Cook) -> list[str]:
    """What people called the cook, its items and its pits, and each piece by its number."""
    pieces = [f"{item.label} {n + 1}" for item in cook.items for n in range(item.pieces)]
    return [cook.name, *(item.label for item in cook.items), *(pit.label for pit in cook.pits), *pieces]


def paper_page(visit: Visit, name: str, sheet: Sheet, more: Iterable[tuple[str, str]], **which: Any) -> Response:
    """A sheet inside a page. more: (address, words) of the same as files; name, which: as ``Visit.page`` has them"""
    paper = Markup(fragment_of(sheet))
    return visit.page("paper.html", name, paper=paper, paper_title=sheet.subtitle, more=tuple(more), **which)


def paper_file(sheet: Sheet, ending: str, name: str, paper: Paper) -> Response:
    """A sheet as a file that is taken away.

    Raises PaperError: a PDF cannot be made on this machine.
    """
    with one_at_a_time:
        body = ENDINGS[ending](sheet, paper)
    safe = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "sheet"
    return Response(body, media_type=KINDS[ending], headers=taken_away(f"{safe}{ending}"))


def paper_for(asked: str | None, preferences: Preferences) -> Paper:
    """The size of paper asked for; else US Letter for those who weigh in pounds, A4 for the others."""
    usual: Paper = "letter" if preferences.mass == "lb" else "a4"
    return next((each for each in PAPERS if each == asked), usual)


def known_ending(ending: str) -> str:
    """``pdf`` as ``.pdf``. Raises RefusalError: there is no such kind."""
    if f".{ending}" not in KINDS:
        raise RefusalError(404, f"there is no sheet of kind '{ending[:12]}'", f"Ask for one of: {', '.join(KINDS)}")
    return f".{ending}"


OfCookInTime = Annotated[CookVisit, Depends(cook_visit(lambda: WAIT_S))]
KnownEnding = Annotated[str, Depends(known_ending)]


@router.get("/cook/{cook_id}/sheet")
def sheet_page(visit: OfCookInTime) -> Response:
    """The run sheet, to be read here or printed."""
    here = f"/cook/{visit.row.id}/sheet"
    say = visit.preferences.say
    more = ((f"{here}.pdf", say("to print")), (f"{here}.ics", say("for a calendar")), (f"{here}.md", say("as text")))
    return paper_page(visit, "paper", sheet_of(visit), more, row=visit.row)


@router.get("/cook/{cook_id}/sheet.{ending}")
def sheet_file(
    viewer: ViewerVisit,
    kind: KnownEnding,
    visit: OfCookInTime,
    paper: Annotated[str | None, Query(max_length=10)] = None,
) -> Response:
    """The run sheet as a file."""
    size = paper_for(paper, viewer.preferences)
    return paper_file(sheet_of(visit), kind, f"{visit.row.name} run sheet", size)


@router.get("/paper.css")
def paper_style(visitor: Viewer) -> Response:
    """The style of sheets, for sheets inside a page."""
    return Response(_style(), media_type="text/css; charset=utf-8", headers={"Cache-Control": "no-cache"})


@cache
def _style() -> str:
    """The sheets' own style, kept inside ``.paper`` by nesting."""
    whole = (Path(sheets.__file__).parent / "templates" / "sheet.css").read_text(encoding="utf-8")
    rules = re.sub(r"@page \{.*?\n\}\n", "", whole, flags=re.DOTALL)
    return f".paper {{\n{rules}\n}}\n"
