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
    "tests/web/test_web_kills.py",
    "tests/intake/test_intake_mqtt_killed.py",
    "tests/intake/test_intake_mqtt_outage.py",
)
KILLS, OUTAGE_S = 200, 600


def toll_rows(quick: bool) -> list[dict[str, Any]]:
    """A row for each test: kills or length of the outage, acknowledged, lost, doubled. ``quick``: as ``make test``."""
    root = Path(__file__).resolve().parents[1]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "toll.jsonl"
        long = {} if quick else {"PITRECKON_KILLS": str(KILLS), "PITRECKON_OUTAGE_S": str(OUTAGE_S)}
        subprocess.run(
            [sys.executable, "-m", "pytest", "-q", *TESTS],
            cwd=root,
            env=os.environ | long | {"PITRECKON_TOLL": str(path)},
            check=True,
        )
        return [json.loads(line) for line in path.read_text().splitlines()]
