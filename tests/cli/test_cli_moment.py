"""``--at`` as people write it, a plan from standard input, and the program as a module."""

from __future__ import annotations

import io
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from conftest import COOK, Call
from tests.patience import PATIENCE_S

from pitreckon.cli.run import moment_of
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError


@pytest.mark.parametrize("text", ["14:05", "2:05 pm", "2:05pm", "2026-10-17 14:05", "2026-10-17 2:05 pm"])
def test_a_moment_is_written_in_many_ways(text: str) -> None:
    cook = cook_from_text(COOK, "wings")
    assert moment_of(text, cook, None) == datetime(2026, 10, 17, 19, 5, tzinfo=UTC)
    assert moment_of("2pm", cook, None) == moment_of("14:00", cook, None)


def test_now_is_this_minute() -> None:
    now = moment_of("now", cook_from_text(COOK, "wings"), None)
    assert now.second == 0
    assert timedelta(0) <= datetime.now(UTC) - now < timedelta(minutes=2)


@pytest.mark.parametrize("text", ["14", "2", "tomorrow", "14pm", "0am"])
def test_what_is_no_moment_is_refused_with_how_to_write_it(text: str) -> None:
    with pytest.raises(InputError, match="Write it as in"):
        moment_of(text, cook_from_text(COOK, "wings"), None)


@pytest.mark.kernel
def test_a_plan_is_read_from_standard_input(pitreckon: Call, monkeypatch: pytest.MonkeyPatch, cook_file: Path) -> None:
    from_file = pitreckon("reckon", cook_file, "--members", 8)

    class Piped:
        buffer = io.BytesIO(COOK.encode())

    monkeypatch.setattr(sys, "stdin", Piped)
    piped = pitreckon("reckon", "-", "--members", 8)
    assert piped.code == from_file.code == 0
    assert piped.out == from_file.out


@pytest.mark.servers
def test_it_runs_as_a_module() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pitreckon", "--version"], capture_output=True, text=True, check=True, timeout=PATIENCE_S
    )
    assert done.stdout.strip()
