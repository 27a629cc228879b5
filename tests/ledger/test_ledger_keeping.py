"""A ledger looked over, copied while it is in use, put back after each kind of damage, and saved where no copy is."""

from __future__ import annotations

import hashlib
import os
import random
import shutil
import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from conftest import Call
from tests.patience import PATIENCE_S

from pitreckon.errors import StoreError
from pitreckon.ledger import Act, Look, Reading
from pitreckon.ledger.keeping.backup import DAYS, WEEKS, back_up, nightly, put_back, too_old
from pitreckon.ledger.keeping.check import look_over
from pitreckon.ledger.keeping.pages import rows_in
from pitreckon.ledger.keeping.photos import photo_faults
from pitreckon.ledger.keeping.salvage import salvage
from pitreckon.ledger.store import Correction, Entry, Store, accounts
from pitreckon.web.live.nights import copy_once

NOON = datetime(2026, 10, 17, 12, tzinfo=UTC)
PLAN = "[cook]\nname = 'supper'\n" + "# a long plan, so that it runs over into further pages\n" * 200
MANY = 3000  # as in the attack: of 3,000 entries the export gave one line


def fill(file: Path, count: int = MANY, begin: int = 0) -> None:
    with Store.open(file) as store:
        if not store.cooks():
            store.add_cook(PLAN, "supper", cook_id="supper")
            store.add_cook(PLAN, "lunch", cook_id="lunch")
            store.say_meat("supper", "racks", "intact", "owner")
            store.replace_plan("lunch", PLAN + "# two\n", "owner")
            accounts.add_person(store, "owner", "owner", "hash")
            accounts.set_setting(store, "house key", "ab" * 32)
        events = [
            Entry(f"e{n:06d}", Reading(NOON + timedelta(seconds=n), "probe", "racks", 1, 20.0 + n % 70 / 3), "barn box")
            for n in range(begin, begin + count - 3)
        ]
        events.append(Entry(f"look{begin}", Look(NOON, "racks", 1, "colour", 1.0, "mahogany", note="n" * 900), "Ann"))
        events.append(Entry(f"act{begin}", Act(NOON, "racks", "wrapped", "foil"), "Ann"))
        events.append(Entry(f"slip{begin}", Correction(f"act{begin}", None, "a slip"), "Ben"))
        for start in range(0, len(events), 500):
            store.append("supper", events[start : start + 500])
        store.append("lunch", [Entry(f"only{begin}", Act(NOON, "racks", "put on"), "Ann")])


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("filled") / "ledger.sqlite"
    fill(file)
    return file


@pytest.fixture
def ledger(filled: Path, tmp_path: Path) -> Path:
    file = tmp_path / "ledger.sqlite"
    shutil.copyfile(filled, file)
    return file


def lines_of(file: Path, cook_id: str = "supper") -> list[str]:
    with Store.open(file) as store:
        return list(store.export_jsonl(cook_id))


# --- kinds of damage


def page_size(file: Path) -> int:
    return int.from_bytes(file.read_bytes()[16:18], "big")


def overwrite(file: Path, at: int, content: bytes) -> None:
    with file.open("r+b") as opened:
        opened.seek(at)
        opened.write(content)


def a_page(file: Path) -> None:
    """One page of entries in the middle is other bytes; none that a plan has run over into."""
    size, content = page_size(file), file.read_bytes()
    leaf = 0x0A  # SQLite's file format, 1.6: a leaf of an index, as entries are kept in
    place = next(at for at in range(len(content) // size // 2, len(content) // size) if content[at * size] == leaf)
    overwrite(file, place * size, random.Random(1).randbytes(size))


def many_pages(file: Path) -> None:
    size = page_size(file)
    chance = random.Random(3)
    for page in chance.sample(range(4, file.stat().st_size // size), 12):
        overwrite(file, page * size, chance.randbytes(size))


def the_first_page(file: Path) -> None:
    """The header and the list of tables."""
    overwrite(file, 0, bytes(page_size(file)))


def the_end(file: Path) -> None:
    """The file breaks off."""
    with file.open("r+b") as opened:
        opened.truncate(file.stat().st_size * 2 // 3)


def a_value(file: Path) -> None:
    """One digit inside a value, which no page notices."""
    content = file.read_bytes()
    at = content.index(b"mahogany")
    overwrite(file, at, b"mahagony")


DAMAGES = (a_page, many_pages, the_first_page, the_end, a_value)
TORN = (a_page, many_pages, the_first_page, the_end)


# --- looked over


def test_a_whole_ledger_is_whole(ledger: Path, pitreckon: Call) -> None:
    found = look_over(ledger)
    assert (found.cooks, found.entries, found.faults) == (2, MANY + 1, ())
    answer = pitreckon("ledger", "check", "--ledger", ledger)
    assert answer.code == 0
    assert "is whole: 2 cooks, 3001 entries" in answer.out


@pytest.mark.parametrize("damage", DAMAGES)
def test_every_damage_is_found(ledger: Path, damage: Callable[[Path], None], pitreckon: Call) -> None:
    """At commit f67b174 nothing looked, and a changed byte inside a value was noticed by nobody."""
    damage(ledger)
    answer = pitreckon("ledger", "check", "--ledger", ledger)
    assert answer.code in {1, 2}, answer.out
    assert answer.out + answer.err


def test_a_changed_value_is_found_where_it_is(ledger: Path) -> None:
    a_value(ledger)
    (fault,) = look_over(ledger).faults
    assert fault == f"supper: something in entries 2001 to {MANY} is otherwise than it was taken in"


@pytest.mark.parametrize(
    ("statement", "words"),
    [
        ("DELETE FROM events WHERE cook_id = 'supper' AND seq = 1500", "entry 1500 is missing"),
        ("DELETE FROM events WHERE cook_id = 'supper' AND seq > 2990", "there are 2990 entries, and the last number"),
        ("UPDATE events SET by_whom = 'Ann' WHERE seq = 7 AND cook_id = 'supper'", "in entries 1 to 1000"),
        ("UPDATE events SET recorded_us = recorded_us + 1 WHERE seq = 2500", "in entries 2001 to 3000"),
        ("UPDATE cooks SET link = 'x' WHERE id = 'lunch'", "lunch: something in entries 1 to 1"),
    ],
)
def test_what_was_changed_by_a_program_is_found(ledger: Path, statement: str, words: str) -> None:
    with closing(sqlite3.connect(ledger)) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(statement)
        connection.commit()
    assert any(words in fault for fault in look_over(ledger).faults), look_over(ledger).faults


@pytest.mark.parametrize("damage", [a_page, many_pages, the_end])
def test_nothing_is_appended_to_a_torn_file(ledger: Path, damage: Callable[[Path], None]) -> None:
    """At commit f67b174 appends went on being accepted: 3,000 entries became 3,010."""
    damage(ledger)
    before = ledger.read_bytes()
    with pytest.raises(StoreError, match="damaged"), Store.open(ledger) as store:
        store.append("supper", [Entry("more", Act(NOON, "racks", "sauced"), "Ann")])
    assert ledger.read_bytes() == before


# --- copied and put back


def test_a_copy_of_a_ledger_in_use_is_whole_and_of_one_moment(ledger: Path, tmp_path: Path) -> None:
    ends, has_begun = threading.Event(), threading.Event()

    def writes() -> None:
        n = 0
        with Store.open(ledger) as store:
            while not ends.is_set():
                store.append("supper", [Entry(f"w{n}", Act(NOON, "racks", "sauced"), "Ann")])
                n += 1
                has_begun.set()

    writer = threading.Thread(target=writes)
    writer.start()
    try:
        counts = []
        assert has_begun.wait(PATIENCE_S)
        for k in range(3):
            copy = back_up(ledger, tmp_path / f"copy{k}.sqlite")
            found = look_over(copy)
            assert found.faults == ()
            counts.append(found.entries)
    finally:
        ends.set()
        writer.join()
    assert counts == sorted(counts)
    assert counts[-1] > MANY + 1, "somebody wrote meanwhile"
    assert not list(tmp_path.glob(".*"))


def test_what_is_in_the_log_alone_is_in_the_copy(tmp_path: Path) -> None:
    """A copy of the file alone missed the last 500 entries: they were in the log beside it."""
    file = tmp_path / "ledger.sqlite"
    with Store.open(file) as store:
        fill(file, 503)
        bare = tmp_path / "bare.sqlite"
        shutil.copyfile(file, bare)
        copy = back_up(file, tmp_path / "copy.sqlite")
        assert store.last_seq("supper") == 503
    assert look_over(copy).entries == 504
    with closing(sqlite3.connect(bare)) as connection, pytest.raises((sqlite3.Error, AssertionError)):
        assert connection.execute("SELECT count(*) FROM events").fetchone()[0] == 504


@pytest.mark.parametrize("damage", [*DAMAGES, Path.unlink])
def test_a_copy_is_put_back_after_each_damage(
    ledger: Path, tmp_path: Path, damage: Callable[[Path], None], pitreckon: Call
) -> None:
    lines = lines_of(ledger)
    assert pitreckon("ledger", "backup", tmp_path / "copies" / "one.sqlite", "--ledger", ledger).code == 0
    damage(ledger)
    copy = tmp_path / "copies" / "one.sqlite"
    if ledger.exists():
        refused = pitreckon("ledger", "restore", copy, "--ledger", ledger)
        assert refused.code == 2
        assert "--over" in refused.err
        torn = ledger.read_bytes()
        assert pitreckon("ledger", "restore", copy, "--ledger", ledger, "--over").code == 0
        assert ledger.with_name("ledger.sqlite.before").read_bytes() == torn
    else:
        assert pitreckon("ledger", "restore", copy, "--ledger", ledger).code == 0
    assert look_over(ledger).faults == ()
    assert lines_of(ledger) == lines
    assert ledger.stat().st_mode & 0o777 == 0o600
    fill(ledger, 10, MANY)  # and on it goes
    assert look_over(ledger).faults == ()


@pytest.mark.parametrize("damage", DAMAGES)
def test_no_copy_is_made_of_what_is_damaged_and_none_is_put_back(
    ledger: Path, tmp_path: Path, damage: Callable[[Path], None]
) -> None:
    copy = back_up(ledger, tmp_path / "copy.sqlite")
    good = copy.read_bytes()
    damage(ledger)
    with pytest.raises(StoreError):
        back_up(ledger, copy)
    assert copy.read_bytes() == good, "the good copy stays"
    assert not list(tmp_path.glob(".*"))
    with pytest.raises(StoreError):
        put_back(ledger, tmp_path / "new.sqlite")
    assert not (tmp_path / "new.sqlite").exists()


def test_a_copy_takes_the_place_of_an_older_copy_and_of_nothing_else(ledger: Path, tmp_path: Path) -> None:
    """A hand log, a pipe or a device, a ledger that knows more: a slip of the fingers loses none of them."""
    log, other, more, pipe = (tmp_path / name for name in ("day.csv", "other.sqlite", "more.sqlite", "pipe"))
    log.write_text("time,kind,on,piece,what,value,note\n")
    with closing(sqlite3.connect(other)) as made:
        made.execute("CREATE TABLE recipes (name TEXT)")
    shutil.copyfile(ledger, more)
    fill(more, 4, begin=MANY)
    os.mkfifo(pipe)
    before = {path: path.read_bytes() for path in (log, other, more)}
    for path, words in ((log, "no copy of a ledger"), (other, "no copy of a ledger"), (more, "has 3006 entries")):
        with pytest.raises(StoreError, match=words):
            back_up(ledger, path)
        assert path.read_bytes() == before[path]
    with pytest.raises(StoreError, match="a device and no file"):
        back_up(ledger, pipe)
    assert pipe.is_fifo()
    link = tmp_path / "newest"
    link.symlink_to(tmp_path / "copy.sqlite")
    for _ in range(2):
        back_up(ledger, link)
    assert link.is_symlink()
    assert look_over(tmp_path / "copy.sqlite").entries == MANY + 1


def test_places_that_cannot_be(ledger: Path, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="own place"):
        back_up(ledger, ledger)
    with pytest.raises(StoreError, match="no ledger"):
        back_up(tmp_path / "none.sqlite", tmp_path / "x.sqlite")
    with pytest.raises(StoreError, match="no such copy"):
        put_back(tmp_path / "none.sqlite", tmp_path / "x.sqlite")
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="cannot be opened for writing"):
        back_up(ledger, tmp_path / "file" / "x.sqlite")
    assert look_over(ledger).faults == ()


@pytest.mark.servers
def test_a_database_is_copied_into_a_file_and_back(
    request: pytest.FixtureRequest, ledger: Path, tmp_path: Path
) -> None:
    server = request.getfixturevalue("postgres_server")
    address, second = str(server.new_database()), str(server.new_database())
    lines = lines_of(ledger)
    put_back(ledger, address)
    assert look_over(address).faults == ()
    copy = back_up(address, tmp_path / "copy.sqlite")
    assert lines_of(copy) == lines
    put_back(copy, second)
    with Store.open(second) as store:
        assert list(store.export_jsonl("supper")) == lines
        assert accounts.setting(store, "house key") == "ab" * 32
        store.append("supper", [Entry("more", Act(NOON, "racks", "sauced"), "Ann")])
    with pytest.raises(StoreError, match="cooks in it already"):
        put_back(copy, second)


# --- each night


def test_one_copy_a_day_and_old_ones_go_by_turns(ledger: Path, tmp_path: Path) -> None:
    folder = tmp_path / "copies"
    for day in (1, 2):
        made = nightly(ledger, folder, datetime(2026, 11, day, 3, tzinfo=UTC))
        assert made == folder / f"ledger-2026-11-0{day}.sqlite"
        assert nightly(ledger, folder, datetime(2026, 11, day, 23, tzinfo=UTC)) is None
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(200)]
    names = [f"ledger-{day}.sqlite" for day in days]
    gone = set(too_old([*names, "ledger-2026-13-45.sqlite", "mine.sqlite"]))
    kept = [name for name in names if name not in gone]
    assert kept[-DAYS:] == names[-DAYS:]
    assert DAYS + WEEKS - 2 <= len(kept) <= DAYS + WEEKS
    assert not gone & {"ledger-2026-13-45.sqlite", "mine.sqlite"}
    left = set(names)
    for n in range(1, 200):  # as it goes night by night
        left -= set(too_old([name for name in names[: n + 1] if name in left]))
    assert DAYS + WEEKS - 2 <= len(left) <= DAYS + WEEKS


def test_a_night_that_finds_damage_stops_what_is_taken_in(ledger: Path, tmp_path: Path) -> None:
    with Store.open(ledger) as store:
        store.append("supper", [Entry("one", Act(NOON, "racks", "sauced"), "Ann")])
        copy_once(store, str(ledger), tmp_path / "copies")
        assert len(list((tmp_path / "copies").iterdir())) == 1
        shutil.rmtree(tmp_path / "copies")
        with closing(sqlite3.connect(ledger)) as connection:
            connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        a_page(ledger)
        copy_once(store, str(ledger), tmp_path / "copies")
        with pytest.raises(StoreError, match="damaged"):
            store.append("supper", [Entry("two", Act(NOON, "racks", "sauced"), "Ann")])


# --- saved


@pytest.mark.parametrize("damage", TORN)
def test_what_is_left_is_saved(ledger: Path, tmp_path: Path, damage: Callable[[Path], None]) -> None:
    lines = {line.split('"id":"')[1].split('"')[0]: line for line in lines_of(ledger) if '"id":"' in line}
    damage(ledger)
    torn = ledger.read_bytes()
    saved = salvage(ledger, tmp_path / "new.sqlite")
    assert ledger.read_bytes() == torn, "the damaged file is only read"
    (supper,) = [cook for cook in saved.cooks if cook.cook_id == "supper"]
    share = {a_page: 0.95, many_pages: 0.8, the_first_page: 0.999, the_end: 0.44}[damage]
    assert supper.entries >= share * MANY, (supper.entries, len(supper.missing))
    assert supper.entries + len(supper.missing) + supper.dropped >= MANY
    assert supper.whole is (supper.entries == MANY)
    found = lines_of(tmp_path / "new.sqlite")
    assert len(found) >= supper.entries + 2
    for line in found:  # each as it was, its number apart
        if '"id":"' in line:
            was = lines[line.split('"id":"')[1].split('"')[0]]
            assert line.split('"id":', 1)[1] == was.split('"id":', 1)[1]
    assert look_over(tmp_path / "new.sqlite").faults == ()
    fill(tmp_path / "new.sqlite", 10, MANY)


@pytest.mark.parametrize("damage", TORN)
def test_an_older_copy_fills_what_is_missing(tmp_path: Path, damage: Callable[[Path], None], pitreckon: Call) -> None:
    file = tmp_path / "ledger.sqlite"
    fill(file)
    copy = back_up(file, tmp_path / "copy.sqlite")
    fill(file, 103, MANY)
    lines = lines_of(file)
    damage(file)
    answer = pitreckon("ledger", "salvage", file, tmp_path / "new.sqlite", "--also", copy)
    with Store.open(tmp_path / "new.sqlite") as store:
        saved = store.last_seq("supper")
        assert store.cook("supper").plan_toml == PLAN
        assert [each.words for each in store.meat_said("supper")] == ["intact"]
        assert [person.name for person in accounts.all_people(store)] == ["owner"]
        assert accounts.setting(store, "house key") == "ab" * 32
    if saved == MANY + 103:
        assert lines_of(tmp_path / "new.sqlite")[-saved - 1 :] == lines[-saved - 1 :]
        assert "supper: 3103 entries, all of it" in answer.out
    assert saved >= MANY
    assert "missing" in answer.out or saved == MANY + 103


def test_entries_that_only_the_log_has_are_saved(tmp_path: Path) -> None:
    file = tmp_path / "ledger.sqlite"
    fill(file, 303)
    with Store.open(file):
        fill(file, 53, 303)
        for end in ("", "-wal"):
            shutil.copyfile(file.with_name(file.name + end), tmp_path / f"torn.sqlite{end}")
    overwrite(tmp_path / "torn.sqlite", 0, bytes(4096))
    saved = salvage(tmp_path / "torn.sqlite", tmp_path / "new.sqlite")
    assert {cook.cook_id: cook.entries for cook in saved.cooks}["supper"] == 356


def test_a_whole_ledger_is_saved_whole(ledger: Path, tmp_path: Path) -> None:
    saved = salvage(ledger, tmp_path / "new.sqlite")
    assert all(cook.whole for cook in saved.cooks)
    assert saved.torn == ()
    assert lines_of(tmp_path / "new.sqlite") == lines_of(ledger)
    with Store.open(tmp_path / "new.sqlite") as store:
        assert [person.name for person in accounts.all_people(store)] == ["owner"]
        assert accounts.setting(store, "house key") == "ab" * 32


def test_what_cannot_be_saved(tmp_path: Path, ledger: Path) -> None:
    (tmp_path / "noise").write_bytes(random.Random(3).randbytes(100_000))
    (tmp_path / "empty").write_bytes(b"")
    for name in ("noise", "empty"):
        with pytest.raises(StoreError, match="no cook"):
            salvage(tmp_path / name, tmp_path / "new.sqlite")
    assert not (tmp_path / "new.sqlite").exists()
    with pytest.raises(StoreError, match="file already"):
        salvage(ledger, ledger)
    with pytest.raises(StoreError, match="no such file"):
        salvage(tmp_path / "none", tmp_path / "new.sqlite")


def test_rows_are_read_out_of_pages_as_sqlite_reads_them(tmp_path: Path) -> None:
    """SQLite itself is the judge: every kind of value, and texts that run over into many pages."""
    chance = random.Random(4)
    rows = [
        (
            f"k{n:05d}",
            chance.choice([None, 0, 1, -1, 127, -129, 2**15, -(2**23), 2**31, 2**47, -(2**62)]),
            chance.choice([None, 0.5, -1e300, 3.0]),
            "ä" * chance.choice([0, 1, 40, 500, 3000, 20_000]),
            chance.randbytes(chance.choice([0, 5, 900])),
        )
        for n in range(400)
    ]
    for size in (512, 1024, 4096, 65536):
        for kind in ("", "WITHOUT ROWID"):
            file = tmp_path / f"{size}{kind[:1]}.sqlite"
            with closing(sqlite3.connect(file)) as connection:
                connection.execute(f"PRAGMA page_size = {size}")
                connection.execute(f"CREATE TABLE t (a TEXT PRIMARY KEY, b INTEGER, c REAL, d TEXT, e BLOB) {kind}")
                connection.executemany("INSERT INTO t VALUES (?, ?, ?, ?, ?)", rows)
                connection.commit()
            found = {row for row in rows_in(file) if len(row) == 5 and str(row[0]).startswith("k")}
            assert found == set(rows), (size, kind)


# --- photos


def photo_of(ledger: Path, content: bytes, key: str) -> Path:
    """A photo as the page keeps it, and an entry that names it."""
    name = hashlib.sha256(content).hexdigest()
    folder = ledger.with_name("ledger.sqlite.photos")
    folder.mkdir(exist_ok=True)
    (folder / f"{name}.jpg").write_bytes(content)
    with Store.open(ledger) as store:
        look = Look(NOON, "racks", 1, "colour", 1.0, "amber", note=f"here [photo {name}]")
        store.append("supper", [Entry(key, look, "Ann")])
    return folder / f"{name}.jpg"


def test_photos_go_with_a_copy_and_come_back(ledger: Path, tmp_path: Path, pitreckon: Call) -> None:
    one, two = photo_of(ledger, b"picture one", "p1"), photo_of(ledger, b"picture two", "p2")
    assert photo_faults(ledger) == ()
    back_up(ledger, tmp_path / "copies" / "one.sqlite")
    back_up(ledger, tmp_path / "copies" / "two.sqlite")
    assert sorted(path.name for path in (tmp_path / "copies" / "photos").iterdir()) == sorted([one.name, two.name])
    one.unlink()
    two.write_bytes(b"another picture")
    answer = pitreckon("ledger", "check", "--ledger", ledger)
    assert answer.code == 1
    assert "is missing" in answer.out
    assert "is another picture than it was" in answer.out
    put_back(tmp_path / "copies" / "two.sqlite", ledger, over=True)
    assert photo_faults(ledger) == ()
    assert (one.read_bytes(), two.read_bytes()) == (b"picture one", b"picture two")


def test_a_photo_that_is_not_what_it_was_is_not_copied(ledger: Path, tmp_path: Path) -> None:
    one = photo_of(ledger, b"picture one", "p1")
    one.write_bytes(b"another")
    back_up(ledger, tmp_path / "copies" / "one.sqlite")
    assert not (tmp_path / "copies" / "photos").exists()
