"""A reader's report: what was done, as far as it is told, and what was wrong; read from a file, a form or flags."""

from collections.abc import Mapping
from dataclasses import dataclass
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
from pitreckon.cook.levels import parse_measured
from pitreckon.cook.plan import FRIDGE_C
from pitreckon.errors import InputError
from pitreckon.forms.checks import fault, kilograms, millimetres, within
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys, name, several, text, word
from pitreckon.forms.names import KnownNames
from pitreckon.text.file import read_text
from pitreckon.text.words import meanings
from pitreckon.units import celsius_from_fahrenheit, format_duration, format_temperature

FAULTS: Final = (
    "too dark",
    "too pale",
    "tough",
    "mushy",
    "dry",
    "raw near the bone",
    "bitter",
    "crust soft",
    "salty",
)
"""What may be wrong with a plate."""
NOT_BOTH: Final = (("too dark", "too pale"), ("tough", "mushy"), ("mushy", "raw near the bone"))
THERMOMETERS: Final = ("none", "one")


@dataclass(frozen=True, slots=True)
class Report:
    """What a reader tells. None is "not told" throughout.

    cut: catalog key; faults: some of ``FAULTS``; mass_kg: of a piece; thickness_m; start_c: of the meat at put-on
    pit: catalog key of its kind; set_c: what it was set to [degC]
    on_s: whole time on the pit [s]; wrap: catalog key or ``none``; wrapped_after_s: time on the pit before it [s]
    liquid_kg: put into the wrap of a piece; sugar: in the rub, 0 none to 1 much
    sauced_s: how long a glaze or a sauce was on at the end [s], 0 none; rest_s: before it was cut [s]
    thermometer: ``none`` or ``one``; pulled_at_c: what it read when the piece came off [degC]
    salt_g_per_kg: of raw meat; altitude_m, weather_c, weather_rh
    colour: of the plate, as a photo of it was measured: level of the colour scale and its standard error [-]

    Raises InputError, naming its field: it cannot have been so.
    """

    cut: str
    faults: tuple[str, ...]
    mass_kg: float | None = None
    thickness_m: float | None = None
    start_c: float = FRIDGE_C
    pit: str | None = None
    set_c: float | None = None
    on_s: float | None = None
    wrap: str | None = None
    wrapped_after_s: float | None = None
    liquid_kg: float | None = None
    sugar: float | None = None
    sauced_s: float | None = None
    rest_s: float | None = None
    thermometer: str | None = None
    pulled_at_c: float | None = None
    salt_g_per_kg: float | None = None
    altitude_m: float = 0.0
    weather_c: float | None = None
    weather_rh: float | None = None
    colour: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not self.faults:
            raise fault("came_out", "nothing was wrong with it", f"Write one or more of: {', '.join(FAULTS)}")
        for each in self.faults:
            if each not in FAULTS:
                trouble = f"'{each[:40]}' is no fault that we know"
                raise fault("came_out", trouble, f"Write any of: {', '.join(FAULTS)}")
        for one, other in NOT_BOTH:
            if one in self.faults and other in self.faults:
                raise fault("came_out", f"it cannot be both {one} and {other}", "Write the one that most of it was")
        within("weight", self.mass_kg, 0.005, 150.0, kilograms)
        within("thickness", self.thickness_m, 0.003, 0.6, millimetres)
        within("start", self.start_c, celsius_from_fahrenheit(28.0), 45.0, format_temperature)
        within("set", self.set_c, 60.0, 300.0, format_temperature)
        within("on", self.on_s, 600.0, 36 * 3600.0, format_duration)
        within("wrapped_after", self.wrapped_after_s, 60.0, 30 * 3600.0, format_duration)
        within("liquid", self.liquid_kg, 0.0, 5.0, kilograms)
        within("sauced_for", self.sauced_s, 0.0, 6 * 3600.0, format_duration)
        within("rest", self.rest_s, 0.0, 12 * 3600.0, format_duration)
        within("pulled_at", self.pulled_at_c, 30.0, 105.0, format_temperature)
        within("salt", self.salt_g_per_kg, 0.0, 100.0, "{:g} g/kg".format)
        within("altitude", self.altitude_m, -500.0, 5000.0, "{:g} m".format)
        within("colour", None if self.colour is None else self.colour[0], 0.0, 1.5, "{:.2f}".format)
        within("air", self.weather_c, -40.0, 50.0, format_temperature)
        if self.thermometer not in {None, *THERMOMETERS}:
            raise fault("thermometer", f"'{self.thermometer}' is no thermometer", "Write none or one")
        if self.thermometer == "none" and self.pulled_at_c is not None:
            raise fault("pulled_at", "it was read from no thermometer", 'Leave it out, or write thermometer = "one"')
        if self.wrap == "none" and (self.wrapped_after_s is not None or self.liquid_kg):
            remedy = "Leave out wrapped_after and liquid, or say the wrap"
            raise fault("wrap", "it was not wrapped, and yet it was", remedy)
        if self.on_s is not None:
            before = (self.wrapped_after_s or 0.0) + (self.sauced_s or 0.0)
            if before >= self.on_s:
                raise fault(
                    "on",
                    f"it was on for {format_duration(self.on_s)}, and the parts of that take {format_duration(before)}",
                    "Write the whole time on the pit, wrap and glaze included",
                )


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
    Key("colour", text(parse_measured), '"0.86 ± 0.07"'),
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
