"""Planning a day on the page: what is wanted, the plan that comes of it, what small changes would bring, the cook."""

import time
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon import catalog
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError
from pitreckon.forms.toml_write import toml_text
from pitreckon.ledger.store import drafts
from pitreckon.plan.read import wishes_from_tables, wishes_from_text
from pitreckon.plan.wishes import WRAPPINGS
from pitreckon.plan.write import wish_text
from pitreckon.sheets import Sheet
from pitreckon.text.toml import parse_toml
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.day import MEATS, PITS, SETS, filled_from, filled_of, tables_of
from pitreckon.web.forms.fields import field_at, padded
from pitreckon.web.live.jobs import PlannedDay, save_wishes
from pitreckon.web.pages.sheets import KnownEnding, paper_file, paper_for, paper_page
from pitreckon.web.pages.visit import Filled, HandVisit, ViewerVisit, Visit
from pitreckon.web.views.day import best_change, day_view, variant_views
from pitreckon.web.views.reader import ClockWords

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 6.0
"""How long a page waits for an answer; then it says that it is being planned, and asks again by itself."""
MOST_TEXT: Final = 30_000
DAY: Final = "day"
BEFORE: Final = "day before"
"""Kinds of drafts: what is wanted, and what was wanted before."""
EMPTY: Final[dict[str, Any]] = {"cook": {}, "guests": {}, "hands": {}, "pits": [], "meats": []}
WRAPPING_WORDS: Final = dict(
    zip(WRAPPINGS, ("as usual for the cut", "wrapped", "never wrapped", "as it comes out best"), strict=True)
)


def text_of_day(visit: Visit) -> str | None:
    """What this person wants planned; None: nothing so far."""
    return drafts.draft(visit.app_state.store, visit.visitor.person.id, DAY)


def save_day(visit: Visit, text: str) -> Response:
    """Keep what is wanted, and what was wanted before; then show the plan."""
    drafts.save_draft(visit.app_state.store, visit.visitor.person.id, DAY, text, before=BEFORE)
    return RedirectResponse("/day", 303)


def _form(visit: Visit, filled: dict[str, Any], fault: InputError | None = None) -> Response:
    shown = {**filled, "pits": padded(filled["pits"], PITS), "meats": padded(filled["meats"], MEATS)}
    return visit.page(
        "day_form.html",
        "day",
        status=200 if fault is None else 422,
        filled=shown,
        fault=fault,
        at=_field_of(fault),
        cuts=sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)),
        kinds=sorted(((pit.key, pit.name) for pit in catalog.pits().values()), key=lambda pair: pair[1]),
        sets=SETS[visit.preferences.degrees],
        wrappings=WRAPPING_WORDS,
        text=text_of_day(visit) or "",
    )


def _field_of(fault: InputError | None) -> tuple[str, int] | None:
    """The field of the form that a fault is about."""
    found = field_at(fault, {"item": "meat_"})
    return (f"pit{found[1]}_{found[0]}", 0) if found and "pit " in (fault.place.field or "") else found  # type: ignore[union-attr]


@router.get("/day/new")
def form_page(visit: HandVisit, change: bool = False) -> Response:
    """What is wanted. change: what this person wants so far, to be changed"""
    text = text_of_day(visit) if change else None
    if text is None:
        return _form(visit, EMPTY)
    return _form(visit, filled_from(parse_toml(text, "the day"), visit.preferences))


@router.post("/day/stop")
async def stop(visit: HandVisit) -> Response:
    """Plan no longer; what is wanted stays."""
    text = await run_in_threadpool(text_of_day, visit)
    visit.app_state.jobs.stop(text or "")
    return RedirectResponse("/day", 303)


@router.post("/day/again")
async def try_again(visit: HandVisit) -> Response:
    """Plan once more what could not be planned."""
    text = await run_in_threadpool(text_of_day, visit)
    visit.app_state.jobs.forget(text or "")
    return RedirectResponse("/day", 303)


@router.post("/day/new")
def from_form(visit: HandVisit, form: Filled) -> Response:
    """Keep what was filled in; where something is wrong say what, and keep all that was typed."""
    filled = filled_of(form)
    if form.get("more"):  # a page without a script asks for one row more
        return _form(visit, {**filled, f"{form['more']}s": [*filled.get(f"{form['more']}s", ()), {}]})
    tables = tables_of(filled, visit.preferences)
    try:
        wishes_from_tables(tables, "the form")
    except InputError as fault:
        return _form(visit, filled, fault)
    return save_day(visit, toml_text(tables))


@router.post("/day/text")
def from_text(visit: HandVisit, day: Annotated[str, Form(max_length=MOST_TEXT)]) -> Response:
    """Keep a cook file that asks for a day. Raises InputError: it cannot be read."""
    text = day.replace("\r\n", "\n")
    wishes_from_text(text, "the day")
    return save_day(visit, text)


async def _planned(visit: Visit, within_s: float) -> tuple[str, PlannedDay]:
    """The day of this person. Raises RefusalError: none is wanted so far."""
    text = await run_in_threadpool(text_of_day, visit)
    if text is None:
        raise RefusalError(404, "no day is being planned", "Fill in what you want under Plan a day")
    return text, await visit.app_state.jobs.day(text, within_s, visit.asker)


@router.get("/day")
async def day_page(visit: ViewerVisit) -> Response:
    """The plan, and what small changes would bring; the form where nothing is wanted yet."""
    if await run_in_threadpool(text_of_day, visit) is None:
        return RedirectResponse("/day/new", 303)
    text, day = await _planned(visit, WAIT_S)
    jobs = visit.app_state.jobs

    def page() -> Response:
        from pitreckon.plan.schedule.variants import variants  # noqa: PLC0415  as in the jobs

        clock = ClockWords(day.wishes.zone_info, day.wishes.serve_utc, visit.preferences)
        return visit.page(
            "day.html",
            day=day,
            view=None if day.answer is None else day_view(day, day.answer, clock),
            variants=variant_views(day, variants(day.wishes), clock),
            text=text,
            again=not day.answered.is_set(),
            progress=jobs.progress(day),
            waits_s=int(time.monotonic() - day.begun_s),
            undo=drafts.draft(visit.app_state.store, visit.visitor.person.id, BEFORE) is not None,
        )

    return await run_in_threadpool(page)


@router.post("/day/change")
async def change(visit: HandVisit, key: Annotated[str, Form(max_length=40)]) -> Response:
    """Take a small change. Raises RefusalError: it makes no sense here."""
    from pitreckon.plan.schedule.variants import variant  # noqa: PLC0415  as in the jobs

    _, day = await _planned(visit, 0.0)
    best = None if day.answer is None else best_change(day.answer, key)
    if best is not None:
        return await run_in_threadpool(save_day, visit, wish_text(best))
    changed = variant(day.wishes, key)
    if changed is None:
        raise RefusalError(422, f"there is no change '{key[:20]}' here", "Take one of those on the page")
    return await run_in_threadpool(save_day, visit, wish_text(changed.wishes))


@router.post("/day/undo")
def undo(visit: HandVisit) -> Response:
    """What was wanted before."""
    drafts.swap_drafts(visit.app_state.store, visit.visitor.person.id, DAY, BEFORE)
    return RedirectResponse("/day", 303)


@router.post("/day/cook")
async def make_cook(visit: HandVisit) -> Response:
    """Make the cook of the plan. Raises RefusalError: there is no plan yet."""
    text, day = await _planned(visit, WAIT_S)
    schedule = day.best
    if schedule is None:
        raise RefusalError(422, day.fault or "there is no plan to make a cook of", "Change what is wanted first")

    def work() -> Response:
        from pitreckon.plan.schedule.to_cook import to_cook  # noqa: PLC0415  as in the jobs

        cook = to_cook(day.planned, schedule)
        row = visit.app_state.store.add_cook(cook_text(cook), cook.name)
        save_wishes(visit.app_state.store, row.id, text)
        return visit.go_to(row)

    return await run_in_threadpool(work)


async def _shopping(visit: Visit) -> Sheet:
    """The shopping list of this person's day. Raises RefusalError: it has not been planned yet."""
    from pitreckon.sheets.documents.planned import planned_shopping  # noqa: PLC0415  as in the jobs

    _, day = await _planned(visit, 0.0)  # what to buy does not ask whether the day can be
    names = [*(item.label for item in day.wishes.items), *(pit.label for pit in day.wishes.pits)]
    sheet = await run_in_threadpool(planned_shopping, day.wishes, visit.reader(day.wishes.zone))
    return visit.paper(sheet, names)


@router.get("/day/shopping")
async def shopping_page(visit: ViewerVisit) -> Response:
    """What to buy."""
    say = visit.preferences.say
    more = (("/day", say("the plan")), ("/day/shopping.pdf", say("to print")), ("/day/shopping.md", say("as text")))
    return await run_in_threadpool(paper_page, visit, "day", await _shopping(visit), more)


@router.get("/day/shopping.{ending}")
async def shopping_file(
    visit: ViewerVisit, kind: KnownEnding, paper: Annotated[str | None, Query(max_length=10)] = None
) -> Response:
    """What to buy, as a file."""
    sheet = await _shopping(visit)
    return await run_in_threadpool(paper_file, sheet, kind, sheet.name, paper_for(paper, visit.preferences))
