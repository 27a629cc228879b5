"""The sample in the README is what the command beside it prints, byte for byte."""

from __future__ import annotations

import importlib.util
import re
import shlex
from pathlib import Path

import pytest
from conftest import Call

pytestmark = pytest.mark.kernel

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_sample_is_made_by_the_command_beside_it(pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    spec = importlib.util.spec_from_file_location("picture", ROOT / "scripts" / "make_readme_picture.py")
    assert spec is not None
    assert spec.loader is not None
    picture = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(picture)
    before, rest = README.split(picture.BEGIN)
    shown = rest.split(picture.END)[0]
    command = re.findall(r"^\$ pitreckon (.+)$", before, re.MULTILINE)[-1]
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", str(picture.WIDTH))
    got = pitreckon(*shlex.split(command))
    assert got.code == 0, got.err
    printed = "\n".join(line.rstrip() for line in got.out.splitlines())
    assert picture.excerpt(printed) == shown
