"""Recorded batches: they only grow, are chained, survive every way of keeping, and are recalled in both directions."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import text
from tests.ledger.test_ledger_store_tables import address, fill, in_database, rows_of  # noqa: F401  address: a fixture

from pitreckon.errors import InputError, StoreError
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.sale.batch import Asked, names_of, sale_of
from pitreckon.flavour.sale.lots import lots_from_text
from pitreckon.flavour.sale.record import lots_inside, made_of, recall, record_text
from pitreckon.ledger.keeping.backup import back_up, put_back
from pitreckon.ledger.keeping.check import look_over
from pitreckon.ledger.keeping.salvage import salvage
from pitreckon.ledger.store import Store, accounts, engine
from pitreckon.ledger.store.batches import add_batch, all_batches

NOW = datetime(2026, 11, 30, 9, 0, tzinfo=UTC)
BASE = '[mix]\nname = "pepper base"\nuse = "rub"\n[[ingredient]]\nfood = "black pepper"\namount = "100 g"\n'
RUB = """
[mix]
name = "orchard rub"
use  = "rub"
[[ingredient]]
food = "brown sugar"
amount = "280 g"
[[ingredient]]
mix = "pepper base"
amount = "60 g"
price = "9 per kg"
"""


def made(mix_toml: str, lots: str, lot: str, jars: int = 30) -> str:
    """The record of a batch."""
    mix = mix_from_text(mix_toml, "mix.toml", lambda name: BASE if name == "pepper base" else None)
    asked = Asked(jars=jars, fill_kg=0.34, made=date(2026, 11, 30), lot=lot)
    return record_text(sale_of(mix, asked, lots_from_text(lots, "lots.toml", names_of(mix))))


def lots_of(**foods: str) -> str:
    return "".join(f'[[lot]]\nfood = "{food.replace("_", " ")}"\nlot = "{lot}"\n' for food, lot in foods.items())


def teach(store: Store) -> None:
    """A base, and two rubs of which one has the base in it."""
    add_batch(store, "PB-1", made(BASE, lots_of(black_pepper="P 77"), "PB-1"), "Ana", NOW)
    add_batch(store, "OR-1", made(RUB, lots_of(brown_sugar="S 11", pepper_base="PB-1"), "OR-1"), "Ana", NOW)
    add_batch(store, "OR-2", made(RUB, lots_of(brown_sugar="S 12"), "OR-2"), "Ben", NOW)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "ledger.sqlite"


def test_a_recall_in_both_directions(file: Path) -> None:
    with Store.open(file) as store:
        teach(store)
        known = made_of(all_batches(store))
    assert [each.lot for each in recall("s11", known).into] == ["OR-1"]
    assert [each.lot for each in recall("P 77", known).into] == ["PB-1", "OR-1"], "by way of the base"
    found = recall("or-1/7", known)
    assert (found.jar, [each.lot for each in found.of], found.into) == (7, ["OR-1"], ())
    assert {lot.lot for _, lot in lots_inside(found.of, known)} == {"S 11", "PB-1", "P 77"}
    whole = recall("PB-1", known)
    assert ([each.lot for each in whole.of], [each.lot for each in whole.into]) == (["PB-1"], ["OR-1"])
    assert not recall("S 13", known).found
    with pytest.raises(InputError, match="no jar 31"):
        recall("OR-1/31", known)
    assert known[2].unlotted == ("pepper base",)


def test_what_a_later_record_replaced_is_found_too(file: Path) -> None:
    with Store.open(file) as store:
        teach(store)
        content = made(RUB, lots_of(brown_sugar="S 99", pepper_base="PB-1"), "OR-1")
        with pytest.raises(InputError, match="recorded already"):
            add_batch(store, "OR-1", content, "Ana", NOW)
        with pytest.raises(InputError, match="recorded yet"):
            add_batch(store, "OR-9", content, "Ana", NOW, again=True)
        add_batch(store, "OR-1", content, "Ana", NOW, again=True)
        known = made_of(all_batches(store))
    assert [(each.seq, each.holds) for each in recall("S 11", known).into] == [(2, False)]
    assert [(each.seq, each.holds) for each in recall("S 99", known).into] == [(4, True)]


def test_records_only_grow(address: str) -> None:  # noqa: F811
    with Store.open(address) as store:
        teach(store)
        for change in ("UPDATE batches SET lot = 'x'", "DELETE FROM batches"):
            with pytest.raises(StoreError):
                store.write(lambda connection, sql=change: connection.execute(text(sql)))
        rows = all_batches(store)
    link = hashlib.sha256(b"pitreckon batches").hexdigest()
    for row in rows:  # FIPS 180-4, by hand: SHA-256 of the link before and the record as JSON
        us = int(row.recorded_utc.timestamp()) * 1_000_000
        written = json.dumps([row.seq, row.lot, row.content, us, row.by], ensure_ascii=False, separators=(",", ":"))
        link = hashlib.sha256((link + written).encode()).hexdigest()
        assert row.link == link
    assert look_over(address).faults == ()


@pytest.mark.parametrize(
    "harm",
    [
        "UPDATE batches SET content = replace(content, 'S 11', 'S 10') WHERE seq = 2",
        "DELETE FROM batches WHERE seq = 2",
        "DELETE FROM batches WHERE seq = 3",
        "UPDATE batches SET by_whom = 'Eve' WHERE seq = 1",
    ],
)
def test_a_record_that_was_changed_is_found_and_what_is_left_is_saved(file: Path, tmp_path: Path, harm: str) -> None:
    with Store.open(file) as store:
        store.add_cook("[cook]\nname = 'supper'\n", "supper")
        teach(store)
    assert look_over(file).faults == ()
    with closing(sqlite3.connect(file)) as connection:
        for trigger in ("batches_no_update", "batches_no_delete"):
            connection.execute(f"DROP TRIGGER {trigger}")
        connection.execute(harm)
        connection.commit()
    (fault,) = look_over(file).faults
    assert fault.startswith("batches: ")
    saved = salvage(file, tmp_path / "new.sqlite")
    assert "batches" in saved.torn
    assert look_over(tmp_path / "new.sqlite").faults == ()


def test_a_copy_has_the_records(file: Path, tmp_path: Path) -> None:
    with Store.open(file) as store:
        teach(store)
        rows = all_batches(store)
    back_up(file, tmp_path / "copy.sqlite")
    put_back(tmp_path / "copy.sqlite", tmp_path / "again.sqlite")
    with Store.open(tmp_path / "again.sqlite") as store:
        assert all_batches(store) == rows
        add_batch(store, "OR-3", made(RUB, "", "OR-3"), "Ana", NOW)
    assert look_over(tmp_path / "again.sqlite").faults == ()


@pytest.mark.servers
def test_a_copy_goes_into_a_database_and_back(request: pytest.FixtureRequest, tmp_path: Path) -> None:
    database = request.getfixturevalue("postgres_server").new_database()
    with Store.open(tmp_path / "a.sqlite") as store:
        store.add_cook("[cook]\nname = 'supper'\n", "supper")
        teach(store)
        rows = all_batches(store)
    back_up(tmp_path / "a.sqlite", tmp_path / "copy.sqlite")
    put_back(tmp_path / "copy.sqlite", database)
    back_up(database, tmp_path / "back.sqlite")
    with Store.open(tmp_path / "back.sqlite") as store:
        assert all_batches(store) == rows


def test_a_filled_store_of_the_fourth_state_is_brought_up_and_back(address: str) -> None:  # noqa: F811
    in_database(address, fill)
    in_database(address, lambda connection: command.upgrade(engine.steps_of(connection), "0004"))
    before = in_database(address, rows_of)
    assert "batches" not in before
    with Store.open(address) as store:
        assert all_batches(store) == ()
        teach(store)
        rows = all_batches(store)
        assert accounts.setting(store, "batches/records") is None
    whole = in_database(address, rows_of)
    assert {name: kept for name, kept in whole.items() if name not in {"batches", "settings"}} == {
        name: kept for name, kept in before.items() if name != "settings"
    }
    in_database(address, lambda connection: command.downgrade(engine.steps_of(connection), "0004"))
    assert "batches" not in in_database(address, rows_of)
    with Store.open(address) as store:
        assert all_batches(store) == rows
    assert in_database(address, rows_of) == whole
    assert look_over(address).faults == ()
