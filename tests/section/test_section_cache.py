"""The compiled kernel's cache is named after all that goes into it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from tests.patience import least_cpu_s

from pitreckon.section import cache


def test_any_change_in_the_room_changes_the_mark(tmp_path):
    (tmp_path / "laws.py").write_text("a = 1\n")
    (tmp_path / "kernel.py").write_text("b = 1\n")
    before = cache.mark(str(tmp_path))
    assert cache.mark(str(tmp_path)) == before
    (tmp_path / "laws.py").write_text("a = 2\n")
    assert cache.mark(str(tmp_path)) != before


def test_a_line_added_to_a_file_in_a_sub_folder_gives_a_new_mark(tmp_path):
    room = tmp_path / "section"
    shutil.copytree(Path(cache.__file__).parent, room, ignore=shutil.ignore_patterns("__pycache__"))
    folders = [folder for folder in sorted(room.iterdir()) if folder.is_dir()]
    assert folders
    for folder in folders:
        before = cache.mark(str(room))
        last = sorted(folder.rglob("*.py"))[-1]
        last.write_text(last.read_text(encoding="utf-8") + "A_LINE = 1\n", encoding="utf-8")
        assert cache.mark(str(room)) != before


def test_the_mark_looks_into_physics_too(tmp_path):
    section, physics = tmp_path / "section", tmp_path / "physics"
    section.mkdir()
    physics.mkdir()
    (physics / "air.py").write_text("a = 1\n")
    before = cache.mark(str(section), str(physics))
    (physics / "air.py").write_text("a = 2\n")
    assert cache.mark(str(section), str(physics)) != before


def test_the_users_own_directory_stays(monkeypatch):
    monkeypatch.setenv(cache.VARIABLE, "mine")
    cache.place()
    assert os.environ[cache.VARIABLE] == "mine"


@pytest.mark.servers
def test_the_directory_is_set_before_numba_comes_in(tmp_path):
    code = (
        "import sys, pitreckon.section\n"
        "assert 'numba' not in sys.modules and 'numpy' not in sys.modules\n"
        "from pitreckon.section import laws\n"
        "import numba\n"
        "print(numba.config.CACHE_DIR)\n"
    )
    environment = {k: v for k, v in os.environ.items() if k != cache.VARIABLE}
    environment["XDG_CACHE_HOME"] = str(tmp_path)
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == str(Path(tmp_path, "pitreckon", cache.mark()))


def test_the_mark_costs_next_to_nothing():
    """No more than twenty times what reading the sources takes; it is four or five. Nothing is loaded for it."""
    rooms = [Path(cache.__file__).parent, Path(cache.__file__).parents[1] / "physics"]
    sources = [file for room in rooms for file in room.rglob("*.py")]
    assert len(sources) > 20
    assert least_cpu_s(cache.mark, 20) < 20.0 * least_cpu_s(lambda: [file.read_bytes() for file in sources], 20)


def kernel_of(home: Path, name: str, age_days: float) -> Path:
    """A directory as numba leaves it, that was last used so long ago."""
    folder = home / name
    below = folder / "compiled_0a1b"
    below.mkdir(parents=True)
    for file in (below / "kernel.seat-1.py311.nbi", below / "kernel.seat-1.py311.1.nbc", folder / "a.machine"):
        file.write_text("x")
    then = time.time() - age_days * 86400.0
    for path in (*folder.rglob("*"), folder):
        os.utime(path, (then, then))
    return folder


def test_kernels_that_nobody_has_run_for_long_are_removed_and_nothing_else(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    home = Path(cache.home())
    present = kernel_of(home, "f" * 16, 100.0)
    monkeypatch.setenv(cache.VARIABLE, str(present))
    old, late = kernel_of(home, "a" * 16, 20.0), kernel_of(home, "b" * 16, 3.0)
    foreign = kernel_of(home, "c" * 16, 30.0)
    (foreign / "notes.txt").write_text("mine")
    os.utime(foreign / "notes.txt", (0.0, 0.0))
    named = kernel_of(home, "of-another-program", 30.0)
    elsewhere = kernel_of(tmp_path / "elsewhere", "d" * 16, 30.0)
    (home / ("e" * 16)).symlink_to(elsewhere)
    assert cache.tidy() == [str(old)]
    assert not old.exists()
    for folder in (present, late, foreign, named, elsewhere):
        assert (folder / "a.machine").exists()


def test_only_so_many_kernels_are_kept_but_those_of_today_always(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    home = Path(cache.home())
    monkeypatch.setenv(cache.VARIABLE, str(kernel_of(home, "f" * 16, 0.0)))
    folders = [kernel_of(home, f"{i:016x}", 0.1 if i < 2 else 2.0 + i / 10.0) for i in range(cache.MOST + 3)]
    assert cache.tidy() == [str(folder) for folder in folders[cache.MOST :]]
    for folder in folders:
        (folder / "a.machine").touch() if folder.exists() else None
    more = [kernel_of(home, f"{i:016x}", 0.2) for i in range(100, 100 + cache.MOST)]
    assert cache.tidy() == []
    assert all(folder.exists() for folder in more)


def test_a_directory_of_the_users_own_is_not_tidied(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    old = kernel_of(Path(cache.home()), "a" * 16, 100.0)
    monkeypatch.setenv(cache.VARIABLE, str(tmp_path / "own"))
    assert cache.tidy() == []
    assert old.exists()


def test_a_kernel_that_is_run_is_not_taken_for_one_that_is_not(tmp_path):
    file = tmp_path / "members-single.machine"
    file.write_text("x")
    os.utime(file, (0.0, 0.0))
    cache.used(str(file))
    assert time.time() - file.stat().st_mtime < 60.0
