"""A run of twins can be stopped anywhere and goes on with what is missing."""

from __future__ import annotations

import pytest
from validation.twins import run
from validation.twins.store import CHUNK, Store

COLUMNS = ("index", "rows", "value")


def cook(index: int, count: int = 2) -> list[dict[str, str]]:
    return [{"index": str(index), "rows": str(count), "value": f"{index}.{i}"} for i in range(count)]


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path / "made on the way", "few", COLUMNS)


def test_rows_come_back_as_they_went_in(store):
    for index in (3, 0, CHUNK + 1):
        store.add(index, cook(index))
    assert store.rows() == {0: cook(0), 3: cook(3), CHUNK + 1: cook(CHUNK + 1)}
    assert len(store.files()) == 2


@pytest.mark.parametrize("lost", [1, 4, 9, 12])
def test_a_torn_write_loses_one_cook_and_the_file_goes_on_well(store, lost):
    store.add(1, cook(1))
    store.add(2, cook(2))
    file = store.file_of(1)
    file.write_text(file.read_text("utf-8")[:-lost], "utf-8")
    assert store.rows() == {1: cook(1)}
    store.add(5, cook(5))
    assert store.rows() == {1: cook(1), 5: cook(5)}


def test_nothing_is_there_after_clear(store):
    store.add(1, cook(1))
    store.clear()
    assert store.rows() == {}
    assert store.files() == []


def test_a_run_goes_on_where_it_was_stopped(tmp_path, monkeypatch):
    asked = []

    def work(world: str, seed: int, index: int, members: int):
        asked.append(index)
        if len(asked) == 4:
            raise KeyboardInterrupt
        return [{"index": str(index), "rows": "1", "value": f"{seed} {members}"}]

    monkeypatch.setitem(run.WORKS, "few", (work, COLUMNS))
    how = {"seed": 9, "members": 8, "folder": tmp_path, "workers": 1}
    with pytest.raises(KeyboardInterrupt):
        run.run("few", 6, **how)
    assert asked == [0, 1, 2, 3]
    rows = run.run("few", 6, **how)
    assert asked == [0, 1, 2, 3, 3, 4, 5]
    assert [row["index"] for row in rows] == list("012345")
    assert run.run("few", 3, **how) == rows[:3]
    assert len(asked) == 7
    run.run("few", 2, **(how | {"seed": 10}))
    assert len(asked) == 9
    run.run("few", 6, **how, fresh=True)
    assert len(asked) == 15
