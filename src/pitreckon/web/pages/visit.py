"""One request of somebody at the door, and the pages that answer it: what every page needs is put together here."""

from collections.abc import Callable, Coroutine, Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import PurePath
from secrets import token_hex
from typing import Annotated, Any, Final

from fastapi import Depends, Form, Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from pitreckon.ledger.store import CookRow
from pitreckon.reckon.words import CAUTION
from pitreckon.sheets import Reader, Sheet
from pitreckon.sheets.model import told_to
from pitreckon.web.access.sessions import CookHand, Owner, Viewer, Visitor, app_state_of
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.live.state import AppState
from pitreckon.web.live.turns import Asker
from pitreckon.web.live.watched import Shown
from pitreckon.web.texts import LANGUAGES
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.scene import Scene

FIRST_S: Final = 2.5
"""How long a page waits for the first outlook before it is shown without one [s]."""
_CHOSEN: Final = object()


@dataclass(frozen=True, slots=True)
class Visit:
    """A request, and who asks."""

    request: Request
    visitor: Visitor

    @property
    def app_state(self) -> AppState:
        """The house that they have come to."""
        return app_state_of(self.request)

    @property
    def asker(self) -> Asker:
        """Who they are among those who wait for an answer."""
        return Asker.of(self.visitor.person.id, may_record=self.visitor.may("cook"))

    @property
    def preferences(self) -> Preferences:
        """How they read numbers."""
        return Preferences.of(self.visitor.person.prefs)

    @property
    def now(self) -> datetime:
        """The server's time."""
        return self.app_state.settings.clock.now()

    def reader(self, zone: str) -> Reader:
        """How they read a sheet."""
        mine = self.preferences
        return Reader(zone, mine.degrees, mine.mass, mine.hands == "12")

    def paper_reader(self, zone: str) -> Reader:
        """The same in their language, for sheets that are made of messages."""
        say = self.preferences.say
        return replace(self.reader(zone), say=None if say.language == "en" else say.found)

    def paper(self, sheet: Sheet, names: Iterable[str] = ()) -> Sheet:
        """A sheet that was made in English, in their language. names: of items, pits and mixes, which stay as typed"""
        find = self.preferences.say.found
        reader = replace(self.paper_reader(sheet.reader.zone), find=find, names=frozenset((*names, sheet.title)))
        return told_to(replace(sheet, reader=reader))

    def chosen(self) -> CookRow | None:
        """The cook that they looked at last, else the latest made; None: there is none."""
        last, cooks = self.visitor.person.prefs.get("cook"), self.app_state.cooks()
        return next((row for row in cooks if row.id == last), cooks[0] if cooks else None)

    def remember(self, **prefs: Any) -> None:
        """Keep something with the person."""
        self.app_state.accounts.merge_prefs(self.visitor.person, prefs)

    def go_to(self, row: CookRow) -> Response:
        """Show a cook, and remember that they look at it."""
        self.remember(cook=row.id)
        return RedirectResponse(f"/cook/{row.id}/now", 303)

    def page(self, template: str, name: str = "", *, row: Any = _CHOSEN, status: int = 200, **values: Any) -> Response:
        """A page. It asks the database: not on the loop.

        name: under which it stands in the menu, if that is not its template's; row: the cook it is about, None: of none
        """
        app_state, row = self.app_state, self.chosen() if row is _CHOSEN else row
        around = {
            "visitor": self.visitor,
            "preferences": self.preferences,
            "cook": row,
            "page": name or PurePath(template).stem,
            "caution": self.preferences.say(CAUTION),
            "server_now": self.now.isoformat(),
            "speed": app_state.settings.clock.speed,
            "told": "" if row is None else app_state.live.told(row.id),
            "form_key": token_hex(8),
            "may_record": self.visitor.may("cook"),
            "_": self.preferences.say,
            "languages": LANGUAGES,
        }
        return app_state.templates.TemplateResponse(self.request, template, around | values, status)


@dataclass(frozen=True, slots=True)
class CookVisit(Visit):
    """A request for a page of a cook, with what is known of it."""

    row: CookRow
    shown: Shown

    @property
    def clock(self) -> ClockWords:
        """The clock of a page: an outlook's own moment, if there is one."""
        at = self.shown.outlook.now_utc if self.shown.outlook is not None else self.now
        return ClockWords(self.shown.cook.zone_info, at, self.preferences)

    @property
    def scene(self) -> Scene:
        """The cook as it stands. It asks the database: not on the loop."""
        ledger = self.app_state.following.ledger(self.row.id)
        return Scene(self.shown.cook, ledger, self.shown.outlook, self.clock.now)


def _by_viewer(request: Request, visitor: Viewer) -> Visit:
    return Visit(request, visitor)


def _by_cook(request: Request, visitor: CookHand) -> Visit:
    return Visit(request, visitor)


def _by_owner(request: Request, visitor: Owner) -> Visit:
    return Visit(request, visitor)


def cook_visit(within_s: Callable[[], float]) -> Callable[..., Coroutine[Any, Any, CookVisit]]:
    """A dependency: the cook of the address, waiting so long [s] for its first outlook. Raises RefusalError."""

    async def door(request: Request, cook_id: CookId, visitor: Viewer) -> CookVisit:
        app_state = app_state_of(request)
        row = await run_in_threadpool(find_cook, app_state, cook_id)
        return CookVisit(request, visitor, row, await app_state.live.first(cook_id, within_s()))

    return door


async def _filled_in(request: Request) -> FormData:
    return await request.form(max_fields=600)


def taken_away(name: str) -> dict[str, str]:
    """The head of an answer that is a file of this name."""
    return {"Content-Disposition": f'attachment; filename="{name}"'}


ViewerVisit = Annotated[Visit, Depends(_by_viewer)]
HandVisit = Annotated[Visit, Depends(_by_cook)]
OwnerVisit = Annotated[Visit, Depends(_by_owner)]
OfCook = Annotated[CookVisit, Depends(cook_visit(lambda: FIRST_S))]
OfCookAtOnce = Annotated[CookVisit, Depends(cook_visit(lambda: 0.0))]
Filled = Annotated[FormData, Depends(_filled_in)]
PlanText = Annotated[str, Form(max_length=200_000)]
