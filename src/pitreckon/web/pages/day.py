"""Planning a day on the page: what is wanted, the plan that comes of it, what small changes would bring, the cook."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon import catalog
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.forms.toml_write import toml_text
from pitreckon.plan.read import wishes_from_tables, wishes_from_text
from pitreckon.plan.wishes import WRAPPINGS
from pitreckon.plan.write import wish_text
from pitreckon.sheets import Sheet
from pitreckon.web.access.sessions import CookHand, Viewer, Visitor, app_state_of
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.day import MEATS, PITS, SETS, filled_of, tables_of
from pitreckon.web.forms.fields import padded
from pitreckon.web.live.jobs import PlannedDay, save_wishes
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.cook import choose_cook, chosen_cook, frame
from pitreckon.web.pages.sheets import known_ending, paper_file, paper_for, paper_page, reader_of
from pitreckon.web.views.day import day_view, variant_views
from pitreckon.web.views.reader import ClockWords, Preferences

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 6.0
"""How long a page waits for an answer; then it says that it is being planned, and asks again by itself."""
MOST_TEXT: Final = 30_000
EMPTY: Final[dict[str, Any]] = {"cook": {}, "guests": {}, "hands": {}, "pits": [], "meats": []}
WRAPPING_WORDS: Final = dict(
    zip(WRAPPINGS, ("as usual for the cut", "wrapped", "never wrapped", "as it comes out best"), strict=True)
)


def text_of_day(visitor: Visitor) -> str | None:
    """What this person wants planned; None: nothing so far."""
    kept = visitor.person.prefs.get("day")
    return kept if isinstance(kept, str) and kept else None


def save_day(app_state: AppState, visitor: Visitor, text: str) -> None:
    """Keep what is wanted, and what was wanted before."""
    before = text_of_day(visitor) or ""
    app_state.accounts.set_prefs(visitor.person, {**visitor.person.prefs, "day": text, "day_before": before})


def _frame(app_state: AppState, visitor: Visitor) -> dict[str, Any]:
    return frame(app_state, visitor, chosen_cook(visitor, app_state.store.cooks()), "day")


def _form_values(
    app_state: AppState, visitor: Visitor, filled: dict[str, Any], fault: InputError | None
) -> dict[str, Any]:
    preferences = Preferences.of(visitor.person.prefs)
    shown = {**filled, "pits": padded(filled["pits"], PITS), "meats": padded(filled["meats"], MEATS)}
    return _frame(app_state, visitor) | {
        "filled": shown,
        "fault": fault,
        "cuts": sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)),
        "kinds": sorted(catalog.pits().values(), key=lambda pit: pit.name),
        "sets": SETS[preferences.degrees],
        "wrappings": WRAPPING_WORDS,
        "text": text_of_day(visitor) or "",
    }


@router.get("/day/new")
def form_page(request: Request, visitor: CookHand) -> Response:
    """What is wanted."""
    app_state = app_state_of(request)
    return app_state.templates.TemplateResponse(request, "day_form.html", _form_values(app_state, visitor, EMPTY, None))


@router.post("/day/new")
async def from_form(request: Request, visitor: CookHand) -> Response:
    """Keep what was filled in; where something is wrong say what, and keep all that was typed."""
    app_state = app_state_of(request)
    filled = filled_of(await request.form(max_fields=600))
    tables = tables_of(filled, Preferences.of(visitor.person.prefs))
    try:
        await run_in_threadpool(wishes_from_tables, tables, "the form")
    except InputError as fault:
        values = await run_in_threadpool(_form_values, app_state, visitor, filled, fault)
        return app_state.templates.TemplateResponse(request, "day_form.html", values, 422)
    await run_in_threadpool(save_day, app_state, visitor, toml_text(tables))
    return RedirectResponse("/day", 303)


@router.post("/day/text")
async def from_text(request: Request, visitor: CookHand, day: Annotated[str, Form(max_length=MOST_TEXT)]) -> Response:
    """Keep a cook file that asks for a day. Raises InputError: it cannot be read."""
    text = day.replace("\r\n", "\n")
    await run_in_threadpool(wishes_from_text, text, "the day")
    await run_in_threadpool(save_day, app_state_of(request), visitor, text)
    return RedirectResponse("/day", 303)


async def _planned(app_state: AppState, visitor: Visitor, within_s: float) -> tuple[str, PlannedDay]:
    """The day of this person. Raises RefusalError: none is wanted so far."""
    text = text_of_day(visitor)
    if text is None:
        raise RefusalError(404, "no day is being planned", "Fill in what you want under Plan a day")
    return text, await app_state.jobs.day(text, within_s)


@router.get("/day")
async def day_page(request: Request, visitor: Viewer) -> Response:
    """The plan, and what small changes would bring; the form where nothing is wanted yet."""
    app_state = app_state_of(request)
    text = text_of_day(visitor)
    if text is None:
        return RedirectResponse("/day/new", 303)
    day = await app_state.jobs.day(text, WAIT_S)

    def values() -> dict[str, Any]:
        from pitreckon.plan.schedule.variants import variants  # noqa: PLC0415  as in the desk

        wishes = day.wishes
        clock = ClockWords(wishes.zone_info, wishes.serve_utc, Preferences.of(visitor.person.prefs))
        return _frame(app_state, visitor) | {
            "day": day,
            "view": None if day.answer is None else day_view(day, day.answer, clock),
            "variants": variant_views(day, variants(wishes), clock),
            "text": text,
            "again": not day.answered.is_set(),
            "undo": bool(visitor.person.prefs.get("day_before")),
        }

    return app_state.templates.TemplateResponse(request, "day.html", await run_in_threadpool(values))


@router.post("/day/change")
async def change(request: Request, visitor: CookHand, key: Annotated[str, Form(max_length=40)]) -> Response:
    """Take a small change. Raises RefusalError: it makes no sense here."""
    from pitreckon.plan.schedule.variants import variant  # noqa: PLC0415  as in the desk

    app_state = app_state_of(request)
    _, day = await _planned(app_state, visitor, 0.0)
    changed = variant(day.wishes, key)
    if changed is None:
        raise RefusalError(422, f"there is no change '{key[:20]}' here", "Take one of those on the page")
    await run_in_threadpool(save_day, app_state, visitor, wish_text(changed.wishes))
    return RedirectResponse("/day", 303)


@router.post("/day/undo")
async def undo(request: Request, visitor: CookHand) -> Response:
    """What was wanted before."""
    before = visitor.person.prefs.get("day_before")
    if isinstance(before, str) and before:
        await run_in_threadpool(save_day, app_state_of(request), visitor, before)
    return RedirectResponse("/day", 303)


@router.post("/day/cook")
async def make_cook(request: Request, visitor: CookHand) -> Response:
    """Make the cook of the plan. Raises RefusalError: there is no plan yet."""
    app_state = app_state_of(request)
    text, day = await _planned(app_state, visitor, WAIT_S)
    schedule = day.best
    if schedule is None:
        raise RefusalError(422, day.fault or "there is no plan to make a cook of", "Change what is wanted first")

    def work() -> str:
        from pitreckon.plan.schedule.to_cook import to_cook  # noqa: PLC0415  as in the desk

        cook = to_cook(day.wishes, schedule)
        row = app_state.store.add_cook(cook_text(cook), cook.name)
        save_wishes(app_state.store, row.id, text)
        choose_cook(app_state, visitor, row.id)
        return row.id

    return RedirectResponse(f"/cook/{await run_in_threadpool(work)}/now", 303)


def shopping_of(day: PlannedDay, visitor: Visitor) -> Sheet:
    """The shopping list of a day. Raises RefusalError: it has not been planned yet."""
    from pitreckon.sheets.documents.planned import planned_shopping  # noqa: PLC0415  as in the desk

    if day.best is None:
        raise RefusalError(422, day.fault or "the day has not been planned yet", "Look at the plan first")
    return planned_shopping(day.wishes, reader_of(Preferences.of(visitor.person.prefs), day.wishes.zone))


async def _shopping(request: Request, visitor: Visitor) -> Sheet:
    _, day = await _planned(app_state_of(request), visitor, WAIT_S)
    return await run_in_threadpool(shopping_of, day, visitor)


@router.get("/day/shopping")
async def shopping_page(request: Request, visitor: Viewer) -> Response:
    """What to buy."""
    app_state = app_state_of(request)
    sheet = await _shopping(request, visitor)
    more = (("/day", "the plan"), ("/day/shopping.pdf", "to print"), ("/day/shopping.md", "as text"))
    return await run_in_threadpool(
        paper_page, request, app_state, await run_in_threadpool(_frame, app_state, visitor), sheet, more
    )


@router.get("/day/shopping.{ending}")
async def shopping_file(
    request: Request, ending: str, visitor: Viewer, paper: Annotated[str | None, Query(max_length=10)] = None
) -> Response:
    """What to buy, as a file."""
    kind = known_ending(ending)
    sheet = await _shopping(request, visitor)
    size = paper_for(paper, Preferences.of(visitor.person.prefs))
    return await run_in_threadpool(paper_file, sheet, kind, sheet.name, size)
