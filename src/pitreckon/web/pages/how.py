"""How it was: a word and a note of each who ate, kept with the cook."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Form
from starlette.responses import RedirectResponse, Response

from pitreckon.ledger.store.cameout import how_all, say_how
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.live.plans import cook_of
from pitreckon.web.pages.visit import HandVisit, ViewerVisit, Visit

router = APIRouter(include_in_schema=False)
RATINGS: Final = ("poor", "fair", "good", "very good", "the best yet")
"""Words of the ratings from 1 to 5."""


def how_words(visit: Visit, said: Any) -> str:
    """What one of those who ate says of it."""
    word = visit.preferences.say(RATINGS[said.rating - 1])
    return f"{said.by}: {word}, {said.note}" if said.note else f"{said.by}: {word}"


@router.get("/cook/{cook_id}/how")
def how_page(cook_id: CookId, visit: ViewerVisit) -> Response:
    """What was said, what one says oneself, and where to ask what went wrong."""
    row = find_cook(visit.app_state, cook_id)
    said = how_all(visit.app_state.store).get(row.id, ())
    mine = next((each for each in said if each.by == visit.visitor.person.name), None)
    cut = next(iter(cook_of(row.plan_toml).items)).cut
    lines = [how_words(visit, each) for each in said]
    return visit.page("how.html", "now", row=row, lines=lines, mine=mine, ratings=RATINGS, cut=cut)


@router.post("/cook/{cook_id}/how")
def keep_how(
    cook_id: CookId,
    visit: HandVisit,
    rating: Annotated[int, Form(ge=1, le=len(RATINGS))],
    note: Annotated[str, Form(max_length=300)] = "",
) -> Response:
    """Keep how it was. Said again it takes the place of what one has said before."""
    find_cook(visit.app_state, cook_id)
    say_how(visit.app_state.store, cook_id, visit.visitor.person.name, rating, note.strip(), visit.now)
    return RedirectResponse(f"/cook/{cook_id}/how", 303)
