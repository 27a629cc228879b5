"""The first page of a house without a cook, and a cook made by questions, one at a time."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query
from starlette.datastructures import FormData
from starlette.responses import Response

from pitreckon import catalog
from pitreckon.cook import Cook
from pitreckon.cook.keys import PIT, Around
from pitreckon.cook.read import cook_from_tables, cook_from_text
from pitreckon.errors import InputError
from pitreckon.forms.toml_write import Table, toml_text, typed
from pitreckon.ledger.store.cameout import how_all
from pitreckon.ledger.store.house import house_rows
from pitreckon.plan.fuel.inahead import with_fires
from pitreckon.text.toml import parse_toml
from pitreckon.web.api import find_cook
from pitreckon.web.forms.asbefore import as_before
from pitreckon.web.forms.fields import clean, field_at, free_name, padded, rows_of, with_unit
from pitreckon.web.live.house import cooks_in, lessons_in
from pitreckon.web.pages.how import how_words
from pitreckon.web.pages.visit import Filled, HandVisit, PlanText, ViewerVisit, Visit
from pitreckon.web.views.reader import Preferences

router = APIRouter(include_in_schema=False)
COOK_KEYS: Final = ("name", "zone", "serve", "air", "altitude")
PIT_KEYS: Final = ("name", "kind", "set")
ITEM_KEYS: Final = ("name", "cut", "pieces", "weight", "pit", "put_on")
OF_FIRE: Final = ("light", "feed_every", "feed", "water_every", "ash_every")
ROWS: Final = 1
EMPTY: Final[dict[str, Any]] = {"cook": {}, "pits": [], "items": []}


@router.get("/start")
def start(visit: ViewerVisit) -> Response:
    """What this is, and the ways to begin."""
    return visit.page("start.html", "setup", row=None)


def _form(visit: Visit, filled: dict[str, Any], fault: InputError | None = None, again: str = "") -> Response:
    came_out = how_all(visit.app_state.store).get(again, ()) if again else ()
    return visit.page(
        "new_cook.html",
        "setup",
        row=None,
        status=200 if fault is None else 422,
        filled={**filled, "pits": padded(filled["pits"], ROWS), "items": padded(filled["items"], ROWS)},
        fault=fault,
        at=field_at(fault, {"item": "item_", "pit": "pit_"}),
        cuts=sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)),
        rests_on=cooks_in(lessons_in(house_rows(visit.app_state.store))),
        again=again,
        last_time=[how_words(visit, each) for each in came_out],
        kinds=sorted(((pit.key, pit.name) for pit in catalog.pits().values()), key=lambda pair: pair[1]),
    )


@router.get("/new")
def form_page(visit: HandVisit, again: Annotated[str, Query(max_length=64)] = "") -> Response:
    """A new cook. again: id of one that it is to be like, but for its times"""
    if not again:
        return _form(visit, EMPTY)
    tables = parse_toml(find_cook(visit.app_state, again).plan_toml, "the plan")
    head = {key: str(tables.get("cook", {}).get(key, "")) for key in COOK_KEYS}
    pits = [{key: str(pit.get(key, "")) for key in PIT_KEYS} for pit in tables.get("pit", [])]
    numbers = {pit["name"]: str(n) for n, pit in enumerate(pits, 1)}
    items = [
        {key: str(item.get(key, "")) for key in ITEM_KEYS} | {"put_on": "", "pit": numbers.get(item.get("pit"), "1")}
        for item in tables.get("item", [])
    ]
    return _form(visit, {"cook": {**head, "serve": ""}, "pits": pits, "items": items}, again=again)


def _filled(form: FormData) -> dict[str, Any]:
    """What was filled in, by its keys in a cook file; rows of which nothing was filled in are left out."""
    pits = [row for row in rows_of(form, "pit", PIT_KEYS) if row["kind"] or row["set"]]
    for n, row in enumerate(pits):
        row["name"] = row["name"] or ("pit" if n == 0 else f"pit {n + 1}")
    rows = rows_of(form, "item", ITEM_KEYS)
    items = [row for row in rows if row["weight"] or row["put_on"] or row["name"] or row["cut"]]
    taken: set[str] = set()
    for row in items:
        row["name"] = free_name(row["name"] or row["cut"].replace("-", " "), taken)
    return {"cook": {key: clean(form.get(key)) for key in COOK_KEYS}, "pits": pits, "items": items}


def _tables(filled: dict[str, Any], preferences: Preferences) -> Table:
    """The tables of a cook file. A bare number is in the units that the form shows beside its field."""
    head = {**filled["cook"], "air": with_unit(filled["cook"]["air"], preferences.degrees)}
    pits = [typed({**pit, "set": with_unit(pit["set"], preferences.degrees)}) for pit in filled["pits"]]
    names = {str(n): pit["name"] for n, pit in enumerate(filled["pits"], 1)}
    first = next(iter(names.values()), "")
    items = []
    for item in filled["items"]:
        weight = with_unit(item["weight"], preferences.mass)
        items.append(typed({**item, "pit": names.get(item["pit"], first), "weight": weight}, "pieces"))
    return {"cook": typed(head), "pit": pits, "item": items}


@router.post("/setup/cook")
def make_cook(visit: HandVisit, form: Filled) -> Response:
    """Make a cook of what was filled in; when something is wrong, say what, and keep all that was typed."""
    filled, again = _filled(form), clean(form.get("again"))[:64]
    if form.get("more"):  # a page without a script asks for one row more
        more = {**filled, f"{form['more']}s": [*filled.get(f"{form['more']}s", ()), {}]}
        return _form(visit, more, again=again)
    tables = _tables(filled, visit.preferences)
    if again:
        tables = as_before(tables, parse_toml(find_cook(visit.app_state, again).plan_toml, "the plan"))
    try:
        cook = cook_from_tables(tables, "the form")
    except InputError as fault:
        return _form(visit, filled, fault, again)
    return visit.go_to(visit.app_state.store.add_cook(toml_text(_with_fires(tables, cook)), cook.name))


def _with_fires(tables: Table, cook: Cook) -> Table:
    """The tables with when each fire is lit and how often it is fed, which nobody is asked and everybody is told."""
    around = Around(cook.zone_info, cook.serve_utc)
    wants = [PIT.write(pit, around) for pit in with_fires(cook).pits]
    fires = [{key: want[key] for key in OF_FIRE if key in want} for want in wants]
    return {**tables, "pit": [{**pit, **fire} for pit, fire in zip(tables["pit"], fires, strict=True)]}


@router.post("/setup/text")
def make_cook_of_text(visit: HandVisit, plan: PlanText) -> Response:
    """Make a cook of a cook file's text."""
    text = plan.replace("\r\n", "\n")
    return visit.go_to(visit.app_state.store.add_cook(text, cook_from_text(text, "the plan").name))
