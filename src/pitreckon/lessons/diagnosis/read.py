"""A report file (TOML), a form or flags to a :class:`pitreckon.lessons.diagnosis.report.Report`."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from pitreckon.cook.parts import parse_span_or_none, parse_sugar
from pitreckon.cook.plan import FRIDGE_C
from pitreckon.errors import InputError, Place
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames, nearest
from pitreckon.forms.text import read_text
from pitreckon.forms.toml_lines import Lines, parse_toml
from pitreckon.lessons.diagnosis.report import FAULTS, THERMOMETERS, Report
from pitreckon.units import (
    parse_altitude,
    parse_duration,
    parse_length,
    parse_mass,
    parse_salt_dose,
    parse_share,
    parse_temperature,
    shown,
)

__all__ = ["DID_KEYS", "read_report", "report_from_parts", "report_from_text"]

DID_KEYS: Final = (
    *("cut", "weight", "thickness", "start", "pit", "set", "on", "wrap", "wrapped_after", "liquid", "sugar"),
    *("sauced_for", "rest", "thermometer", "pulled_at", "salt", "altitude", "air", "humidity"),
)
UNKNOWN: Final = {"unknown", "not known", "?"}


def read_report(path: Path, changed: Mapping[str, str] | None = None, faults: tuple[str, ...] = ()) -> Report:
    """The report in a file. changed, faults: what the flags say instead.

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return report_from_text(read_text(path), str(path), changed, faults)


def report_from_text(
    text: str, file: str, changed: Mapping[str, str] | None = None, faults: tuple[str, ...] = ()
) -> Report:
    """The report in a text; ``file`` is its name for messages. Raises InputError (file, line and field)."""
    raw = parse_toml(text, file)
    if not raw:
        raise InputError("the file is empty", "Write came_out = [...] and below it [did]", Place(file, 1))
    top = Fields(raw, (), "report", file, Lines(text))
    top.only("came_out", "did")
    did = raw.get("did")
    if not isinstance(did, dict):
        raise top.fault("did", "there is no [did]", "Write [did] with the cut, and what else you know")
    return _report(top, {**did, **(changed or {})}, list(faults) or raw.get("came_out"))


def report_from_parts(did: Mapping[str, str], faults: tuple[str, ...], where: str) -> Report:
    """The report of a form or of flags. Raises InputError (``where`` and field)."""
    top = Fields({}, (), "report", where, Lines(""))
    try:
        return _report(top, dict(did), list(faults))
    except InputError as error:  # it has no lines
        raise InputError(error.trouble, error.remedy, Place(where, None, error.place.field)) from None


def _report(top: Fields, did: dict[str, Any], came_out: Any) -> Report:
    told = {key: value for key, value in did.items() if not (isinstance(value, str) and _not_told(value))}
    fields = Fields(told, ("did",), "did", top.file, top.lines)
    fields.only(*DID_KEYS)
    known = KnownNames.from_catalog()
    faults = _faults(top, came_out)
    start = fields.maybe("start", parse_temperature)
    try:
        return Report(
            cut=fields.need("cut", known.cut),
            faults=faults,
            mass_kg=fields.maybe("weight", parse_mass),
            thickness_m=fields.maybe("thickness", parse_length),
            start_c=FRIDGE_C if start is None else start,
            pit=fields.maybe("pit", known.pit),
            set_c=fields.maybe("set", parse_temperature),
            on_s=fields.maybe("on", parse_duration),
            wrap=fields.maybe("wrap", known.wrap),
            wrapped_after_s=fields.maybe("wrapped_after", parse_duration),
            liquid_kg=fields.maybe("liquid", parse_mass),
            sugar=fields.maybe("sugar", parse_sugar),
            sauced_s=fields.maybe("sauced_for", parse_span_or_none),
            rest_s=fields.maybe("rest", parse_span_or_none),
            thermometer=fields.maybe("thermometer", _thermometer),
            pulled_at_c=fields.maybe("pulled_at", parse_temperature),
            salt_g_per_kg=fields.maybe("salt", parse_salt_dose),
            altitude_m=fields.maybe("altitude", parse_altitude) or 0.0,
            weather_c=fields.maybe("air", parse_temperature),
            weather_rh=fields.maybe("humidity", parse_share),
        )
    except InputError as error:
        if error.place.file is not None:
            raise
        field = error.place.field or "came_out"
        place = top.place(field) if field == "came_out" else fields.place(field)
        raise InputError(error.trouble, error.remedy, place) from None


def _not_told(text: str) -> bool:
    return not text.strip() or text.strip().casefold() in UNKNOWN


def _faults(top: Fields, came_out: Any) -> tuple[str, ...]:
    words = [came_out] if isinstance(came_out, str) else came_out
    if not isinstance(words, list) or not words or not all(isinstance(word, str) for word in words):
        raise top.fault(
            "came_out", "nothing says what was wrong with it", 'Write it as in came_out = ["tough", "too pale"]'
        )
    plain = {each.replace("-", " "): each for each in FAULTS}
    found = []
    for word in words:
        key = plain.get(" ".join(word.casefold().replace("-", " ").split()))
        if key is None:
            near = nearest(word.casefold(), FAULTS)
            hint = f"Did you mean '{near}'" if near else f"Write any of: {', '.join(FAULTS)}"
            raise top.fault("came_out", f"{shown(word)} is no fault that we know", hint)
        found.append(key)
    return tuple(dict.fromkeys(found))


def _thermometer(text: str) -> str:
    word = {"no": "none", "yes": "one"}.get(text.strip().casefold(), text.strip().casefold())
    if word not in THERMOMETERS:
        raise InputError(f"{shown(text)} is no answer about a thermometer", "Write none or one")
    return word
