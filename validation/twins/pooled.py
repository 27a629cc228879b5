"""``python -m validation.twins.pooled``: what lessons of many houses, pooled, would be worth."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from rich.console import Console
from rich.progress import track

from validation.twins.neighbours import COLUMNS, rows_of
from validation.twins.run import over
from validation.twins.store import Row, Store

SEED, HOUSES, MEMBERS = 20261206, 160, 96
FOLDER = Path(__file__).resolve().parent.parent / "results" / "twins"
WORLDS = ("calibrated", "other")


def told(given: argparse.Namespace) -> dict[str, list[Row]]:
    """Rows of every world; what is kept is not done again."""
    found = {}
    for world in WORLDS:
        store = Store(given.folder, f"pooled-{world}-seed-{given.seed}-members-{given.members}", COLUMNS)
        done = store.rows()
        left = [i for i in range(given.houses) if i not in done]
        work = over(partial(rows_of, world), left, given.seed, given.members, given.workers)
        for index, rows in track(work, f"pooled, {world}", total=len(left), console=Console(stderr=True)):
            store.add(index, rows)
            done[index] = rows
        found[world] = [row for i in sorted(done) if i < given.houses for row in done[i]]
    return found


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m validation.twins.pooled", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--houses", type=int, default=HOUSES, help="cooks run in each world")
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=FOLDER)
    told(parser.parse_args())


if __name__ == "__main__":
    main()
