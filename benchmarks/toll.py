"""What is lost when programs are killed: the long runs of the tests that do it, counted by them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

TESTS = (
    "tests/intake/test_intake_mqtt_killed.py",
    "tests/intake/test_intake_mqtt_outage.py",
)
KILLS, OUTAGE_S, LOOK_S = 200, 600, 2.0
HOUSE = ("tests/web/test_web_kills.py",)
"""The whole server, with entries from everywhere."""


def toll_rows(quick: bool) -> list[dict[str, Any]]:
    """A row for each test: kills or length of the outage, acknowledged, lost, doubled. ``quick``: as ``make test``."""
    return _told(TESTS, {} if quick else {"PITRECKON_KILLS": str(KILLS), "PITRECKON_OUTAGE_S": str(OUTAGE_S)})


def kills_rows(kills: int, told: Callable[[list[dict[str, Any]]], None] = lambda rows: None) -> list[dict[str, Any]]:
    """A row for each way into a server that is killed so often.

    told: is told the rows as each house has been gone through, so that a run that is stopped has counted
    """
    return _summed(_told(HOUSE, {"PITRECKON_KILLS": str(kills)}, lambda rows: told(_summed(rows))))


def _summed(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Rows of the same name as one."""
    out: dict[str, dict[str, Any]] = {}
    for row in rows:
        one = out.setdefault(row["what"], {})
        for key, value in row.items():
            one[key] = value if isinstance(value, str) else one.get(key, 0) + value
    return list(out.values())


def _told(
    tests: tuple[str, ...], how: dict[str, str], meanwhile: Callable[[list[dict[str, Any]]], None] = lambda rows: None
) -> list[dict[str, Any]]:
    """What tests tell of a run. Raises CalledProcessError: one of them failed."""
    root = Path(__file__).resolve().parents[1]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "toll.jsonl"
        command = [sys.executable, "-m", "pytest", "-q", *tests]
        with subprocess.Popen(command, cwd=root, env=os.environ | how | {"PITRECKON_TOLL": str(path)}) as running:
            known = 0
            while running.poll() is None:
                time.sleep(LOOK_S)
                rows = _read(path)
                if len(rows) > known:
                    known = len(rows)
                    meanwhile(rows)
        if running.returncode:
            raise subprocess.CalledProcessError(running.returncode, command)
        return _read(path)


def _read(path: Path) -> list[dict[str, Any]]:
    """The lines there are so far, whole ones."""
    text = path.read_text("utf-8") if path.exists() else ""
    return [json.loads(line) for line in text[: text.rfind("\n") + 1].splitlines()]
