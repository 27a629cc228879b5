"""What is read on paper: the run sheet as a page, and as files to print, to share and for a calendar."""

from __future__ import annotations

import json
import re
import threading
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Annotated, Any, Final
from urllib.parse import quote

from fastapi import APIRouter, Query, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon import sheets
from pitreckon.ledger.store import CookRow
from pitreckon.safety.record.form import SafetyRecord, document_of_record
from pitreckon.sheets import Reader, Sheet, run_sheet
from pitreckon.sheets.documents.safetyrecord import safety_sheet
from pitreckon.sheets.writers.html import PAPERS, Paper, fragment_of
from pitreckon.sheets.writers.write import ENDINGS
from pitreckon.web.access.sessions import Viewer, Visitor, app_state_of
from pitreckon.web.api import CookId
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.live import Shown
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.cook import frame, shown_of
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
_one_at_a_time = threading.Lock()
"""Setting a page keeps a core busy for a second; several at once would hold up the readings."""


def reader_of(preferences: Preferences, zone: str) -> Reader:
    """How this person reads a sheet."""
    return Reader(zone, preferences.degrees, preferences.mass, preferences.hands == "12")


def sheet_of(shown: Shown, visitor: Visitor) -> Sheet:
    """The run sheet of a cook as it stands. Raises RefusalError: there is no outlook yet."""
    if shown.outlook is None:
        raise RefusalError(503, shown.trouble or "the first outlook is still being reckoned", "Try again in a minute")
    return run_sheet(shown.cook, shown.outlook, reader=reader_of(Preferences.of(visitor.person.prefs), shown.cook.zone))


def paper_page(
    request: Request, app_state: AppState, around: dict[str, Any], sheet: Sheet, more: Iterable[tuple[str, str]]
) -> Response:
    """A sheet inside a page's frame. around: of ``frame``; more: (address, words) of the same as files."""
    values = around | {"paper": Markup(fragment_of(sheet)), "paper_title": sheet.subtitle, "more": tuple(more)}
    return app_state.templates.TemplateResponse(request, "paper.html", values)


def paper_file(sheet: Sheet, ending: str, name: str, paper: Paper) -> Response:
    """A sheet as a file that is taken away.

    Raises PaperError: a PDF cannot be made on this machine.
    """
    with _one_at_a_time:
        body = ENDINGS[ending](sheet, paper)
    safe = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower() or "sheet"
    head = {"Content-Disposition": f'attachment; filename="{safe}{ending}"'}
    return Response(body, media_type=KINDS[ending], headers=head)


def paper_for(asked: str | None, preferences: Preferences) -> Paper:
    """The size of paper asked for; else US Letter for those who weigh in pounds, A4 for the others."""
    usual: Paper = "letter" if preferences.mass == "lb" else "a4"
    return next((each for each in PAPERS if each == asked), usual)


def known_ending(ending: str) -> str:
    """``pdf`` as ``.pdf``. Raises RefusalError: there is no such kind."""
    if f".{ending}" not in KINDS:
        raise RefusalError(404, f"there is no sheet of kind '{ending[:12]}'", f"Ask for one of: {', '.join(KINDS)}")
    return f".{ending}"


@router.get("/cook/{cook_id}/sheet")
async def sheet_page(request: Request, cook_id: CookId, visitor: Viewer) -> Response:
    """The run sheet, to be read here or printed."""
    app_state = app_state_of(request)
    row, shown = await shown_of(app_state, cook_id, WAIT_S)
    sheet = await run_in_threadpool(sheet_of, shown, visitor)
    here = f"/cook/{row.id}/sheet"
    more = ((f"{here}.pdf", "to print"), (f"{here}.ics", "for a calendar"), (f"{here}.md", "as text"))
    return await run_in_threadpool(paper_page, request, app_state, frame(app_state, visitor, row, "paper"), sheet, more)


@router.get("/cook/{cook_id}/sheet.{ending}")
async def sheet_file(
    request: Request,
    cook_id: CookId,
    ending: str,
    visitor: Viewer,
    paper: Annotated[str | None, Query(max_length=10)] = None,
) -> Response:
    """The run sheet as a file."""
    kind = known_ending(ending)
    app_state = app_state_of(request)
    row, shown = await shown_of(app_state, cook_id, WAIT_S)
    sheet = await run_in_threadpool(sheet_of, shown, visitor)
    size = paper_for(paper, Preferences.of(visitor.person.prefs))
    return await run_in_threadpool(paper_file, sheet, kind, f"{row.name} run sheet", size)


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


async def _record(request: Request, cook_id: str, visitor: Visitor, signed: str) -> tuple[CookRow, SafetyRecord]:
    """The safety record of a cook as it stands, reckoned in its own process."""
    app_state = app_state_of(request)
    row, _ = await shown_of(app_state, cook_id, 0.0)
    made = await app_state.jobs.record(app_state.live.asked_of(row.id), app_state.settings.clock.now(), signed[:80])
    return row, made


@router.get("/cook/{cook_id}/record")
async def record_page(
    request: Request, cook_id: CookId, visitor: Viewer, signed: Annotated[str, Query(max_length=80)] = ""
) -> Response:
    """Which safety rules each piece met, measured or reckoned."""
    row, made = await _record(request, cook_id, visitor, signed)
    reader = reader_of(Preferences.of(visitor.person.prefs), made.zone)
    sheet = await run_in_threadpool(safety_sheet, made, reader=reader)
    here, more = f"/cook/{row.id}/record", f"?signed={quote(signed)}" if signed else ""
    kinds = (("pdf", "to print"), ("json", "to be checked later"), ("md", "as text"))
    files = tuple((f"{here}.{kind}{more}", words) for kind, words in kinds)
    app_state = app_state_of(request)
    return await run_in_threadpool(
        paper_page, request, app_state, frame(app_state, visitor, row, "paper"), sheet, files
    )


@router.get("/cook/{cook_id}/record.{ending}")
async def record_file(
    request: Request, cook_id: CookId, ending: str, visitor: Viewer, signed: Annotated[str, Query(max_length=80)] = ""
) -> Response:
    """The safety record as a file; the JSON one can be held against the ledger later."""
    kind = ".json" if ending == "json" else known_ending(ending)
    row, made = await _record(request, cook_id, visitor, signed)
    if kind == ".json":
        text = json.dumps(document_of_record(made), indent=1, ensure_ascii=False)
        head = {"Content-Disposition": f'attachment; filename="{row.id}-safety-record.json"'}
        return Response(text, media_type="application/json", headers=head)
    preferences = Preferences.of(visitor.person.prefs)
    sheet = await run_in_threadpool(safety_sheet, made, reader=reader_of(preferences, made.zone))
    return await run_in_threadpool(paper_file, sheet, kind, f"{row.name} safety record", paper_for(None, preferences))
