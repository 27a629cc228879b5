"""What is lost when programs are killed: the long runs of the tests that do it, counted by them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

TESTS = (
    "tests/intake/test_intake_mqtt_killed.py",
    "tests/intake/test_intake_mqtt_outage.py",
)
KILLS, OUTAGE_S = 200, 600
HOUSE = ("tests/web/test_web_kills.py",)
"""The whole server, with entries from everywhere."""


def toll_rows(quick: bool) -> list[dict[str, Any]]:
    """A row for each test: kills or length of the outage, acknowledged, lost, doubled. ``quick``: as ``make test``."""
    return _told(TESTS, {} if quick else {"PITRECKON_KILLS": str(KILLS), "PITRECKON_OUTAGE_S": str(OUTAGE_S)})


def kills_rows(kills: int) -> list[dict[str, Any]]:
    """A row for each way into a server that is killed so often."""
    return _told(HOUSE, {"PITRECKON_KILLS": str(kills)})


def _told(tests: tuple[str, ...], how: dict[str, str]) -> list[dict[str, Any]]:
    """What tests tell of a run. Raises CalledProcessError: one of them failed."""
    root = Path(__file__).resolve().parents[1]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "toll.jsonl"
        subprocess.run(
            [sys.executable, "-m", "pytest", "-q", *tests],
            cwd=root,
            env=os.environ | how | {"PITRECKON_TOLL": str(path)},
            check=True,
        )
        return [json.loads(line) for line in path.read_text().splitlines()]
