"""All the cooks that some rows need, cooked once and measured; numbers are kept on disk, so a stopped run goes on.

A kept number is found by the bytes that the kernel was given, the fingerprint of the kernel and of the measures, so a
changed law or constant never meets an old number.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256
from pathlib import Path

from validation.practice import adapter, table
from validation.practice import measure as measures
from validation.practice.score import Scored, value_of, wanted
from validation.practice.table import Row

KEPT = Path("build/practice/runs.sqlite")
AT_ONCE = 320
"""Cooks whose curves are held at the same time; a stopped calibration loses no more than these."""
BALANCE = ("balance", "1")
"""Measured on every cook, besides what its rows want."""
Numbers = dict[tuple[str, str, str], float]


class Store:
    """Numbers by key in one SQLite file; ``None`` for one in memory."""

    def __init__(self, path: Path | None = KEPT) -> None:
        if path is not None:
            path.parent.mkdir(parents=True, exist_ok=True)
        self._db = sqlite3.connect(path or ":memory:")
        self._db.execute("create table if not exists numbers (key text primary key, value real)")
        self.found = self.made = 0

    def get(self, keys: Sequence[str]) -> dict[str, float]:
        """Those that are kept; nan is kept as null."""
        found = {}
        for key in keys:
            row = self._db.execute("select value from numbers where key = ?", (key,)).fetchone()
            if row is not None:
                found[key] = float("nan") if row[0] is None else float(row[0])
        return found

    def put(self, numbers: Mapping[str, float]) -> None:
        """Keep them."""
        rows = [(key, None if value != value else value) for key, value in numbers.items()]  # noqa: PLR0124  nan
        with self._db:
            self._db.executemany("insert or replace into numbers values (?, ?)", rows)


def numbers_of(
    variants: Sequence[tuple[Mapping[str, float], Iterable[str]]],
    rows: Sequence[Row],
    store: Store | None = None,
    threads: int | None = None,
) -> list[Numbers]:
    """Numbers of several variants of the constants, all cooked side by side.

    Parameters
    ----------
    variants: other constants by address, and the set-ups that have to be cooked with them
    rows: whose quantities are measured
    store: where numbers are kept; None: nowhere
    threads: of the kernel; all cores by default
    """
    asked, setups = {key: [*each, BALANCE] for key, each in wanted(rows).items()}, table.setups()
    marks = adapter.kernel_mark() + sha256(Path(measures.__file__).read_bytes()).hexdigest()
    out: list[Numbers] = [{} for _ in variants]
    to_cook: dict[str, tuple[adapter.Built, dict[str, tuple[str, str]], list[int]]] = {}
    for n, (values, keys) in enumerate(variants):
        with adapter.override(values):
            for key in keys:
                built = adapter.build(setups[key])
                whole = sha256(marks.encode() + adapter.fingerprint(built)).hexdigest()
                by_name = {f"{whole} {quantity} {unit}": (quantity, unit) for quantity, unit in asked[key]}
                kept = store.get(list(by_name)) if store else {}
                if len(kept) == len(by_name):
                    out[n].update({(key, *by_name[name]): value for name, value in kept.items()})
                    if store:
                        store.found += 1
                else:
                    to_cook.setdefault(whole + key, (built, by_name, []))[2].append(n)
    cooks = sorted(to_cook.values(), key=lambda cook: adapter.alike(cook[0].job))  # those of one section side by side
    for some in (cooks[i : i + AT_ONCE] for i in range(0, len(cooks), AT_ONCE)):
        curves = adapter.run([built for built, _, _ in some], threads)
        fresh: dict[str, float] = {}
        for (built, by_name, users), curve in zip(some, curves, strict=True):
            made = {name: measures.measure(curve, *which) for name, which in by_name.items()}
            fresh |= made
            for n in users:
                out[n].update({(built.setup.key, *by_name[name]): value for name, value in made.items()})
        if store:
            store.put(fresh)
            store.made += len(some)
    return out


def waiting(rows: Iterable[Row]) -> dict[str, str]:
    """Rows that cannot be run yet, by key, and what the catalog lacks for them."""
    lacks = {key: adapter.missing(setup) for key, setup in table.setups().items()}
    found = {}
    for row in rows:
        missing = [lack for key in row.setups if (lack := lacks[key]) is not None]
        if missing:
            found[row.key] = missing[0]
    return found


def scored(rows: Sequence[Row], store: Store | None = None, values: Mapping[str, float] | None = None) -> list[Scored]:
    """All rows that can be run, with the constants as they are, or with others."""
    return reckon(rows, store, values)[0]


def reckon(
    rows: Sequence[Row], store: Store | None = None, values: Mapping[str, float] | None = None
) -> tuple[list[Scored], float]:
    """As ``scored``, and the worst fault of a heat or water balance in all of its cooks."""
    lacking = waiting(rows)
    ready = [row for row in rows if row.key not in lacking]
    numbers = numbers_of([(values or {}, wanted(ready))], ready, store)[0]
    worst = max((value for (_, *which), value in numbers.items() if tuple(which) == BALANCE), default=0.0)
    return [Scored(row, value_of(row, numbers)) for row in ready], worst
