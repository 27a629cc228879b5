"""What became of a run that kills things: counted, and written down where ``PITRECKON_TOLL`` names a file.

The figures of the long runs in ``benchmarks/README.md`` come from there.
"""

from __future__ import annotations

import json
import os
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True)
class Toll:
    """Of so many that were sent for sure (acknowledged), how many are missing, how many are there more than once.

    extra: kept, and their acknowledgement lost on the way
    """

    acknowledged: int
    lost: int
    doubled: int
    extra: int


def toll_of(acknowledged: Iterable[object], kept: Iterable[object]) -> Toll:
    """Count them by their ids, or by whatever tells one from another."""
    sure, there = Counter(acknowledged), Counter(kept)
    assert set(sure.values()) <= {1}, "the sender itself sent two alike"
    doubled = sum(count - 1 for count in there.values())
    return Toll(len(sure), len(sure.keys() - there.keys()), doubled, len(there.keys() - sure.keys()))


def note(what: str, toll: Toll, begun: float, **more: object) -> None:
    """Add a line to the file, if one is named. begun: of ``time.monotonic()``."""
    path = os.environ.get("PITRECKON_TOLL")
    if path:
        line = {"what": what, **more, **asdict(toll), "took_s": round(time.monotonic() - begun, 1)}
        with Path(path).open("a", encoding="utf-8") as out:
            out.write(json.dumps(line) + "\n")
