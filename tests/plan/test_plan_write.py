"""What is written of wishes is read as the same wishes."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sparing import examples

from pitreckon.cook import Away, StagePlan, Until
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.wishes import Guests, Hands, ItemWish, PitWish, Wishes
from pitreckon.plan.write import wish_text
from pitreckon.units import POUND_KG

SERVE = datetime(2026, 11, 1, 23, tzinfo=UTC)  # the day on which Chicago's clocks go back
FAHRENHEIT = st.integers(150, 350).map(lambda f: (f - 32.0) / 1.8)
CELSIUS = st.integers(60, 180).map(float)
LABELS = st.sampled_from(("racks", "butt", 'the "big" one', "Bäcker's \\ roast", "thighs"))


def items() -> st.SearchStrategy[ItemWish]:
    return st.builds(
        ItemWish,
        label=LABELS,
        cut=st.sampled_from(("st-louis-ribs", "boston-butt", "chicken-thigh")),
        share=st.sampled_from((1.0, 0.5, 2.25)),
        pieces=st.integers(1, 500),
        mass_kg=st.none() | st.integers(1, 20).map(lambda lb: lb * POUND_KG) | st.sampled_from((0.9, 1.25)),
        put_on_utc=st.none() | st.integers(60, 2000).map(lambda m: SERVE - timedelta(minutes=m)),
        wrapping=st.sampled_from(("usual", "without", "either")),
        state=st.sampled_from(("chilled", "frozen")),
        trimmed=st.booleans(),
        start_c=st.sampled_from((4.0, 10.0, -10.0)),
        thickness_m=st.none() | st.sampled_from((0.05, 0.0381)),
        sugar=st.sampled_from((0.0, 0.5, 1.0)),
        salt_g_per_kg=st.none() | st.sampled_from((10.0, 12.5)),
        least_hold_s=st.sampled_from((0.0, 1800.0)),
        most_hold_s=st.sampled_from((1800.0, 3600.0, 4 * 3600.0)),
        hold_c=st.sampled_from((60.0, 65.0)),
        handled=st.booleans(),
        price_per_kg=st.none() | st.sampled_from((9.0, 11.5)),
        travel_s=st.sampled_from((0.0, 1500.0)),
    )


@st.composite
def wishes(draw: st.DrawFn) -> Wishes:
    pit = PitWish(
        label="big box",
        kind="pellet-cooker",
        sets_c=tuple(draw(st.lists(FAHRENHEIT | CELSIUS, min_size=1, max_size=3, unique=True))),
        grates=draw(st.none() | st.integers(1, 40)),
        grate_m2=draw(st.none() | st.sampled_from((0.25, 0.4))),
        lit_s=draw(st.none() | st.sampled_from((0.0, 1500.0))),
    )
    away = Away(SERVE - timedelta(hours=20), SERVE - timedelta(hours=14), draw(st.sampled_from(("away", "asleep"))))
    return Wishes(
        name=draw(LABELS),
        zone="America/Chicago",
        serve_utc=SERVE,
        pits=(pit,),
        items=tuple(draw(st.lists(items(), min_size=1, max_size=3, unique_by=lambda item: item.label))),
        altitude_m=draw(st.sampled_from((0.0, 250.0))),
        weather_air_c=draw(st.none() | st.sampled_from((5.0, 20.0))),
        weather_rh=draw(st.none() | st.sampled_from((0.4, 0.55))),
        guests=draw(
            st.none()
            | st.builds(
                Guests,
                st.integers(1, 300),
                st.integers(0, 50),
                st.integers(0, 9),
                sides=st.sampled_from(("none", "usual", "many")),
                together=st.booleans(),
            )
        ),
        hands=draw(st.sampled_from((Hands(), Hands(2), Hands(1, (away,)), Hands(3, (away,))))),
        chance=draw(st.sampled_from((0.8, 0.95))),
        earliest_utc=draw(st.none() | st.just(SERVE - timedelta(hours=30))),
        planned_utc=draw(st.none() | st.just(SERVE - timedelta(hours=40))),
        hold_places=draw(st.none() | st.integers(0, 60)),
        currency=draw(st.sampled_from(("USD", "€"))),
    )


@settings(max_examples=examples(150), deadline=None)
@given(wishes())
def test_read_back_the_same(asked: Wishes) -> None:
    assert wishes_from_text(wish_text(asked), "written") == asked


def test_a_course_of_its_own_is_read_back() -> None:
    course = (
        StagePlan("open", Until("colour", 0.8)),
        StagePlan("wrapped", Until("core", 95.0), wrap="foil", liquid_kg=0.1),
        StagePlan("rest", Until("minutes", 1800.0)),
    )
    item = ItemWish("butt", "boston-butt", pieces=2, stages=course)
    asked = Wishes("supper", "UTC", SERVE, (PitWish("box", "kettle", (120.0,)),), (item,))
    assert wishes_from_text(wish_text(asked), "written") == asked
    hotter = replace(asked, pits=(replace(asked.pits[0], sets_c=(135.5,)),))
    assert wishes_from_text(wish_text(hotter), "written") == hotter
