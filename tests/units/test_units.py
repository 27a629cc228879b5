"""Units: what a cook types comes out in SI, and what is printed can be typed again.

Conversion factors are checked against NIST Special Publication 811, appendix B (from memory). The clocks of
America/Chicago change on the second Sunday of March and the first of November, at 02:00 local (from memory).
"""
# ruff: noqa: DTZ001  a local time before it gets its zone is what is being tested

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from pitreckon import units
from pitreckon.errors import InputError
from pitreckon.units.clock import find_zone

unhurried = settings(deadline=None)  # the machine may be busy; what is tested is the answer
CHICAGO = ZoneInfo("America/Chicago")
# Half-hour clocks, a half-hour change of clocks, a zone without letters, the southern hemisphere.
ZONES = [
    ZoneInfo(key)
    for key in (
        *("America/Chicago", "Asia/Kolkata", "Australia/Lord_Howe", "America/Sao_Paulo"),
        *("Pacific/Apia", "Europe/Dublin", "UTC"),
    )
]
PARSERS = [
    units.parse_temperature,
    units.parse_difference,
    units.parse_mass,
    units.parse_length,
    units.parse_altitude,
    units.parse_duration,
    units.parse_share,
    units.parse_salt_dose,
    units.parse_clock,
]
instants = st.datetimes(datetime(1990, 1, 1), datetime(2037, 12, 1)).map(lambda t: t.replace(microsecond=0, tzinfo=UTC))


@pytest.mark.parametrize(
    ("text", "temperature_c"),
    [
        *[("275 F", 135.0), ("275F", 135.0), ("135C", 135.0), ("135 °C", 135.0), ("275 deg F", 135.0)],
        *[
            ("-40 F", -40.0),
            ("−40 °C", -40.0),
            ("40 ºF", 4.4444444),
            ("203.0 f", 95.0),
            ("32 fahrenheit", 0.0),
        ],
        *[("212 ℉", 100.0), (" 98.6\u00a0F ", 37.0)],
    ],
)
def test_temperatures(text: str, temperature_c: float) -> None:
    assert units.parse_temperature(text) == pytest.approx(temperature_c, abs=1e-6)


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        # NIST SP 811: lb 4.535 924 E-01 kg, oz 2.834 952 E-02 kg, in 2.54 E-02 m, ft 3.048 E-01 m
        (units.parse_mass, "1 lb", 4.535924e-1),
        (units.parse_mass, "1 oz", 2.834952e-2),
        (units.parse_length, "1 in", 2.54e-2),
        (units.parse_length, "1 ft", 3.048e-1),
        (units.parse_mass, "4 lb 6 oz", 4.375 * 4.535924e-1),
        (units.parse_mass, "4lb6oz", 4.375 * 4.535924e-1),
        (units.parse_mass, "4 ½ lb", 4.5 * 4.535924e-1),
        (units.parse_mass, "12 oz", 0.3401943),
        (units.parse_mass, "1.25 kg", 1.25),
        (units.parse_mass, "1 kg 250 g", 1.25),
        (units.parse_mass, "900 g", 0.9),
        (units.parse_length, "1 1/4 in", 0.03175),
        (units.parse_length, "1-1/4 in", 0.03175),
        (units.parse_length, "1¼ in", 0.03175),
        (units.parse_length, "1/4 in", 0.00635),
        (units.parse_length, '5 1/2"', 0.1397),
        (units.parse_length, "32 mm", 0.032),
        (units.parse_length, "3 cm", 0.03),
        (units.parse_length, "2 ft", 0.6096),
        (units.parse_altitude, "5280 ft", 1609.344),  # one statute mile
        (units.parse_altitude, "-280 ft", -85.344),
        (units.parse_duration, "2h30", 9000),
        (units.parse_duration, "2 h 30 min", 9000),
        (units.parse_duration, "2h05", 7500),
        (units.parse_duration, "90 min", 5400),
        (units.parse_duration, "1.5 h", 5400),
        (units.parse_duration, "1 1/2 hours", 5400),
        (units.parse_duration, "45 s", 45),
        (units.parse_duration, "1 d 2 h", 93600),
        (units.parse_difference, "+25 F", 13.888889),
        (units.parse_difference, "25 F hotter", 13.888889),
        (units.parse_difference, "25 F deg", 13.888889),
        (units.parse_difference, "10 C cooler", -10),
        (units.parse_difference, "-10 C deg", -10),
        (units.parse_difference, "5 K", 5),
        (units.parse_share, "60 %", 0.6),
        (units.parse_share, "1/3", 1 / 3),
        (units.parse_salt_dose, "15 g/kg", 15),
        (units.parse_salt_dose, "1.5 %", 15),
    ],
)
def test_amounts(parse, text: str, value: float) -> None:
    assert parse(text) == pytest.approx(value, rel=2e-7)


@pytest.mark.parametrize(
    ("parse", "text", "words"),
    [
        (units.parse_temperature, "275", "no unit"),
        (units.parse_temperature, "+25 F", "difference"),
        (units.parse_temperature, "25 F hotter", "difference"),
        (units.parse_temperature, "25 K", "difference"),
        (units.parse_temperature, "-500 F", "absolute zero"),
        (units.parse_temperature, "135,5 C", "comma"),
        (units.parse_temperature, "", "blank"),
        (units.parse_temperature, "hot", "not a temperature"),
        (units.parse_temperature, "nan F", "not a temperature"),
        (units.parse_difference, "25 F", "reads as a temperature"),
        (units.parse_difference, "-10 C", "reads as a temperature"),
        (units.parse_difference, "25", "no unit"),
        (units.parse_difference, "-10 C cooler", "both a sign"),
        (units.parse_mass, "4", "no unit"),
        (units.parse_mass, "-4 lb", "negative"),
        (units.parse_mass, "1,25 kg", "comma"),
        (units.parse_mass, "1,250 g", "comma"),
        (units.parse_mass, "4 lb 60 oz", "smaller part"),
        (units.parse_mass, "4 lb 200 g", "mixes"),
        (units.parse_mass, "6 oz 4 lb", "mixes"),
        (units.parse_mass, "4 lb 6", "ends in a number with no unit"),
        (units.parse_mass, "1/0 lb", "divides by zero"),
        (units.parse_mass, "٤ lb", "not a weight"),
        (units.parse_length, "2", "no unit"),
        (units.parse_length, "3 lb", "not a length"),
        (units.parse_duration, "2:30", "not a duration"),
        (units.parse_duration, "2h75", "ends in a number"),
        (units.parse_duration, "90", "no unit"),
        (units.parse_share, "0.6", "no unit"),
        (units.parse_share, "101 %", "more than the whole"),
        (units.parse_share, "4/3", "more than the whole"),
        (units.parse_salt_dose, "15", "no unit"),
        (units.parse_clock, "24:00", "not a time"),
        (units.parse_clock, "13:05 pm", "am and pm"),
        (units.parse_clock, "7", "not a clock time"),
    ],
)
def test_refusals_say_what_is_wrong_and_what_is_right(parse, text: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text)
    assert words in caught.value.trouble
    assert any(ch.isdigit() for ch in caught.value.remedy), "the remedy shows an example"


numbers = st.one_of(
    st.integers(0, 2000).map(str),
    st.decimals(0, 2000, places=2).map(str),
    st.tuples(st.integers(0, 20), st.integers(0, 16), st.integers(1, 16)).map(lambda n: f"{n[0]} {n[1]}/{n[2]}"),
)
marks = st.tuples(
    st.sampled_from(["", "+", "-", "−", "+ "]),
    numbers,
    st.sampled_from(["", " "]),
    st.sampled_from(["F", "C", "°F", "°C", "K", "deg F", "f", "", "lb"]),
    st.sampled_from(["", " deg", " hotter", " cooler", " colder", " degrees", " warmer"]),
).map("".join)


@unhurried
@given(marks)
@example("+25 F")
@example("-10 C")
def test_no_text_is_both_a_temperature_and_a_difference(text: str) -> None:
    understood = []
    for parse in (units.parse_temperature, units.parse_difference):
        try:
            parse(text)
        except InputError:
            continue
        understood.append(parse)
    assert len(understood) <= 1


@unhurried
@given(st.floats(-150, 500), st.sampled_from(["F", "C"]), st.integers(0, 3))
def test_temperature_round_trip(temperature_c: float, unit, places: int) -> None:
    text = units.format_temperature(temperature_c, unit, places)
    back = units.parse_temperature(text)
    assert abs(back - temperature_c) <= 0.5 * 10**-places / (1.8 if unit == "F" else 1.0) + 1e-8
    assert units.format_temperature(back, unit, places) == text


@unhurried
@given(st.floats(-100, 100), st.sampled_from(["F", "C"]), st.integers(0, 3))
def test_difference_round_trip(difference_k: float, unit, places: int) -> None:
    text = units.format_difference(difference_k, unit, places)
    assert abs(units.parse_difference(text) - difference_k) <= 0.5 * 10**-places + 1e-8
    with pytest.raises(InputError, match="difference"):
        units.parse_temperature(text)


@unhurried
@given(st.floats(0, 150), st.sampled_from(["lb", "kg"]))
@example(0.99996, "kg")
@example(0.4535, "lb")
def test_mass_round_trip(mass_kg: float, unit) -> None:
    text = units.format_mass(mass_kg, unit)
    back = units.parse_mass(text)
    step_kg = units.OUNCE_KG if unit == "lb" else 0.001 if mass_kg < 0.9995 else 0.01
    assert abs(back - mass_kg) <= 0.5 * step_kg + 1e-8
    assert units.format_mass(back, unit) == text


@unhurried
@given(st.floats(0, 40), st.sampled_from(["in", "ft", "mm", "cm", "m"]))
def test_length_round_trip(length_m: float, unit) -> None:
    text = units.format_length(length_m, unit)
    back = units.parse_length(text)
    step_m = {"in": units.INCH_M / 16, "ft": units.FOOT_M, "mm": 1e-3, "cm": 1e-3, "m": 1.0}[unit]
    assert abs(back - length_m) <= 0.5 * step_m + 1e-8
    assert units.format_length(back, unit) == text


@unhurried
@given(st.floats(-400, 5000), st.sampled_from(["ft", "m"]))
def test_altitude_round_trip(altitude_m: float, unit) -> None:
    text = units.format_length(altitude_m, unit)
    assert abs(units.parse_altitude(text) - altitude_m) <= 0.5 + 1e-8


@unhurried
@given(st.floats(0, 400000), st.booleans())
def test_duration_round_trip(duration_s: float, to_the_second: bool) -> None:
    text = units.format_duration(duration_s, to_the_second=to_the_second)
    back = units.parse_duration(text)
    assert abs(back - duration_s) <= (0.5 if to_the_second or duration_s < 59.5 else 30.0) + 1e-6
    assert units.format_duration(back, to_the_second=to_the_second) == text


@unhurried
@given(st.floats(0, 1))
def test_share_round_trip(share: float) -> None:
    assert units.parse_share(units.format_percent(share, 1)) == pytest.approx(share, abs=0.000501)


@unhurried
@given(instants, st.sampled_from(ZONES))
@example(datetime(2026, 11, 1, 6, 30, tzinfo=UTC), CHICAGO)
@example(datetime(2026, 11, 1, 7, 30, tzinfo=UTC), CHICAGO)
@example(datetime(2026, 4, 4, 15, 15, tzinfo=UTC), ZoneInfo("Australia/Lord_Howe"))
def test_instants_and_local_times_round_trip_to_the_second(at_utc: datetime, zone: ZoneInfo) -> None:
    assert units.parse_instant(units.format_local(at_utc, zone), zone) == at_utc
    # An offset with seconds (local mean time) is no modern one; ISO instants have whole minutes.
    assert units.parse_instant(at_utc.astimezone(zone).isoformat(timespec="seconds"), zone) == at_utc


@unhurried
@given(st.times().map(lambda t: t.replace(second=0, microsecond=0)), st.booleans())
def test_clock_round_trip(clock: time, twelve_hour: bool) -> None:
    at_utc = datetime.combine(datetime(2026, 10, 10), clock, UTC)
    text = units.format_clock(at_utc, ZoneInfo("UTC"), twelve_hour=twelve_hour)
    assert units.parse_clock(text) == clock


@unhurried
@given(instants, st.sampled_from(ZONES), st.integers(0, 1439))
def test_next_clock_is_later_and_shows_that_time(after_utc: datetime, zone: ZoneInfo, minute: int) -> None:
    clock = time(minute // 60, minute % 60)
    found = units.next_clock(after_utc, clock, zone)
    assert found > after_utc
    assert found.astimezone(zone).time() == clock
    # Within a day and its change of clocks, unless that time is skipped, or a day was (Apia in 2011).
    assert found - after_utc <= timedelta(hours=25) or not units.possible_instants(
        datetime.combine(after_utc.astimezone(zone).date() + timedelta(days=1), clock), zone
    )


@pytest.mark.parametrize(
    ("put_on", "served", "elapsed_h"),
    [
        ("2026-03-07 20:00", "2026-03-08 10:00", 13.0),  # an hour is skipped
        ("2026-10-31 20:00", "2026-11-01 10:00", 15.0),  # an hour comes twice
        ("2026-10-10 20:00", "2026-10-11 10:00", 14.0),
    ],
)
def test_an_overnight_cook_keeps_its_elapsed_seconds(put_on: str, served: str, elapsed_h: float) -> None:
    start, end = units.parse_instant(put_on, CHICAGO), units.parse_instant(served, CHICAGO)
    assert units.seconds_between(start, end) == elapsed_h * 3600
    assert units.instant_after(start, elapsed_h * 3600) == end
    local = start.astimezone(CHICAGO), end.astimezone(CHICAGO)
    assert units.seconds_between(*local) == elapsed_h * 3600, "also for two times of one zone"
    assert units.format_local(units.instant_after(local[0], elapsed_h * 3600), CHICAGO) == served
    if elapsed_h != 14.0:  # the trap that this guards against
        assert local[0] + timedelta(hours=elapsed_h) != end


@unhurried
@given(instants, st.floats(0, 172800), st.sampled_from(ZONES))
def test_elapsed_seconds_survive_being_shown_in_any_zone(start: datetime, seconds: float, zone: ZoneInfo) -> None:
    seconds = round(seconds)
    end = units.instant_after(start.astimezone(zone), seconds)
    shown = units.parse_instant(units.format_local(end, zone), zone)
    assert units.seconds_between(start, shown) == seconds


def test_the_hour_that_comes_twice_means_its_first_pass_unless_named() -> None:
    first, second = datetime(2026, 11, 1, 6, 30, tzinfo=UTC), datetime(2026, 11, 1, 7, 30, tzinfo=UTC)
    assert units.possible_instants(datetime(2026, 11, 1, 1, 30), CHICAGO) == (first, second)
    assert units.parse_instant("2026-11-01 01:30", CHICAGO) == first
    assert units.parse_instant("2026-11-01 01:30 CST", CHICAGO) == second
    assert units.parse_instant("2026-11-01 6 pm", CHICAGO) == units.parse_instant("2026-11-01 18:00", CHICAGO)
    assert units.parse_instant("2026-11-01 01:30-06:00", CHICAGO) == second
    assert units.format_local(second, CHICAGO) == "2026-11-01 01:30 CST"
    assert units.format_clock(first, CHICAGO) == "01:30 CDT"


def test_the_hour_that_is_skipped_is_refused_with_its_remedy() -> None:
    with pytest.raises(InputError, match=r"does not exist.*put forward") as caught:
        units.parse_instant("2026-03-08 02:30", CHICAGO)
    assert "03:30" in caught.value.remedy
    assert "2026-03-08T03:30:00-05:00" in caught.value.remedy


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2026-02-30 10:00", "day that does not exist"),
        ("2026-10-10", "not a date and time"),
        ("10:00", "not a date and time"),
        ("0026-10-10 10:00", "our times"),
        ("2026-10-10 10:00+19:00", "offset that no place has"),
        ("2026-07-10 10:00 CST", "not on CST"),
    ],
)
def test_faulty_instants(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        units.parse_instant(text, CHICAGO)


@pytest.mark.parametrize("name", ["America/Chicgo", "America", "", "../etc", "a\0b", "\ud800"])
def test_unknown_zones(name: str) -> None:
    with pytest.raises(InputError, match="not a time zone") as caught:
        find_zone(name)
    assert "America/" in caught.value.remedy


def test_clock_times_name_the_day_when_it_differs() -> None:
    put_on = units.parse_instant("2026-10-10 22:00", CHICAGO)
    later = units.instant_after(put_on, 4.5 * 3600)
    assert units.format_clock(later, CHICAGO) == "02:30"
    assert units.format_clock(later, CHICAGO, seen_from=put_on) == "Sun 02:30"
    assert units.format_clock(later, CHICAGO, seen_from=later) == "02:30"
    assert units.format_clock(later, CHICAGO, seen_from=put_on, twelve_hour=True) == "Sun 2:30 am"
    assert (
        units.format_clock(units.instant_after(put_on, 8 * 86400), CHICAGO, seen_from=put_on) == "Sun 2026-10-18 22:00"
    )
    # To the minute, halves up, so 23:59:30 is already tomorrow.
    assert units.format_clock(units.instant_after(put_on, 7170), CHICAGO, seen_from=put_on) == "Sun 00:00"


@unhurried
@given(st.integers(-(10**6), 10**6), st.integers(0, 3))
def test_halves_round_away_from_zero(n: int, places: int) -> None:
    step = 10.0**-places
    assert units.round_half_up((n + 0.5) * step, places) == pytest.approx((n + (1 if n >= 0 else 0)) * step, abs=1e-9)
    assert str(units.round_half_up(-0.2)) == "0.0"


def test_rounding_refuses_what_is_no_number() -> None:
    for value in (float("nan"), float("inf")):
        with pytest.raises(ValueError, match="cannot round"):
            units.round_half_up(value)
    assert units.round_half_up(1e300) == 1e300


def test_an_instant_without_a_zone_is_a_programming_fault() -> None:
    with pytest.raises(ValueError, match="zone"):
        units.instant_after(datetime(2026, 10, 10), 1.0)
    with pytest.raises(ValueError, match="zone"):
        units.seconds_between(datetime(2026, 10, 10), datetime(2026, 10, 10, tzinfo=UTC))


@unhurried
@given(st.one_of(st.text(max_size=30), marks, st.text("0123456789 /.,-+FClbozhming:'\"°½", max_size=20)))
def test_any_text_is_either_understood_or_refused(text: str) -> None:
    for parse in (*PARSERS, lambda t: units.parse_instant(t, CHICAGO), units.find_zone):
        try:
            value = parse(text)
        except InputError:
            continue
        assume(value is not None)
        assert not isinstance(value, float) or abs(value) < 1e15


@pytest.mark.parametrize("name", ["America/" * 300, "a" * 4000, "no/such", "../etc/passwd", ""])
def test_a_name_that_is_no_zone_is_refused_however_long(name: str) -> None:
    """Found by the fuzzer: each step of a long name was looked for inside the one before, until the stack was full."""
    with pytest.raises(InputError, match="not a time zone"):
        units.find_zone(name)
