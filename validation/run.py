"""``python -m validation.run``: every check, shown and written into ``validation/README.md``.

What came out is written down in ``results/checks.csv`` as well, which the tests hold. A hit that has become a miss
stops the writing, until ``--accept`` says that it is meant.
"""

from __future__ import annotations

import argparse
import importlib
import pkgutil
import sys
import tomllib
from collections.abc import Iterator, Mapping
from math import isnan
from pathlib import Path

from rich.console import Console
from rich.progress import track
from rich.table import Table

from pitreckon.catalog.shelf import OWN_DATA
from pitreckon.citations import cite
from pitreckon.reckon.around import GLAZE_KG_M2
from pitreckon.section.constants import CONSTANTS
from validation import exactness, expected, experiments, lab, thumb, trade
from validation.check import PRACTICE, Group, Result, run
from validation.marked import put

README = Path(__file__).with_name("README.md")
BEGIN, END = "<!-- made by python -m validation.run: begin -->", "<!-- end -->"
ROLES = {
    "fit": "fitted on",
    "test": "tested",
    "consulted": "tested, once consulted",
    "out of reach": "out of reach of the set-up",
}
CALIBRATION = OWN_DATA / "constants" / "calibration.toml"
FITTED = "fitted, see validation/README.md"
ASKED = 46
"""Rows of ``of_64`` that are to hit at least."""


def published() -> tuple[Group, ...]:
    """One group a file of ``validation/experiments``, in the order of their names."""
    names = sorted(module.name for module in pkgutil.iter_modules(experiments.__path__))
    return tuple(importlib.import_module(f"validation.experiments.{name}").GROUP for name in names)


def groups() -> tuple[Group, ...]:
    """Every group: rules of thumb, trade, published."""
    return (*thumb.GROUPS, *trade.GROUPS, *published())


def of_64(results: list[Result]) -> list[Result]:
    """The rows that no fit saw before the joint calibration, whatever part they play now: all but two of trade's."""
    names = {g.name for g in (*trade.GROUPS, *published()) if g.role == "test"}
    return [r for r in results if r.group.name in names]


def source_of(group: Group) -> str:
    """Source in short."""
    if group.source == PRACTICE:
        return PRACTICE
    source = cite(group.source)
    return f"{source.author.split(' and ')[0]}, {source.year}"


def number(value: float) -> str:
    """Three significant figures, no exponent below a million."""
    if isnan(value):
        return "not reckoned"
    return f"{value:.3g}" if abs(value) < 1000.0 else f"{float(f'{value:.3g}'):.0f}"


def _row(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _table(head: list[str], rows: list[list[str]]) -> Iterator[str]:
    yield _row(head)
    yield "|" + "---|" * len(head)
    yield from (_row(row) for row in rows)
    yield ""


def constants_rows() -> list[list[str]]:
    """Name, value, what is not known of it, and how it was found, of every constant that was fitted."""
    rows, named = [], set()
    if CALIBRATION.exists():
        for each in tomllib.loads(CALIBRATION.read_text("utf-8")).get("universal", []):
            wide = f"{100.0 * each['sd']:.0f} %" if each["scale"] == "log" else f"{each['sd']:.2g}"
            told = f"prior {each['prior']:.3g}, moved {each['moved_prior_sd']:+.1f} prior sd"
            rows.append([each["name"], f"{each['value']:.3g}", wide, "joint calibration", told])
            named.add(each["address"].partition(":")[2])
    for name, figure in CONSTANTS.items():
        if figure.source == FITTED and name not in named:
            wide = f"{100.0 * figure.spread:.0f} %" if figure.of == "logarithm" else f"{figure.spread:.2g}"
            rows.append(
                [f"`{name}`", f"{figure.value:.3g}", wide, "by hand", BY_HAND.get(name, "before there was one")]
            )
    rows.append(["`GLAZE_KG_M2`", f"{GLAZE_KG_M2:.3g}", "", "by hand", "glaze set in 10-15 min"])
    return rows


BY_HAND: Mapping[str, str] = {"bone_show": "1/4 in (6.35 mm) of bone at each end of a rack"}


def report(results: list[Result], figures: list[exactness.Figure]) -> str:
    """The generated part of the page."""
    lines = ["## Fitted constants", ""]
    lines += _table(["constant", "value", "not known", "found by", ""], constants_rows())
    lines += ["## Checks", "", _count(results), ""]
    for role, said in ROLES.items():
        these = [r for r in results if r.role == role]
        lines += [f"### {said[0].upper()}{said[1:]}", ""]
        head = ["experiment", "source", "compared", "wanted", "measured", ""]
        rows = [
            [r.group.name, source_of(r.group), r.check.says, r.check.wanted, _measured(r), r.verdict] for r in these
        ]
        if role == "out of reach":
            head = [*head[:-1], "with nothing evaporating", ""]
            rows = [[*row[:-1], _with_unit(r, r.bound or 0.0), row[-1]] for row, r in zip(rows, these, strict=True)]
        lines += _table(head, rows)
    lines += ["## Misses, each with its likely reason", ""]
    lines += [
        f"- **{r.group.name}**, {r.check.says}: {_measured(r)}, wanted {r.check.wanted}. "
        f"{r.check.reason[0].upper()}{r.check.reason[1:]}."
        for r in results
        if r.verdict == "miss"
    ]
    lines += ["", "## Exact solutions, convergence, balances", ""]
    rows = [[f.says, f.measured, f.limit] for f in figures]
    rows.append(["heat and water balance, worst of all runs above", f"{lab.worst_balance:.0e}", "1e-6"])
    lines += _table(["what (compiled kernel)", "measured", "limit held by tests/section"], rows)
    return "\n".join(lines)


def _measured(result: Result) -> str:
    return _with_unit(result, result.value)


def _with_unit(result: Result, value: float) -> str:
    return number(value) + ("" if result.check.unit == "-" or isnan(value) else f" {result.check.unit}")


def _count(results: list[Result]) -> str:
    parts = []
    for role, said in ROLES.items():
        these = [r for r in results if r.role == role]
        hits = sum(r.verdict == "hit" for r in these)
        parts.append(f"{said}: {hits} of {len(these)} hit")
    old = of_64(results)
    hits = sum(r.verdict == "hit" for r in old)
    return (
        f"{'; '.join(parts)}. Of the {len(old)} rows tested before the joint calibration, {hits} hit (asked: {ASKED})."
    )


def write(text: str) -> None:
    """Put the generated part between its markers."""
    put(text, BEGIN, END, README)


def show(results: list[Result], was: Mapping[expected.Key, expected.Expected], console: Console) -> None:
    """The checks as a table in the terminal, what changed standing out."""
    table = Table("experiment", "compared", "wanted", "measured", "", title=_count(results))
    for r in results:
        before = was.get(expected.key_of(r))
        same = before is not None and before.verdict == r.verdict
        mark = r.verdict if same else f"{r.verdict}, {before.verdict if before else 'new'} before"
        style = "" if same else "bold reverse"
        table.add_row(r.group.name, r.check.says, r.check.wanted, _measured(r), mark, style=style)
    console.print(table)


def main() -> None:
    """Run, show, write."""
    parser = argparse.ArgumentParser(prog="python -m validation.run", description=__doc__)
    parser.add_argument("--accept", action="store_true", help="write down that a hit has become a miss")
    wants = parser.parse_args()
    console = Console()
    was = expected.read() if expected.TABLE.exists() else {}
    results = [r for g in track(groups(), "checks", console=console, transient=True) for r in run(g)]
    show(results, was, console)
    unreasoned = [r for r in results if r.verdict == "miss" and not r.check.reason]
    if unreasoned:
        said = "; ".join(f"{r.group.name}, {r.check.says}" for r in unreasoned)
        sys.exit(f"a miss without its likely reason: {said}. Write it beside the check. Nothing is written")
    lost = expected.lost(results, was)
    if lost and not wants.accept:
        said = "; ".join(f"{r.group.name}, {r.check.says}" for r in lost)
        sys.exit(f"no longer hit: {said}. Nothing is written; mend it, or say --accept and give each its reason")
    expected.write(results)
    console.print("exact solutions and convergence ...")
    write(report(results, exactness.figures()))
    console.print(f"written: validation/{README.name}, validation/results/{expected.TABLE.name}")


if __name__ == "__main__":
    main()
