"""State in tables of its own: brought up from a store of the first state and back, and changed by two at once."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from sqlalchemy import Connection, inspect, text

from pitreckon.errors import InputError, PitreckonError
from pitreckon.ledger.store import (
    LearnedCook,
    MixRow,
    PitSaid,
    Store,
    accounts,
    cameout,
    drafts,
    engine,
    house,
    mixes,
    place,
)
from pitreckon.ledger.store.schema import VERSION_TABLE, metadata, us_of
from pitreckon.ledger.store.states import CookState, change_state

NOW = datetime(2026, 10, 17, 18, 50, tzinfo=UTC)
HOUR = timedelta(hours=1)
PLAN = "[cook]\nname = 'supper'\n"
MOVED = {"mixes", "mix_parts", "pairing_links", "told_to", "seals", "meat_said", "drafts", "wishes", "plan_versions"}
MOVED |= {"came_out", "house_lessons", "left_out", "pits_anew", "pits_said", "batches"}
FILLED: dict[str, list[dict[str, Any]]] = json.loads(
    (Path(__file__).parent / "filled_0001.json").read_text(encoding="utf-8")
)
"""The rows of a store that the code of the first state has filled itself (commit f67b174), secrets and all."""
SETTINGS = {row["name"]: json.loads(row["content"]) for row in FILLED["settings"]}
PREFS = {row["name"]: json.loads(row["prefs"]) for row in FILLED["people"]}


def address_of(kind: str, request: pytest.FixtureRequest, tmp_path: Path) -> str:
    if kind == "sqlite":
        return str(tmp_path / "ledger.sqlite")
    return str(request.getfixturevalue("postgres_server").new_database())


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.servers)])
def address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    return address_of(request.param, request, tmp_path)


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    with Store.open(address) as opened:
        yield opened


# --- from the first state to this one, and back


def in_database(address: str, work: Callable[[Connection], Any]) -> Any:
    """Do something in a database without bringing it up to the present state."""
    there = place.place_of(address)
    if there.file is not None:
        place.prepare_file(there.file)
    found = engine._sqlite(there) if there.file is not None else engine._postgres(there)
    try:
        with engine.writing(found.connect()) as connection, connection.begin():
            if there.file is not None:
                connection.exec_driver_sql(f"PRAGMA application_id = {engine.APPLICATION_ID}")
            return work(connection)
    finally:
        found.dispose()


def fill(connection: Connection) -> None:
    """A store of the first state, with what it held."""
    command.upgrade(engine.steps_of(connection), "0001")
    for table, rows in FILLED.items():
        for row in rows:
            names = ", ".join(row)
            connection.execute(text(f"INSERT INTO {table} ({names}) VALUES (:{', :'.join(row)})"), row)


def rows_of(connection: Connection) -> dict[str, list[dict[str, Any]]]:
    """All rows of all tables, those of the state's own number left out."""
    names = sorted(set(inspect(connection).get_table_names()) - {VERSION_TABLE})
    found = {}
    for name in names:
        rows = [dict(row) for row in connection.execute(text(f"SELECT * FROM {name}")).mappings()]
        found[name] = sorted(rows, key=lambda row: json.dumps(row, sort_keys=True))
    return found


def said(rows: dict[str, list[dict[str, Any]]]) -> dict[str, Any]:
    """What rows of the first state say: JSON read, so that the order of its keys and what is empty say nothing."""
    plain = {name: [{**row} for row in each] for name, each in rows.items() if each and name not in {"settings"}}
    for person in plain["people"]:
        person["prefs"] = {key: value for key, value in json.loads(person["prefs"]).items() if value != ""}
    ordered = {name: sorted(each, key=lambda row: json.dumps(row, sort_keys=True)) for name, each in plain.items()}
    return {**ordered, "settings": {row["name"]: json.loads(row["content"]) for row in rows["settings"]}}


def test_a_store_of_the_first_state_is_brought_up(address: str) -> None:
    in_database(address, fill)
    with Store.open(address) as store:
        found = mixes.all_mixes(store)
        assert len(found) == 3
        for key, mix in SETTINGS["mixes"].items():
            assert found[key] == MixRow(key, mix["name"], mix["text"], tuple(mix["inside"]))
        assert found["gate-rub-s-ss"].parts == ("gate rub",)
        for cook_id in ("supper", "sunday"):
            told = accounts.all_told(store, cook_id)
            assert told == {"": frozenset(SETTINGS[f"told:{cook_id}"])}
            assert told[""]
        assert drafts.wishes_of(store, "supper") == SETTINGS["day/supper"]
        assert drafts.wishes_of(store, "sunday") is None
        people = {person.name: person for person in accounts.all_people(store)}
        owner, helper = people["owner"], people["barn helper"]
        assert drafts.draft(store, owner.id, "day") == PREFS["owner"]["day"]
        assert drafts.draft(store, owner.id, "day before") == PREFS["owner"]["day_before"]
        assert drafts.draft(store, helper.id, "day") == PREFS["barn helper"]["day"]
        assert drafts.draft(store, helper.id, "day before") is None
        kept = {"degrees": "C", "mass": "kg", "hands": "24", "theme": "sun", "cook": "supper"}
        assert (owner.prefs, helper.prefs) == (kept, {})
        assert len(SETTINGS["pairing"]) == 2
        for id_hash, link in SETTINGS["pairing"].items():
            until = datetime.fromisoformat(link["until"])
            assert accounts.link_role(store, id_hash, until - timedelta(microseconds=1)) == link["role"]
            assert accounts.link_role(store, id_hash, until) is None
        assert accounts.setting(store, "signing key") == SETTINGS["signing key"]
        assert accounts.setting(store, "told:gone") == ["of no cook"], "it has no place, and is not lost"
        for name in ("mixes", "pairing", "day/supper", "told:supper", "told:sunday"):
            assert accounts.setting(store, name) is None, name
        assert [each.alert_key for each in accounts.all_acknowledged(store, "supper")] == ["wrap racks"]
        assert [entry.id for entry in store.entries("supper")] == ["e0", "e1", "e2"]
        assert store.cook("supper").plan_version == 2
        assert store.replaced_plans("supper") == [], "the first state kept none"


def test_an_export_has_the_same_bytes_in_both_states(address: str) -> None:
    in_database(address, fill)
    with Store.open(address) as store:
        lines = list(store.export_jsonl("supper"))
        store.replace_plan("sunday", store.cook("sunday").plan_toml + "# later\n")
    assert '"plan_version"' not in "".join(lines)
    assert len(lines) == 5
    in_database(address, lambda connection: command.downgrade(engine.steps_of(connection), "0001"))
    with Store.open(address) as store:
        assert list(store.export_jsonl("supper")) == lines


def test_the_way_back_keeps_all_of_it(address: str) -> None:
    in_database(address, fill)
    before = in_database(address, rows_of)
    Store.open(address).close()
    in_database(address, lambda connection: command.downgrade(engine.steps_of(connection), "0001"))
    back = in_database(address, rows_of)
    assert set(back) == set(metadata.tables) - MOVED
    assert said(back) == said(before)


def test_what_the_first_state_has_no_place_for_comes_again(address: str) -> None:
    in_database(address, fill)
    with Store.open(address) as store:
        helper = next(person for person in accounts.all_people(store) if person.name == "barn helper")
        drafts.save_draft(store, helper.id, "mix form", '{"name": "half"}')
        store.replace_plan("supper", PLAN, "owner")
        plans = store.replaced_plans("supper")
    whole = in_database(address, rows_of)
    in_database(address, lambda connection: command.downgrade(engine.steps_of(connection), "0001"))
    with Store.open(address) as store:
        assert store.replaced_plans("supper") == plans
        assert drafts.draft(store, helper.id, "mix form") == '{"name": "half"}'
    assert in_database(address, rows_of) == whole


# --- what each table holds


def test_the_plans_that_were_replaced(store: Store) -> None:
    cook_id = store.add_cook(PLAN, "supper").id
    before = datetime.now(UTC)
    store.replace_plan(cook_id, PLAN + "# two\n", "owner")
    changed = store.replace_plan(cook_id, PLAN + "# three\n", "barn helper")
    first, second = store.replaced_plans(cook_id)
    assert (first.plan_version, first.plan_toml, first.replaced_by) == (1, PLAN, "owner")
    assert (second.plan_version, second.plan_toml, second.replaced_by) == (2, PLAN + "# two\n", "barn helper")
    assert us_of(before) <= us_of(first.replaced_utc) <= us_of(second.replaced_utc) <= us_of(datetime.now(UTC))
    assert store.cook(cook_id) == changed
    assert (changed.plan_version, changed.plan_toml) == (3, PLAN + "# three\n")
    with pytest.raises(InputError, match="no cook 'nobody'"):
        store.replaced_plans("nobody")
    with pytest.raises(InputError, match="by"):
        store.replace_plan(cook_id, PLAN, "\0")
    assert len(store.replaced_plans(cook_id)) == 2


def test_alerts_that_were_told_to_each_address(store: Store) -> None:
    cook_id, other = store.add_cook(PLAN, "supper").id, store.add_cook(PLAN, "lunch").id
    assert accounts.all_told(store, cook_id) == {}
    accounts.note_told(store, cook_id, ["wrap racks", "pit low"], "a")
    accounts.note_told(store, cook_id, ["pit low", "x" * 300], "a")
    accounts.note_told(store, cook_id, ["pit low"], "b")
    assert accounts.all_told(store, cook_id) == {"a": {"wrap racks", "pit low", "x" * 300}, "b": {"pit low"}}
    assert accounts.all_told(store, other) == {}
    with pytest.raises(InputError, match="no cook 'nobody'"):
        accounts.note_told(store, "nobody", ["pit low"])


def test_addresses_and_links_come_again_from_the_state_before(address: str) -> None:
    in_database(address, fill)
    with Store.open(address) as store:
        accounts.note_told(store, "supper", ["pit low"], "a" * 64)
        store.say_meat("supper", "racks", "injected", "owner")
        store.say_meat("supper", "racks", "intact", "owner")
    whole = in_database(address, rows_of)
    assert {row["link"] for row in whole["cooks"]} & {""} == set(), "every cook has a link"
    in_database(address, lambda connection: command.downgrade(engine.steps_of(connection), "0002"))
    old = in_database(address, rows_of)
    assert {"cook_id": "supper", "alert_key": "pit low"} in old["told_alerts"]
    Store.open(address).close()
    assert in_database(address, rows_of) == whole


def test_what_was_said_of_the_meat_is_kept_all_of_it(store: Store) -> None:
    cook_id = store.add_cook(PLAN, "supper").id
    for words, by in (("injected", "owner"), ("injected, bladed", "barn helper")):
        store.say_meat(cook_id, "butt", words, by)
    said = store.meat_said(cook_id)
    assert [(each.item, each.number, each.words, each.by) for each in said] == [
        ("butt", 1, "injected", "owner"),
        ("butt", 2, "injected, bladed", "barn helper"),
    ]
    for words in ("\0", "x" * 5000):
        with pytest.raises(InputError, match="words"):
            store.say_meat(cook_id, "butt", words, "owner")
    with pytest.raises(InputError, match="no cook"):
        store.say_meat("nobody", "butt", "intact", "owner")


def test_an_export_carries_plans_and_meat(store: Store, tmp_path: Path) -> None:
    cook_id = store.add_cook(PLAN, "supper").id
    store.replace_plan(cook_id, PLAN + "# two\n", "owner")
    store.say_meat(cook_id, "butt", "injected", "owner")
    lines = list(store.export_jsonl(cook_id))
    assert json.loads(lines[0])["form"] == 2
    with Store.open(tmp_path / "other.sqlite") as other:
        for _ in range(2):
            other.import_jsonl(lines)
        assert other.replaced_plans(cook_id) == store.replaced_plans(cook_id)
        assert other.meat_said(cook_id) == store.meat_said(cook_id)
        assert other.cook(cook_id).plan_version == 2
        assert list(other.export_jsonl(cook_id)) == lines
        for n, old, new in ((1, '"version":1', '"version":"1"'), (1, '"version":1', '"version":0'), (2, "butt", "")):
            with pytest.raises(InputError):
                other.import_jsonl([*lines[:n], lines[n].replace(old, new), *lines[n + 1 :]])


def test_a_link_lets_one_phone_in(store: Store) -> None:
    accounts.add_link(store, "old", "cook", NOW - HOUR, NOW - 2 * HOUR)
    accounts.add_link(store, "one", "cook", NOW + HOUR, NOW)
    assert accounts.link_role(store, "old", NOW - 2 * HOUR) is None, "those that have run out go"
    assert accounts.pair(store, "none", "phone", NOW, "owner") is None
    assert accounts.pair(store, "one", "phone", NOW + HOUR, "owner") is None, "its time is over"
    with pytest.raises(InputError, match="name"):
        accounts.pair(store, "one", " ", NOW, "owner")
    assert accounts.link_role(store, "one", NOW) == "cook", "a bad name uses nothing up"
    came = accounts.pair(store, "one", "phone", NOW, "owner")
    assert came is not None
    assert (came.name, came.role) == ("phone", "cook")
    assert accounts.all_people(store) == [came]
    assert accounts.pair(store, "one", "other phone", NOW, "owner") is None
    for link, name in (("first", "mine"), ("second", "mine too")):
        accounts.add_link(store, link, "owner", NOW + HOUR, NOW)
        owner = accounts.pair(store, link, name, NOW, "owner")
        assert owner is not None
        assert owner.name == "mine"


def test_drafts_are_of_a_person_and_a_kind(store: Store) -> None:
    one, other = (accounts.add_person(store, name, "cook", "").id for name in ("one", "other"))
    assert drafts.draft(store, one, "day") is None
    drafts.save_draft(store, one, "day", "first", before="day before")
    assert drafts.draft(store, one, "day before") is None
    assert not drafts.swap_drafts(store, one, "day", "day before")
    drafts.save_draft(store, one, "day", "second", before="day before")
    drafts.save_draft(store, one, "mix form", "half")
    assert drafts.swap_drafts(store, one, "day", "day before")
    assert [drafts.draft(store, one, kind) for kind in ("day", "day before", "mix form")] == ["first", "second", "half"]
    assert drafts.draft(store, other, "day") is None
    with pytest.raises(InputError, match="no such person"):
        drafts.save_draft(store, "nobody", "day", "x")
    with pytest.raises(InputError, match="kind"):
        drafts.save_draft(store, one, "", "x")
    accounts.remove_person(store, one)
    assert store.read(lambda c: c.execute(text("SELECT count(*) FROM drafts")).scalar()) == 0


def test_mixes_change_only_as_they_were_seen(store: Store) -> None:
    assert mixes.change_mixes(store, {}, save=MixRow("rub", "rub", "a = 1"))
    seen = mixes.all_mixes(store)
    assert mixes.change_mixes(store, seen, save=MixRow("glaze", "glaze", "b = 1", ("rub", "rub")))
    assert not mixes.change_mixes(store, seen, drop="rub"), "somebody has put it into another since"
    now = mixes.all_mixes(store)
    assert now == {"glaze": MixRow("glaze", "glaze", "b = 1", ("rub", "rub")), **seen}
    assert mixes.change_mixes(store, now, save=MixRow("glaze", "Glaze", "b = 2", ()))
    assert mixes.change_mixes(store, mixes.all_mixes(store), drop="glaze")
    assert mixes.all_mixes(store) == seen
    with pytest.raises(InputError, match="mix"):
        mixes.change_mixes(store, seen, save=MixRow("x", "x", "\0"))


# --- what the house has learned


def learned(cook_id: str, seq: int = 3) -> LearnedCook:
    return LearnedCook(cook_id, seq, 1, "0.2.0", NOW, NOW + HOUR, '{"form": "pitreckon lessons 1"}')


def teach(store: Store, one: str, other: str) -> PitSaid:
    """Two cooks taught something, one of them is left out; one pit is another, of one something was said."""
    assert house.keep_learned(store, learned(other))
    assert house.keep_learned(store, learned(one, 2))
    assert house.keep_learned(store, learned(one, 4))
    house.leave_out(store, other, "barn helper", NOW)
    house.leave_out(store, other, "owner", NOW + HOUR)
    cameout.say_how(store, one, "Ana", 4, "bark a little soft", NOW)
    house.start_anew(store, "barn pit", NOW - 2 * HOUR, "owner", NOW)
    house.start_anew(store, "barn pit", NOW - HOUR, "owner", NOW)
    return house.say_of_pit(store, ("gate pit", "kettle", "offset"), -5.5, 2.7, NOW, "owner", NOW)


def test_what_the_house_has_learned(store: Store) -> None:
    one, other = store.add_cook(PLAN, "supper", cook_id="a").id, store.add_cook(PLAN, "lunch", cook_id="b").id
    assert house.house_rows(store) == house.HouseRows()
    said = teach(store, one, other)
    rows = house.house_rows(store)
    assert rows.learned == (learned(one, 4), learned(other)), "what was learned before gives way"
    assert [(each.cook_id, each.by) for each in rows.left_out] == [(other, "barn helper")], "who did so first is noted"
    assert [(each.pit, each.since_utc) for each in rows.anew] == [("barn pit", NOW - HOUR)]
    assert rows.said == (said,)
    assert (said.amount, said.give, said.by) == (-5.5, 2.7, "owner")
    house.forget_learned(store, one)
    house.take_in_again(store, other)
    house.as_before(store, "barn pit")
    house.unsay(store, said.id)
    assert house.house_rows(store) == house.HouseRows(learned=(learned(other),))


def test_what_cannot_be_kept_of_a_house_is_refused(store: Store) -> None:
    with pytest.raises(InputError, match="no cook 'nobody'"):
        house.leave_out(store, "nobody", "owner", NOW)
    with pytest.raises(InputError, match="blank"):
        house.start_anew(store, " ", NOW, "owner", NOW)
    for amount, give in ((float("nan"), 1.0), (1.0, 0.0), (1.0, float("inf"))):
        with pytest.raises(InputError, match="no number"):
            house.say_of_pit(store, ("barn pit", "kettle", "offset"), amount, give, NOW, "owner", NOW)
    assert not house.keep_learned(store, learned("nobody")), "it was removed while it was being learned from"
    assert house.house_rows(store) == house.HouseRows()


def test_a_cook_that_is_removed_takes_its_lessons_along(store: Store) -> None:
    cook_id = store.add_cook(PLAN, "supper").id
    house.keep_learned(store, learned(cook_id, 0))
    house.leave_out(store, cook_id, "owner", NOW)
    store.remove_cook(cook_id)
    assert house.house_rows(store) == house.HouseRows()


def test_what_was_learned_comes_again_from_the_state_before(address: str) -> None:
    in_database(address, fill)
    with Store.open(address) as store:
        teach(store, "supper", "sunday")
        rows = house.house_rows(store)
    whole = in_database(address, rows_of)
    for state in ("0003", "0001"):
        in_database(address, lambda connection, to=state: command.downgrade(engine.steps_of(connection), to))
        assert not {"house_lessons", "left_out"} & set(in_database(address, rows_of))
        with Store.open(address) as store:
            assert house.house_rows(store) == rows
        assert in_database(address, rows_of) == whole


def test_an_export_says_that_a_cook_is_left_out_and_leaves_lessons_to_be_learned_anew(
    store: Store, tmp_path: Path
) -> None:
    cook_id = store.add_cook(PLAN, "supper").id
    house.keep_learned(store, learned(cook_id, 0))
    plain = list(store.export_jsonl(cook_id))
    assert json.loads(plain[0])["form"] == 1
    house.leave_out(store, cook_id, "owner", NOW)
    lines = list(store.export_jsonl(cook_id))
    assert json.loads(lines[0])["form"] == 3
    with Store.open(tmp_path / "other.sqlite") as other:
        for _ in range(2):
            other.import_jsonl(lines)
        rows = house.house_rows(other)
        assert (rows.learned, rows.left_out) == ((), house.house_rows(store).left_out)
        assert list(other.export_jsonl(cook_id)) == lines
        with pytest.raises(InputError, match="by is missing"):
            other.import_jsonl([lines[0], lines[1].replace('"owner"', "1"), lines[2]])


# --- how it came out


def test_each_who_ate_has_one_word_on_it(store: Store, tmp_path: Path) -> None:
    cook_id = store.add_cook(PLAN, "supper").id
    assert cameout.how_all(store) == {}
    cameout.say_how(store, cook_id, "Ana", 2, "tough", NOW)
    ben = cameout.say_how(store, cook_id, "Ben", 5, "", NOW + HOUR)
    ana = cameout.say_how(store, cook_id, "Ana", 3, "tough at the ends", NOW + 2 * HOUR)
    assert cameout.how_all(store) == {cook_id: (ben, ana)}
    for rating, note, says in ((0, "", "no rating 0"), (6, "", "no rating 6"), (3, "\0", "none")):
        with pytest.raises(InputError, match=says):
            cameout.say_how(store, cook_id, "Ana", rating, note, NOW)
    with pytest.raises(InputError, match="no cook"):
        cameout.say_how(store, "nobody", "Ana", 3, "", NOW)
    lines = list(store.export_jsonl(cook_id))
    assert json.loads(lines[0])["form"] == 3
    with Store.open(tmp_path / "other.sqlite") as other:
        other.import_jsonl(lines)
        later = cameout.say_how(other, cook_id, "Ben", 4, "less so today", NOW + 3 * HOUR)
        other.import_jsonl(lines)
        assert cameout.how_all(other) == {cook_id: (ana, later)}, "what was said later holds"
        with pytest.raises(InputError, match="no rating 9"):
            other.import_jsonl([line.replace('"rating":5', '"rating":9') for line in lines])
    store.remove_cook(cook_id)
    assert cameout.how_all(store) == {}


# --- two at once


def at_once(address: str, works: list[Callable[[Store], object]]) -> list[object]:
    """Each piece of work in a program of its own on one store, all let go together; what each gave or raised."""
    gate, out = threading.Barrier(len(works)), [None] * len(works)

    def run(n: int) -> None:
        with Store.open(address) as store:
            gate.wait(60)
            try:
                out[n] = works[n](store)
            except PitreckonError as fault:
                out[n] = fault

    threads = [threading.Thread(target=run, args=(n,)) for n in range(len(works))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return out


def test_two_phones_of_one_person_undo_nothing_of_each_other(address: str) -> None:
    """Both have read the person before either writes: whoever wrote back all of it would undo the other."""
    with Store.open(address) as one, Store.open(address) as two:
        owner = accounts.add_person(one, "owner", "owner", "", {"degrees": "F", "theme": "dark"})
        first, second = accounts.person(one, owner.id), accounts.person(two, owner.id)
        assert first == second == owner
        accounts.merge_prefs(one, owner.id, {"degrees": "C"})
        accounts.merge_prefs(two, owner.id, {"cook": "supper"})
        accounts.merge_prefs(one, owner.id, {"theme": "sun"})
        found = accounts.person(two, owner.id)
    assert found is not None
    assert found.prefs == {"degrees": "C", "theme": "sun", "cook": "supper"}


def test_preferences_from_many_programs_are_all_kept(address: str) -> None:
    with Store.open(address) as store:
        owner = accounts.add_person(store, "owner", "owner", "").id

    def writes(n: int) -> Callable[[Store], object]:
        return lambda store: [accounts.merge_prefs(store, owner, {f"{n}-{k}": k}) for k in range(8)]

    assert not [each for each in at_once(address, [writes(n) for n in range(3)]) if isinstance(each, Exception)]
    with Store.open(address) as store:
        found = accounts.person(store, owner)
    assert found is not None
    assert found.prefs == {f"{n}-{k}": k for n in range(3) for k in range(8)}


def test_one_link_lets_in_one_of_many(address: str) -> None:
    with Store.open(address) as store:
        accounts.add_link(store, "one", "cook", NOW + HOUR, NOW)

    def comes(n: int) -> Callable[[Store], object]:
        return lambda store: accounts.pair(store, "one", f"phone {n}", NOW, "owner")

    came = [each for each in at_once(address, [comes(n) for n in range(4)]) if each is not None]
    assert len(came) == 1
    with Store.open(address) as store:
        assert accounts.all_people(store) == came


def test_of_many_mixes_seen_alike_one_is_kept(address: str) -> None:
    Store.open(address).close()

    def saves(n: int) -> Callable[[Store], object]:
        return lambda store: mixes.change_mixes(store, {}, save=MixRow(f"rub-{n}", f"rub {n}", "a = 1"))

    assert sorted(at_once(address, [saves(n) for n in range(4)])) == [False, False, False, True]  # type: ignore[type-var]
    with Store.open(address) as store:
        assert len(mixes.all_mixes(store)) == 1


def test_an_export_carries_what_became_of_a_cook(store: Store, tmp_path: Path) -> None:
    cook_id, other_id = store.add_cook(PLAN, "supper").id, store.add_cook(PLAN, "another").id
    off = CookState("2026-10-17T14:05:00+00:00", "owner")
    store.write(lambda connection: change_state(connection, cook_id, lambda _: replace(off, away=True)))
    store.write(lambda connection: change_state(connection, other_id, lambda state: replace(state, away=True)))
    assert [each.words for each in store.states().values()] == ["called off 2026-10-17 by owner, put away", "put away"]
    lines = list(store.export_jsonl(cook_id))
    assert json.loads(lines[0])["form"] == 3
    with Store.open(tmp_path / "other.sqlite") as other:
        for _ in range(2):
            other.import_jsonl(lines)
        assert other.states() == {cook_id: replace(off, away=True)}
        assert list(other.export_jsonl(cook_id)) == lines
        other.write(lambda connection: change_state(connection, cook_id, lambda state: replace(state, away=False)))
        other.import_jsonl(lines)
        assert other.states() == {cook_id: off}, "what the cook is here stands"
        other.write(lambda connection: change_state(connection, cook_id, lambda _: CookState()))
        assert other.states() == {}
        assert json.loads(next(iter(other.export_jsonl(cook_id))))["form"] == 1
        for old, new in (
            ('"away":true', '"away":1'),
            ("2026-10-17T14:05:00+00:00", "noon"),
            ("+00:00", ""),
            ('"by":"owner",', ""),
        ):
            with pytest.raises(InputError):
                other.import_jsonl([lines[0], lines[1].replace(old, new), *lines[2:]])
