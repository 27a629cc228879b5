"""Writes ``docs/reference/installation.md``: sizes of core and extras, starts, and every command's exit codes.

``scripts/try_wheel.py --write`` measures and calls it; ``tests/cli/test_cli_wheel.py`` holds its tables to the code.
"""

from __future__ import annotations

import platform
import statistics
import subprocess
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from time import perf_counter
from typing import Final

from scripts.commands_tried import CASES
from scripts.installed import ROOT, closure, extras, size_mb

from pitreckon.extras import LIBRARIES

PAGE: Final = ROOT / "docs" / "reference" / "installation.md"
COMMAND: Final = ".venv/bin/python -m scripts.try_wheel --write"
FOR: Final = {
    "": "`reckon`, `suppose`, `record`, `alerts` and `sheet` on the screen or as text, `card`, `why`, `lessons`, "
    "`mix`, `cool`, `cuts`, `pits`",
    "plan": "`plan`, and the sheet of a day that is still to be planned",
    "ledger": "a ledger that is kept: `take-in`, `watch`, `cooks`, `export`, `import`, `ledger`; signed records",
    "serve": "the live page, with a ledger",
    "broker": "readings from an MQTT broker, into the page",
    "paper": "sheets, cards and records as PDF and HTML; the day as a calendar",
    "alerts": "alerts that are sent",
    "postgres": "a ledger in PostgreSQL",
    "photo": "photos beside looks, on the page",
    "pictures": "`explain` with its pictures, as PDF or HTML, and on the page",
    "study": "`study`, and the library's labelled arrays, tables, pictures and files",
    "cluster": "a study, or the page's questions, on a Dask cluster",
    "all": "all of it",
}
"""What each extra is for; the core stands under ""."""
STARTS: Final = {
    "`pitreckon --version`": "import pitreckon.cli.main",
    "the catalog": "from pitreckon import catalog",
    "a reckoning, its kernel compiled before": "from pitreckon.section.warm import warm; warm()",
    "the ledger (`ledger`)": "from pitreckon.ledger.store import Store",
    "the solver (`plan`)": "from ortools.sat.python import cp_model",
    "the page (`serve`)": "import pitreckon.web.serve",
    "a PDF (`paper`)": "import weasyprint",
    "sending (`alerts`)": "import apprise",
}
ROUNDS: Final = 5
HOW: Final = "How to install it: [install](../how-to/install.md)."
ON_TOP: Final = "An extra's MB and packages come on top of the core; what two extras share is counted with both."
MOST: Final = """\
Most of the core is the compiler (llvmlite) and SciPy.
"""
CODES: Final = """\
What each needs beyond the core, and every exit code that it ends with. A command whose extra is missing ends with 2,
before it has reckoned or written anything, and with one line on standard error that names what installs it. All these
calls are run by the script, with the core alone and with everything; the tests run them with the core alone.
"""


def start_ratios(python: Path, folder: Path) -> dict[str, float]:
    """How many times as long as a bare Python each start takes, the median of rounds in turns."""
    took: dict[str, list[float]] = {name: [] for name in ("", *STARTS)}
    for _ in range(ROUNDS):
        for name, times in took.items():
            begun = perf_counter()
            subprocess.run([str(python), "-c", STARTS.get(name, "pass")], check=True, cwd=folder)
            times.append(perf_counter() - begun)
    bare = statistics.median(took.pop(""))
    return {name: statistics.median(each) / bare for name, each in took.items()}


def ratios_of(text: str) -> dict[str, float]:
    """The starts as a page tells them."""
    rows = text.partition("\n## Starts\n")[2].partition("\n## ")[0].splitlines()
    cells = [row.strip("| ").split(" | ") for row in rows if row.startswith("| ")][1:]
    return {name: float(ratio) for name, ratio in cells}


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head), *("| " + " | ".join(row) + " |" for row in rows)]
    return "\n".join(lines) + "\n"


def sizes() -> list[tuple[str, float, int]]:
    """Extra, MB that it adds to the core (the core's own for ""), and how many distributions."""
    core = closure()
    rows = [("", size_mb(core.values()), len(core))]
    for extra in FOR.keys() - {""}:
        more = {name: each for name, each in closure(extra).items() if name not in core}
        rows.append((extra, size_mb(more.values()), len(more)))
    return sorted(rows, key=lambda row: list(FOR).index(row[0]))


def commands() -> list[tuple[str, str, str]]:
    """Each command: what it needs beyond the core, and the codes that it ends with and what those mean."""
    rows = []
    for name in dict.fromkeys(case.command for case in CASES):
        mine = [case for case in CASES if case.command == name]
        needs = list(dict.fromkeys(case.extra for case in mine if case.extra))
        always = all(case.extra for case in mine if case.code == 0)
        codes = {case.code: case.means or {0: "done", 2: "wrong input"}[case.code] for case in mine}
        if name == "serve":
            codes[0] = "ended from outside"
        said = ", ".join(f"`{each}`" for each in needs) or "nothing"
        rows.append(
            (
                f"`{name}`",
                said if always or not needs else f"nothing; some of it {said}",
                "; ".join(f"{code}: {codes[code]}" for code in sorted(codes)),
            )
        )
    return rows


def page(wheel_mb: float, ratios: Mapping[str, float]) -> str:
    """The reference page, from what was measured."""
    libraries = {
        extra: ", ".join(dict.fromkeys(name for name, of in LIBRARIES.values() if of == extra)) for extra in extras()
    }
    size = [
        (
            f"`{extra}`" if extra else "(the core)",
            FOR[extra],
            libraries[extra] or ("" if extra else "NumPy, SciPy, Numba, Pydantic, Typer, Rich, tzdata"),
            f"{mb:.0f}" if mb >= 1 else f"{mb:.1f}",
            str(count),
        )
        for extra, mb, count in sizes()
    ]
    machine = f"{platform.system()} ({platform.machine()}) with Python {platform.python_version()}"
    parts = [
        f"# What is installed\n\n<!-- Measured by {COMMAND}; change the script, not this page. -->\n",
        f"{HOW} Sizes are of installed files without compiled bytecode, and starts of fresh processes, on",
        f"{machine}, from the versions of `requirements.lock`. The wheel itself has {wheel_mb:.1f} MB.\n",
        f"## Core and extras\n\n{ON_TOP}\n",
        _table(("extra", "for", "libraries", "MB", "packages"), size),
        f"{MOST}\n## Starts\n",
        f"Times as long as Python itself takes to start and end, the median of {ROUNDS} in turns.\n",
        _table(("start of", "times Python's own"), ((name, f"{ratio:.1f}") for name, ratio in ratios.items())),
        f"## Commands\n\n{CODES}",
        _table(("command", "needs", "exit codes"), commands()),
    ]
    return "\n".join(parts)
