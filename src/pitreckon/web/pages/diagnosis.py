"""What went wrong, on the page: a reader's report as a form, the likeliest causes, the one change to try."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.lessons.diagnosis.read import DID_KEYS, report_from_parts
from pitreckon.lessons.diagnosis.report import FAULTS, THERMOMETERS, Report
from pitreckon.units import format_percent
from pitreckon.web.access.sessions import Viewer, Visitor, app_state_of
from pitreckon.web.forms.fields import clean, with_unit
from pitreckon.web.live.state import AppState
from pitreckon.web.live.worker import AskWhy
from pitreckon.web.pages.cook import chosen_cook, frame
from pitreckon.web.views.reader import Preferences

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


def _values(app_state: AppState, visitor: Visitor, typed: dict[str, str], wrong: tuple[str, ...]) -> dict[str, Any]:
    return frame(app_state, visitor, chosen_cook(visitor, app_state.store.cooks()), "why") | {
        "typed": typed,
        "wrong": wrong,
        "faults": FAULTS,
        "fault": None,
        "answer": None,
        "again": False,
        "cuts": sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)),
        "pits": sorted(((pit.key, pit.name) for pit in catalog.pits().values()), key=lambda pair: pair[1]),
        "wraps": sorted(((wrap.key, wrap.name) for wrap in catalog.wraps().values()), key=lambda pair: pair[1]),
        "thermometers": THERMOMETERS,
        "percent": format_percent,
        "least": LEAST,
    }


@router.get("/why")
async def why_page(
    request: Request, visitor: Viewer, cut: Annotated[str, Query(max_length=MOST)] = "", asked: str = ""
) -> Response:
    """The form; below it, once it is filled in, what it was. The address holds the report: it can be sent on."""
    app_state = app_state_of(request)
    typed, told, wrong = told_of(request, Preferences.of(visitor.person.prefs))
    values = await run_in_threadpool(_values, app_state, visitor, typed, wrong)
    if not cut and not asked:
        return app_state.templates.TemplateResponse(request, "why.html", values)
    try:
        report: Report = await run_in_threadpool(report_from_parts, told, wrong, "the form")
    except InputError as fault:
        return app_state.templates.TemplateResponse(request, "why.html", values | {"fault": fault}, 422)
    answer = await app_state.jobs.answer(AskWhy(report), WAIT_S)
    return app_state.templates.TemplateResponse(
        request, "why.html", values | {"answer": answer, "again": answer is None}
    )
