"""The safety record on the page and as files, and what was done to the meat, which it asks for."""

import json
from collections.abc import Sequence
from typing import Annotated, Final
from urllib.parse import quote

from fastapi import APIRouter, Query
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon.errors import InputError, Place
from pitreckon.safety.record.form import SafetyRecord, document_of_record
from pitreckon.safety.record.house import house_key
from pitreckon.safety.record.sign import public_of
from pitreckon.safety.rules.meat import DONE, INTACT, handled_from
from pitreckon.sheets import Sheet
from pitreckon.sheets.documents.safetyrecord import safety_sheet
from pitreckon.sheets.writers.html import fragment_of
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.questions import safety_record
from pitreckon.web.pages.sheets import known_ending, names_in, paper_file, paper_for
from pitreckon.web.pages.visit import CookVisit, Filled, HandVisit, OfCookAtOnce, taken_away

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 4.0
"""How long the page waits for a record; then it says so, and looks again by itself [s]."""
FILE_WAIT_S: Final = 60.0
"""How long a file of it does [s]."""
AGAIN_S: Final = 20.0
GOOD_S: Final = 60.0
"""A safety record is as good as new for so long, if nothing was recorded since [s]."""
WORDS: Final = (INTACT, *DONE)

Signed = Annotated[str, Query(max_length=80)]


async def _record(visit: CookVisit, signed: str, within_s: float) -> tuple[SafetyRecord | None, int, str]:
    """The safety record of a cook as it stands, if it is there in time; else how many questions come before, how far.

    It is reckoned in its own process, and not again for a minute unless something was recorded: the page and its files
    are one record.
    """
    app_state, signed = visit.app_state, signed[:80]
    asked = await run_in_threadpool(app_state.live.asked_of, visit.row.id)
    meat = await run_in_threadpool(app_state.store.meat_said, visit.row.id)
    house = public_of(await run_in_threadpool(house_key, app_state.store))
    key = ("record", asked, tuple(meat), signed)
    made = await app_state.jobs.answer_for(
        key, GOOD_S, visit.asker, within_s, safety_record, asked, visit.now, signed, house
    )
    return made, app_state.jobs.before(key), app_state.jobs.far(key)


@router.get("/cook/{cook_id}/record")
async def record_page(visit: OfCookAtOnce, signed: Signed = "") -> Response:
    """Which safety rules each piece met, measured or reckoned."""
    made, before, far = await _record(visit, signed, WAIT_S)
    here, more = f"/cook/{visit.row.id}/record", f"?signed={quote(signed)}" if signed else ""
    kinds = (("pdf", "to print"), ("json", "to be checked later"), ("md", "as text"))

    def page() -> Response:
        paper = None if made is None else Markup(fragment_of(_sheet(visit, made)))
        said = {each.item: each.words.split(", ") for each in visit.app_state.store.meat_said(visit.row.id)}
        return visit.page(
            "record.html",
            "paper",
            row=visit.row,
            paper=paper,
            more=tuple((f"{here}.{kind}{more}", words) for kind, words in kinds),
            before=before,
            far=visit.preferences.say.found(far),
            items=[(n, item.label, said.get(item.label, [])) for n, item in enumerate(visit.shown.cook.items)],
            words=WORDS,
        )

    return await run_in_threadpool(page)


@router.get("/cook/{cook_id}/record.{ending}")
async def record_file(visit: OfCookAtOnce, ending: str, signed: Signed = "") -> Response:
    """The safety record as a file; the JSON one is signed by the house and can be held against the ledger later."""
    kind = ".json" if ending == "json" else known_ending(ending)
    made, _, _ = await _record(visit, signed, FILE_WAIT_S)
    if made is None:
        raise RefusalError(503, "the record is still being reckoned", "Ask again in a minute", AGAIN_S)

    def file() -> Response:
        if kind == ".json":
            document = document_of_record(made, visit.preferences.degrees, house_key(visit.app_state.store))
            head = taken_away(f"{visit.row.id}-safety-record.json")
            return Response(
                json.dumps(document, indent=1, ensure_ascii=False), media_type="application/json", headers=head
            )
        return paper_file(
            _sheet(visit, made), kind, f"{visit.row.name} safety record", paper_for(None, visit.preferences)
        )

    return await run_in_threadpool(file)


def _sheet(visit: CookVisit, made: SafetyRecord) -> Sheet:
    """The record on paper, in their language."""
    return visit.paper(safety_sheet(made, reader=visit.reader(made.zone)), names_in(visit.shown.cook))


@router.post("/cook/{cook_id}/meat")
async def say_meat(cook_id: CookId, visit: HandVisit, form: Filled) -> Response:
    """Keep what was done to each item's meat, where it is said anew. Raises InputError: intact and something else."""
    app_state = visit.app_state

    def work() -> None:
        find_cook(app_state, cook_id)
        items = app_state.live_cook(cook_id).items
        held = {each.item: each.words for each in app_state.store.meat_said(cook_id)}
        told = {
            item.label: _words([each for each in form.getlist(f"meat-{n}") if isinstance(each, str)], item.label)
            for n, item in enumerate(items)
        }
        for label, words in told.items():
            if words and words != held.get(label):
                app_state.store.say_meat(cook_id, label, words, visit.visitor.person.name)

    await run_in_threadpool(work)
    return RedirectResponse(f"/cook/{cook_id}/record", 303)


def _words(ticked: Sequence[str], label: str) -> str:
    words = ", ".join(each for each in WORDS if each in ticked)
    if words:
        try:
            handled_from(words)
        except InputError as fault:
            raise fault.put(Place(field=label)) from None
    return words
