"""Plans and events check themselves, and a ledger hands out only what may be used."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.cook.scales import SCALES, level_of, word_for
from pitreckon.errors import InputError
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.events import ACTS, MEAT_RANGE_C

unhurried = settings(deadline=None)  # the machine may be busy; what is tested is the answer
NOON = datetime(2026, 10, 10, 12, tzinfo=UTC)
PIT = PitPlan("big box", "pellet-cooker", 135.0)
RACKS = ItemPlan("racks", "st-louis-ribs", 4, 1.25, "big box", NOON)
COOK = Cook("supper", "America/Chicago", NOON + timedelta(hours=6), 0.0, None, None, (PIT,), (RACKS,))


def test_a_cook_knows_its_start_its_items_and_its_pits() -> None:
    later = replace(RACKS, label="butt", put_on_utc=NOON + timedelta(hours=1))
    cook = replace(COOK, items=(later, RACKS))
    assert cook.start_utc == NOON
    assert cook.item("butt") is later
    assert cook.pit("big box") is PIT
    assert cook.zone_info.key == "America/Chicago"
    for ask in (cook.item, cook.pit):
        with pytest.raises(KeyError):
            ask("nothing")


def test_records_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        RACKS.pieces = 5  # type: ignore[misc]


@pytest.mark.parametrize(
    ("make", "field", "words"),
    [
        (lambda: replace(RACKS, pieces=0), "pieces", "pieces is 0"),
        (lambda: replace(RACKS, mass_kg=-1.0), "weight", "-1 kg"),
        (lambda: replace(RACKS, mass_kg=0.0), "weight", "0 g"),
        (lambda: replace(RACKS, mass_kg=math.nan), "weight", "nan"),
        (lambda: replace(RACKS, start_c=60.0), "start", "140 °F"),
        (lambda: replace(RACKS, thickness_m=2.0), "thickness", "2000 mm"),
        (lambda: replace(RACKS, thickness_factor=0.05), "thinner", "95 %"),
        (lambda: replace(RACKS, salt_g_per_kg=200.0), "salt", "200 g/kg"),
        (lambda: replace(RACKS, sugar=2.0), "sugar", "2"),
        (lambda: replace(RACKS, label=" "), "name", "blank"),
        (lambda: replace(RACKS, label="a\nb"), "name", "plain text"),
        (lambda: replace(RACKS, put_on_utc=NOON.astimezone(timezone(timedelta(hours=1)))), "put_on", "UTC"),
        (lambda: replace(RACKS, stages=(StagePlan("open", Until("clock", NOON)),)), "until", "before"),
        (lambda: replace(PIT, set_c=math.nan), "set", "nan"),
        (lambda: replace(PIT, set_c=500.0), "set", "932 °F"),
        (lambda: replace(COOK, zone="Nowhere"), None, "not a time zone"),
        (lambda: replace(COOK, altitude_m=9000.0), "altitude", "9000 m"),
        (lambda: replace(COOK, weather_rh=1.5), "humidity", "150 %"),
        (lambda: replace(COOK, weather_air_c=80.0), "air", "176 °F"),
        (lambda: replace(COOK, pits=()), "pit", "no pit"),
        (lambda: replace(COOK, items=()), "item", "no items"),
        (lambda: replace(COOK, items=(RACKS, replace(RACKS, label="RACKS"))), "name", "also the name of item 1"),
        (lambda: replace(COOK, items=(replace(RACKS, pit="other"),)), "pit", "no pit of this cook"),
        (lambda: replace(COOK, serve_utc=NOON), "serve", "2026-10-10 07:00 is not after the start"),
        (lambda: StagePlan("boil", Until("tender")), "do", "boil"),
        (lambda: StagePlan("wrapped", Until("tender")), "wrap", "no wrap"),
        (lambda: StagePlan("open", Until("tender"), wrap="foil"), "wrap", "has a wrap"),
        (lambda: StagePlan("open", Until("tender"), liquid_kg=0.1), "liquid", "liquid"),
        (lambda: StagePlan("open", Until("tender"), air_c=60.0), "air", "the pit's air"),
        (lambda: StagePlan("hold", Until("minutes", 60.0)), "air", "no air temperature"),
        (lambda: StagePlan("open", Until("tender"), glaze_kg=0.1), "glaze", "has a glaze"),
        (lambda: StagePlan("open", Until("glaze")), "until", "cannot set"),
        (lambda: Until("luck"), "until", "luck"),
        (lambda: Until("core"), "until", "nan"),
        (lambda: Until("core", 200.0), "until", "392 °F"),
        (lambda: Until("minutes"), "until", "0 min"),
        (lambda: Until("clock"), "until", "no time"),
        (lambda: Until("tender", NOON), "until", "cannot end"),
        (lambda: Until("glaze", 1.0), "until", "set or not"),
        (lambda: Until("colour", 3.0), "until", "3"),
    ],
)
def test_what_a_plan_refuses(make, field: str | None, words: str) -> None:
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.place.field == field
    assert words in caught.value.trouble
    assert caught.value.remedy


def test_what_ends_a_stage_is_read_by_its_kind() -> None:
    assert (Until("core", 95).core_c, Until("core", 95).duration_s, Until("core", 95).level) == (
        95.0,
        None,
        1.0,
    )
    assert Until("minutes", 60.0).duration_s == 60.0
    assert Until("clock", NOON).at_utc == NOON
    assert (Until("colour").level, Until("colour", 0.8).level, Until("tender").level) == (1.0, 0.8, 1.0)


@pytest.mark.parametrize("scale", list(SCALES))
def test_scales_rise_and_have_one_step_at_the_mark(scale: str) -> None:
    levels = list(SCALES[scale].values())
    assert levels == sorted(set(levels))
    assert levels[0] == 0.0
    assert levels.count(1.0) == (len(levels) > 1)  # a scale of one word says that something has not come
    for word, level in SCALES[scale].items():
        assert level_of(scale, word.upper()) == level
        assert word_for(scale, level) == word
    with pytest.raises(InputError, match="Write one of"):
        level_of(scale, "purple")


entries = st.lists(
    st.builds(
        lambda minute, which, bad: (
            Reading(NOON + timedelta(minutes=minute), "probe", "racks", None, 50.0, "bad" if bad else None),
            Look(NOON + timedelta(minutes=minute), "racks", 1, "weight", 1.0, "", "bad" if bad else None),
            Act(NOON + timedelta(minutes=minute), "racks", ACTS[minute % len(ACTS)]),
        )[which],
        st.integers(0, 50),
        st.integers(0, 2),
        st.booleans(),
    ),
    max_size=30,
)


@unhurried
@given(entries, st.integers(-1, 51))
def test_a_ledger_is_in_order_and_cut_at_an_instant(events, minute: int) -> None:
    ledger = Ledger.of(events)
    assert len(ledger) == len(events)
    for kind in (ledger.all_readings, ledger.all_looks, ledger.all_acts):
        times = [event.at_utc for event in kind]
        assert times == sorted(times)
    cut = NOON + timedelta(minutes=minute)
    before = ledger.until(cut)
    assert len(before) == sum(event.at_utc <= cut for event in events)
    assert before.until(cut) == before
    assert ledger.last_utc == max((event.at_utc for event in events), default=None)


@unhurried
@given(entries)
def test_nothing_rejected_is_ever_handed_out_for_use(events) -> None:
    ledger = Ledger.of(events)
    used = [*ledger.readings("probe"), *ledger.looks()]
    assert all(entry.rejected is None for entry in used)
    assert len(used) + len(ledger.rejected) + len(ledger.acts()) == len(events)
    assert all(entry.rejected for entry in ledger.rejected)


def test_readings_looks_and_acts_are_found_by_what_they_are_on() -> None:
    ledger = Ledger.of(
        [
            Reading(NOON, "probe", "racks", 1, 50.0),
            Reading(NOON, "probe", "racks", 2, 51.0),
            Reading(NOON, "probe", "butt", None, 52.0),
            Reading(NOON, "pit air", "big box", None, 130.0),
            Look(NOON, "butt", None, "colour", 0.8),
            Act(NOON, "butt", "wrapped", "foil"),
        ]
    )
    assert [entry.value_c for entry in ledger.readings("probe")] == [50.0, 51.0, 52.0]
    assert [entry.value_c for entry in ledger.readings("probe", "racks", 2)] == [51.0]
    assert [entry.value_c for entry in ledger.readings("pit air", "big box")] == [130.0]
    assert len(ledger.looks("butt")) == len(ledger.acts("butt")) == 1
    assert not ledger.looks("racks")
    assert not Ledger().readings("probe")


def test_meat_may_be_as_cold_as_a_freezer_and_as_hot_as_boiling() -> None:
    assert MEAT_RANGE_C[0] < -18.0 < 100.0 < MEAT_RANGE_C[1] < 120.0
