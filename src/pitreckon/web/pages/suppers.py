"""The cooks of the house by their dates, and how each stands or came out."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from fastapi import APIRouter
from starlette.responses import Response

from pitreckon.errors import PitreckonError
from pitreckon.ledger import Act
from pitreckon.ledger.store import CookRow
from pitreckon.units import format_duration
from pitreckon.web.live.plans import cook_of
from pitreckon.web.pages.visit import ViewerVisit, Visit
from pitreckon.web.views.reader import ClockWords

router = APIRouter(include_in_schema=False)
SHOWN: Final = 60
LAST_ACTS: Final = 200
ON_TIME_S: Final = 600.0
"""Served so much after its hour a supper was on time: a judgement."""


@dataclass(frozen=True, slots=True)
class SupperLine:
    """One cook. date: of its serving, in its own zone; what: its meats; how: where it stands, or came out."""

    id: str
    name: str
    date: str
    what: str
    how: str
    over: bool
    at: float


def supper_line(visit: Visit, row: CookRow) -> SupperLine:
    """A cook in words. It asks the database."""
    say = visit.preferences.say
    try:
        cook = cook_of(row.plan_toml)
    except PitreckonError:
        return SupperLine(row.id, row.name, "", "", say("its plan cannot be read"), over=False, at=0.0)
    day = cook.serve_utc or cook.start_utc
    found = visit.app_state.store.entries(row.id, limit=LAST_ACTS, kinds=("act",), newest_first=True)
    acts = [each.event for each in found if isinstance(each.event, Act) and each.corrected_by is None]
    served = {act.on: act.at_utc for act in reversed(acts) if act.act == "served"}
    clock = ClockWords(cook.zone_info, day, visit.preferences)
    over = all(item.label in served for item in cook.items)
    return SupperLine(
        row.id,
        row.name,
        day.astimezone(cook.zone_info).strftime("%Y-%m-%d"),
        ", ".join(item.label for item in cook.items),
        _how(visit, over, max(served.values(), default=None), cook.serve_utc, bool(acts), clock),
        over,
        day.timestamp(),
    )


def _how(
    visit: Visit, over: bool, last: datetime | None, serve: datetime | None, begun: bool, clock: ClockWords
) -> str:
    say = visit.preferences.say
    if over and last is not None:
        words = say("served at {at}", at=clock(last))
        late_s = 0.0 if serve is None else (last - serve).total_seconds()
        if abs(late_s) <= ON_TIME_S or serve is None:
            return words
        span = format_duration(60.0 * round(abs(late_s) / 60.0))
        return f"{words}, {say('{span} late', span=span) if late_s > 0 else say('{span} early', span=span)}"
    if serve is not None and visit.now > serve and not begun:
        return say("planned, and nothing recorded")
    return say("going on") if begun else say("planned")


@router.get("/suppers")
def suppers(visit: ViewerVisit) -> Response:
    """Every cook, the latest date first."""
    rows = visit.app_state.store.cooks()[:SHOWN]
    lines = sorted((supper_line(visit, row) for row in rows), key=lambda line: line.at, reverse=True)
    return visit.page("suppers.html", "setup", lines=lines)
