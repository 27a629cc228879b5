"""``python -m validation.practice.deal``: which rows the fit may see, drawn once and kept in ``deal.csv``.

Whole cooks are dealt, not rows, for rows of one cook share one memory: within each cut the set-ups are put in an order
that a seed text and nothing else decides, and go in turn to the half that has fewer rows so far. A row that compares
cooks of different halves is a test row, so that the fit never runs a cook of the test half. Three more splits of the
same kind are for the report alone; the column "half" counts.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Mapping, Sequence
from hashlib import sha256
from pathlib import Path

from validation.practice import table
from validation.practice.table import Row, SetUp

DEAL = table.HERE / "deal.csv"
SEED = "pitreckon practice deal"
SPLITS = ("half", "split1", "split2", "split3")
FIT, TEST = "fit", "test"


def deal(rows: Sequence[Row], setups: Mapping[str, SetUp], seed: str) -> dict[str, str]:
    """Half of each row by its key; the same for the same rows, set-ups and seed text."""
    own: dict[str, int] = {}
    for row in rows:
        own[row.setup] = own.get(row.setup, 0) + 1
        for key in row.setups:
            own.setdefault(key, 0)
    by_cut: dict[str, list[str]] = {}
    for key in own:
        by_cut.setdefault(setups[key].cut, []).append(key)
    side: dict[str, str] = {}
    for cut in sorted(by_cut, key=lambda name: _order(seed, name)):
        here = {FIT: 0, TEST: 0}
        for key in sorted(by_cut[cut], key=lambda name: _order(seed, name)):
            so_far = _counts(rows, side)
            goes = min((FIT, TEST), key=lambda half: (here[half], so_far[half]))
            side[key] = goes
            here[goes] += 1
    return {row.key: _half_of(row, side) for row in rows}


def _half_of(row: Row, side: Mapping[str, str]) -> str:
    return FIT if all(side[key] == FIT for key in row.setups) else TEST


def _counts(rows: Sequence[Row], side: Mapping[str, str]) -> dict[str, int]:
    counts = {FIT: 0, TEST: 0}
    for row in rows:
        if all(key in side for key in row.setups):
            counts[_half_of(row, side)] += 1
    return counts


def _order(seed: str, name: str) -> str:
    return sha256(f"{seed}: {name}".encode()).hexdigest()


def dealt(path: Path = DEAL) -> dict[str, dict[str, str]]:
    """The committed deal: by split, the half of each row. Raises TableError where rows and deal do not match."""
    with path.open(encoding="utf-8", newline="") as handle:
        lines = list(csv.DictReader(handle))
    keys = [row.key for row in table.rows()]
    if [line["id"] for line in lines] != keys:
        raise table.TableError(f"{path.name} is not of these rows. Rows are not added after the deal; see its module")
    return {split: {line["id"]: line[split] for line in lines} for split in SPLITS}


def write(path: Path = DEAL) -> None:
    """Deal and write."""
    rows, setups = table.rows(), table.setups()
    halves = {split: deal(rows, setups, f"{SEED} {split}") for split in SPLITS}
    with path.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["id", *SPLITS])
        writer.writerows([row.key, *(halves[split][row.key] for split in SPLITS)] for row in rows)


if __name__ == "__main__":
    if DEAL.exists() and "--again" not in sys.argv:
        sys.exit(f"{DEAL.name} exists: the deal is drawn once. --again draws it again, from the same seed text")
    write()
