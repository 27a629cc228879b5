"""``python -m validation.twins``: run or go on with the twin cooks and show their tables."""

from __future__ import annotations

import argparse
from pathlib import Path

from rich.console import Console

from validation.twins import page, tables
from validation.twins.run import COOKS, MEMBERS, RESULTS, SEED, TRIP_MEMBERS, TRIPS, run
from validation.twins.worlds import WORLDS


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins", description=__doc__)
    parser.add_argument("--world", action="append", choices=WORLDS, help="only of this world; all by default")
    parser.add_argument("--cooks", type=int, default=None, help="of each world; by default its own number")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--folder", type=Path, default=RESULTS, help="where the rows are kept")
    parser.add_argument("--fresh", action="store_true", help="forget the rows of earlier runs")
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--on", default=None, help="address of a Dask cluster, instead of this machine's processes")
    parser.add_argument("--trips", action="store_true", help="follow the advice on trips as well")
    parser.add_argument("--write", action="store_true", help="put the tables into validation/README.md")
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    how = {"seed": given.seed, "folder": given.folder, "fresh": given.fresh}
    how |= {"workers": given.workers, "on": given.on}
    worlds = {
        world: tables.score(
            run("scores", given.cooks or COOKS[world], members=given.members, world=world, console=console, **how)
        )
        for world in given.world or WORLDS
    }
    trips = []
    if given.trips:
        trips = run("trips", given.cooks or TRIPS, members=TRIP_MEMBERS, console=console, **how)
    for world, scored in worlds.items():
        show(world, scored, console)
    if trips:
        _print(console, ["class", "way", *tables.TRIP_HEAD], tables.trip_table(trips))
    if given.write:
        page.write(page.text(worlds, trips, seed=given.seed, members=given.members))
        console.print(f"written: validation/{page.README.name}")


def show(world: str, scored: tables.Scored, console: Console) -> None:
    """The tables in the terminal."""
    console.print(f"world: {world}", style="bold")
    rows = [
        [t.says, tables.SAID.get(t.kind, t.kind), t.wanted, t.measured, "hit" if t.hit else "miss"]
        for t in tables.targets(scored, world)
    ]
    _print(console, ["target", "of", "wanted", "measured", ""], rows)
    for marks in (*((mark,) for mark in tables.MARKS), tables.MARKS):
        console.print(tables.SAID[marks[0]] if len(marks) == 1 else "all marks", style="bold")
        head = ["class", "moment", *tables.HEAD]
        rows = [
            [tables.SAID[kind], tables.SAID.get(moment, moment), *tables.cells(figures)]
            for kind, moment, figures in tables.by_class(scored, marks)
            if figures.count
        ]
        _print(console, head, rows)
    console.print("all marks after put-on, by cut", style="bold")
    _print(console, ["cut", *tables.HEAD], [[cut, *tables.cells(figures)] for cut, figures in tables.by_cut(scored)])


def _print(console: Console, head: list[str], rows: list[list[str]]) -> None:
    """Columns side by side, wide as they are: a terminal that is too narrow wraps them."""
    widths = [max(len(row[i]) for row in [head, *rows]) for i in range(len(head))]
    for row in [head, *rows]:
        console.print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)), highlight=False)
    console.print()


if __name__ == "__main__":
    main()
