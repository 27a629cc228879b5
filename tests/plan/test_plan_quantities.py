"""How much to buy: properties that must hold whatever the numbers, and chances against an independent simulation."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma
from tests.sparing import examples

from pitreckon.catalog.buying import all_buying, buying, portions
from pitreckon.errors import InputError
from pitreckon.plan.buying.portions import eaten_kg, gamma_sum, norm_kg
from pitreckon.plan.buying.quantities import quantities
from pitreckon.plan.buying.yields import loss_of
from pitreckon.plan.wishes import Guests, ItemWish, PitWish, Wishes

SERVE = datetime(2026, 10, 10, 23, tzinfo=UTC)
RACKS = ItemWish("racks", "st-louis-ribs", price_per_kg=9.0)
BUTT = ItemWish("butt", "boston-butt", share=0.7, price_per_kg=5.5)
few = settings(max_examples=examples(25))


def wishes(*items: ItemWish, guests: Guests | None = None) -> Wishes:
    return Wishes(
        "supper", "America/Chicago", SERVE, (PitWish("pit", "pellet-cooker", (121.1,)),), items, guests=guests
    )


def pieces(*items: ItemWish, guests: Guests) -> list[int]:
    return [each.pieces for each in quantities(wishes(*items, guests=guests), draws=1000).items]


heads = st.integers(0, 120)
FIVE = sorted(all_buying())[:5]


@few
@given(adults=st.integers(1, 300), children=heads, hungry=heads, more=st.integers(1, 40),
       who=st.sampled_from(["adults", "children", "hungry"]), cut=st.sampled_from(FIVE))  # fmt: skip
def test_more_guests_never_need_fewer(adults: int, children: int, hungry: int, more: int, who: str, cut: str) -> None:
    guests = Guests(adults, children, hungry)
    larger = replace(guests, **{who: getattr(guests, who) + more})
    items = (ItemWish("one", cut), BUTT)
    assert all(a <= b for a, b in zip(pieces(*items, guests=guests), pieces(*items, guests=larger), strict=True))


@few
@given(adults=st.integers(1, 300), sure=st.floats(0.5, 0.99), surer=st.floats(0.5, 0.99), over=st.floats(0.0, 1.0))
def test_being_surer_or_wanting_more_over_never_needs_fewer(
    adults: int, sure: float, surer: float, over: float
) -> None:
    sure, surer = sorted((sure, surer))
    (least,) = pieces(RACKS, guests=Guests(adults, sure=sure))
    (more,) = pieces(RACKS, guests=Guests(adults, sure=surer))
    (most,) = pieces(RACKS, guests=Guests(adults, sure=surer, leftovers=over))
    assert least <= more <= most


@few
@given(price=st.floats(0.0, 100.0), times=st.floats(0.0, 50.0))
def test_price_scales(price: float, times: float) -> None:
    once = quantities(wishes(replace(RACKS, price_per_kg=price), guests=Guests(12)), draws=200)
    again = quantities(wishes(replace(RACKS, price_per_kg=price * times), guests=Guests(12)), draws=200)
    assert once.price is not None
    assert again.price == pytest.approx(once.price * times)
    assert once.price == pytest.approx(once.items[0].bought_kg * price)


@few
@given(adults=st.integers(1, 200), given_pieces=st.integers(1, 80))
def test_chances_rise_with_pieces_and_the_number_is_the_smallest(adults: int, given_pieces: int) -> None:
    guests = Guests(adults)
    (item,) = quantities(wishes(RACKS, guests=guests), draws=1000).items
    by_pieces = {each.pieces: each.enough for each in item.chances}
    assert by_pieces[item.pieces] >= guests.sure
    assert by_pieces.get(item.pieces - 1, 0.0) < guests.sure
    assert list(by_pieces.values()) == sorted(by_pieces.values())
    (fixed,) = quantities(wishes(replace(RACKS, pieces=given_pieces), guests=guests), draws=1000).items
    assert fixed.given
    assert fixed.pieces == given_pieces
    assert (fixed.enough >= guests.sure) == (given_pieces >= item.pieces)


def test_the_chance_is_that_of_a_simulation_of_heads_and_racks() -> None:
    # an independent simulation, each head and each rack on its own, from the catalog's figures
    answer = quantities(wishes(RACKS, guests=Guests(18, 4, 2)), draws=20_000, seed=5)
    (item,) = answer.items
    rng, norms, buy, runs = np.random.default_rng(99), portions(), buying("st-louis-ribs"), 20_000
    factor = np.array([1.0] * 18 + [norms.child_factor.value] * 4 + [norms.hungry_factor.value] * 2)
    sd = norms.head_sd.value
    eaten = (rng.lognormal(-sd * sd / 2, sd, (runs, 24)) * factor).sum(axis=1) * norms.adult_kg.value
    sd = norms.crowd_sd.value
    eaten *= rng.lognormal(-sd * sd / 2, sd, runs)
    share = 1.0 - sum(
        np.maximum(rng.normal(each.value, each.sd, runs), 0.0)
        for each in (buy.water_share, buy.beyond_water_share, buy.not_eaten_share)
    )
    kept = (1.0 - np.maximum(rng.normal(buy.trim_share.value, buy.trim_share.sd, runs), 0)) / (1 - buy.trim_share.value)
    sd = np.sqrt(np.log1p(item.piece.spread**2))
    for chance in item.chances:
        racks = rng.lognormal(-sd * sd / 2, sd, (runs, chance.pieces)).sum(axis=1)
        racks *= rng.lognormal(-sd * sd / 8, sd / 2, runs) * item.piece.on_kg
        assert chance.enough == pytest.approx(np.mean(racks * share * kept >= eaten), abs=0.015)
    assert item.leftovers_kg == pytest.approx(np.mean(np.maximum(item.on_kg * share - eaten, 0.0)), rel=0.1)


@pytest.mark.parametrize("count", [1, 7, 400])
def test_the_sum_of_many_is_a_gamma_amount(count: int) -> None:
    # scipy's gamma distribution; Wilson and Hilferty's cube root
    normal = np.array([-2.326, -1.282, 0.0, 1.282, 2.326])
    exact = gamma.ppf([0.01, 0.1, 0.5, 0.9, 0.99], count / 0.4**2) * 0.4**2
    assert gamma_sum(count, 0.4, normal) == pytest.approx(exact, rel=0.012)


def test_a_company_eats_what_the_norm_says_on_average() -> None:
    # common practice: 1/3 lb of cooked meat for an adult; half of it for a child, half as much again for the hungry
    for guests in (Guests(40, 10, 6), Guests(1000, 300, 0)):
        for sides in ("none", "usual", "many"):
            assert np.mean(eaten_kg(guests, portions(), sides)) == pytest.approx(
                norm_kg(guests, portions(), sides), rel=0.02
            )
    assert norm_kg(Guests(3), portions()) == pytest.approx(0.45359237, rel=1e-3)


def test_sides_mean_less_meat() -> None:
    guests = Guests(60)
    numbers = [quantities(wishes(RACKS, guests=guests), sides=s).items[0].pieces for s in ("none", "usual", "many")]
    assert numbers[0] > numbers[1] > numbers[2]


def test_shares_part_the_company() -> None:
    answer = quantities(wishes(RACKS, BUTT, guests=Guests(40)))
    racks, butt = answer.items
    assert racks.wanted_kg.p50 / butt.wanted_kg.p50 == pytest.approx(1 / 0.7, rel=0.05)
    assert answer.enough <= min(racks.enough, butt.enough)
    assert answer.enough_meat >= answer.enough  # whoever finds no rack left takes pork
    assert answer.price == pytest.approx(racks.price + butt.price)
    assert answer.item("butt") is butt


@few
@given(adults=st.integers(1, 300), more=st.integers(0, 60), sure=st.floats(0.5, 0.98), surer=st.floats(0.0, 0.015),
       share=st.floats(0.1, 3.0))  # fmt: skip
def test_together_is_sure_in_all_and_never_falls(
    adults: int, more: int, sure: float, surer: float, share: float
) -> None:
    items = (RACKS, replace(BUTT, share=share), ItemWish("thighs", "chicken-thigh", pieces=8))
    one, other = (
        quantities(wishes(*items, guests=guests), together=True, draws=1000)
        for guests in (Guests(adults, sure=sure), Guests(adults + more, sure=sure + surer))
    )
    assert one.enough_meat >= sure
    assert all(a.pieces <= b.pieces for a, b in zip(one.items, other.items, strict=True))
    assert one.items[2].pieces == 8


def test_together_takes_less_meat_than_each_for_itself() -> None:
    cuts = ("st-louis-ribs", "boston-butt", "brisket-flat", "chicken-half")
    asked = wishes(*(ItemWish(cut, cut) for cut in cuts), guests=Guests(150))
    each, all_of_it = (quantities(asked, together=together) for together in (False, True))
    assert all_of_it.edible_kg.p50 < each.edible_kg.p50
    assert 0.9 <= all_of_it.enough_meat < each.enough_meat
    one = wishes(RACKS, guests=Guests(60))  # a single item is the same either way, but for rounding to whole pieces
    assert quantities(one, together=True).items[0].pieces == quantities(one).items[0].pieces


def test_without_guests_the_chances_stay_open() -> None:
    answer = quantities(wishes(replace(RACKS, pieces=3), replace(BUTT, pieces=1, price_per_kg=None)))
    assert answer.enough is answer.enough_meat is answer.wanted_kg is answer.leftovers_kg is answer.norm_kg is None
    assert answer.items[0].chances == ()
    assert answer.items[0].edible_kg.p05 < answer.items[0].edible_kg.p50 < answer.items[0].edible_kg.p95
    assert answer.unpriced == ("butt",)


def test_the_same_seed_gives_the_same_answer_and_another_nearly() -> None:
    asked = wishes(RACKS, BUTT, guests=Guests(60))
    assert quantities(asked, seed=3) == quantities(asked, seed=3)
    one, other = (quantities(asked, seed=seed).items[0] for seed in (3, 4))
    assert abs(one.pieces - other.pieces) <= 1


@pytest.mark.kernel
def test_more_loss_needs_more_and_the_model_agrees_with_the_catalog() -> None:
    # the catalog's own water_share is what the section model gave: run it again on fewer members, other ones
    item, guests = ItemWish("racks", "st-louis-ribs"), Guests(30)
    lost = loss_of(item, "pellet-cooker", 121.1, members=32, seed=2)
    assert lost is loss_of(item, "pellet-cooker", 121.1, members=32, seed=2)
    each = buying("st-louis-ribs").water_share
    assert np.mean(lost) == pytest.approx(each.value, abs=0.02)
    assert np.std(lost) == pytest.approx(each.sd, rel=0.5)
    asked = wishes(item, guests=guests)
    dry = [min(loss + 0.1, 0.9) for loss in lost]
    first, second = (quantities(asked, losses={"racks": each}).items[0] for each in (lost, dry))
    assert second.pieces > first.pieces
    assert second.edible_share < first.edible_share


@pytest.mark.kernel
def test_a_hotter_end_loses_more_than_the_usda_roast() -> None:
    # USDA cooking yields 2014: spareribs roasted keep 76 %; ours go on to tender near 200 F, the later half in foil,
    # in their own juice (until the joint calibration the model had them dry on there, 24 % and more)
    lost = loss_of(ItemWish("ribs", "spareribs"), "pellet-cooker", 121.1, members=32)
    assert 0.22 < np.mean(lost) < 0.36


@pytest.mark.parametrize(
    ("call", "trouble", "field"),
    [
        (lambda: quantities(wishes(ItemWish("it", "unicorn"), guests=Guests(4))), "'unicorn' is no cut", None),
        (lambda: quantities(wishes(RACKS, guests=Guests(4)), losses={"rack": [0.3]}), "no item 'rack'", None),
        (lambda: quantities(wishes(RACKS, guests=Guests(4)), losses={"racks": []}), "loss is empty", "loss"),
        (lambda: quantities(wishes(RACKS, guests=Guests(4)), losses={"racks": [float("nan")]}), "not a share", "loss"),
        (lambda: quantities(wishes(RACKS, guests=Guests(4)), sides="lots"), "'lots' is no kind of sides", "sides"),
        (lambda: quantities(wishes(RACKS, guests=Guests(4)), draws=5), "5 draws are too few", "draws"),
        (
            lambda: quantities(wishes(ItemWish("it", "chicken-wing", mass_kg=0.005), guests=Guests(5000)), draws=200),
            "more than 50000 pieces",
            "share",
        ),
        (lambda: Guests(-1), "adults is -1", "adults"),
        (lambda: Guests(0), "nobody is coming", "adults"),
    ],
)
def test_wrong_input(call, trouble: str, field: str | None) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert trouble in caught.value.trouble
    assert caught.value.remedy
    assert caught.value.place.field == field


def test_more_than_an_item_takes_is_said() -> None:
    answer = quantities(wishes(ItemWish("wings", "chicken-wing"), guests=Guests(300)))
    assert any("write it as several" in note for note in answer.notes)
