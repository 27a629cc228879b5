"""Mixes on the page: those of the house, one of them for so much meat, and the form for a new one."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi import Path as InPath
from starlette.concurrency import run_in_threadpool
from starlette.responses import PlainTextResponse, RedirectResponse, Response

from pitreckon.catalog.foods import foods
from pitreckon.errors import InputError
from pitreckon.flavour.mix import MIX_USES, Mix
from pitreckon.web.access.sessions import CookHand, Viewer, Visitor, house_of
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.fields import padded
from pitreckon.web.forms.mix import LEAST_ROWS, filled_of, from_mix, plain_form, text_of
from pitreckon.web.live.mixes import KeptMix, drop_mix, keep_mix, kept_mix, kept_mixes
from pitreckon.web.live.state import House
from pitreckon.web.live.worker import OnMeat
from pitreckon.web.pages.cook import chosen_cook, frame
from pitreckon.web.views.mix import mix_view
from pitreckon.web.views.reader import Ways

router = APIRouter(include_in_schema=False)
MOST_TEXT: Final = 30_000
WAIT_S: Final = 6.0
"""How long a page waits for what heat does; then it says so, and asks again by itself."""
RULES: Final = {"us": "nine of the US", "eu": "fourteen of the EU"}
EMPTY: Final[dict[str, Any]] = {"head": {}, "covers": {}, "lines": []}
MixKey = Annotated[str, InPath(pattern=r"^[a-z0-9-]{1,48}$")]
Words = Annotated[str, Query(max_length=120)]


def _frame(house: House, visitor: Visitor) -> dict[str, Any]:
    return frame(house, visitor, chosen_cook(visitor, house.store.cooks()), "mixes")


def _found(house: House, key: str) -> KeptMix:
    """The mix of this key. Raises RefusalError: there is none."""
    try:
        return kept_mix(house.store, key)
    except KeyError:
        raise RefusalError(404, f"there is no mix '{key[:40]}'", "Look under Mixes for those that there are") from None


@router.get("/mixes")
def list_page(request: Request, visitor: Viewer) -> Response:
    """All mixes of the house."""
    house = house_of(request)
    values = _frame(house, visitor) | {"mixes": kept_mixes(house.store)}
    return house.templates.TemplateResponse(request, "mixes.html", values)


def _form_values(
    house: House, visitor: Visitor, filled: dict[str, Any], fault: InputError | None, kept: KeptMix | None, text: str
) -> dict[str, Any]:
    names = [each.mix.name for each in kept_mixes(house.store) if kept is None or each.key != kept.key]
    return _frame(house, visitor) | {
        "filled": {**filled, "lines": padded(filled["lines"], max(LEAST_ROWS, len(filled["lines"]) + 2))},
        "fault": fault,
        "kept": kept,
        "text": text,
        "uses": MIX_USES,
        "foods": sorted([*(food.name for food in foods().values()), *names], key=str.casefold),
        "plain": kept is None or plain_form(kept.mix),
    }


@router.get("/mixes/new")
def new_page(request: Request, visitor: CookHand) -> Response:
    """The form, empty."""
    house = house_of(request)
    values = _form_values(house, visitor, EMPTY, None, None, "")
    return house.templates.TemplateResponse(request, "mix_form.html", values)


@router.get("/mixes/{key}/edit")
def edit_page(request: Request, key: MixKey, visitor: CookHand) -> Response:
    """The form, filled with a mix."""
    house = house_of(request)
    kept = _found(house, key)
    values = _form_values(house, visitor, from_mix(kept.mix, Ways.of(visitor.person.prefs)), None, kept, kept.text)
    return house.templates.TemplateResponse(request, "mix_form.html", values)


def _keep(house: House, key: str | None, text: str) -> str:
    try:
        return keep_mix(house.store, key, text)
    except KeyError:
        raise RefusalError(404, "this mix is gone", "Keep it as a new one") from None


async def _from_form(request: Request, visitor: Visitor, key: str | None) -> Response:
    """Keep what was filled in; where something is wrong say what, and keep all that was typed."""
    house = house_of(request)
    filled = filled_of(await request.form(max_fields=300))

    def work() -> str:
        mixes = {each.mix.name for each in kept_mixes(house.store)}
        return _keep(house, key, text_of(filled, mixes, Ways.of(visitor.person.prefs)))

    try:
        made = await run_in_threadpool(work)
    except InputError as error:
        fault = error

        def again() -> dict[str, Any]:
            kept = None if key is None else _found(house, key)
            return _form_values(house, visitor, filled, fault, kept, "" if kept is None else kept.text)

        return house.templates.TemplateResponse(request, "mix_form.html", await run_in_threadpool(again), 422)
    return RedirectResponse(f"/mixes/{made}", 303)


@router.post("/mixes/new")
async def from_new(request: Request, visitor: CookHand) -> Response:
    """A new mix."""
    return await _from_form(request, visitor, None)


@router.post("/mixes/{key}/edit")
async def from_edit(request: Request, key: MixKey, visitor: CookHand) -> Response:
    """A mix, changed."""
    return await _from_form(request, visitor, key)


@router.post("/mixes/text")
async def from_text(
    request: Request,
    visitor: CookHand,
    mix: Annotated[str, Form(max_length=MOST_TEXT)],
    key: Annotated[str, Form(pattern=r"^[a-z0-9-]{0,48}$")] = "",
) -> Response:
    """A mix file, kept as it is. Where something is wrong it is said, and the text is shown again."""
    house = house_of(request)
    text = mix.replace("\r\n", "\n")
    try:
        made = await run_in_threadpool(_keep, house, key or None, text)
    except InputError as error:
        fault = error

        def again() -> dict[str, Any]:
            kept = _found(house, key) if key else None
            filled = EMPTY if kept is None else from_mix(kept.mix, Ways.of(visitor.person.prefs))
            return _form_values(house, visitor, filled, fault, kept, text)

        return house.templates.TemplateResponse(request, "mix_form.html", await run_in_threadpool(again), 422)
    return RedirectResponse(f"/mixes/{made}", 303)


@router.post("/mixes/{key}/drop")
def drop(request: Request, key: MixKey, visitor: CookHand) -> Response:
    """Throw a mix away. Raises InputError: another one has it inside."""
    house = house_of(request)
    _found(house, key)
    drop_mix(house.store, key)
    return RedirectResponse("/mixes", 303)


@router.get("/mixes/{key}.toml")
def as_file(request: Request, key: MixKey, visitor: Viewer) -> Response:
    """The mix file, to be taken away."""
    kept = _found(house_of(request), key)
    head = {"Content-Disposition": f'attachment; filename="{kept.key}.toml"'}
    return PlainTextResponse(kept.text, media_type="application/toml", headers=head)


@router.get("/mixes/{key}")
async def mix_page(
    request: Request,
    key: MixKey,
    visitor: Viewer,
    wanted: Annotated[str, Query(alias="for", max_length=60)] = "",
    want: Words = "",
    beside: Annotated[str, Query(alias="with", max_length=48)] = "",
    rules: Annotated[str, Query(max_length=2)] = "us",
    item: Annotated[str, Query(max_length=60)] = "",
) -> Response:
    """A mix: weights beside spoons for so much, what it tastes of, changed to targets, its label, on the meat."""
    house = house_of(request)
    rules = rules if rules in RULES else "us"

    def values() -> dict[str, Any]:
        kept = _found(house, key)
        others = [each for each in kept_mixes(house.store) if each.key != key]
        other = next((each.mix for each in others if each.key == beside), None)
        asked = {"for": wanted, "want": want, "with": beside if other is not None else "", "rules": rules, "item": item}
        view, fault = _view_or_fault(kept.mix, other, wanted, want, rules)
        row = chosen_cook(visitor, house.store.cooks())
        items = () if row is None else tuple(each.label for each in house.live_cook(row.id).items)
        return _frame(house, visitor) | {
            "kept": kept,
            "view": view,
            "fault": fault,
            "others": others,
            "asked": asked,
            "rules": RULES,
            "items": items,
            "compared": other is not None,
        }

    found = await run_in_threadpool(values)
    on_meat: tuple[str, ...] | None = ()
    if item in found["items"] and found["fault"] is None:
        plan = found["cook"].plan_toml
        on_meat = await house.days.answer(OnMeat(plan, item, found["kept"].mix, want), WAIT_S)
    found |= {"on_meat": on_meat or (), "again": on_meat is None}
    return house.templates.TemplateResponse(request, "mix.html", found, 200 if found["fault"] is None else 422)


def _view_or_fault(mix: Mix, other: Mix | None, wanted: str, want: str, rules: str) -> tuple[Any, InputError | None]:
    """What the page says; where what was asked for is at fault, the mix as it is and the fault."""
    try:
        return mix_view(mix, other, wanted, want, rules), None
    except InputError as fault:
        return mix_view(mix, other, "", "", rules), fault
