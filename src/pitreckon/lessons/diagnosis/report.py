"""A reader's report: what was done, each part of which may be unknown, and what was wrong with what came out."""

from dataclasses import dataclass
from typing import Final

from pitreckon.cook.plan import FRIDGE_C
from pitreckon.forms.checks import fault, kilograms, millimetres, within
from pitreckon.units import format_duration, format_temperature

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

    def __post_init__(self) -> None:
        if not self.faults:
            raise fault("came_out", "nothing was wrong with it", f"Write one or more of: {', '.join(FAULTS)}")
        for each in self.faults:
            if each not in FAULTS:
                trouble = f"'{each[:40]}' is no fault that we know"
                raise fault("came_out", trouble, f"Write any of: {', '.join(FAULTS)}")
        for one, other in NOT_BOTH:
            if one in self.faults and other in self.faults:
                raise fault("came_out", f"it cannot be both {one} and {other}", "Write what the most of it was")
        within("weight", self.mass_kg, 0.005, 150.0, kilograms)
        within("thickness", self.thickness_m, 0.003, 0.6, millimetres)
        within("start", self.start_c, -2.0, 45.0, format_temperature)
        within("set", self.set_c, 60.0, 300.0, format_temperature)
        within("on", self.on_s, 600.0, 36 * 3600.0, format_duration)
        within("wrapped_after", self.wrapped_after_s, 60.0, 30 * 3600.0, format_duration)
        within("liquid", self.liquid_kg, 0.0, 5.0, kilograms)
        within("sauced_for", self.sauced_s, 0.0, 6 * 3600.0, format_duration)
        within("rest", self.rest_s, 0.0, 12 * 3600.0, format_duration)
        within("pulled_at", self.pulled_at_c, 30.0, 105.0, format_temperature)
        within("salt", self.salt_g_per_kg, 0.0, 100.0, "{:g} g/kg".format)
        within("altitude", self.altitude_m, -500.0, 5000.0, "{:g} m".format)
        within("air", self.weather_c, -40.0, 50.0, format_temperature)
        if self.thermometer not in {None, *THERMOMETERS}:
            raise fault("thermometer", f"'{self.thermometer}' is no thermometer", "Write none or one")
        if self.thermometer == "none" and self.pulled_at_c is not None:
            raise fault("pulled_at", "it was read from no thermometer", "Leave it out, or write thermometer = one")
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
