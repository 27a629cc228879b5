"""``python -m benchmarks.soak [PART ...]``: the long runs, and their tables in ``README.md``.

forms: inputs of every form; calls: of every operation of the API, as links lead; load: a house with forty phones;
kills: a house that is killed while entries come from everywhere.
Without a part all of them. What is asked for by ``make soak`` is the default.
"""

from __future__ import annotations

import argparse
import sys

from rich.console import Console

from benchmarks import tables, toll
from benchmarks.run import about
from benchmarks.soak import calls, forms, load

INPUTS, CALLS, MINUTES, KILLS = 1_000_000, 20_000, 30.0, 1000


def main() -> None:
    """Run the parts that are asked for; ends with 1 where something was found."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.soak")
    parser.add_argument("parts", nargs="*", metavar="PART", help="forms, calls, load, kills")
    parser.add_argument("--inputs", type=int, default=INPUTS)
    parser.add_argument("--calls", type=int, default=CALLS)
    parser.add_argument("--minutes", type=float, default=MINUTES)
    parser.add_argument("--kills", type=int, default=KILLS)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    before = about()
    parts = {
        "forms": lambda: forms.forms_rows(
            asked.inputs, asked.seed, told=lambda rows: tables.save("forms", rows, before)
        ),
        "calls": lambda: calls.calls_rows(asked.calls, asked.seed),
        "load": lambda: load.load_rows(asked.minutes),
        "kills": lambda: toll.kills_rows(asked.kills, told=lambda rows: tables.save("kills", rows, before)),
    }
    odd = [part for part in asked.parts if part not in parts]
    if odd:
        parser.error(f"no part {', '.join(odd)}; there are {', '.join(parts)}")
    console, bad = Console(width=200), 0
    for part in asked.parts or parts:
        console.print(f"{part} ...")
        before = about()
        rows = parts[part]()
        console.print(tables.of_part(part, rows), markup=False)
        tables.save(part, rows, before)
        bad += sum(sum(row.get(key, 0) for key in ("faults", "5xx", "lost", "doubled")) for row in rows)
    tables.render()
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
