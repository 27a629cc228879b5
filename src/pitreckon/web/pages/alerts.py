"""What is told, to whom and when: the [alerts] of the settings file as a page, with a message to try the way."""

import re
from pathlib import Path
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from pitreckon.alerts import KINDS, Alert, AlertSettings, alert_settings
from pitreckon.errors import InputError, PitreckonError
from pitreckon.forms.toml_write import toml_text
from pitreckon.text.file import read_text
from pitreckon.units import format_difference, format_duration
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.fields import clean
from pitreckon.web.live.plans import cook_of
from pitreckon.web.pages.visit import Filled, OwnerVisit, Visit

router = APIRouter(include_in_schema=False)
WORDS: Final = {
    "window": "something can be done soon",
    "be back": "be back at the pit",
    "fire sinking": "fire sinking",
    "fire running hot": "fire running hot",
    "no word from the pit": "no word from the pit",
    "probe fell out": "probe fell out",
    "safety": "a safety rule may be missed",
}
SPANS: Final = ("ahead", "back", "lasting", "silent")
HIDDEN: Final = "://..."
_TABLE: Final = re.compile(r"^\[alerts\][^\n]*\n(?:(?!\[).*\n?)*", re.MULTILINE)


def _file(visit: Visit) -> Path:
    """The settings file. Raises RefusalError: the server was started without one."""
    file = visit.app_state.settings.settings_file
    if file is None:
        raise RefusalError(
            404,
            "the server was started without a settings file",
            "Start it with --settings settings.toml",
        )
    return file


def _settings(visit: Visit, text: str | None = None) -> AlertSettings:
    """What holds. Raises InputError: there is no cook yet, or something in the text is wrong."""
    row = visit.chosen()
    if row is None:
        raise InputError("there is no cook yet whose alerts could be set", "Make one first")
    file = _file(visit)
    given = (read_text(file) if file.is_file() else "") if text is None else text
    return alert_settings(given, "the form" if text is not None else str(file), cook_of(row.plan_toml))


def _page(
    visit: Visit, *, fault: InputError | None = None, said: str = "", filled: dict[str, Any] | None = None
) -> Response:
    has_file = visit.app_state.settings.settings_file is not None
    settings = _settings(visit) if has_file and visit.chosen() is not None else None
    shown = filled if filled is not None else {} if settings is None else filled_from(settings, visit)
    return visit.page(
        "alerts.html",
        "setup",
        status=200 if fault is None else 422,
        has_file=has_file,
        filled=shown,
        kinds=WORDS,
        fault=fault,
        at=None if fault is None else ((fault.place.field or "").rpartition(" ")[2], 0),
        said=said,
    )


def filled_from(settings: AlertSettings, visit: Visit) -> dict[str, Any]:
    """Settings as their form has them; of an address only its way, the rest of it is a secret."""
    scale = visit.preferences.degrees
    quiet = settings.quiet
    return {
        "urls": [f"{url.partition('://')[0]}{HIDDEN}" for url in settings.urls],
        "quiet_from": "" if quiet is None else f"{quiet.begins:%H:%M}",
        "quiet_until": "" if quiet is None else f"{quiet.ends:%H:%M}",
        "wake": settings.wake,
        "below": format_difference(settings.below_k, scale).lstrip("+").split(" ")[0],
        "above": format_difference(settings.above_k, scale).lstrip("+").split(" ")[0],
        **{key: format_duration(getattr(settings, f"{key}_s")) for key in SPANS},
    }


@router.get("/alerts")
def alerts_page(visit: OwnerVisit) -> Response:
    """What is told, to whom, and when not."""
    return _page(visit)


def _table(form: FormData, visit: Visit) -> dict[str, Any]:
    """The [alerts] of what was filled in; an address that was left as it is shown stays what it was."""
    kept = {f"{url.partition('://')[0]}{HIDDEN}": url for url in _settings(visit).urls}
    lines = [clean(line) for line in str(form.get("urls", "")).splitlines()]
    unit = "F deg" if visit.preferences.degrees == "F" else "K"
    table: dict[str, Any] = {"urls": [kept.get(line, line) for line in lines if line]}
    table |= {key: clean(form.get(key)) for key in SPANS if clean(form.get(key))}
    for key in ("below", "above"):
        text = clean(form.get(key))
        if text:
            table[key] = f"{text} {unit}" if re.fullmatch(r"[0-9.]+", text) else text
    begins, ends = clean(form.get("quiet_from")), clean(form.get("quiet_until"))
    if begins or ends:
        table["quiet"] = f"{begins} to {ends}"
    table["wake"] = [kind for kind in KINDS if kind in form.getlist("wake")]
    return table


@router.post("/alerts")
def keep(visit: OwnerVisit, form: Filled) -> Response:
    """Keep what was filled in: only [alerts] of the settings file changes; where something is wrong, nothing does."""
    file = _file(visit)
    try:
        table = toml_text({"alerts": _table(form, visit)})
        _settings(visit, table)
    except InputError as fault:
        asked: dict[str, Any] = {
            key: clean(form.get(key)) for key in (*SPANS, "below", "above", "quiet_from", "quiet_until")
        }
        asked |= {"urls": str(form.get("urls", "")).splitlines(), "wake": form.getlist("wake")}
        return _page(visit, fault=fault, filled=asked)
    before = read_text(file) if file.is_file() else ""
    rest = _TABLE.sub("", before).rstrip()
    half = file.with_name(f"{file.name}.half")
    half.write_text(f"{rest}\n\n{table}" if rest else table, encoding="utf-8")
    if file.is_file():
        half.chmod(file.stat().st_mode & 0o777)
    half.replace(file)
    return RedirectResponse("/alerts", 303)


@router.post("/alerts/try")
async def try_it(visit: OwnerVisit, way: Annotated[str, Form(max_length=10)] = "") -> Response:
    """Send one message to every address, now."""

    def work() -> Response:
        settings = _settings(visit)
        say = visit.preferences.say
        if not settings.urls:
            return _page(visit, said=say("There is no address to send to yet."))
        from pitreckon.alerts.send import send  # noqa: PLC0415  an extra, and slow to load

        words = say("A message to try the way. Nothing is wrong.")
        trial = Alert("be back", "", "Pitreckon", words, visit.now, ("trial",))
        try:
            took = send([trial], settings.urls)
        except PitreckonError as fault:
            return _page(visit, said=f"{fault}")
        return _page(visit, said=say("Sent.") if took else say("At least one address did not take it."))

    return await run_in_threadpool(work)
