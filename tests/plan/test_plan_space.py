"""Room on a pit: footprints, layouts, what is too much, and what more pieces do."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.plan.space.footprint import GAP_M, Pieces, footprint, pieces_of
from pitreckon.plan.space.layout import need_room, places_needed, places_of, room_for
from pitreckon.plan.space.sharing import against_words, sharing
from pitreckon.plan.wishes import ItemWish, PitWish

CUTS = sorted(catalog.cuts())
PITS = sorted(catalog.pits())


def pit(kind: str, **own) -> PitWish:
    return PitWish("smoker", kind, (107.2,), **own)


def lying(room, label: str) -> int:
    return sum(lie.count for grate in room.grates for lie in grate.lies if lie.label == label)


def test_footprint_by_hand() -> None:
    # brisket of the catalog as it lies: 0.43 x 0.25 m, and eight times lighter half as long
    whole = footprint(catalog.cut("brisket-whole"), 5.9)
    assert (whole.length_m - GAP_M, whole.width_m - GAP_M) == pytest.approx((0.43, 0.25))
    small = footprint(catalog.cut("brisket-whole"), 5.9 / 8)
    thick = catalog.cut("brisket-whole").shape.thickness_m.value
    assert (small.length_m - GAP_M, small.height_m) == pytest.approx((0.215, thick / 2))
    butt = footprint(catalog.cut("boston-butt"), 3.63)
    assert butt.area_m2 == pytest.approx((catalog.cut("boston-butt").shape.diameter_m.value + GAP_M) ** 2)
    turkey, bird = footprint(catalog.cut("turkey-whole"), 5.9), catalog.cut("turkey-whole").shape  # on its back
    sizes = (bird.length_m.value, bird.diameter_m.value, bird.diameter_m.value)
    assert (turkey.length_m - GAP_M, turkey.width_m - GAP_M, turkey.height_m) == pytest.approx(sizes)


def test_what_cooks_say_goes_on() -> None:
    # common practice, no source: half a kettle takes two flat racks at most or one butt or two; a grate of an
    # insulated cabinet takes one whole brisket; a backyard offset with 0.75 m2 eight to twelve racks lying flat
    assert room_for(pit("kettle"), [Pieces("butt", "boston-butt", 2, 3.63)]).fits
    assert not room_for(pit("kettle"), [Pieces("ribs", "st-louis-ribs", 4, 1.22)]).fits
    assert room_for(pit("insulated-cabinet"), [Pieces("brisket", "brisket-whole", 4, 5.9)]).fits
    assert not room_for(pit("insulated-cabinet"), [Pieces("brisket", "brisket-whole", 9, 5.9)]).fits
    assert room_for(pit("offset-log-burner"), [Pieces("ribs", "st-louis-ribs", 8, 1.22)]).fits
    assert not room_for(pit("offset-log-burner"), [Pieces("ribs", "st-louis-ribs", 16, 1.22)]).fits


def test_a_holder_makes_room() -> None:
    ribs = [Pieces("ribs", "st-louis-ribs", 8, 1.22)]
    flat = room_for(pit("pellet-cooker"), ribs)
    assert not flat.fits
    assert "holder" in flat.remedy
    assert need_room(pit("pellet-cooker"), ribs, holder=True).fits
    # ribs stand 150 mm high: between the grates of a cabinet only where one is taken out
    low = room_for(pit("insulated-cabinet"), [Pieces("ribs", "st-louis-ribs", 1, 1.22)], holder=True)
    assert low.notes == ("Take out 1 grate: what is highest needs the room above it",)


def test_a_turkey_goes_where_the_trade_puts_one() -> None:
    # common practice, no source: a bird of 14 lb goes on every kind of cooker, in a cabinet or an oven with the grates
    # above it taken out; one of 50 lb goes under no kettle's lid
    for kind in PITS:
        room = room_for(pit(kind), [Pieces("turkey", "turkey-whole", 1, 14 * 0.4536)])
        assert room.fits, kind
        assert bool(room.notes) == (room.grates[0].lies == () and len(room.grates) > 1), kind
    assert not room_for(pit("kettle"), [Pieces("turkey", "turkey-whole", 1, 50 * 0.4536)]).fits
    # four grates 12 cm apart: two birds above each other at most, however many lie beside each other
    stack = room_for(pit("insulated-cabinet"), [Pieces("turkey", "turkey-whole", 20, 6.0)])
    assert [bool(grate.lies) for grate in stack.grates] == [False, True, False, True]
    # and chops on the grates that are left
    with_chops = room_for(
        pit("insulated-cabinet"), [Pieces("turkey", "turkey-whole", 1, 6.0), Pieces("chops", "pork-chop", 12, 0.4)]
    )
    assert with_chops.fits
    assert sum(grate.lies == () for grate in with_chops.grates) >= 1


def test_ten_thousand_racks_on_one_pit() -> None:
    with pytest.raises(InputError) as caught:
        need_room(pit("pellet-cooker"), [Pieces("ribs", "st-louis-ribs", 10_000, 1.22)])
    assert caught.value.trouble == ("10000 pieces need 487.5 m2 with their gaps, 'smoker' has 0.28 m2: 5 find room")
    assert "9995 of 'ribs'" in caught.value.remedy
    assert caught.value.place.field == "pieces"


def test_a_piece_that_does_not_go_on() -> None:
    long = room_for(pit("kettle"), [Pieces("brisket", "brisket-whole", 1, 20.0)])
    assert not long.fits
    assert long.over == (("brisket", 1),)
    assert "mm long" in long.trouble
    assert "Cut it in two" in long.remedy
    assert math.isinf(places_needed(Pieces("brisket", "brisket-whole", 1, 20.0), pit=pit("kettle")))
    high = room_for(pit("water-smoker"), [Pieces("turkey", "turkey-whole", 1, 25.0)])
    assert "mm high, with the other grates taken out there are 300 mm" in high.trouble
    assert math.isinf(places_needed(Pieces("turkey", "turkey-whole", 1, 25.0), pit=pit("water-smoker")))


def test_thick_lies_hot_and_done_lies_cool() -> None:
    room = room_for(
        pit("offset-log-burner"),
        [
            Pieces("wings", "chicken-wing", 12, 0.09),
            Pieces("butt", "boston-butt", 4, 3.63),
            Pieces("flat", "brisket-flat", 1, 2.7, done=True),
        ],
    )
    (grate,) = room.grates
    where = {lie.label: lie.place for lie in reversed(grate.lies)}
    assert where == {"butt": "by the firebox", "wings": "middle", "flat": "far end"}
    assert [lie.offset_k for lie in grate.lies] == sorted((lie.offset_k for lie in grate.lies), reverse=True)
    assert any("poultry" in note for note in room.notes)
    # on levels the upper, hotter ones are taken first and what is done goes on the lowest
    stack = room_for(
        pit("insulated-cabinet"),
        [Pieces("a", "brisket-whole", 1, 5.9), Pieces("b", "brisket-whole", 1, 5.9, done=True)],
    )
    assert [[lie.label for lie in grate.lies] for grate in stack.grates] == [["a"], [], [], ["b"]]


def test_own_grates_and_weight() -> None:
    assert places_of(pit("pellet-cooker", grates=2, grate_m2=0.5)) == pytest.approx(2 * 0.5 * 0.85)
    wish = ItemWish("ribs", "St. Louis ribs")
    assert places_needed(wish) == pytest.approx(footprint(catalog.cut("st-louis-ribs"), 1.22).area_m2)
    assert places_needed(wish, 2.44) > places_needed(wish)
    with pytest.raises(InputError, match="how many"):
        pieces_of(wish)
    with pytest.raises(InputError, match="pieces"):
        Pieces("ribs", "st-louis-ribs", 0, 1.2)
    with pytest.raises(InputError, match="weighs"):
        Pieces("ribs", "st-louis-ribs", 1, float("nan"))


def test_a_pit_whose_room_is_not_known(tmp_path, monkeypatch) -> None:
    (tmp_path / "pits").mkdir()
    text = (catalog.shelf.OWN_DATA / "pits" / "kettle.toml").read_text()
    text = text.partition("[room]")[0].replace('"kettle"', '"mine"').replace("Kettle, fire at one side", "Mine")
    (tmp_path / "pits" / "mine.toml").write_text(text.replace("also =", "# also ="))
    monkeypatch.setenv("PITRECKON_CATALOG", str(tmp_path))
    with pytest.raises(InputError, match=r"\[room\]"):
        places_of(pit("mine"))


@pytest.mark.parametrize(
    ("old", "new", "trouble"),
    [
        ("share = { value = 0.4", "share = { value = 0.5", "add up to 1.100"),
        ("grates = { value = 1", "grates = { value = 1.5", "no whole number"),
        ("across_m = { value = 0.55", "across_m = { value = 0.2", "longer"),
        ("usual_kg_h = { value = 0.35, sd = 0.1,", "usual_kg_h = { value = 0.0,", "burns"),
        ("usual_kg_h = { value = 0.35, sd = 0.1,", "usual_kg_h = { value = 0.35,", "sd is missing"),
    ],
)
def test_room_and_fire_that_contradict_themselves(tmp_path, old: str, new: str, trouble: str) -> None:
    (tmp_path / "pits").mkdir()
    text = (catalog.shelf.OWN_DATA / "pits" / "kettle.toml").read_text()
    assert old in text
    (tmp_path / "pits" / "kettle.toml").write_text(text.replace(old, new, 1))
    with pytest.raises(InputError, match=trouble):
        catalog.pits(tmp_path)


def test_what_shares_a_pit() -> None:
    smoker = PitWish("smoker", "pellet-cooker", (93.0, 107.2, 121.1, 204.0))
    found = sharing(smoker, [ItemWish("brisket", "brisket-whole"), ItemWish("wings", "chicken-wing")])
    assert found.sets_c == (107.2, 121.1)
    assert {(label, set_c) for label, set_c, _ in found.against} == {("brisket", 93.0), ("brisket", 204.0)}
    # 203 F and 14 F more at the least; 330 F at the most: common practice, no source
    assert against_words(
        PitWish("smoker", "pellet-cooker", (93.3, 98.9, 204.4)), [ItemWish("brisket", "brisket-whole")]
    ) == (
        "on smoker, brisket not at 200 °F or 210 °F: as a rule it gets done at 217 °F and above",
        "on smoker, brisket not at 400 °F: as a rule its outside burns above 329 °F",
    )
    both = [ItemWish("brisket", "brisket-whole"), ItemWish("wings", "chicken-wing")]
    assert against_words(PitWish("smoker", "pellet-cooker", (204.4,)), both)[0] == (
        "on smoker, no temperature that it may be set to does for all of them"
    )
    assert against_words(PitWish("smoker", "pellet-cooker", (121.1,)), both) == ()


lots = st.lists(
    st.builds(
        Pieces,
        label=st.sampled_from("abcde"),
        cut=st.sampled_from(CUTS),
        count=st.integers(1, 40),
        mass_kg=st.floats(0.05, 9.0),
        done=st.booleans(),
    ),
    min_size=1,
    max_size=5,
    unique_by=lambda lot: lot.label,
)


@given(lots, st.sampled_from(PITS), st.booleans())
def test_every_piece_is_somewhere_and_no_grate_is_overfull(items, kind: str, holder: bool) -> None:
    room = room_for(pit(kind), items, holder=holder)
    over = dict(room.over)
    for lot in items:
        assert lying(room, lot.label) + over.get(lot.label, 0) == lot.count
    for grate in room.grates:
        assert grate.used_m2 <= grate.usable_m2 + 1e-6
    assert room.fits == (not over) == (not room.trouble)
    if room.fits:
        assert room.used_share <= 1.0 + 1e-6
    assert sum(grate.usable_m2 for grate in room.grates) == pytest.approx(places_of(pit(kind)))


@given(lots, st.sampled_from(PITS), st.integers(0, 4), st.integers(1, 30))
def test_more_pieces_never_need_less_room(items, kind: str, which: int, more: int) -> None:
    one = items[which % len(items)]
    larger = [Pieces(e.label, e.cut, e.count + (more if e is one else 0), e.mass_kg, done=e.done) for e in items]
    before, after = room_for(pit(kind), items), room_for(pit(kind), larger)
    assert after.need_m2 > before.need_m2
    assert after.used_share > before.used_share
    if after.need_m2 > after.usable_m2 + 1e-6:
        assert not after.fits


@given(st.sampled_from(CUTS), st.sampled_from(PITS), st.integers(1, 60), st.floats(0.1, 8.0), st.integers(1, 5))
def test_the_scalar_agrees_with_the_layout(cut: str, kind: str, count: int, mass_kg: float, grates: int) -> None:
    where = pit(kind, grates=grates)
    one = Pieces("x", cut, count, mass_kg)
    room = room_for(where, [one])
    scalar = count * places_needed(one, pit=where)
    assert room.fits == (scalar <= places_of(where) + 1e-9)
    if count > 1 and room.fits:
        assert room_for(where, [Pieces("x", cut, count - 1, mass_kg)]).fits
