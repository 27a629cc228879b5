"""Cards that learn, on the page: the file on which readers answer, taking their answers in, and what they come to."""

from __future__ import annotations

import json
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, File, Form, Query, UploadFile
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon.errors import InputError
from pitreckon.ledger.store import CookRow
from pitreckon.lessons.answers.folder import ENDING, MOST_BYTES
from pitreckon.lessons.answers.kept import KeptCard, document_of
from pitreckon.sheets import Sheet
from pitreckon.sheets.writers.answerpage import answer_page
from pitreckon.sheets.writers.html import fragment_of
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.finished import done_items
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import AnswersPaper, answers_taken, card_kept
from pitreckon.web.pages.sheets import known_ending, names_in, paper_file, paper_for
from pitreckon.web.pages.visit import HandVisit, ViewerVisit, Visit, taken_away

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 4.0
FILE_WAIT_S: Final = 90.0
LONGEST_TEXT: Final = 200_000
MOST_FILES: Final = 600
"""Files that are sent at once; how much all of them may be the guard says."""
KINDS: Final = (("pdf", "to print"), ("html", "for a web page"), ("md", "as text"))
Item = Annotated[str, Query(max_length=60)]
Taken = Annotated[str, Query(max_length=32, pattern="^[0-9a-f]*$")]


def _known(visit: Visit, cook_id: str, item: str) -> tuple[CookRow, tuple[str, ...], str]:
    """A cook, its items that are off the pit, and the one that is meant."""
    row = find_cook(visit.app_state, cook_id)
    items = done_items(visit.app_state, row.id)
    return row, items, item if item in items else next(iter(items), "")


async def _card(visit: Visit, row: CookRow, item: str, within_s: float) -> tuple[KeptCard | None, str]:
    """The card, if it is there in time, and how far it is if not."""
    app_state = visit.app_state
    asked = await run_in_threadpool(app_state.live.asked_of, row.id)
    key = ("kept card", asked, item)
    made = await app_state.jobs.answer_for(key, None, visit.asker, within_s, card_kept, asked, item)
    return made, app_state.jobs.far(key)


async def _taken(visit: Visit, row: CookRow, item: str, taken: str, within_s: float) -> tuple[AnswersPaper | None, str]:
    """What the answers come to, if it is there in time, and how far it is if not.

    Raises RefusalError: they are not here any more; InputError: too few can be counted
    """
    app_state = visit.app_state
    files = app_state.sent.files(taken)
    if files is None:
        raise RefusalError(404, "these answers are not here any more", "Send the files again: nothing of them is kept")
    asked = await run_in_threadpool(app_state.live.asked_of, row.id)
    reader = visit.reader((await run_in_threadpool(cook_of, row.plan_toml)).zone)
    key = ("answers", asked, item, taken, reader)
    made = await app_state.jobs.answer_for(key, None, visit.asker, within_s, answers_taken, asked, item, files, reader)
    return made, app_state.jobs.far(key)


@router.get("/cook/{cook_id}/card/answers")
async def answers_page(cook_id: CookId, visit: ViewerVisit, item: Item = "", taken: Taken = "") -> Response:
    """Where readers' answers go, and what those that were sent come to."""
    row, items, chosen = await run_in_threadpool(_known, visit, cook_id, item)
    made, far, fault = None, "", None
    if items and taken:
        try:
            made, far = await _taken(visit, row, chosen, taken, WAIT_S)
        except InputError as wrong:
            fault = wrong

    def page() -> Response:
        query = urlencode({"item": chosen, "taken": taken})
        here = f"/cook/{row.id}/card/answers"
        more = [(f"{here}/report.{kind}?{query}", words) for kind, words in KINDS]
        more += [
            (f"{here}/changed.json?{query}", "the changed card"),
            (f"{here}/changed.html?{query}", "its readers' page"),
        ]
        paper = None
        if made is not None:
            paper = Markup(fragment_of(_told(visit, row, made)))
        return visit.page(
            "answers.html",
            "card",
            status=200 if fault is None else 422,
            row=row,
            items=items,
            item=chosen,
            fault=fault,
            ask=f"{here}.html?{urlencode({'item': chosen})}",
            more=more if made is not None else (),
            paper=paper,
            again=bool(items and taken) and made is None and fault is None,
            far=visit.preferences.say.found(far),
            ending=ENDING,
            most_files=MOST_FILES,
        )

    return await run_in_threadpool(page)


@router.post("/cook/{cook_id}/card/answers")
async def send_answers(
    cook_id: CookId,
    visit: HandVisit,
    item: Annotated[str, Form(max_length=60)] = "",
    text: Annotated[str, Form()] = "",
    files: Annotated[list[UploadFile] | None, File()] = None,
) -> Response:
    """Take answers in: files, or texts that were pasted. Raises RefusalError: there are none, or they are too many."""
    row, items, chosen = await run_in_threadpool(_known, visit, cook_id, item)
    if not items:
        raise RefusalError(409, "nothing of this cook is off the pit", "Record 'took off' first")
    sent = [each for each in files or () if (each.filename or "").lower().endswith(ENDING)]
    if len(sent) > MOST_FILES:
        raise RefusalError(422, f"these are {len(sent)} files", f"Send up to {MOST_FILES} at once")
    if len(text) > LONGEST_TEXT:
        raise RefusalError(422, "that is too much text", "Send the answers as files")
    found = [((each.filename or "").rpartition("/")[2][:80], await _whole(each)) for each in sent]
    if text.strip():
        found.append((visit.preferences.say("pasted"), text.encode()))
    if not found:
        remedy = f"Choose files whose names end in {ENDING}, or paste texts"
        raise RefusalError(422, "there are no answers in it", remedy)
    name = visit.app_state.sent.keep(tuple(found))
    return RedirectResponse(f"/cook/{row.id}/card/answers?{urlencode({'item': chosen, 'taken': name})}", 303)


async def _whole(file: UploadFile) -> bytes:
    """A file, up to a little more than the most, so that it is refused by its own name."""
    return await file.read(MOST_BYTES + 1)


@router.get("/cook/{cook_id}/card/answers.html")
async def ask_file(cook_id: CookId, visit: ViewerVisit, item: Item = "") -> Response:
    """The file on which a reader answers. Raises RefusalError: nothing is done yet, or it takes too long."""
    row, items, chosen = await run_in_threadpool(_known, visit, cook_id, item)
    if not items:
        raise RefusalError(404, "nothing of this cook is off the pit", "Record 'took off' first")
    made, _ = await _card(visit, row, chosen, FILE_WAIT_S)
    if made is None:
        raise RefusalError(503, "the readers of this card are still cooking", "Ask again in a minute")
    return await run_in_threadpool(_ask, visit, made)


def _ask(visit: Visit, card: KeptCard) -> Response:
    mine = visit.preferences
    page = answer_page(card, degrees=mine.degrees, language=mine.say.language, say=mine.say.found)
    return Response(page, media_type="text/html; charset=utf-8", headers=taken_away(f"answer-{card.code}.html"))


@router.get("/cook/{cook_id}/card/answers/{what}.{ending}")
async def answers_file(
    cook_id: CookId, what: str, ending: str, visit: ViewerVisit, item: Item = "", taken: Taken = ""
) -> Response:
    """The report as a file, the changed card, or the page for its readers. Raises RefusalError: there is no such."""
    changed = what == "changed" and ending in {"json", "html"}
    if not changed and what != "report":
        raise RefusalError(404, "there is no such file", "Ask for report.pdf, changed.json or changed.html")
    kind = "" if changed else known_ending(ending)
    if kind == ".ics":
        raise RefusalError(404, "a report is no calendar", "Ask for .pdf, .html, .md or .txt")
    row, _, chosen = await run_in_threadpool(_known, visit, cook_id, item)
    made, _ = await _taken(visit, row, chosen, taken, FILE_WAIT_S)
    if made is None:
        raise RefusalError(503, "the readers of this card are still cooking", "Ask again in a minute")
    if changed and ending == "html":
        return await run_in_threadpool(_ask, visit, made.changed)
    if changed:
        text = json.dumps(document_of(made.changed), indent=1, ensure_ascii=False) + "\n"
        return Response(text, media_type="application/json", headers=taken_away(f"card-{made.changed.code}.json"))
    return await run_in_threadpool(_report, visit, row, made, kind, f"{row.name} {chosen} answers")


def _told(visit: Visit, row: CookRow, made: AnswersPaper) -> Sheet:
    """The report in the reader's words; what people called things, and what readers wrote, stays."""
    return visit.paper(made.sheet, (*names_in(cook_of(row.plan_toml)), *made.document["notes"]))


def _report(visit: Visit, row: CookRow, made: AnswersPaper, kind: str, name: str) -> Response:
    return paper_file(_told(visit, row, made), kind, name, paper_for(None, visit.preferences))
