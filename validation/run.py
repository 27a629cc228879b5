"""``python -m validation.run``: every check, shown and written into ``validation/README.md``."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator
from math import isnan
from pathlib import Path

from rich.console import Console
from rich.progress import track
from rich.table import Table

from pitreckon import catalog
from pitreckon.citations import cite
from pitreckon.reckon.around import GLAZE_KG_M2
from pitreckon.section.constants import constant
from validation import exactness, experiments, fit, lab, trade
from validation.check import PRACTICE, Group, Result, run

README = Path(__file__).with_name("README.md")
BEGIN, END = "<!-- made by python -m validation.run: begin -->", "<!-- end -->"
ROLES = {"fit": "fitted on", "test": "tested", "consulted": "tested, once consulted"}

BY_HAND = {
    "transport_m2_s": "time, stall and loss of the butt",
    "hold_drop": "time, stall and loss of the butt",
    "drip_m_s": "time, stall and loss of the butt",
}
BY_ROOT = {
    "colour_rate_per_s": "a rack's colour set at 2.25 h",
    "gelatin_rate_per_s": "a rack tender at 4.0 h",
    "bone_show": "1/4 in (6.35 mm) of bone at each end of a rack",
}


def published() -> tuple[Group, ...]:
    """One group a file of ``validation/experiments``, in the order of their names."""
    names = sorted(module.name for module in pkgutil.iter_modules(experiments.__path__))
    return tuple(importlib.import_module(f"validation.experiments.{name}").GROUP for name in names)


def groups() -> tuple[Group, ...]:
    """Every group: fit, trade, published."""
    return (*fit.GROUPS, *trade.GROUPS, *published())


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
    """Name, value, how it was found, on what, what root finding gives now."""
    rows = [[f"`{name}`", f"{constant(name):.3g}", "by hand", on, ""] for name, on in BY_HAND.items()]
    leak = catalog.wrap("foil").leak_kg_m2_s_pa.value
    rows.append(["leak of foil, kg/m² s Pa", f"{leak:.3g}", "by hand", "203-208 °F between the bones", ""])
    rows.append(["`GLAZE_KG_M2`", f"{GLAZE_KG_M2:.3g}", "by hand", "glaze set in 10-15 min", ""])
    for name, on in BY_ROOT.items():
        root = fit.roots()[name]
        apart = 100.0 * (root / constant(name) - 1.0)
        rows.append([f"`{name}`", f"{constant(name):.3g}", "root finding", on, f"{root:.3g} ({apart:+.1f} %)"])
    return rows


def report(results: list[Result], figures: list[exactness.Figure]) -> str:
    """The generated part of the page."""
    lines = ["## Fitted constants", ""]
    lines += _table(["constant", "value", "found", "on", "root found again"], constants_rows())
    lines += ["## Checks", "", _count(results), ""]
    for role, said in ROLES.items():
        lines += [f"### {said[0].upper()}{said[1:]}", ""]
        rows = [
            [r.group.name, source_of(r.group), r.check.says, r.check.wanted, _measured(r), _mark(r)]
            for r in results
            if r.group.role == role
        ]
        lines += _table(["experiment", "source", "compared", "wanted", "measured", ""], rows)
    lines += ["## Misses, each with its likely reason", ""]
    lines += [
        f"- **{r.group.name}**, {r.check.says}: {_measured(r)}, wanted {r.check.wanted}. "
        f"{r.check.reason[0].upper()}{r.check.reason[1:]}."
        for r in results
        if r.verdict == "miss"
    ]
    lines += ["", "## Exact solutions, convergence, balances", ""]
    rows = [[f.says, f.measured, f.limit] for f in figures]
    closed = lab.worst_balance < 1e-9
    rows.append(
        ["heat and water balance, worst of all runs on this page", "below 1e-9" if closed else "above 1e-9", "1e-6"]
    )
    lines += _table(["what (compiled kernel)", "measured", "limit held by tests/section"], rows)
    return "\n".join(lines)


def _measured(result: Result) -> str:
    unit = "" if result.check.unit == "-" or isnan(result.value) else f" {result.check.unit}"
    return number(result.value) + unit


def _mark(result: Result) -> str:
    if result.verdict == result.expected:
        return result.verdict
    return f"{result.verdict}, {result.expected} was expected"


def _count(results: list[Result]) -> str:
    parts = []
    for role, said in ROLES.items():
        these = [r for r in results if r.group.role == role]
        hits = sum(r.verdict == "hit" for r in these)
        parts.append(f"{said}: {hits} of {len(these)} hit")
    return "; ".join(parts) + "."


def write(text: str) -> None:
    """Put the generated part between its markers."""
    page = README.read_text("utf-8")
    before, rest = page.split(BEGIN)
    after = rest.split(END)[1]
    README.write_text(f"{before}{BEGIN}\n\n{text}\n{END}{after}", "utf-8")


def show(results: list[Result], console: Console) -> None:
    """The checks as a table in the terminal."""
    table = Table("experiment", "compared", "wanted", "measured", "", title=_count(results))
    for r in results:
        style = "" if r.verdict == r.expected else "bold reverse"
        table.add_row(r.group.name, r.check.says, r.check.wanted, _measured(r), _mark(r), style=style)
    console.print(table)
    constants = Table("constant", "value", "found", "on", "root found again")
    for row in constants_rows():
        constants.add_row(*row)
    console.print(constants)


def main() -> None:
    """Run, show, write. A listed miss is no failure; tests/validation holds what is expected."""
    console = Console()
    results = [r for g in track(groups(), "checks", console=console, transient=True) for r in run(g)]
    show(results, console)
    console.print("exact solutions and convergence ...")
    write(report(results, exactness.figures()))
    console.print(f"written: validation/{README.name}")


if __name__ == "__main__":
    main()
