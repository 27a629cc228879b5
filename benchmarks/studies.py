"""``python -m benchmarks.studies``: racks on 1, 2 and 4 workers, and with ``--million FOLDER`` a million of them.

A shared machine gives no core for long, so each run is told twice: its wall time, and the processor time that its
workers took, which others can slow but not take. The same processor time a rack on any number of workers means that
they do not cost each other anything; what the one process does that hands out and keeps is the part that cannot be
shared, and says how far more workers would go.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import json
import os
import resource
import tempfile
import time
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from multiprocessing import active_children
from pathlib import Path
from typing import Any

import matplotlib as mpl
from rich.console import Console

from benchmarks import tables
from benchmarks.run import about
from pitreckon.cook.read import read_cook
from pitreckon.sheets.pictures.canvas import INK, PAPER, SMOKE, bare, figure
from pitreckon.study import study
from pitreckon.study.file import study_from_tables
from pitreckon.study.plan import Study

RACKS = Path(__file__).parents[1] / "examples" / "sunday-racks" / "sunday-racks.toml"
PICTURE = tables.HERE / "pictures" / "studies.svg"
WORKERS = (1, 2, 4)
PIECES, A_SETTING = 48_000, 1000
MILLION = 1_000_000
NODES = (8, 32, 128)
"""Workers with a core of their own, on paper."""


def racks(pieces: int) -> Study:
    """So many racks for a Sunday: settings of a thousand, each with a day, a weight and a heat of its own."""
    few = min(A_SETTING, pieces)
    drawn = {"air": "40 F to 95 F", "weight": "2 lb to 2 lb 8 oz", "set": "260 F to 280 F"}
    asked = {"name": "racks", "cook": read_cook(RACKS), "members": few, "keep": ["ready", "colour", "loss"]}
    return study_from_tables({"study": asked, "draws": {"count": pieces // few, **drawn}}, Path())


@dataclass(frozen=True)
class Took:
    """A run. wall_s; workers_s, own_s: processor time of the workers, and of the process that asked; hash: of all"""

    wall_s: float
    workers_s: float
    own_s: float
    hash: str


def run(asked: Study, workers: int) -> Took:
    """Do a study in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        before = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
        begun = time.perf_counter()
        done = study(asked, out=Path(folder) / "racks", workers=workers)
        wall_s = time.perf_counter() - begun
        after = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
        hashed = hashlib.sha256(done.results.read_bytes() + done.settings.read_bytes()).hexdigest()
    own, theirs = (b.ru_utime + b.ru_stime - a.ru_utime - a.ru_stime for a, b in zip(before, after, strict=True))
    return Took(wall_s, own if workers == 1 else theirs, 0.0 if workers == 1 else own, hashed)


def rows_of(pieces: int, rounds: int) -> list[dict[str, Any]]:
    """A row for each number of workers, in turns; of each the round that took least."""
    whole, least = racks(pieces), racks(8 * max(WORKERS))
    least = replace(least, members=8, draws=max(WORKERS), chunk_rows=8)
    run(least, 1)  # the kernel is loaded
    found: dict[int, list[tuple[Took, Took]]] = {workers: [] for workers in WORKERS}
    for _ in range(rounds):
        for workers in WORKERS:
            found[workers].append((run(whole, workers), run(least, workers)))
    cores = len(os.sched_getaffinity(0))
    rows = []
    for workers, took in found.items():
        all_, begin = (min(each, key=lambda t: t.workers_s) for each in zip(*took, strict=True))
        busy_s = all_.workers_s - begin.workers_s
        rows.append(
            {
                "workers": workers,
                "racks": whole.rows,
                "wall_s": all_.wall_s,
                "start_s": begin.wall_s,
                "workers_s": all_.workers_s,
                "ms_rack": busy_s / whole.rows * 1e3,
                "got": all_.workers_s / all_.wall_s / min(workers, cores),
                "own_ms_chunk": (all_.own_s - begin.own_s) / whole.chunks * 1e3 if workers > 1 else None,
                "alone_s": busy_s / min(workers, cores) + all_.own_s,
                "hash": all_.hash[:12],
            }
        )
    for row in rows:
        row["over_one"] = row["ms_rack"] / rows[0]["ms_rack"]
    return rows


def on_paper(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """A million racks on workers with a core each, by the figures above: chunks over workers, or the one that keeps."""
    whole = racks(MILLION)
    chunk_s = rows[0]["ms_rack"] * whole.cases_a_chunk * whole.members / 1e3
    keep_s = max(row["own_ms_chunk"] or 0.0 for row in rows) / 1e3
    found = []
    for workers in (1, 2, 4, *NODES):
        took_s = max(-(-whole.chunks // workers) * chunk_s, whole.chunks * keep_s)
        found.append({"workers": workers, "wall_s": took_s, "linear": whole.chunks * chunk_s / took_s / workers})
    return found


def draw(rows: Sequence[Mapping[str, Any]], nodes: Sequence[Mapping[str, Any]]) -> bytes:
    """What more workers bring: racks a second by the processor time that was measured, and on paper past that."""
    made, axes = figure(300.0, 1)
    (line,) = axes[0]
    bare(line)
    one = 1e3 / rows[0]["ms_rack"]
    most = nodes[-1]["workers"]
    line.plot([1, most], [one, one * most], color=SMOKE, linewidth=1.0, label="linear")
    on_paper = [(row["workers"], MILLION / row["wall_s"]) for row in nodes]
    line.plot(*zip(*on_paper, strict=True), "o", color=INK, markerfacecolor=PAPER, label="on paper")
    measured = [(row["workers"], row["workers"] * 1e3 / row["ms_rack"]) for row in rows]
    line.plot(*zip(*measured, strict=True), "o", color=INK, label="by the measured processor time")
    line.set_xscale("log", base=2)
    line.set_yscale("log")
    line.set_xticks([row["workers"] for row in nodes], [str(row["workers"]) for row in nodes])
    line.set_xlabel("workers with a core each", color=INK)
    line.set_ylabel("racks a second", color=INK)
    line.legend(frameon=False, fontsize=10)
    made.tight_layout()
    out = io.BytesIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "studies"}):
        made.savefig(out, format="svg", facecolor=PAPER, metadata={"Date": None})
    return out.getvalue()


class _EnoughError(Exception):
    """The time that was given is over."""


def million(folder: Path, for_s: float, console: Console) -> dict[str, Any]:
    """A million racks on all cores, in so many calls as it takes: each goes on where the one before was stopped."""
    asked, cores = racks(MILLION), len(os.sched_getaffinity(0))
    kept = folder / "took.json"
    took = json.loads(kept.read_text()) if kept.exists() else {"calls": 0, "wall_s": 0.0, "workers_s": 0.0}
    begun, said, done = time.monotonic(), [time.monotonic()], [0]

    def tell(chunks: int, of: int) -> None:
        done[0] = min(chunks * asked.cases_a_chunk, asked.cases) * asked.members
        if time.monotonic() - said[0] > 60.0:
            said[0] = time.monotonic()
            console.print(f"{done[0]:,} racks, load {os.getloadavg()[0]:.1f}")
        if chunks < of and time.monotonic() - begun > for_s:
            raise _EnoughError

    folder.mkdir(parents=True, exist_ok=True)
    before, hashed = resource.getrusage(resource.RUSAGE_CHILDREN), ""
    with suppress(_EnoughError):
        results = study(asked, out=folder / "racks", workers=cores, tell=tell).results
        hashed, done[0] = hashlib.sha256(results.read_bytes()).hexdigest()[:12], asked.rows
    while active_children():  # of whose time the system tells once they are gone
        time.sleep(0.1)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    took["calls"] += 1
    took["wall_s"] += time.monotonic() - begun
    took["workers_s"] += after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    kept.write_text(json.dumps(took))
    row = {"workers": cores, "racks": done[0], "hash": hashed or "not done yet", **took}
    return row | {"got": took["workers_s"] / took["wall_s"] / cores, "ms_rack": took["workers_s"] / done[0] * 1e3}


def main() -> None:
    """Measure, keep, show."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.studies", description=__doc__)
    parser.add_argument("--racks", type=int, default=PIECES, help="of each run")
    parser.add_argument("--rounds", type=int, default=2)
    parser.add_argument("--million", type=Path, metavar="FOLDER", help="only a million racks on all cores, kept there")
    parser.add_argument("--minutes", type=float, default=float("inf"), help="of --million; the next call goes on")
    given = parser.parse_args()
    console = Console(width=200)
    before = about()
    if given.million is not None:
        row = million(given.million, 60.0 * given.minutes, console)
        tables.save("million", [row], {**before, "load after": round(os.getloadavg()[0], 1)})
        console.print(tables.of_part("million", [row]), markup=False)
        return
    rows = rows_of(given.racks, given.rounds)
    for part, of in (("studies", rows), ("nodes", on_paper(rows))):
        tables.save(part, of, {**before, "load after": round(os.getloadavg()[0], 1)})
        console.print(tables.of_part(part, of), markup=False)
    PICTURE.write_bytes(draw(rows, on_paper(rows)))


if __name__ == "__main__":
    main()
