"""A home that nothing may be kept in, as a system user's or a read-only disk: the model runs all the same."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from pitreckon.cli import nocache


@pytest.mark.kernel
@pytest.mark.servers
def test_the_model_runs_where_nothing_can_be_kept(tmp_path: Path) -> None:
    """It ended with numba's "no locator available", exit code 70."""
    (tmp_path / "no folder").touch()
    alone = {key: value for key, value in os.environ.items() if key != nocache.VARIABLE}
    done = subprocess.run(
        [sys.executable, "-m", "pitreckon", "warm"],
        env={**alone, "XDG_CACHE_HOME": str(tmp_path / "no folder"), "TMPDIR": str(tmp_path)},
        capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stderr == (
        f"warning: the compiled model cannot be kept in {tmp_path / 'no folder' / 'pitreckon'}, and is made anew each "
        "time. Set XDG_CACHE_HOME to a folder that may be written.\n"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["no folder"], "nothing is left behind"


def test_the_folder_is_nobody_else_s(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nocache.tempfile, "tempdir", str(tmp_path))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.delenv(nocache.VARIABLE, raising=False)
    nocache.make_do()
    assert (nocache.VARIABLE in os.environ, nocache.why()) == (False, ""), "it can be made there"
    (tmp_path / "cache").touch()
    monkeypatch.setenv(nocache.VARIABLE, "/mine")
    nocache.make_do()
    assert (os.environ[nocache.VARIABLE], nocache.why()) == ("/mine", ""), "what the user set stays"
    monkeypatch.delenv(nocache.VARIABLE)
    nocache.make_do()
    made = Path(os.environ[nocache.VARIABLE])
    assert made.parent == tmp_path
    assert made.stat().st_mode & 0o777 == 0o700
    assert str(tmp_path / "cache" / "pitreckon") in nocache.why()
