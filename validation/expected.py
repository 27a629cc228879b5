"""What every check came out at when that was last written down: ``results/checks.csv``, made by ``validation.run``."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from validation.check import Result

TABLE = Path(__file__).with_name("results") / "checks.csv"
HEAD = ["group", "check", "role", "wanted", "verdict", "value", "nothing_evaporates"]
Key = tuple[str, str]


@dataclass(frozen=True)
class Expected:
    """One row: by whom and how it was counted, its number, and where that was asked for the one without evaporation."""

    role: str
    wanted: str
    verdict: str
    value: float
    bound: float | None


def key_of(result: Result) -> Key:
    """Name of the group and key of the check."""
    return result.group.name, result.check.key


def read(table: Path = TABLE) -> dict[Key, Expected]:
    """Every row by group and check."""
    with table.open(encoding="utf-8", newline="") as handle:
        return {
            (row["group"], row["check"]): Expected(
                row["role"],
                row["wanted"],
                row["verdict"],
                float(row["value"]),
                float(row["nothing_evaporates"]) if row["nothing_evaporates"] else None,
            )
            for row in csv.DictReader(handle)
        }


def write(results: Iterable[Result], table: Path = TABLE) -> None:
    """All rows, whole or not at all."""
    part = table.with_suffix(".part")
    with part.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(HEAD)
        for r in results:
            bound = "" if r.bound is None else f"{r.bound:.6g}"
            writer.writerow([*key_of(r), r.role, r.check.wanted, r.verdict, f"{r.value:.6g}", bound])
    part.replace(table)


def lost(results: Iterable[Result], expected: Mapping[Key, Expected]) -> list[Result]:
    """Checks that hit and now miss, and those whose bound no longer proves them out of reach."""
    return [
        r
        for r in results
        if (was := expected.get(key_of(r))) is not None
        and ((was.verdict == "hit" and r.verdict == "miss") or (was.role == "out of reach" and r.role == "test"))
    ]
