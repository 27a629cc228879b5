"""What went wrong, on the page: a reader's report as a form, the likeliest causes, the one change to try."""

from typing import Any, Final
from zoneinfo import ZoneInfo

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from pitreckon import catalog
from pitreckon.errors import InputError, Place, RangeError
from pitreckon.lessons.diagnosis.report import DID_KEYS, FAULTS, THERMOMETERS, Report, report_from_parts
from pitreckon.photo.decode import can_decode
from pitreckon.photo.words import measured_words, value_of
from pitreckon.units import format_percent
from pitreckon.web.forms.fields import clean, with_unit
from pitreckon.web.forms.photo import Tapped, refusal
from pitreckon.web.live.questions import likeliest_causes
from pitreckon.web.pages.visit import HandVisit, ViewerVisit
from pitreckon.web.views.reader import ClockWords, Preferences

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 15.0
"""How long the page waits for the answer; then it says so, and asks again by itself."""
LEAST: Final = 0.02
"""A cause that is less likely is not listed."""
MOST: Final = 80
UNITS: Final = {
    "set": "degrees",
    "pulled_at": "degrees",
    "start": "degrees",
    "air": "degrees",
    "weight": "mass",
    "on": "h",
    "wrapped_after": "h",
    "sauced_for": "min",
    "rest": "min",
}
"""What a bare number in a field is, as the form says beside it."""


def told_of(request: Request, preferences: Preferences) -> tuple[dict[str, str], dict[str, str], tuple[str, ...]]:
    """What was typed by its key, the same with its units, and what was wrong."""
    typed = {key: clean(request.query_params.get(key, ""))[:MOST] for key in DID_KEYS}
    signs = {"degrees": preferences.degrees, "mass": preferences.mass}
    told = {}
    for key, text in typed.items():
        if text:
            unit = UNITS.get(key, "")
            told[key] = with_unit(text, signs.get(unit, unit)) if unit else text
    return typed, told, tuple(request.query_params.getlist("came_out"))[: len(FAULTS)]


@router.post("/why/photo")
async def why_photo(visit: HandVisit, tapped: Tapped) -> Response:
    """The colour of a plate in a reader's photo, for the form; nothing is kept."""
    clock = ClockWords(ZoneInfo("UTC"), visit.now, visit.preferences)
    try:
        measured, _ = await tapped.measured()
    except InputError as fault:
        return refusal(fault, clock)
    lines = [clock.retold(line) for line in measured_words(measured)]
    return JSONResponse({"value": value_of(measured), "lines": lines})


@router.get("/why")
async def why_page(visit: ViewerVisit, asked: str = "") -> Response:
    """The form; below it, once it is filled in, what it was. The address holds the report: it can be sent on."""
    typed, told, wrong = told_of(visit.request, visit.preferences)
    answer: dict[str, Any] | None = None
    fault: InputError | None = None
    report: Report | None = None
    if asked or wrong:
        try:
            report = await run_in_threadpool(report_from_parts, told, wrong, "the form")
        except InputError as error:
            fault = error
    if report is not None:
        try:
            answer = await visit.app_state.jobs.answer(visit.asker, WAIT_S, likeliest_causes, report)
        except RangeError:  # hotter than any law holds for: degrees of the other scale, most likely
            trouble, remedy = "the pit cannot have been so hot or so cold", "Check its temperature and its unit"
            fault, report = InputError(trouble, remedy, Place(field="set")), None

    def page() -> Response:
        return visit.page(
            "why.html",
            status=200 if fault is None else 422,
            typed=typed,
            wrong=wrong,
            faults=FAULTS,
            fault=fault,
            answer=answer,
            again=report is not None and answer is None,
            cuts=sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)),
            pits=sorted(((pit.key, pit.name) for pit in catalog.pits().values()), key=lambda pair: pair[1]),
            wraps=sorted(((wrap.key, wrap.name) for wrap in catalog.wraps().values()), key=lambda pair: pair[1]),
            thermometers=THERMOMETERS,
            percent=format_percent,
            least=LEAST,
            photos_can=can_decode(),
        )

    return await run_in_threadpool(page)
