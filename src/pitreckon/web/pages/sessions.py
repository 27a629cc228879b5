"""Where somebody is logged in, and out of there: one browser, or everywhere."""

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from pitreckon.web.access.secrets import digest
from pitreckon.web.access.sessions import COOKIE
from pitreckon.web.pages.visit import ViewerVisit
from pitreckon.web.views.reader import ClockWords

router = APIRouter(include_in_schema=False)


@router.get("/sessions")
def sessions_page(visit: ViewerVisit) -> Response:
    """Every session of this person."""
    mine, here = visit.app_state.accounts.sessions(visit.visitor.person), digest(visit.visitor.session)
    row = visit.chosen()
    zone = visit.app_state.live_cook(row.id).zone_info if row is not None else None
    clock = None if zone is None else ClockWords(zone, visit.now, visit.preferences)
    lines = [
        {
            "id": each.id_hash,
            "browser": each.browser or "a browser",
            "here": each.id_hash == here,
            "since": f"{each.created_utc:%Y-%m-%d}" if clock is None else clock(each.created_utc),
            "seen": f"{each.last_seen_utc:%Y-%m-%d %H:%M} UTC" if clock is None else clock(each.last_seen_utc),
        }
        for each in mine
    ]
    return visit.page("sessions.html", "setup", row=row, lines=lines)


@router.post("/sessions/{id_hash}/end")
def end_one(id_hash: str, visit: ViewerVisit) -> Response:
    """Log out of one browser."""
    visit.app_state.accounts.end_one(visit.visitor.person, id_hash[:128])
    return RedirectResponse("/sessions", 303)


@router.post("/sessions/end-all")
def end_all(visit: ViewerVisit) -> Response:
    """Log out everywhere, here too."""
    visit.app_state.accounts.end_all(visit.visitor.person)
    response = RedirectResponse("/login", 303)
    response.delete_cookie(COOKIE, path="/")
    return response
