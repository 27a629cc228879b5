"""The story of a finished cook on the page: pictures with captions for people who learn, and the same as files."""

from dataclasses import replace
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.ledger.store import CookRow
from pitreckon.sheets import Sheet
from pitreckon.sheets.writers.html import fragment_of
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.finished import done_items
from pitreckon.web.live.questions import StoryPaper, cook_story
from pitreckon.web.pages.sheets import known_ending, paper_file, paper_for
from pitreckon.web.pages.visit import ViewerVisit, Visit

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 4.0
FILE_WAIT_S: Final = 90.0
KINDS: Final = (("pdf", "to print"), ("html", "for a web page"), ("md", "as text"))
Item = Annotated[str, Query(max_length=60)]


async def _made(visit: Visit, row: CookRow, item: str, within_s: float) -> tuple[StoryPaper | None, str]:
    """The story, if it is there in time, and how far it is if not."""
    app_state = visit.app_state
    asked = await run_in_threadpool(app_state.live.asked_of, row.id)
    key = ("story", asked, item, visit.preferences)
    made = await app_state.jobs.answer_for(key, None, visit.asker, within_s, cook_story, asked, item, visit.preferences)
    return made, app_state.jobs.far(key)


def _known(visit: Visit, cook_id: str, item: str) -> tuple[CookRow, tuple[str, ...], str]:
    """A cook, its items that are off the pit, and the one that is meant."""
    row = find_cook(visit.app_state, cook_id)
    items = done_items(visit.app_state, row.id)
    return row, items, item if item in items else next(iter(items), "")


def _read(visit: Visit, sheet: Sheet) -> Sheet:
    return replace(sheet, reader=visit.paper_reader(sheet.reader.zone))


@router.get("/cook/{cook_id}/story")
async def story_page(cook_id: CookId, visit: ViewerVisit, item: Item = "") -> Response:
    """Pictures and captions, one below the other."""
    row, items, chosen = await run_in_threadpool(_known, visit, cook_id, item)
    made, far = await _made(visit, row, chosen, WAIT_S) if items else (None, "")

    def page() -> Response:
        query = urlencode({"item": chosen})
        return visit.page(
            "story.html",
            row=row,
            items=items,
            item=chosen,
            paper=None if made is None else Markup(fragment_of(_read(visit, made.sheet))),
            drawn=made is None or made.drawn,
            more=[(f"/cook/{row.id}/story.{kind}?{query}", words) for kind, words in KINDS],
            again=bool(items) and made is None,
            far=visit.preferences.say.found(far),
        )

    return await run_in_threadpool(page)


@router.get("/cook/{cook_id}/story.{ending}")
async def story_file(cook_id: CookId, ending: str, visit: ViewerVisit, item: Item = "") -> Response:
    """The story as a file. Raises RefusalError: there is no such kind, nothing is done yet, or it takes too long."""
    kind = known_ending(ending)
    if kind == ".ics":
        raise RefusalError(404, "a story is no calendar", "Ask for .pdf, .html, .md or .txt")
    row, items, chosen = await run_in_threadpool(_known, visit, cook_id, item)
    if not items:
        raise RefusalError(404, "nothing of this cook is off the pit", "Record 'took off' first")
    made, _ = await _made(visit, row, chosen, FILE_WAIT_S)
    if made is None:
        raise RefusalError(503, "this story is still being told", "Ask again in a minute")
    paper = paper_for(None, visit.preferences)
    return await run_in_threadpool(paper_file, _read(visit, made.sheet), kind, f"{row.name} {chosen} story", paper)
