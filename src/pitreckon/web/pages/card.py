"""The recipe card on the page: of an item that is off the pit, for so many pieces, with the mixes that were on it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Annotated, Any, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query, Request
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.ledger.events import OFF_ACTS
from pitreckon.ledger.store import CookRow
from pitreckon.sheets.writers.html import fragment_of, page_of, script_element
from pitreckon.web.access.sessions import Viewer, Visitor, app_state_of
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.mixes import SavedMix, saved_mixes
from pitreckon.web.live.state import AppState
from pitreckon.web.live.worker import CardPaper, MakeCard
from pitreckon.web.pages.cook import frame
from pitreckon.web.pages.sheets import known_ending, paper_file, paper_for
from pitreckon.web.views.reader import Preferences

router = APIRouter(include_in_schema=False)
WAIT_S: Final = 4.0
"""How long a page waits for the readers to have cooked; then it says so, and asks again by itself."""
FILE_WAIT_S: Final = 90.0
MOST_MIXES: Final = 6
JSON_KINDS: Final = {".json": "application/json", ".jsonld": "application/ld+json"}


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody asks of a card. item: label; pieces, serves: None as it was; mix: keys; rules: us or eu"""

    item: str
    pieces: int | None
    serves: int | None
    mix: tuple[str, ...]
    rules: str

    @property
    def query(self) -> str:
        """The same for an address."""
        pairs = [("item", self.item), *(("mix", key) for key in self.mix), ("rules", self.rules)]
        pairs += [(name, str(n)) for name, n in (("pieces", self.pieces), ("serves", self.serves)) if n is not None]
        return urlencode(pairs)


def _number(text: str, field: str) -> int | None:
    if not text.strip():
        return None
    if not (text.strip().isascii() and text.strip().isdigit() and len(text.strip()) < 6):
        raise RefusalError(
            422, f"{field}: '{text.strip()[:12]}' is no whole number", "Write it as in 6, or leave it out"
        )
    return int(text)


def wanted_of(
    item: Annotated[str, Query(max_length=60)] = "",
    pieces: Annotated[str, Query(max_length=12)] = "",
    serves: Annotated[str, Query(max_length=12)] = "",
    mix: Annotated[list[str] | None, Query(max_length=MOST_MIXES)] = None,
    rules: Annotated[str, Query(max_length=2)] = "us",
) -> Wanted:
    """What the address asks for. Raises RefusalError: pieces or serves are no whole number."""
    keys = tuple(dict.fromkeys(each[:48] for each in mix or ()))
    return Wanted(
        item, _number(pieces, "pieces"), _number(serves, "serves"), keys, rules if rules in {"us", "eu"} else "us"
    )


Asked = Annotated[Wanted, Depends(wanted_of)]


def done_items(app_state: AppState, cook_id: str) -> tuple[str, ...]:
    """Labels of the items of a cook that are off the pit."""
    ledger = app_state.following.ledger(cook_id)
    plan = app_state.live_cook(cook_id)
    return tuple(i.label for i in plan.items if any(act.act in OFF_ACTS for act in ledger.acts(i.label)))


def _question(
    app_state: AppState, row: CookRow, visitor: Visitor, wanted: Wanted, mixes: tuple[SavedMix, ...]
) -> MakeCard:
    preferences = Preferences.of(visitor.person.prefs)
    chosen = tuple(each.mix for each in mixes if each.key in wanted.mix)
    how = (preferences.degrees, preferences.mass, preferences.hands == "12")
    asked = app_state.live.asked_of(row.id)
    return MakeCard(asked, wanted.item, chosen, wanted.pieces, wanted.serves, wanted.rules, *how)


@router.get("/cook/{cook_id}/card")
async def card_page(request: Request, cook_id: CookId, visitor: Viewer, wanted: Asked) -> Response:
    """The card, and above it for whom it is."""
    app_state = app_state_of(request)

    def known() -> tuple[CookRow, tuple[str, ...], tuple[SavedMix, ...]]:
        row = find_cook(app_state, cook_id)
        return row, done_items(app_state, row.id), saved_mixes(app_state.store)

    row, items, mixes = await run_in_threadpool(known)
    if items and wanted.item not in items:
        wanted = Wanted(items[0], wanted.pieces, wanted.serves, wanted.mix, wanted.rules)
    made: CardPaper | None = None
    if items:
        made = await app_state.jobs.answer(
            await run_in_threadpool(_question, app_state, row, visitor, wanted, mixes), WAIT_S
        )
    here = f"/cook/{row.id}/card"
    kinds = (("pdf", "to print"), ("md", "as text"), ("html", "for a web page"), ("jsonld", "its JSON-LD"))
    values: dict[str, Any] = frame(app_state, visitor, row, "card") | {
        "items": items,
        "mixes": mixes,
        "wanted": wanted,
        "more": [(f"{here}.{kind}?{wanted.query}", words) for kind, words in kinds],
        "paper": None if made is None else Markup(await run_in_threadpool(fragment_of, made.sheet)),
        "again": bool(items) and made is None,
    }
    return app_state.templates.TemplateResponse(request, "card.html", values)


@router.get("/cook/{cook_id}/card.{ending}")
async def card_file(request: Request, cook_id: CookId, ending: str, visitor: Viewer, wanted: Asked) -> Response:
    """The card as a file. Raises RefusalError: there is no such kind, or it takes too long."""
    kind = f".{ending}" if f".{ending}" in JSON_KINDS else known_ending(ending)
    if kind == ".ics":
        raise RefusalError(404, "a card is no calendar", "Ask for .pdf, .md, .html, .txt, .json or .jsonld")
    app_state = app_state_of(request)
    row = await run_in_threadpool(find_cook, app_state, cook_id)
    mixes = await run_in_threadpool(saved_mixes, app_state.store)
    question = await run_in_threadpool(_question, app_state, row, visitor, wanted, mixes)
    made: CardPaper | None = await app_state.jobs.answer(question, FILE_WAIT_S)
    if made is None:
        raise RefusalError(503, "the readers of this card are still cooking", "Ask again in a minute")
    name = f"{row.name} {wanted.item} card"
    paper = paper_for(None, Preferences.of(visitor.person.prefs))
    if kind in JSON_KINDS:
        text = json.dumps(made.document if kind == ".json" else made.jsonld, indent=1, ensure_ascii=False)
        head = {"Content-Disposition": f'attachment; filename="{row.id}-card{kind}"'}
        return Response(text, media_type=JSON_KINDS[kind], headers=head)
    if kind == ".html":
        page = await run_in_threadpool(page_of, made.sheet, paper, head=script_element(made.jsonld))
        head = {"Content-Disposition": f'attachment; filename="{row.id}-card.html"'}
        return Response(page, media_type="text/html; charset=utf-8", headers=head)
    return await run_in_threadpool(paper_file, made.sheet, kind, name, paper)
