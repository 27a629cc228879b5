"""Before the fire: thawing, trimming, seasoning, backward from put-on, and never long out of the refrigerator."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.oracles import salt as oracle_salt
from tests.sparing import examples

from pitreckon import catalog
from pitreckon.catalog.buying import all_buying, before_fire
from pitreckon.cook import Away
from pitreckon.errors import InputError
from pitreckon.physics import salt
from pitreckon.plan.buying.quantities import quantities
from pitreckon.plan.prep.chores import Preparation, prepare_meat
from pitreckon.plan.prep.season import seasoning
from pitreckon.plan.prep.thaw import thawing
from pitreckon.plan.wishes import Hands, ItemWish, PitWish, Wishes

SERVE = datetime(2026, 11, 1, 23, tzinfo=UTC)  # the clocks of Chicago go back that night
CUTS = sorted(catalog.cuts())
few = settings(max_examples=examples(40))


def prepared(
    *items: ItemWish, hours: float = 8.0, hands: Hands | None = None, air_c: float | None = None,
    planned: datetime | None = None, thaw: dict[str, str] | None = None,
) -> Preparation:  # fmt: skip
    asked = Wishes(
        "supper", "America/Chicago", SERVE, (PitWish("pit", "pellet-cooker", (121.1,)),), items,
        hands=hands or Hands(), weather_air_c=air_c, planned_utc=planned,
    )  # fmt: skip
    put_on = {item.label: SERVE - timedelta(hours=hours + n / 2) for n, item in enumerate(items)}
    return prepare_meat(asked, quantities(asked, draws=100), put_on, thaw=thaw)


@few
@given(data=st.data(), count=st.integers(1, 5), cooks=st.integers(1, 3), hot=st.booleans(), night=st.booleans())
def test_chores_keep_the_rules(data: st.DataObject, count: int, cooks: int, hot: bool, night: bool) -> None:
    items = tuple(
        ItemWish(
            f"item {n}", data.draw(st.sampled_from(CUTS)), pieces=data.draw(st.integers(1, 60)),
            state=data.draw(st.sampled_from(["chilled", "frozen"])), trimmed=data.draw(st.booleans()),
            salt_g_per_kg=data.draw(st.sampled_from([None, 0.0, 15.0, 40.0])),
        )
        for n in range(count)
    )  # fmt: skip
    asleep = tuple(
        Away(SERVE - timedelta(hours=24 * day + 18), SERVE - timedelta(hours=24 * day + 10), "asleep")
        for day in range(9)
    )
    done = prepared(*items, hands=Hands(cooks, asleep if night else ()), air_c=35.0 if hot else 20.0)
    limit_s = 3600.0 if hot else 7200.0
    work = [chore for chore in done.chores if chore.kind != "thaw"]
    for n, item in enumerate(items):
        put_on = SERVE - timedelta(hours=8.0 + n / 2)
        chores = done.of(item.label)
        link = item.cut == "sausage"  # neither trimmed nor, unless the cook says so, salted
        due = {
            "thaw": item.state == "frozen", "trim": not item.trimmed and not link,
            "season": not link or item.salt_g_per_kg is not None,
        }  # fmt: skip
        assert [chore.kind for chore in chores] == [kind for kind, there in due.items() if there]
        # one after another, the last before put-on
        for first, second in pairwise(chores):
            assert first.end_utc <= second.begin_utc
        assert all(chore.end_utc <= put_on for chore in chores)
        # raw meat is never out for longer than the official limit, all work together
        assert sum(chore.out_s for chore in chores) <= limit_s
        for chore in chores:
            assert chore.begin_utc.utcoffset() == timedelta(0)
            assert 1 <= chore.batch <= item.pieces
    for chore in work:
        assert (chore.end_utc - chore.begin_utc).total_seconds() == pytest.approx(chore.hands_s, abs=1e-3)
        at_once = sum(c.begin_utc <= chore.begin_utc < c.end_utc for c in work)
        assert at_once <= cooks
    if night:
        for chore in work:
            assert not any(gone.from_utc < chore.end_utc and chore.begin_utc < gone.until_utc for gone in asleep)
        for chore in done.chores:  # nobody gets up to move meat from the freezer
            assert not any(gone.from_utc < chore.begin_utc < gone.until_utc for gone in asleep)


@few
@given(cut=st.sampled_from(CUTS), mass_kg=st.floats(0.05, 20.0), times=st.floats(1.0, 4.0))
def test_heavier_never_thaws_sooner(cut: str, mass_kg: float, times: float) -> None:
    for way in ("refrigerator", "cold water"):
        light, heavy = (thawing(catalog.cut(cut), m, way) for m in (mass_kg, mass_kg * times))
        assert heavy.physics_s >= light.physics_s * 0.9999
        assert heavy.official_s >= light.official_s
        assert heavy.plan_s == max(heavy.physics_s, heavy.official_s)


def test_thawing_by_physics_and_by_the_rule_are_of_one_size() -> None:
    # MSU E3259: 24 h for 5 lb in the refrigerator; in cold water 30 min for a pound, 2 to 3 h for a pack of 3 to 4 lb
    for cut, buy in all_buying().items():
        if cut != "other":
            cold = thawing(catalog.cut(cut), buy.pack_kg.value)
            assert 0.35 < cold.physics_s / cold.official_s < 1.7, cut
    roast = thawing(catalog.cut("pork-loin"), 1.6, "cold water")
    assert 1.5 * 3600 < roast.official_s < 3 * 3600
    assert roast.changes == -(-roast.plan_s // 1800.0) - 1  # at its start the water is fresh


def test_thin_and_thick_from_the_numbers() -> None:
    # research notes 9: salt reaches 1.7 mm in an hour, 5.7 mm in 12 h (5 degC; a little less at 4)
    rack = seasoning(ItemWish("r", "st-louis-ribs"), catalog.cut("st-louis-ribs"), 1.22)
    butt = seasoning(ItemWish("b", "boston-butt"), catalog.cut("boston-butt"), 3.63)
    for each in (rack, butt):
        assert each.hour_reach_m == pytest.approx(0.0017, abs=1.5e-4)
        assert each.night_reach_m == pytest.approx(0.0057, abs=2e-4)
        # the surface is wet until the salt just under it is down to 200 kg/m3: Crank's solution the other way round
        d = salt.diffusivity_nacl(4.0)
        assert oracle_salt.salt_from_dose_crank(0.0, each.dose_kg_m2, d, each.wet_s) == pytest.approx(200.0)
    assert rack.thin
    assert rack.lead_s <= 3600.0
    assert rack.wet_s <= rack.lead_s
    assert not butt.thin
    assert butt.lead_s == 12 * 3600.0
    assert butt.night_reach_m < 0.11 * butt.half_m
    assert "thin" in rack.why
    assert "thick" in butt.why


@pytest.mark.parametrize("cut", CUTS)
def test_what_the_trade_calls_thin_is_thin(cut: str) -> None:
    thin = {"spareribs", "st-louis-ribs", "back-ribs", "country-style-ribs", "chicken-thigh", "chicken-wing",
            "beef-back-ribs", "salmon-side", "sausage", "pork-chop"}  # fmt: skip
    mass_kg = catalog.cut(cut).shape.mass_kg.value
    assert seasoning(ItemWish("it", cut), catalog.cut(cut), mass_kg).thin == (cut in thin)


def test_a_link_is_seasoned_already() -> None:
    link = catalog.cut("sausage")
    assert seasoning(ItemWish("it", "sausage"), link, 0.113).salt_g_per_kg == 0.0
    assert seasoning(ItemWish("it", "sausage", salt_g_per_kg=5.0), link, 0.113).salt_g_per_kg == 5.0
    # a cylinder: its skin and two ends
    across, long = link.shape.diameter_m.value, link.shape.height_m.value
    told = seasoning(ItemWish("it", "sausage", salt_g_per_kg=10.0), link, 0.113)
    skin_m2 = math.pi * across * long + math.pi / 2 * across**2
    assert told.dose_kg_m2 == pytest.approx(0.010 * 0.113 / skin_m2, rel=1e-3)


def test_no_salt_needs_no_night() -> None:
    plain = seasoning(ItemWish("it", "boston-butt", salt_g_per_kg=0.0), catalog.cut("boston-butt"), 3.6)
    assert plain.wet_s == 0.0
    assert plain.lead_s <= 3600.0


def test_where_time_is_short_cold_water_is_taken_and_said() -> None:
    frozen = ItemWish("racks", "st-louis-ribs", pieces=3, state="frozen")
    in_time = prepared(frozen, planned=SERVE - timedelta(days=3))
    assert "refrigerator" in in_time.of("racks")[0].what
    short = prepared(frozen, planned=SERVE - timedelta(hours=14))
    assert "cold water" in short.of("racks")[0].what
    assert {each.way for each in short.thaw["racks"]} == {"refrigerator", "cold water"}
    butt = ItemWish("butt", "boston-butt", pieces=1, state="frozen")
    long = prepared(butt, thaw={"butt": "cold water"})
    assert any("health department" in note for note in long.notes)  # a butt in water takes more than 4 h


def test_meat_thawed_in_water_that_waits_for_hands_is_remarked_on() -> None:
    # MSU E3259 and FSIS: what was thawed in water is cooked at once
    few, many = (
        prepared(ItemWish("flats", "brisket-flat", pieces=n, state="frozen"), thaw={"flats": "cold water"}).notes
        for n in (1, 30)
    )
    assert not any("at once" in note for note in few)
    assert any("at once" in note for note in many)


def test_a_late_start_shortens_the_salting() -> None:
    butt = ItemWish("butt", "boston-butt", pieces=1)
    done = prepared(butt, planned=SERVE - timedelta(hours=10))
    assert any("there is no time for 12 h" in note for note in done.notes)


def test_cautions_are_there() -> None:
    notes = " ".join(prepared(ItemWish("butt", "boston-butt", pieces=1)).notes)
    assert "straight on" in notes
    assert "local food code" in notes
    hot = " ".join(prepared(ItemWish("butt", "boston-butt", pieces=1), air_c=35.0).notes)
    assert "at most 1 h" in hot
    assert before_fire().hot_air_c.value < 35.0


ONE = ItemWish("butt", "boston-butt", pieces=1, state="frozen")


@pytest.mark.parametrize(
    ("call", "trouble", "field"),
    [
        (lambda: prepared(ONE, planned=SERVE - timedelta(hours=9)), "no time to thaw and prepare 'butt'", "serve"),
        (lambda: prepared(ONE, thaw={"butt": "counter"}), "'counter' is no way to thaw", "thaw"),
        (lambda: prepared(ONE, thaw={"brisket": "refrigerator"}), "no item 'brisket'", None),
        (lambda: thawing(catalog.cut("boston-butt"), 3.0, "counter"), "'counter' is no way to thaw", "thaw"),
        (lambda: thawing(catalog.cut("boston-butt"), 0.0), "a frozen block of 0 kg", None),
        (
            lambda: prepared(
                ONE, thaw={"butt": "cold water"},
                hands=Hands(1, (Away(SERVE - timedelta(hours=15), SERVE - timedelta(hours=14)),)),
            ),
            "nobody is there at", "away",
        ),
    ],
)  # fmt: skip
def test_wrong_input(call, trouble: str, field: str | None) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert trouble in caught.value.trouble
    assert caught.value.remedy
    assert caught.value.place.field == field


def test_put_on_must_be_there_and_in_utc() -> None:
    asked = Wishes("s", "UTC", SERVE, (PitWish("pit", "oven", (121.1,)),), (ItemWish("butt", "boston-butt", pieces=1),))
    amounts = quantities(asked, draws=100)
    with pytest.raises(InputError, match="no time to go on"):
        prepare_meat(asked, amounts, {})
    with pytest.raises(InputError, match="not in UTC"):
        prepare_meat(asked, amounts, {"butt": SERVE.replace(tzinfo=None)})
