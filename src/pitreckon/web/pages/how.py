"""How it was: a word and a note of each who ate, kept with the cook."""

from collections.abc import Sequence
from typing import Annotated, Any, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Form
from starlette.responses import RedirectResponse, Response

from pitreckon.cook.plan import SUGAR_LEVELS
from pitreckon.ledger.store import CookRow
from pitreckon.ledger.store.cameout import how_all, say_how
from pitreckon.lessons.card.finished import FinishedItem, finished_item
from pitreckon.lessons.diagnosis.report import FAULTS, NOT_BOTH
from pitreckon.units import format_about
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.live.finished import done_items
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.state import AppState
from pitreckon.web.pages.visit import HandVisit, ViewerVisit, Visit
from pitreckon.web.views.reader import Preferences

router = APIRouter(include_in_schema=False)
RATINGS: Final = ("poor", "fair", "good", "very good", "the best yet")
"""Words of the ratings from 1 to 5."""


def how_words(visit: Visit, said: Any) -> str:
    """What one of those who ate says of it."""
    word = visit.preferences.say(RATINGS[said.rating - 1])
    return f"{said.by}: {word}, {said.note}" if said.note else f"{said.by}: {word}"


def report_of(app_state: AppState, row: CookRow, notes: Sequence[str], preferences: Preferences) -> dict[str, Any]:
    """A report of the first item that is done, as the form of what went wrong has it: how it went, by its ledger, and
    of what was wrong each word that stands in the notes.
    """
    cook = cook_of(row.plan_toml)
    done = done_items(app_state, row.id)
    if not done:
        return {"cut": cook.items[0].cut}
    return {
        **told_by(finished_item(cook, app_state.following.ledger(row.id), done[0]), preferences),
        "came_out": faults_in(notes, preferences),
    }


def told_by(done: FinishedItem, preferences: Preferences) -> dict[str, str]:
    """What a ledger tells of how an item went, by the keys of a report, as the reader writes it."""
    item, cook = done.item, done.cook
    on_s = (done.off_utc - done.put_on_utc).total_seconds()
    told = {
        "cut": item.cut,
        "pit": done.pit_kind,
        "set": preferences.temperature(done.set_c),
        "weight": preferences.weight(item.mass_kg),
        "on": format_about(on_s),
        "sugar": min(SUGAR_LEVELS, key=lambda word: abs(SUGAR_LEVELS[word] - item.sugar)),
    }
    at_s, wrapped = 0.0, False
    for record in done.on_pit:
        if record.plan.kind == "wrapped" and not wrapped:
            wrapped = True
            told |= {"wrap": record.plan.wrap or "foil", "wrapped_after": format_about(at_s)}
        if record.plan.kind == "sauced":
            told["sauced_for"] = format_about(record.took_s)
        at_s += record.took_s
    told |= {} if wrapped else {"wrap": "none"}
    last = done.on_pit[-1].core_c if done.on_pit else None
    if last is not None:
        told |= {"thermometer": "one", "pulled_at": preferences.temperature(last)}
    if cook.altitude_m:
        told["altitude"] = f"{cook.altitude_m:.0f} m"
    if cook.weather_air_c is not None:
        told["air"] = preferences.temperature(cook.weather_air_c)
    return told


def faults_in(notes: Sequence[str], preferences: Preferences) -> list[str]:
    """Of what can be wrong with a plate each that stands in a note, in English or the reader's own words."""
    text = " ".join(notes).casefold()
    found = [fault for fault in FAULTS if fault in text or preferences.say(fault).casefold() in text]
    for one, other in NOT_BOTH:
        if one in found and other in found:
            found.remove(other)
    return found


@router.get("/cook/{cook_id}/how")
def how_page(cook_id: CookId, visit: ViewerVisit) -> Response:
    """What was said, what one says oneself, and where to ask what went wrong."""
    row = find_cook(visit.app_state, cook_id)
    said = how_all(visit.app_state.store).get(row.id, ())
    mine = next((each for each in said if each.by == visit.visitor.person.name), None)
    notes = [each.note for each in said]
    why = urlencode(report_of(visit.app_state, row, notes, visit.preferences), doseq=True)
    lines = [how_words(visit, each) for each in said]
    return visit.page("how.html", "now", row=row, lines=lines, mine=mine, ratings=RATINGS, why=why)


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
