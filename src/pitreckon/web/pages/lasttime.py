"""This time against last time: an item of a cook beside the same cut of another, on the page."""

from typing import Annotated, Final

from fastapi import APIRouter, Query
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.cook import Cook
from pitreckon.ledger.store import CookRow
from pitreckon.ledger.store.cameout import how_all
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.live.asked import Asked
from pitreckon.web.live.finished import Other, done_items, others_of
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import held_against
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.how import how_words
from pitreckon.web.pages.visit import ViewerVisit, Visit
from pitreckon.web.views.lasttime import against_view

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 4.0


@router.get("/cook/{cook_id}/lasttime")
async def last_time(
    cook_id: CookId,
    visit: ViewerVisit,
    item: Annotated[str, Query(max_length=60)] = "",
    last: Annotated[str, Query(max_length=120)] = "",
) -> Response:
    """Both on one picture, what was otherwise and what it was worth."""
    app_state = visit.app_state

    def known() -> tuple[CookRow, Cook, tuple[str, ...], str, list[Other]]:
        row = find_cook(app_state, cook_id)
        cook, items = cook_of(row.plan_toml), done_items(app_state, row.id)
        chosen = item if item in items else next(iter(items), "")
        return row, cook, items, chosen, others_of(app_state, row, cook, chosen) if chosen else []

    row, cook, items, chosen, others = await run_in_threadpool(known)
    other = next((each for each in others if each.key == last), others[0] if others else None)
    found = None
    if other is not None:
        asked = await run_in_threadpool(_both, app_state, row.id, other.row.id)
        found = await app_state.jobs.answer(visit.asker, WAIT_S, held_against, asked[0], chosen, asked[1], other.item)

    def page() -> Response:
        view = None if found is None or other is None else against_view(found, visit.preferences, cook.zone_info)
        said = how_all(app_state.store)
        return visit.page(
            "lasttime.html",
            "now",
            row=row,
            items=items,
            item=chosen,
            others=others,
            other=other,
            view=view,
            picture=None if view is None else Markup(view.picture),
            said=_said(visit, said.get(row.id, ())),
            said_last=_said(visit, said.get(other.row.id, ())) if other else (),
            again=other is not None and found is None,
        )

    return await run_in_threadpool(page)


def _both(app_state: AppState, this: str, last: str) -> tuple[Asked, Asked]:
    return app_state.live.asked_of(this), app_state.live.asked_of(last)


def _said(visit: Visit, said: tuple[object, ...]) -> tuple[str, ...]:
    return tuple(how_words(visit, each) for each in said)
