"""The compiled kernel's cache is named after all that goes into it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

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
    """5 ms are allowed; the best of several, because the machine has other things to do."""
    times = []
    for _ in range(20):
        start = time.perf_counter()
        cache.mark()
        times.append(time.perf_counter() - start)
    assert min(times) < 0.005
