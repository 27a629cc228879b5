"""What a cook types and reads, turned into SI floats and UTC instants and back.

Temperatures and their differences are in :mod:`.temperature`; weights, lengths, durations and shares in
:mod:`.amounts`; clock times and instants in :mod:`.clock`. The rules that hold for all of them:

* Inside, everything is °C, K, kg, m, s and UTC. Only this room knows °F, pounds, inches and time zones.
* A number without a unit is refused, never guessed.
* Decimals are written with a point. A comma inside a number is refused, because ``1,250 g`` means one thing
  on one side of an ocean and another on the other.
* A temperature and a temperature *difference* are never written alike: no text is understood as both.
* Faults are :class:`pitreckon.errors.InputError` with a trouble and a remedy; the caller adds file, line and
  field.
"""

from pitreckon.units._text import round_half_up, shown
from pitreckon.units.amounts import (
    FOOT_M,
    INCH_M,
    MASS_WORDS,
    OUNCE_KG,
    POUND_KG,
    format_about,
    format_bulk,
    format_duration,
    format_length,
    format_mass,
    format_percent,
    parse_altitude,
    parse_area,
    parse_duration,
    parse_length,
    parse_mass,
    parse_price,
    parse_salt_dose,
    parse_share,
)
from pitreckon.units.clock import (
    find_zone,
    format_clock,
    format_local,
    instant_after,
    instants_reading,
    is_clock,
    next_clock,
    parse_clock,
    parse_instant,
    possible_instants,
    seconds_between,
)
from pitreckon.units.spoons import (
    CUP_M3,
    TABLESPOON_M3,
    TEASPOON_M3,
    format_spoons,
    nearest_spoons,
    parse_volume,
)
from pitreckon.units.temperature import (
    ABSOLUTE_ZERO_C,
    PIT_STEP_K,
    Scale,
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    format_both,
    format_difference,
    format_temperature,
    parse_difference,
    parse_temperature,
)
