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
from pitreckon.forms.toml_write import Table
from pitreckon.web.access.sessions import CookHand, Viewer, Visitor, app_state_of
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.fields import padded
from pitreckon.web.forms.mix import LEAST_ROWS, filled_of, from_mix, plain_form, tables_of
from pitreckon.web.live.mixes import SavedMix, drop_mix, save_mix, saved_mix, saved_mixes
from pitreckon.web.live.state import AppState
from pitreckon.web.live.worker import OnMeat
from pitreckon.web.pages.cook import chosen_cook, frame
from pitreckon.web.views.mix import mix_view
from pitreckon.web.views.reader import Preferences

router = APIRouter(include_in_schema=False)
MOST_TEXT: Final = 30_000
WAIT_S: Final = 6.0
"""How long a page waits for what heat does; then it says so, and asks again by itself."""
RULES: Final = {"us": "nine of the US", "eu": "fourteen of the EU"}
EMPTY: Final[dict[str, Any]] = {"head": {}, "covers": {}, "lines": []}
MixKey = Annotated[str, InPath(pattern=r"^[a-z0-9-]{1,48}$")]
Words = Annotated[str, Query(max_length=120)]


def _frame(app_state: AppState, visitor: Visitor) -> dict[str, Any]:
    return frame(app_state, visitor, chosen_cook(visitor, app_state.store.cooks()), "mixes")


def _found(app_state: AppState, key: str) -> SavedMix:
    """The mix of this key. Raises RefusalError: there is none."""
    try:
        return saved_mix(app_state.store, key)
    except KeyError:
        raise RefusalError(404, f"there is no mix '{key[:40]}'", "Look under Mixes for those that there are") from None


@router.get("/mixes")
def list_page(request: Request, visitor: Viewer) -> Response:
    """All mixes of the house."""
    app_state = app_state_of(request)
    values = _frame(app_state, visitor) | {"mixes": saved_mixes(app_state.store)}
    return app_state.templates.TemplateResponse(request, "mixes.html", values)


def _form_values(
    app_state: AppState,
    visitor: Visitor,
    filled: dict[str, Any],
    fault: InputError | None,
    kept: SavedMix | None,
    text: str,
) -> dict[str, Any]:
    names = [each.mix.name for each in saved_mixes(app_state.store) if kept is None or each.key != kept.key]
    return _frame(app_state, visitor) | {
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
    app_state = app_state_of(request)
    values = _form_values(app_state, visitor, EMPTY, None, None, "")
    return app_state.templates.TemplateResponse(request, "mix_form.html", values)


@router.get("/mixes/{key}/edit")
def edit_page(request: Request, key: MixKey, visitor: CookHand) -> Response:
    """The form, filled with a mix."""
    app_state = app_state_of(request)
    kept = _found(app_state, key)
    values = _form_values(
        app_state, visitor, from_mix(kept.mix, Preferences.of(visitor.person.prefs)), None, kept, kept.text
    )
    return app_state.templates.TemplateResponse(request, "mix_form.html", values)


def _save(app_state: AppState, key: str | None, given: str | Table) -> str:
    try:
        return save_mix(app_state.store, key, given)
    except KeyError:
        raise RefusalError(404, "this mix is gone", "Keep it as a new one") from None


async def _from_form(request: Request, visitor: Visitor, key: str | None) -> Response:
    """Keep what was filled in; where something is wrong say what, and keep all that was typed."""
    app_state = app_state_of(request)
    filled = filled_of(await request.form(max_fields=300))

    def work() -> str:
        mixes = {each.mix.name for each in saved_mixes(app_state.store)}
        return _save(app_state, key, tables_of(filled, mixes, Preferences.of(visitor.person.prefs)))

    try:
        made = await run_in_threadpool(work)
    except InputError as error:
        fault = error

        def again() -> dict[str, Any]:
            kept = None if key is None else _found(app_state, key)
            return _form_values(app_state, visitor, filled, fault, kept, "" if kept is None else kept.text)

        return app_state.templates.TemplateResponse(request, "mix_form.html", await run_in_threadpool(again), 422)
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
    app_state = app_state_of(request)
    text = mix.replace("\r\n", "\n")
    try:
        made = await run_in_threadpool(_save, app_state, key or None, text)
    except InputError as error:
        fault = error

        def again() -> dict[str, Any]:
            kept = _found(app_state, key) if key else None
            filled = EMPTY if kept is None else from_mix(kept.mix, Preferences.of(visitor.person.prefs))
            return _form_values(app_state, visitor, filled, fault, kept, text)

        return app_state.templates.TemplateResponse(request, "mix_form.html", await run_in_threadpool(again), 422)
    return RedirectResponse(f"/mixes/{made}", 303)


@router.post("/mixes/{key}/drop")
def drop(request: Request, key: MixKey, visitor: CookHand) -> Response:
    """Throw a mix away. Raises InputError: another one has it inside."""
    app_state = app_state_of(request)
    _found(app_state, key)
    drop_mix(app_state.store, key)
    return RedirectResponse("/mixes", 303)


@router.get("/mixes/{key}.toml")
def as_file(request: Request, key: MixKey, visitor: Viewer) -> Response:
    """The mix file, to be taken away."""
    kept = _found(app_state_of(request), key)
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
    app_state = app_state_of(request)
    rules = rules if rules in RULES else "us"

    def values() -> dict[str, Any]:
        kept = _found(app_state, key)
        others = [each for each in saved_mixes(app_state.store) if each.key != key]
        other = next((each.mix for each in others if each.key == beside), None)
        asked = {"for": wanted, "want": want, "with": beside if other is not None else "", "rules": rules, "item": item}
        view, fault = _view_or_fault(kept.mix, other, wanted, want, rules)
        row = chosen_cook(visitor, app_state.store.cooks())
        items = () if row is None else tuple(each.label for each in app_state.live_cook(row.id).items)
        return _frame(app_state, visitor) | {
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
        on_meat = await app_state.jobs.answer(OnMeat(plan, item, found["kept"].mix, want), WAIT_S)
    found |= {"on_meat": on_meat or (), "again": on_meat is None}
    return app_state.templates.TemplateResponse(request, "mix.html", found, 200 if found["fault"] is None else 422)


def _view_or_fault(mix: Mix, other: Mix | None, wanted: str, want: str, rules: str) -> tuple[Any, InputError | None]:
    """What the page says; where what was asked for is at fault, the mix as it is and the fault."""
    try:
        return mix_view(mix, other, wanted, want, rules), None
    except InputError as fault:
        return mix_view(mix, other, "", "", rules), fault
