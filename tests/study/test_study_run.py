"""A study gives the same bytes on any workers, stopped or not; a dead worker, a full disk lose no finished chunk."""

from __future__ import annotations

import hashlib
import json
import os
import re
import signal
import subprocess
import sys
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.clusters import local_cluster
from tests.patience import PATIENCE_S, until

pa = pytest.importorskip("pyarrow")
import pyarrow.parquet as pq  # noqa: E402

from pitreckon.cook.read import read_cook  # noqa: E402
from pitreckon.errors import InputError  # noqa: E402
from pitreckon.reckon import reckon  # noqa: E402
from pitreckon.reckon.quantiles import Quantiles, quantiles_of  # noqa: E402
from pitreckon.study import chunk, keep, run, study  # noqa: E402
from pitreckon.study.chunk import chunk_bytes, program  # noqa: E402
from pitreckon.study.file import study_from_text  # noqa: E402
from pitreckon.study.outcomes import OUTCOMES  # noqa: E402
from pitreckon.study.pictures import picture_of  # noqa: E402
from pitreckon.study.plan import Case, Study  # noqa: E402
from pitreckon.study.run import Done  # noqa: E402
from pitreckon.study.settings import SETTINGS  # noqa: E402
from pitreckon.study.summary import Group, alike, group_told  # noqa: E402

pytestmark = pytest.mark.kernel
WINGS = """\
[cook]
name = "wings"
zone = "UTC"
serve = "2026-10-17 13:30"

[[pit]]
name = "kettle"
kind = "kettle"
set = "375 F"

[[item]]
name = "wings"
cut = "chicken-wing"
weight = "90 g"
put_on = "2026-10-17 12:00"
"""
ASKED = """\
[study]
name = "wings by heat"
cook = "wings.toml"
members = 16
keep = ["ready", "core", "loss", "least_core", "on_time"]

[grid]
set = ["300 F", "350 F", "400 F"]
weight = ["70 g", "110 g"]
"""
HEARS = "import signal\nsignal.signal(signal.SIGINT, signal.default_int_handler)\n"
"""A shell that runs the tests in the background has its children ignore interrupts."""
SLOWLY = """
import os, sys, time
from dataclasses import replace
from pathlib import Path
from pitreckon.cli import main, studied
from pitreckon.study import run
read = studied.read_study
studied.read_study = lambda path: replace(read(path), chunk_rows=1)
spread = run.spread
def slow(*args, **more):
    for answer in spread(*args, **more):
        yield answer
        if len(list(Path("wings-by-heat/chunks").glob("settings-*"))) >= int(os.environ["STANDS_AT"]):
            time.sleep(1e6)
run.spread = slow
sys.argv = ["pitreckon", "study", *sys.argv[1:]]
if __name__ == "__main__":
    main.run()
"""
"""The program with a chunk for each setting; where so many are kept it stands still until it is stopped."""


@pytest.fixture
def plan(tmp_path: Path) -> Study:
    (tmp_path / "wings.toml").write_text(WINGS)
    return replace(study_from_text(ASKED, "s.toml", tmp_path), chunk_rows=1)


def bytes_of(done: Done) -> tuple[str, ...]:
    files = (done.results, done.settings, done.folder / "summary.csv", done.folder / "study.json")
    return tuple(hashlib.sha256(path.read_bytes()).hexdigest() for path in files)


def test_it_is_what_reckon_says(plan, tmp_path):
    """The members of a setting are those of ``reckon`` before anything was seen."""
    done = study(plan, out=tmp_path / "out", workers=1)
    table = pq.read_table(done.settings).to_pydict()
    for n in range(plan.cases):
        (item,) = reckon(plan.cook_of(plan.case(n)), members=plan.members, seed=1).items
        ready = item.marks["ready"]
        assert table["ready_s_p50"][n] == pytest.approx(ready.p50)
        assert table["ready_s_p95"][n] == pytest.approx(ready.p95)
        assert table["on_time"][n] == pytest.approx(item.on_time)
        assert table["least_core"][n] == pytest.approx(item.least_core)


def test_every_piece_has_its_settings_beside_it_and_the_files_say_what_they_are(plan, tmp_path):
    done = study(plan, out=tmp_path / "out", workers=1)
    table = pq.read_table(done.results)
    assert table.column_names == [
        "case",
        "member",
        "weight_kg",
        "set_c",
        *("ready_s", "core_c", "loss"),
        *("least_core", "on_time"),
    ]
    assert table.num_rows == plan.rows == 96
    assert table["case"].to_pylist() == sorted(table["case"].to_pylist())
    weights = {
        (case, round(kg, 3)) for case, kg in zip(table["case"].to_pylist(), table["weight_kg"].to_pylist(), strict=True)
    }
    assert weights == {(0, 0.07), (1, 0.11), (2, 0.07), (3, 0.11), (4, 0.07), (5, 0.11)}
    told = json.loads(table.schema.metadata[b"study"])
    assert (told["members"], told["grid.set"], told["cook.zone"]) == (16, ["300 F", "350 F", "400 F"], "UTC")
    assert table.schema.field("ready_s").metadata[b"unit"] == b"s since it was put on"
    assert pq.read_table(done.settings).schema.field("set_c").metadata[b"unit"] == b"degC"
    ready = np.asarray(table["ready_s"]).reshape(plan.cases, plan.members)
    medians = np.median(ready, axis=1).reshape(3, 2)
    assert (np.diff(medians, axis=0) < 0).all()  # a hotter pit is sooner: common practice, no source
    assert (np.diff(medians, axis=1) > 0).all()  # a heavier piece is later


@pytest.mark.servers
@pytest.mark.slow
def test_the_same_bytes_on_one_two_and_four_workers_and_on_a_cluster(plan, tmp_path):
    one = bytes_of(study(plan, out=tmp_path / "one", workers=1))
    assert bytes_of(study(plan, out=tmp_path / "two", workers=2)) == one
    assert bytes_of(study(plan, out=tmp_path / "four", workers=4)) == one
    assert bytes_of(study(replace(plan, chunk_rows=2048), out=tmp_path / "whole", workers=1)) == one
    with local_cluster(2) as cluster:
        killed = []

        def kill(done: int, of: int) -> None:
            """A node is lost as soon as something is finished."""
            if done and not killed:
                (worker, *_) = cluster.workers.values()
                killed.append(worker.pid)
                os.kill(worker.pid, signal.SIGKILL)

        there = study(plan, out=tmp_path / "cluster", on=cluster.scheduler_address, tell=kill)
    assert killed
    assert bytes_of(there) == one


def test_each_of_a_few_settings_is_told_by_itself(plan, tmp_path):
    """What a weight does hangs on the heat, and the mean over all heats hid it."""
    done = study(plan, out=tmp_path / "out", workers=1)
    own = [group for group in done.groups() if group.case is not None]
    assert [group_told(group, "F") for group in own][:2] == ["2 oz, 300 °F", "4 oz, 300 °F"]
    table = pq.read_table(done.settings).to_pydict()
    assert [group.spreads["ready"].p50 for group in own] == pytest.approx(table["ready_s_p50"])
    assert [group.spreads["on_time"].reached for group in own] == pytest.approx(table["on_time"])
    assert "\ncase,5,5,1," in (done.folder / "summary.csv").read_text()
    assert "2 oz, 300 °F" in picture_of("ready", done.groups(), "F", "wings").decode()
    alone = study(replace(plan, grid=plan.grid[:1]), out=tmp_path / "alone", workers=1)
    assert all(group.case is None for group in alone.groups())


def test_a_run_that_was_stopped_goes_on_with_what_is_missing(plan, tmp_path):
    whole = bytes_of(study(plan, out=tmp_path / "whole", workers=1))

    class StoppedError(Exception):
        pass

    def stop(done: int, of: int) -> None:
        if done == 4:
            raise StoppedError

    with pytest.raises(StoppedError):
        study(plan, out=tmp_path / "out", workers=1, tell=stop)
    chunks = sorted((tmp_path / "out" / "chunks").iterdir())
    assert len(chunks) == 4
    chunks[1].write_bytes(chunks[1].read_bytes()[:-1])  # torn
    (tmp_path / "out" / "chunks" / f".x{keep.PART}").write_bytes(b"left over")
    done = study(plan, out=tmp_path / "out", workers=1)
    assert (done.went_on, done.made) == (3, 3)
    assert bytes_of(done) == whole
    assert sorted(path.name for path in done.folder.iterdir()) == [
        ".running", "results.parquet", "settings.parquet", "study.json", "summary.csv"
    ]  # fmt: skip
    again = study(plan, out=tmp_path / "out", workers=1)
    assert (again.made, bytes_of(again)) == (0, whole)


def test_what_somebody_else_put_into_the_folder_stays_and_stops_nothing(plan, tmp_path):
    """It ended in a fault of the program, after all was done."""
    chunks = tmp_path / "out" / "chunks"
    chunks.mkdir(parents=True)
    (chunks / "notes.txt").write_text("mine")
    done = study(plan, out=tmp_path / "out", workers=1)
    assert done.made == 6
    assert [path.name for path in chunks.iterdir()] == ["notes.txt"]
    (done.folder / "pictures").write_text("mine")
    with pytest.raises(InputError, match="pictures: the folder cannot be written: File exists"):
        done.draw()


def test_another_study_is_refused_and_what_differs_is_said(plan, tmp_path):
    study(plan, out=tmp_path / "out", workers=1)
    other = replace(plan, members=24, cook=replace(plan.cook, altitude_m=500.0))
    with pytest.raises(
        InputError, match=r"members was 16, is 24; cook.altitude_m was 0.0, is 500.0. Name another folder"
    ):
        study(other, out=tmp_path / "out", workers=1)
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "results.parquet").write_bytes(b"somebody's")
    with pytest.raises(InputError, match="nothing says of what study"):
        study(plan, out=tmp_path / "other", workers=1)


def test_two_runs_keep_out_of_each_other_s_way(plan, tmp_path):
    with keep.Folder(tmp_path / "out").alone(), pytest.raises(InputError, match="another run is at this study"):
        study(plan, out=tmp_path / "out", workers=1)


def test_another_program_on_a_worker_is_refused(plan):
    with pytest.raises(InputError, match="a worker runs another Pitreckon"):
        chunk_bytes(plan, program()[:-1] + "x", 0)


@pytest.mark.parametrize("at", [2, 6])
def test_a_full_disk_is_told_and_loses_no_finished_chunk(plan, tmp_path, monkeypatch, at):
    """At the third chunk, then at the results; nothing is left of what did not fit."""
    whole = bytes_of(study(plan, out=tmp_path / "whole", workers=1))
    synced = []

    def full(handle: int) -> None:
        synced.append(handle)
        if len(synced) == at + 2:  # the first is what is asked
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(keep.os, "fsync", full)
    with pytest.raises(InputError, match="cannot be written: No space left on device"):
        study(plan, out=tmp_path / "out", workers=1)
    left = [path.name for path in (tmp_path / "out").rglob("*") if path.is_file()]
    assert len([name for name in left if name.startswith("settings-")]) == at
    assert not [name for name in left if name.endswith(keep.PART) or name.startswith("results")]
    monkeypatch.undo()
    done = study(plan, out=tmp_path / "out", workers=1)
    assert done.went_on == at
    assert bytes_of(done) == whole


@pytest.mark.servers
@pytest.mark.slow
def test_killed_or_interrupted_it_goes_on(plan, tmp_path):
    """Killed with ``kill -9``, then interrupted, then let be: it ends at once, and says what is kept."""
    whole = bytes_of(study(plan, out=tmp_path / "whole", workers=1))
    (tmp_path / "wings-by-heat.toml").write_text(ASKED)
    (tmp_path / "slowly.py").write_text(HEARS + SLOWLY)
    chunks = tmp_path / "wings-by-heat" / "chunks"

    def begun(finished: int, workers: int) -> subprocess.Popen[str]:
        asked = [sys.executable, "slowly.py", "wings-by-heat.toml", "--workers", str(workers)]
        own = os.environ | {"STANDS_AT": str(finished or 99)}
        running = subprocess.Popen(
            asked, cwd=tmp_path, env=own, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )

        def kept() -> bool:
            assert not finished or running.poll() is None, running.communicate()
            return len(list(chunks.glob("settings-*"))) >= finished

        until(kept, f"{finished} chunks")
        return running

    running = begun(1, workers=1)
    running.kill()
    running.communicate()
    running = begun(3, workers=2)
    processes = Path(f"/proc/{running.pid}/task/{running.pid}/children").read_text().split()
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=PATIENCE_S)
    assert running.returncode == 130
    assert "of 6 chunks in wings-by-heat. Nothing is half-written." in err
    assert len(processes) >= 2
    until(lambda: not any(Path(f"/proc/{each}").exists() for each in processes), "that its workers have ended too")
    running = begun(0, workers=1)
    out, err = running.communicate()
    assert running.returncode == 0, err
    assert "wings by heat: 6 settings of 16 pieces each" in out
    files = ("results.parquet", "settings.parquet", "summary.csv", "study.json")
    found = tuple(hashlib.sha256((tmp_path / "wings-by-heat" / name).read_bytes()).hexdigest() for name in files)
    assert found == whole


def test_who_looks_seldom_or_goes_by_the_clock_serves_later_and_less_surely(tmp_path):
    racks = Path(__file__).parents[2] / "examples" / "sunday-racks"
    asked = (
        '[study]\nname = "s"\ncook = "sunday-racks.toml"\nmembers = 96\nkeep = ["on_pit", "tenderness", "right"]\n'
        '[grid]\nhabits = ["watchful", "seldom", "clock"]\n[habits.watchful]\nlook_every = "1 min"\n'
        '[habits.seldom]\nlook_every = "60 min"\nlate = "20 min"\n[habits.clock]\nby_clock = "100 %"\n'
    )
    plan = study_from_text(asked, "s.toml", racks)
    table = pq.read_table(study(plan, out=tmp_path / "out", workers=1).results)
    on_pit, tender = (np.asarray(table[name]).reshape(3, 96) for name in ("on_pit_s", "tenderness"))
    straight = replace(plan, grid=(), habits=())
    ideal = pq.read_table(study(straight, out=tmp_path / "ideal", workers=1).results)
    first = np.asarray(ideal["on_pit_s"])
    watchful, seldom, clock = on_pit
    assert np.median(watchful - first) == pytest.approx(0.0, abs=600.0)  # who looks all the time is nearly never late
    assert np.median(seldom - first) > 1200.0
    spread = np.subtract(*np.quantile(clock, (0.95, 0.05)))
    assert spread < 0.5 * np.subtract(*np.quantile(first, (0.95, 0.05)))  # the clock knows nothing of the piece
    assert np.std(tender[2]) > 2.0 * np.std(tender[0])
    right = np.asarray(table["right"]).reshape(3, 96).mean(axis=1)
    assert right[0] > 0.7 > right[1]  # who looks often serves more plates that are right


@pytest.mark.parametrize("n", [8, 9, 100, 4097])
@pytest.mark.parametrize("share", [0.0, 0.04, 0.3, 0.6, 0.97, 1.0])
def test_quantiles_of_pieces_that_count_alike_are_those_of_weighed_ones(n, share):
    rng = np.random.default_rng(n)
    values = np.where(rng.random(n) < share, np.nan, rng.normal(size=n).astype(np.float32)).astype(np.float32)
    weighed = quantiles_of(values.astype(np.float64), np.full(n, 1.0 / n))
    found = alike(values.copy())
    for level in ("p05", "p50", "p95", "reached"):
        assert getattr(found, level) == pytest.approx(getattr(weighed, level), abs=1e-6)


def test_a_huge_study_is_told_of_column_by_column_and_once(plan, tmp_path, monkeypatch):
    """With twenty million pieces all columns at once are some gigabytes: the last minute of a night's work was lost."""
    many = replace(plan, members=4000, keep=tuple(OUTCOMES))

    def made_up(study: Study, case: Case) -> dict[str, np.ndarray]:
        rng = np.random.default_rng(case.number)
        found = {SETTINGS[name].column: np.full(study.members, value.meant) for name, value in case.values}
        return found | {OUTCOMES[name].column: rng.random(study.members).astype(np.float32) for name in study.keep}

    monkeypatch.setattr(chunk, "of_case", made_up)
    asked = []
    told = run.groups_of
    monkeypatch.setattr(run, "groups_of", lambda *given: asked.append(1) or told(*given))
    done = study(many, out=tmp_path / "out", workers=1)
    assert done.groups() is done.groups()
    done.draw()
    assert len(asked) == 1
    tracemalloc.start()
    told(many, done.results)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    a_column = 4 * many.rows
    assert peak < 6 * a_column  # all of them are 15 columns, and were held in double precision


def test_pictures_and_tables_are_drawn_the_same_twice(plan, tmp_path):
    pytest.importorskip("matplotlib")
    done = study(plan, out=tmp_path / "out", workers=1)
    first = [path.read_bytes() for path in done.draw("C")]
    assert [path.read_bytes() for path in done.draw("C")] == first
    assert len(first) == len(plan.keep)
    assert b"149 \xc2\xb0C" in first[0]
    pandas = pytest.importorskip("pandas")
    table = done.table()
    assert isinstance(table, pandas.DataFrame)
    assert len(done.pieces()) == plan.rows
    rows = (done.folder / "summary.csv").read_text().splitlines()
    assert len(rows) == 1 + 1 + 3 + 2 + 6
    groups = done.groups()
    assert [group.cases for group in groups] == [6, 3, 3, 2, 2, 2, *[1] * 6]
    whole = np.asarray(pq.read_table(done.results)["ready_s"], dtype=float)
    assert groups[0].spreads["ready"].p50 == pytest.approx(np.median(whole), abs=60.0)


def test_a_cook_that_cannot_be_is_told_with_its_setting(plan, tmp_path):
    late = replace(plan, cook=read_cook(_served_early(tmp_path)))
    assert study(late, out=tmp_path / "out", workers=1).table()["on_time"].max() == 0.0


def _served_early(folder: Path) -> Path:
    path = folder / "early.toml"
    path.write_text(WINGS.replace("13:30", "12:10"))
    return path


def test_a_picture_says_whose_it_is_what_it_shows_and_who_got_there():
    """A line whose end is at infinity was not drawn at all, and nothing was drawn on an axis from 0 to 1."""
    pytest.importorskip("matplotlib")
    inf = float("inf")
    spreads = [Quantiles(3600.0, 7200.0, 9000.0, 1.0), Quantiles(3600.0, inf, inf, 0.4), Quantiles(inf, inf, inf, 0.0)]
    groups = [Group(None, None, None, 3, {"tender": spreads[0]})]
    groups += [
        Group(SETTINGS["set"], c, c, 1, {"tender": s}) for c, s in zip((110.0, 90.0, 70.0), spreads, strict=True)
    ]
    drawn = picture_of("tender", groups, "C", "cool pits").decode()
    head = ("cool pits: when it is tender", "Line: 5 to 95 % of the pieces", "Simulated, and no promise.")
    for words in (*head, "hours since it was put on", "40 % got there", "none got there", "110 °C"):
        assert words in drawn
    long = replace(
        groups[1], setting=SETTINGS["habits"], low="looks at it now and then", high="looks at it now and then"
    )
    (at,) = re.findall(r'x="([0-9.]+)"[^>]*>looks at it now and then<', picture_of("tender", [long], "C", "s").decode())
    assert float(at) > 6.5 * len("looks at it now and then")  # it ends there, and is not cut off
    nobody = [replace(group, spreads={"tender": spreads[2]}) for group in groups]
    assert "0.2" not in re.findall(r">([^<]+)</text>", picture_of("tender", nobody, "C", "cool pits").decode())
