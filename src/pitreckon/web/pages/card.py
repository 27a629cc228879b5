"""The recipe card on the page: of an item that is off the pit, for so many pieces, with the mixes that were on it."""

import json
from dataclasses import dataclass, replace
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Query
from markupsafe import Markup
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from pitreckon.cook import Cook
from pitreckon.ledger.store import CookRow
from pitreckon.ledger.store.cameout import how_all
from pitreckon.sheets.writers.html import fragment_of, page_of, script_element
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.live.asked import Asked as Questioned
from pitreckon.web.live.finished import done_items, others_of
from pitreckon.web.live.mixes import SavedMix, saved_mixes
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import CardPaper, recipe_card
from pitreckon.web.pages.how import how_words
from pitreckon.web.pages.sheets import known_ending, names_in, paper_file, paper_for
from pitreckon.web.pages.visit import ViewerVisit, Visit, taken_away

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


def _before(
    visit: Visit, row: CookRow, cook: Cook, item: str
) -> tuple[tuple[tuple[Questioned, str], ...], tuple[str, ...]]:
    """Earlier cooks of the house with their items of the same cut, and how this one was, by those who ate."""
    app_state = visit.app_state
    if item not in {each.label for each in cook.items}:
        return (), ()
    others = [each for each in others_of(app_state, row, cook, item) if each.at < (cook.serve_utc or cook.start_utc)]
    said = tuple(how_words(visit, each) for each in how_all(app_state.store).get(row.id, ()))
    return tuple((app_state.live.asked_of(each.row.id), each.item) for each in others), said


def known_names(row: CookRow, mixes: tuple[SavedMix, ...]) -> list[str]:
    """What people called the cook, what is in it, and their mixes."""
    return [*names_in(cook_of(row.plan_toml)), *(each.mix.name for each in mixes)]


async def _made(
    visit: Visit, row: CookRow, wanted: Wanted, mixes: tuple[SavedMix, ...], within_s: float
) -> tuple[CardPaper | None, str]:
    """The card, if it is there in time, and how far it is if not."""
    app_state = visit.app_state
    chosen = tuple(each.mix for each in mixes if each.key in wanted.mix)
    asked = await run_in_threadpool(app_state.live.asked_of, row.id)
    cook = await run_in_threadpool(cook_of, row.plan_toml)
    before = await run_in_threadpool(_before, visit, row, cook, wanted.item)
    what = (wanted.item, chosen, wanted.pieces, wanted.serves, wanted.rules, visit.reader(cook.zone), *before)
    key = ("card", asked, *what)
    made = await app_state.jobs.answer_for(key, None, visit.asker, within_s, recipe_card, asked, *what)
    return made, app_state.jobs.far(key)


@router.get("/cook/{cook_id}/card")
async def card_page(cook_id: CookId, visit: ViewerVisit, wanted: Asked) -> Response:
    """The card, and above it for whom it is."""

    def known() -> tuple[CookRow, tuple[str, ...], tuple[SavedMix, ...]]:
        row = find_cook(visit.app_state, cook_id)
        return row, done_items(visit.app_state, row.id), saved_mixes(visit.app_state.store)

    row, items, mixes = await run_in_threadpool(known)
    if items and wanted.item not in items:
        wanted = replace(wanted, item=items[0])
    made, far = await _made(visit, row, wanted, mixes, WAIT_S) if items else (None, "")
    here = f"/cook/{row.id}/card"
    kinds = (("pdf", "to print"), ("md", "as text"), ("html", "for a web page"), ("jsonld", "its JSON-LD"))

    def page() -> Response:
        return visit.page(
            "card.html",
            row=row,
            items=items,
            mixes=mixes,
            wanted=wanted,
            answers=urlencode({"item": wanted.item}),
            more=[(f"{here}.{kind}?{wanted.query}", words) for kind, words in kinds],
            paper=None if made is None else Markup(fragment_of(visit.paper(made.sheet, known_names(row, mixes)))),
            again=bool(items) and made is None,
            far=visit.preferences.say.found(far),
        )

    return await run_in_threadpool(page)


@router.get("/cook/{cook_id}/card.{ending}")
async def card_file(cook_id: CookId, ending: str, visit: ViewerVisit, wanted: Asked) -> Response:
    """The card as a file. Raises RefusalError: there is no such kind, or it takes too long."""
    kind = f".{ending}" if f".{ending}" in JSON_KINDS else known_ending(ending)
    if kind == ".ics":
        raise RefusalError(404, "a card is no calendar", "Ask for .pdf, .md, .html, .txt, .json or .jsonld")
    row = await run_in_threadpool(find_cook, visit.app_state, cook_id)
    mixes = await run_in_threadpool(saved_mixes, visit.app_state.store)
    made, _ = await _made(visit, row, wanted, mixes, FILE_WAIT_S)
    if made is None:
        raise RefusalError(503, "the readers of this card are still cooking", "Ask again in a minute")
    paper, head = paper_for(None, visit.preferences), taken_away(f"{row.id}-card{kind}")
    if kind in JSON_KINDS:
        text = json.dumps(made.document if kind == ".json" else made.jsonld, indent=1, ensure_ascii=False)
        return Response(text, media_type=JSON_KINDS[kind], headers=head)
    sheet = visit.paper(made.sheet, known_names(row, mixes))
    if kind == ".html":
        page = await run_in_threadpool(page_of, sheet, paper, head=script_element(made.jsonld))
        return Response(page, media_type="text/html; charset=utf-8", headers=head)
    return await run_in_threadpool(paper_file, sheet, kind, f"{row.name} {wanted.item} card", paper)
