"""A ledger written to a file and read again is the same ledger, to what the file's digits can hold."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.forms.names import KnownNames
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.log.cells import guarded, unguarded
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.log.write import log_text

unhurried = settings(deadline=None)  # the machine may be busy; what is tested is the answer
START = datetime(2026, 11, 1, 4, tzinfo=UTC)  # an hour and a half before the clocks are put back
KNOWN = KnownNames({}, {}, {"foil": "foil"})
COOK = Cook(
    *("supper", "America/Chicago", None, 0.0, None, None),
    (PitPlan("big box", "pellet-cooker", 135.0),),
    (ItemPlan("racks, trimmed", "st-louis-ribs", 4, 1.2, "big box", START),),
)
RACKS = "racks, trimmed"
seconds = st.integers(0, 6 * 3600).map(lambda s: START + timedelta(seconds=s))
temperatures = st.integers(-20, 105).map(float)
events = st.one_of(
    st.builds(Reading, seconds, st.just("probe"), st.just(RACKS), st.sampled_from([None, 1, 4]), temperatures),
    st.builds(Reading, seconds, st.just("pit air"), st.just("big box"), st.none(), temperatures),
    st.builds(Look, seconds, st.just(RACKS), st.just(2), st.just("spot temperature"), temperatures),
    st.builds(Look, seconds, st.just(RACKS), st.none(), st.just("colour"), st.sampled_from([0.3, 1.0, 1.3])),
    st.builds(
        Look,
        seconds,
        st.just(RACKS),
        st.none(),
        st.just("weight"),
        st.integers(1, 999).map(lambda g: g / 1000),
    ),
    st.builds(
        Look,
        seconds,
        st.just(RACKS),
        st.just(1),
        st.just("bone showing"),
        st.integers(0, 20).map(lambda n: n / 1000),
    ),
    st.builds(
        Act,
        seconds,
        st.just(RACKS),
        st.just("wrapped"),
        st.just("foil"),
        note=st.sampled_from(["", 'so, "so"']),
    ),
    st.builds(Act, seconds, st.just("big box"), st.just("lid open"), duration_s=st.integers(1, 5000).map(float)),
    st.builds(Act, seconds, st.just("big box"), st.just("set pit"), air_c=st.integers(20, 300).map(float)),
    st.builds(
        Act,
        seconds,
        st.just("big box"),
        st.just("fed the fire"),
        fuel_kg=st.integers(1, 99).map(lambda n: n / 100),
    ),
)


def bare(ledger: Ledger) -> tuple[list[Reading], list[Look], list[Act]]:
    """Without line numbers and without the wording of looks, and with the digits that a file has."""
    return (
        [replace(reading, source_line=None, value_c=round(reading.value_c, 6)) for reading in ledger.all_readings],
        [replace(look, source_line=None, text="", value=round(look.value, 6)) for look in ledger.all_looks],
        [
            replace(act, source_line=None, fuel_kg=None if act.fuel_kg is None else round(act.fuel_kg, 6))
            for act in ledger.all_acts
        ],
    )


@unhurried
@given(st.lists(events, max_size=12, unique_by=lambda event: (type(event).__name__, event.at_utc)))
def test_what_is_written_is_read_back(drawn) -> None:
    """In °C, g and mm, in which the drawn values are whole; through the hour that comes twice."""
    ledger = Ledger.of([Act(START, RACKS, "put on"), *drawn])
    text = log_text(ledger, COOK, degrees="C")
    assert bare(log_from_text(text, "day.csv", COOK, KNOWN)) == bare(ledger)


def test_in_fahrenheit_it_reads_as_a_cook_writes() -> None:
    ledger = Ledger.of(
        [
            Reading(START, "probe", RACKS, 1, 95.0),
            Act(START, RACKS, "put on"),
            Look(START, RACKS, None, "weight", 1.25, "2 lb 12 oz"),
            Reading(START, "probe", RACKS, 2, float("nan"), "set aside"),
        ]
    )
    text = log_text(ledger, COOK)
    assert text.splitlines() == [
        "time,kind,on,piece,what,value,note",
        '2026-10-31 23:00,act,"racks, trimmed",,put on,,',
        '2026-10-31 23:00,look,"racks, trimmed",,weight,2 lb 12 oz,',
        '2026-10-31 23:00,reading,"racks, trimmed",1,probe,203.0 F,',
        '2026-10-31 23:00,reading,"racks, trimmed",2,probe,nan,',
    ]
    again = log_from_text(text, "day.csv", COOK, KNOWN, set_aside=True)
    assert again.readings("probe")[0].value_c == pytest.approx(95.0)
    assert len(again.rejected) == 1


# Beginnings that the OWASP page on CSV injection names (from memory), and the ones found by attack.
FORMULAS = ("=cmd|'/c calc'!A1", "=1+1", "@SUM(1)", "+1+cmd|x", "-2+3+cmd|x", "\uff1d1+1", "'=1+1", "''@x", "' =1")


@pytest.mark.parametrize("formula", FORMULAS)
def test_no_cell_is_a_formula_and_nothing_is_lost(formula: str) -> None:
    """At commit f67b174 ``=cmd|'/c calc'!A1`` as an item's name stood in the export unchanged."""
    cook = replace(COOK, items=(replace(COOK.items[0], label=formula),))
    look = Look(START, formula, None, "colour", 1.0, "amber", note=formula)
    act = Act(START, formula, "sauced", note=f"{formula}\n{formula}")
    text = log_text(Ledger.of([act, look]), cook)
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert len(cells) == 21
    assert not [cell for cell in cells if cell.strip()[:1] in set("=+-@\t\r\uff1d\uff0b\uff0d\uff20")]
    back = log_from_text(text, "log.csv", cook, KNOWN)
    assert [each.on for each in back.all_acts + back.all_looks] == [formula] * 2
    assert back.all_looks[0].note == formula
    assert back.all_acts[0].note == act.note


def test_a_temperature_below_nothing_is_a_number() -> None:
    text = log_text(Ledger.of([Reading(START, "pit air", "big box", None, -30.0)]), COOK)
    assert text.splitlines()[1].split(",")[5].startswith("-22")


@unhurried
@given(st.text(st.sampled_from("'=+-@a1 \uff0b"), max_size=6))
def test_every_text_comes_back(text: str) -> None:
    assert unguarded(guarded(text.strip()).strip()) == text.strip()
