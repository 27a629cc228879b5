"""Mixes on the page: those of the house, one of them for so much meat, and the form for a new one."""

from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query
from fastapi import Path as InPath
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from pitreckon.catalog.foods import foods
from pitreckon.errors import InputError
from pitreckon.flavour.mix import MIX_USES, Mix
from pitreckon.forms.toml_write import Table
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.fields import padded
from pitreckon.web.forms.mix import LEAST_ROWS, filled_of, from_mix, plain_form, tables_of
from pitreckon.web.live.mixes import SavedMix, drop_mix, save_mix, saved_mix, saved_mixes
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.questions import on_the_meat
from pitreckon.web.pages.visit import Filled, HandVisit, ViewerVisit, Visit, taken_away
from pitreckon.web.views.mix import mix_view

router = APIRouter(include_in_schema=False)
MOST_TEXT: Final = 30_000
USE_WORDS: Final = {
    "rub": "a rub",
    "binder": "a binder",
    "wrap": "a liquid for the wrap",
    "spritz": "a spritz",
    "sauce": "a sauce",
    "glaze": "a glaze",
    "brine": "a brine",
}
"""What a mix is for, in words."""
WAIT_S: Final = 6.0
"""How long a page waits for what heat does; then it says so, and asks again by itself."""
RULES: Final = {"us": "nine of the US", "eu": "fourteen of the EU"}
EMPTY: Final[dict[str, Any]] = {"head": {}, "covers": {}, "lines": []}
MixKey = Annotated[str, InPath(pattern=r"^[a-z0-9-]{1,48}$")]
Words = Annotated[str, Query(max_length=120)]


def found_mix(visit: Visit, key: str) -> SavedMix:
    """The mix of this key. Raises RefusalError: there is none."""
    try:
        return saved_mix(visit.app_state.store, key)
    except KeyError:
        raise RefusalError(404, f"there is no mix '{key[:40]}'", "Look under Mixes for those that there are") from None


@router.get("/mixes")
def list_page(visit: ViewerVisit) -> Response:
    """All mixes of the house."""
    return visit.page("mixes.html", use_words=USE_WORDS, mixes=saved_mixes(visit.app_state.store))


def _form(
    visit: Visit,
    kept: SavedMix | None,
    filled: dict[str, Any] | None = None,
    text: str | None = None,
    fault: InputError | None = None,
) -> Response:
    """The form of a new mix or a kept one, with what was typed in its rows or as a text, and what is wrong with it."""
    if filled is None:
        filled = EMPTY if kept is None else from_mix(kept.mix, visit.preferences)
    names = [each.mix.name for each in saved_mixes(visit.app_state.store) if kept is None or each.key != kept.key]
    return visit.page(
        "mix_form.html",
        "mixes",
        status=200 if fault is None else 422,
        filled={**filled, "lines": padded(filled["lines"], max(LEAST_ROWS, len(filled["lines"]) + 2))},
        fault=fault,
        kept=kept,
        text=text if text is not None else "" if kept is None else kept.text,
        uses=MIX_USES,
        use_words=USE_WORDS,
        foods=sorted([*(food.name for food in foods().values()), *names], key=str.casefold),
        plain=kept is None or plain_form(kept.mix),
    )


@router.get("/mixes/new")
def new_page(visit: HandVisit) -> Response:
    """The form, empty."""
    return _form(visit, None)


@router.get("/mixes/{key}/edit")
def edit_page(key: MixKey, visit: HandVisit) -> Response:
    """The form, filled with a mix."""
    return _form(visit, found_mix(visit, key))


def _save(visit: Visit, key: str | None, given: str | Table) -> Response:
    try:
        return RedirectResponse(f"/mixes/{save_mix(visit.app_state.store, key, given)}", 303)
    except KeyError:
        raise RefusalError(404, "this mix is gone", "Keep it as a new one") from None


def _from_form(visit: Visit, form: FormData, key: str | None) -> Response:
    """Keep what was filled in; where something is wrong say what, and keep all that was typed."""
    filled = filled_of(form)
    try:
        mixes = {each.mix.name for each in saved_mixes(visit.app_state.store)}
        return _save(visit, key, tables_of(filled, mixes, visit.preferences))
    except InputError as fault:
        return _form(visit, None if key is None else found_mix(visit, key), filled, fault=fault)


@router.post("/mixes/new")
def from_new(visit: HandVisit, form: Filled) -> Response:
    """A new mix."""
    return _from_form(visit, form, None)


@router.post("/mixes/{key}/edit")
def from_edit(key: MixKey, visit: HandVisit, form: Filled) -> Response:
    """A mix, changed."""
    return _from_form(visit, form, key)


@router.post("/mixes/text")
def from_text(
    visit: HandVisit,
    mix: Annotated[str, Form(max_length=MOST_TEXT)],
    key: Annotated[str, Form(pattern=r"^[a-z0-9-]{0,48}$")] = "",
) -> Response:
    """A mix file, kept as it is. Where something is wrong it is said, and the text is shown again."""
    text = mix.replace("\r\n", "\n")
    try:
        return _save(visit, key or None, text)
    except InputError as fault:
        return _form(visit, found_mix(visit, key) if key else None, text=text, fault=fault)


@router.post("/mixes/{key}/drop")
def drop(key: MixKey, visit: HandVisit) -> Response:
    """Throw a mix away. Raises InputError: another one has it inside."""
    found_mix(visit, key)
    drop_mix(visit.app_state.store, key)
    return RedirectResponse("/mixes", 303)


@router.get("/mixes/{key}.toml")
def as_file(key: MixKey, visit: ViewerVisit) -> Response:
    """The mix file, to be taken away."""
    kept = found_mix(visit, key)
    return PlainTextResponse(kept.text, media_type="application/toml", headers=taken_away(f"{kept.key}.toml"))


@router.get("/mixes/{key}")
async def mix_page(
    key: MixKey,
    visit: ViewerVisit,
    wanted: Annotated[str, Query(alias="for", max_length=60)] = "",
    want: Words = "",
    beside: Annotated[str, Query(alias="with", max_length=48)] = "",
    rules: Annotated[str, Query(max_length=2)] = "us",
    item: Annotated[str, Query(max_length=60)] = "",
) -> Response:
    """A mix: weights beside spoons for so much, what it tastes of, changed to targets, its label, on the meat."""
    rules = rules if rules in RULES else "us"

    def values() -> dict[str, Any]:
        kept = found_mix(visit, key)
        others = [each for each in saved_mixes(visit.app_state.store) if each.key != key]
        other = next((each.mix for each in others if each.key == beside), None)
        asked = {"for": wanted, "want": want, "with": beside if other is not None else "", "rules": rules, "item": item}
        view, fault = _view_or_fault(kept.mix, other, wanted, want, rules)
        row = visit.chosen()
        return {
            "row": row,
            "kept": kept,
            "view": view,
            "fault": fault,
            "others": others,
            "asked": asked,
            "rules": RULES,
            "items": () if row is None else tuple(each.label for each in cook_of(row.plan_toml).items),
            "compared": other is not None,
        }

    found = await run_in_threadpool(values)
    on_meat: tuple[str, ...] | None = ()
    if item in found["items"] and found["fault"] is None:
        what = (found["row"].plan_toml, item, found["kept"].mix, want)
        on_meat = await visit.app_state.jobs.answer(visit.asker, WAIT_S, on_the_meat, *what)
    found |= {"on_meat": on_meat or (), "again": on_meat is None, "status": 200 if found["fault"] is None else 422}
    return await run_in_threadpool(lambda: visit.page("mix.html", "mixes", **found))


def _view_or_fault(mix: Mix, other: Mix | None, wanted: str, want: str, rules: str) -> tuple[Any, InputError | None]:
    """What the page says; where what was asked for is at fault, the mix as it is and the fault."""
    try:
        return mix_view(mix, other, wanted, want, rules), None
    except InputError as fault:
        return mix_view(mix, other, "", "", rules), fault
