"""A report file (TOML), a form or flags to a :class:`pitreckon.lessons.diagnosis.report.Report`."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from pitreckon.cook.keys import (
    ALTITUDE,
    CUT,
    LENGTH,
    PIT_KIND,
    SALT,
    SHARE,
    SPAN,
    SUGAR,
    TEMPERATURE,
    WEIGHT,
    WRAP,
    Around,
    parse_span_or_none,
)
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys, name, several, text, word
from pitreckon.forms.names import KnownNames
from pitreckon.lessons.diagnosis.report import FAULTS, THERMOMETERS, Report
from pitreckon.text.file import read_text
from pitreckon.text.words import meanings

UTC = ZoneInfo("UTC")
_NO_ANSWER = "no answer about a thermometer"
DID = Keys(
    Report,
    Key("cut", CUT, '"st-louis-ribs"', needed=True),
    Key("weight", WEIGHT, '"2 lb 12 oz"', "mass_kg"),
    Key("thickness", LENGTH, '"1 1/4 in"', "thickness_m"),
    Key("start", TEMPERATURE, '"40 F"', "start_c"),
    Key("pit", PIT_KIND, '"pellet-cooker"'),
    Key("set", TEMPERATURE, '"275 F"', "set_c"),
    Key("on", SPAN, '"5h30"', "on_s"),
    Key("wrap", WRAP, '"foil"'),
    Key("wrapped_after", SPAN, '"2h"', "wrapped_after_s"),
    Key("liquid", WEIGHT, '"60 g"', "liquid_kg"),
    Key("sugar", SUGAR, '"some"'),
    Key("sauced_for", text(parse_span_or_none), '"15 min"', "sauced_s"),
    Key("rest", text(parse_span_or_none), '"15 min"', "rest_s"),
    Key("thermometer", word({**meanings(THERMOMETERS), "no": "none", "yes": "one"}, _NO_ANSWER), '"none"'),
    Key("pulled_at", TEMPERATURE, '"195 F"', "pulled_at_c"),
    Key("salt", SALT, '"15 g/kg"', "salt_g_per_kg"),
    Key("altitude", ALTITUDE, '"800 ft"', "altitude_m"),
    Key("air", TEMPERATURE, '"54 F"', "weather_c"),
    Key("humidity", SHARE, '"60 %"', "weather_rh"),
)
DID_KEYS: Final = DID.names
FAULT = Key("came_out", several(name(FAULTS, "fault")), '["tough", "too pale"]')
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
    top = Fields.of_text(text, file, "report", empty="Write came_out = [...] and below it [did]")
    top.only("came_out", "did")
    did = top.need_table("did", "Write [did] with the cut, and what else you know")
    return _report(top, {**did.raw, **(changed or {})}, list(faults) or top.raw.get("came_out"))


def report_from_parts(did: Mapping[str, str], faults: tuple[str, ...], where: str) -> Report:
    """The report of a form or of flags. Raises InputError (``where`` and field)."""
    return _report(Fields.of_tables({}, where, "report"), did, list(faults))


def _report(top: Fields, did: Mapping[str, Any], came_out: Any) -> Report:
    told = {key: value for key, value in did.items() if not (isinstance(value, str) and _not_told(value))}
    fields = Fields(told, ("did",), "did", top.file, top.lines, Around(UTC, known=KnownNames.from_catalog()))
    said = DID.said(fields)
    top.raw = {"came_out": came_out}
    if not came_out or (faults := FAULT.read(top)) is None:
        raise top.fault("came_out", "nothing says what was wrong with it", FAULT.how)
    try:
        return Report(**said, faults=tuple(dict.fromkeys(faults)))
    except InputError as error:
        field = error.place.field or "came_out"
        raise error.put(top.place(field) if field == "came_out" else fields.place(field)) from None


def _not_told(text: str) -> bool:
    return not text.strip() or text.strip().casefold() in UNKNOWN
