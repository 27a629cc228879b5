"""``python -m validation.practice``: every row of practice, shown and written into ``validation/README.md``.

What came out is written into ``results/practice/rows.csv`` too. ``--show`` leaves both alone; ``--misses`` lists misses
only.
"""

from __future__ import annotations

import argparse
import time

from validation.practice import kept, page, runs, table
from validation.practice.deal import SPLITS, dealt
from validation.practice.score import Scored, tally


def main() -> None:
    """Run, show, write."""
    parser = argparse.ArgumentParser(prog="python -m validation.practice", description=__doc__)
    parser.add_argument("--show", action="store_true", help="leave validation/README.md alone")
    parser.add_argument("--misses", action="store_true", help="list misses only")
    wants = parser.parse_args()
    began = time.perf_counter()
    halves, rows, named = dealt(), table.rows(), table.named()
    every, worst = runs.reckon([*rows, *named])
    keys = {row.key for row in rows}
    scored, by_name = [s for s in every if s.row.key in keys], [s for s in every if s.row.key not in keys]
    waiting = runs.waiting([*rows, *named])
    for half in ("fit", "test"):
        these = [s for s in scored if halves["half"][s.row.key] == half]
        _show(f"{half} half: {tally(these)}", these, wants.misses)
    _show(f"by name: {sum(s.hit for s in by_name)} of {len(by_name)}", by_name, wants.misses)
    for split in SPLITS[1:]:
        for half in ("fit", "test"):
            print(f"{split} {half}: {tally([s for s in scored if halves[split][s.row.key] == half])}")
    print(f"all: {tally(scored)}; waiting for the catalog: {len(waiting)} rows and checks")
    print(f"heat and water balance, worst of all cooks: {worst:.1e}")
    print(f"{time.perf_counter() - began:.1f} s")
    if not wants.show:
        page.put(page.report(scored, by_name, halves, waiting, worst))
        kept.write(every)
        print(f"written: validation/{page.README.name}, validation/results/practice/{kept.FILE.name}")


def _show(title: str, scored: list[Scored], misses: bool) -> None:
    print(f"\n{title}")
    for s in scored:
        if not (misses and s.hit):
            print(
                f"  {s.row.key:23} {page.says(s.row):55} {page.band(s.row):>15}  "
                f"{page.number(s.value, s.row.unit):>11}  {page.mark(s)}"
            )


if __name__ == "__main__":
    main()
