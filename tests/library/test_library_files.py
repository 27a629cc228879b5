"""Cooks, wishes, ledgers and mixes, read, written and read again; a wrong one is one clear error."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import pitreckon as pr
from pitreckon.flavour.mix import Amount, Cover, MixLine, OwnFood, Plate
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.write import mix_text
from pitreckon.units import parse_volume

EXAMPLES = Path(__file__).parents[2] / "examples"
COOKS = [
    EXAMPLES / name / f"{name}.toml" for name in ("harvest-table", "overnight-butt", "sunday-racks", "next-sunday")
]
MIXES = [EXAMPLES / "sunday-racks" / "garden-rub.toml", EXAMPLES / "sunday-racks" / "garden-glaze.toml",
         EXAMPLES / "overnight-butt" / "porch-rub.toml"]  # fmt: skip


WINGS = """\
[cook]
name = "wings for four"
zone = "America/Chicago"
serve = "2026-10-17 18:00"

[guests]
adults = 4

[[pit]]
name = "barn kettle"
kind = "kettle"
set = "325 F"

[[item]]
name = "wings"
cut = "chicken-wing"
"""


@pytest.mark.parametrize("path", COOKS, ids=lambda path: path.stem)
def test_a_cook_that_was_written_is_read_the_same(path: Path, tmp_path: Path) -> None:
    cook = pr.read_cook(str(path))
    pr.write_cook(cook, tmp_path / "again.toml")
    assert pr.read_cook(tmp_path / "again.toml") == cook


@pytest.mark.parametrize("degrees", ["F", "C"])
def test_a_ledger_that_was_written_is_read_the_same_to_its_digits(degrees: str, tmp_path: Path) -> None:
    cook = pr.read_cook(COOKS[0])
    ledger = pr.read_ledger(COOKS[0].parent / "day.csv", cook)
    pr.write_ledger(ledger, cook, tmp_path / "day.csv", degrees=degrees)  # type: ignore[arg-type]
    again = pr.read_ledger(tmp_path / "day.csv", cook)
    assert len(again) == len(ledger) > 100
    assert [(each.at_utc, each.act, each.on) for each in again.all_acts] == [
        (each.at_utc, each.act, each.on) for each in ledger.all_acts
    ]
    for one, other in zip(again.all_readings, ledger.all_readings, strict=True):
        assert one.value_c == pytest.approx(other.value_c, abs=0.051)


def test_what_a_house_keeps_is_read(tmp_path: Path) -> None:
    from pitreckon.ledger.store import Store
    from pitreckon.ledger.store.records import Entry

    plan = COOKS[0].read_text(encoding="utf-8")
    with Store.open(tmp_path / "house.sqlite") as store:
        row = store.add_cook(plan, "harvest table")
        store.add_cook("no plan", "spoilt", cook_id="spoilt")
        look = pr.Look(datetime(2026, 10, 17, 20, tzinfo=UTC), "racks", 2, "spot temperature", 88.0, "190 F")
        store.append(row.id, [Entry("1", look, "a test")])
    with pytest.warns(UserWarning, match="the cook spoilt is left out"):
        kept = pr.read_kept(tmp_path / "house.sqlite")
    assert list(kept) == [row.id]
    cook, ledger = kept[row.id]
    assert cook == pr.read_cook(COOKS[0])
    assert [(each.on, each.piece, each.value) for each in ledger.all_looks] == [("racks", 2, 88.0)]
    with pytest.raises(pr.InputError, match="there is no such ledger"):
        pr.read_kept(tmp_path / "none.sqlite")
    assert not (tmp_path / "none.sqlite").exists(), "it is not made"


def test_wishes_are_read() -> None:
    wishes = pr.read_wishes(EXAMPLES / "turkey-dinner" / "turkey-dinner.toml")
    assert isinstance(wishes, pr.Wishes)


@pytest.mark.parametrize("path", MIXES, ids=lambda path: path.stem)
def test_a_mix_that_was_written_is_read_the_same(path: Path, tmp_path: Path) -> None:
    mix = pr.read_mix(path)
    pr.write_mix(mix, tmp_path / "again.toml")
    assert pr.read_mix(tmp_path / "again.toml") == mix


def test_mixes_in_a_mix_are_files_beside_it(tmp_path: Path) -> None:
    inner = pr.Mix("Pepper base", "rub", (MixLine(Amount("weight", 0.02), food="black-pepper"),))
    spoon, half_spoon = parse_volume("1 tbsp"), parse_volume("7.3 ml")
    honey = OwnFood(
        "yard honey", 0.021, spoon, 60.0, carb_g=17.0, sugars_g=17.0, shu=(1000.0, 2500.0), acid=(0.01, 0.02),
        contains=("soy",), measured=True,
    )  # fmt: skip
    lines = (
        MixLine(Amount("parts", 2.0), mix=inner),
        MixLine(Amount("spoons", half_spoon), own="yard honey", price_per_kg=11.0),
        MixLine(Amount("weight", 0.1), food="brown-sugar", pack_kg=0.5),
    )
    outer = pr.Mix(
        "gate rub", "rub", lines, part=Amount("weight", 0.01), foods=(honey,), serving=Amount("spoons", spoon),
        covers=(Cover(2.5, "weight"), Cover(3.0, "batch"), Cover(0.4, "area")),
        plate=Plate("spareribs", 6.0, 12.0, 0.7, 0.9), currency="EUR",
    )  # fmt: skip
    pr.write_mix(outer, tmp_path / "gate.toml")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["gate.toml", "pepper-base.toml"]
    assert pr.read_mix(tmp_path / "gate.toml") == outer


def test_a_mix_is_not_written_over_another(tmp_path: Path) -> None:
    inner = pr.Mix("gate", "rub", (MixLine(Amount("weight", 0.02), food="black-pepper"),))
    outer = pr.Mix("gate rub", "rub", (MixLine(Amount("weight", 0.01), mix=inner),))
    with pytest.raises(pr.InputError, match="written over another"):
        pr.write_mix(outer, tmp_path / "gate.toml")
    assert not list(tmp_path.iterdir())


@given(
    st.sampled_from(["weight", "spoons", "parts"]).flatmap(
        lambda kind: st.builds(
            Amount, st.just(kind),
            st.floats(*{"weight": (1e-6, 1000.0), "spoons": (1e-8, 1.0), "parts": (1e-4, 1e4)}[kind]),
        )
    )
)  # fmt: skip
def test_any_amount_is_read_as_it_was_written(amount: Amount) -> None:
    mix = pr.Mix("any", "rub", (MixLine(amount, food="salt"),), part=Amount("weight", 0.01))
    again = mix_from_text(mix_text(mix), "any.toml").lines[0].amount
    assert again.kind == amount.kind
    assert again.value == pytest.approx(amount.value, rel=1e-12)


def test_what_cannot_be_read_or_written_is_one_error(tmp_path: Path) -> None:
    cook = pr.read_cook(COOKS[0])
    there = tmp_path / "there.toml"
    there.write_text("as it was", encoding="utf-8")
    for call, words in (
        (lambda: pr.read_cook(tmp_path / "none.toml"), "there is no such file"),
        (lambda: pr.read_cook(7), "a int is no path"),  # type: ignore[arg-type]
        (lambda: pr.write_cook("cook", there), "a str is no cook"),  # type: ignore[arg-type]
        (lambda: pr.write_cook(cook, tmp_path / "no" / "folder.toml"), "cannot be written"),
        (lambda: pr.read_ledger("day.csv", cook, dates="year first"), "dates is"),  # type: ignore[arg-type]
        (lambda: pr.write_ledger(pr.Ledger(), cook, there, degrees="K"), "degrees is 'K'"),  # type: ignore[arg-type]
        (lambda: pr.plan(COOKS[0], limit_s=0.0), "limit_s is 0.0"),
        (lambda: pr.plan(pr.read_cook(COOKS[0])), "a cook is planned already"),
        (lambda: pr.reckon(COOKS[0], seed=-1), "the seed is '-1'"),
        (lambda: pr.study(3, out="nowhere"), "a int is no study"),
        (lambda: pr.reckon(cook, now=datetime(2026, 10, 17, 12)), "no zone"),  # noqa: DTZ001
        (lambda: pr.judge(cook), "no members to judge"),  # type: ignore[arg-type]
    ):
        with pytest.raises(pr.InputError, match=words):
            call()
    assert there.read_text(encoding="utf-8") == "as it was"


@pytest.mark.kernel
def test_a_reckoned_cook_is_the_command_s() -> None:
    """The same cook, ledger, moment, members and seed give the outlook that ``pitreckon reckon --json`` prints."""
    from pitreckon.reckon.document import document_of
    from pitreckon.reckon.forecast import reckon

    now = datetime(2026, 10, 17, 20, 50, tzinfo=UTC)
    cook = pr.read_cook(COOKS[0])
    ledger = pr.read_ledger(COOKS[0].parent / "day.csv", cook)
    got = pr.reckon(COOKS[0], COOKS[0].parent / "day.csv", now=now, members=32, seed=4)
    assert got.document() == document_of(reckon(cook, ledger, now=now, members=32, seed=4)).model_dump(mode="json")
    assert "harvest table" in repr(got)
    assert got.item("racks").label == "racks"
    with pytest.raises(pr.InputError, match="no item 'ribs'"):
        got.item("ribs")
    safety = pr.judge(got, {"butt": "intact"})
    assert {piece.label for piece in safety.ahead} == {"butt", "racks", "thighs"}
    with pytest.raises(pr.InputError, match="no item 'ribs'"):
        pr.judge(got, {"ribs": "intact"})


@pytest.mark.kernel
def test_a_planned_day_is_a_cook_to_follow(tmp_path: Path) -> None:
    (tmp_path / "wings.toml").write_text(WINGS, encoding="utf-8")
    day = pr.plan(tmp_path / "wings.toml", limit_s=1.0)
    assert day.cook is not None
    assert day.as_asked
    assert day.chance is not None
    assert 0.8 <= day.chance <= 1.0, "the chance that is asked for where nothing is said"
    assert day.schedule is day.answer.best
    assert repr(day).startswith("<plan of wings for four: ")
    pr.write_cook(day.cook, tmp_path / "day.toml")
    assert {item.label for item in pr.read_cook(tmp_path / "day.toml").items} == {i.label for i in day.cook.items}
