"""What every row of practice came out at when that was last written down: ``results/practice/rows.csv``.

Made by ``python -m validation.practice``; the tests count in it and cook some of it again.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from validation.practice.score import Scored
from validation.practice.table import Row, TableError

FILE = Path(__file__).parent.parent / "results" / "practice" / "rows.csv"
HEAD = ["row", "low", "high", "value", "hit"]


def write(scored: Iterable[Scored], file: Path = FILE) -> None:
    """All rows, whole or not at all; a value that was never reached stays empty."""
    part = file.with_suffix(".part")
    with part.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(HEAD)
        for one in scored:
            value = "" if one.value != one.value else f"{one.value:.5g}"
            hit = "hit" if one.hit else "miss"
            writer.writerow([one.row.key, f"{one.row.low:g}", f"{one.row.high:g}", value, hit])
    part.replace(file)


def read(rows: Sequence[Row], file: Path = FILE) -> list[Scored]:
    """Those of the rows that were written down, scored anew against the bands that they have now.

    Raises TableError: the file has a row that is not among them, or one with another band.
    """
    by_key, found = {row.key: row for row in rows}, []
    with file.open(encoding="utf-8", newline="") as handle:
        for line, cells in enumerate(csv.DictReader(handle), start=2):
            row = by_key.get(cells["row"])
            if row is None or [f"{row.low:g}", f"{row.high:g}"] != [cells["low"], cells["high"]]:
                raise TableError(f"{file.name}, line {line}: no row {cells['row']} with this band. Run the rows again")
            found.append(Scored(row, float(cells["value"] or "nan")))
    return found
