"""Builds the wheel, installs it alone into fresh environments, and tries every command there.

    .venv/bin/python -m scripts.try_wheel                    core and all, of what is installed here; no network
    .venv/bin/python -m scripts.try_wheel --write            the same, and docs/reference/installation.md with it
    .venv/bin/python -m scripts.try_wheel --tables           that page alone, its starts as they were measured last
    .venv/bin/python -m scripts.try_wheel --registry         the core as pip brings it, pinned by requirements.lock
    .venv/bin/python -m scripts.try_wheel --registry --python python3.12 --python python3.13

The first is what the tests do too (``tests/cli/test_cli_wheel.py``): its environments hold links to what this one has,
so they are there in seconds and hold nothing that was not asked for. The third asks the registry that pip is set to,
and runs the whole tutorial there, too.
"""

from __future__ import annotations

import argparse
import os
import re
import shlex
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from time import perf_counter
from typing import Final

from hatchling.builders.wheel import WheelBuilder
from scripts.commands_tried import CASES, Case, Ended, laid_out, tried, tutorial
from scripts.installation_page import PAGE, page, ratios_of, start_ratios
from scripts.installed import ROOT, closure, extras, linked

BUILD: Final = ROOT / "build" / "try-wheel"


def build(folder: Path) -> Path:
    """The wheel of this tree, as ``pip wheel`` would make it."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (wheel,) = WheelBuilder(str(ROOT), config=project).build(directory=str(folder), versions=["standard"])
    return Path(wheel)


def with_wheel(python: Path, wheel: Path) -> Path:
    """Install the wheel, and nothing that it asks for, into an environment; its ``pitreckon``.

    Its files get the times that they have in the wheel, so that the kernel which was compiled for them once is found
    again where nothing has changed.
    """
    pip = [sys.executable, "-m", "pip", "--python", str(python), "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "--no-index", "--no-deps", "--no-compile", str(wheel)], check=True)
    (packages,) = python.parents[1].glob("lib/python*/site-packages")
    with zipfile.ZipFile(wheel) as opened:
        for each in opened.infolist():
            if each.filename.startswith("pitreckon/"):
                _date(packages / each.filename)
    return python.parent / "pitreckon"


def _date(path: Path, at_s: float = 1_600_000_000.0) -> None:
    os.utime(path, (at_s, at_s))


def from_here(folder: Path, wheel: Path, extra: str = "") -> Path:
    """An environment with the wheel, the core and an extra, made of links to what is installed here; its Python."""
    python = linked(folder, {**closure(), **closure(extra)}.values())
    with_wheel(python, wheel)
    return python


def from_registry(folder: Path, wheel: Path, python: str, extra: str = "") -> Path:
    """The same as pip installs it from its registry, in the versions of requirements.lock; its Python."""
    subprocess.run([python, "-m", "venv", "--clear", str(folder)], check=True)
    pins = re.findall(r"^[\w.-]+==[^\\\n]*", (ROOT / "requirements.lock").read_text(encoding="utf-8"), re.MULTILINE)
    (folder / "pins.txt").write_text("\n".join(pins) + "\n", encoding="utf-8")
    what = f"{wheel}[{extra}]" if extra else str(wheel)
    pip = [str(folder / "bin" / "pip"), "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "--constraint", str(folder / "pins.txt"), what], check=True)
    return folder / "bin" / "python"


def faults(ended: Iterable[Ended], has: frozenset[str]) -> Iterator[str]:
    """Calls that ended otherwise than they should where only these extras are installed."""
    for each in ended:
        case = each.case
        missing = case.extra if case.extra and case.extra not in has else ""
        right = each.lacks == missing if missing else each.code == case.code and not each.lacks
        if not right or (each.code not in {0, 3} and each.err.count("\n") > 8) or "Traceback" in each.err:
            yield f"pitreckon {' '.join(case.words)}: {each.code}, {each.err[-400:] or each.out[-400:]}"


def main() -> None:
    """Try it and say what was found; the exit code is 1 where something is not as it should be."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--registry", action="store_true", help="have pip install it from its registry")
    parser.add_argument("--python", action="append", help="with --registry: these, in place of the one that runs this")
    parser.add_argument("--extra", default="", help="with --registry: with this extra")
    parser.add_argument("--write", action="store_true", help="write docs/reference/installation.md")
    parser.add_argument("--tables", action="store_true", help="write that page with the starts that stand there")
    asked = parser.parse_args()
    BUILD.mkdir(parents=True, exist_ok=True)
    wheel = build(BUILD)
    if asked.tables:
        PAGE.write_text(page(wheel.stat().st_size / 1e6, ratios_of(PAGE.read_text(encoding="utf-8"))), encoding="utf-8")
        return
    every = frozenset(extras()) - {""}
    found: list[str] = []
    if asked.registry:
        for python in asked.python or [sys.executable]:
            begun = perf_counter()
            made = from_registry(BUILD / f"registry-{Path(python).name}", wheel, python, asked.extra)
            installed_s = perf_counter() - begun
            has = every if asked.extra == "all" else frozenset({asked.extra} - {""})
            lessons = [Case(tuple(shlex.split(line))) for line in tutorial(BUILD / "tutorial")]
            bad = [
                *faults(tried(made, laid_out(BUILD / "files")), has),
                *faults(tried(made, BUILD / "tutorial", lessons), has),
            ]
            calls = f"{len(CASES)} calls and the tutorial's {len(lessons)}"
            print(f"{python}: installed in {installed_s:.0f} s, {calls}, {len(bad)} not as they should be")
            found += bad
    else:
        for extra, has in (("", frozenset[str]()), ("all", every)):
            made = from_here(BUILD / (extra or "core"), wheel, extra)
            bad = list(faults(tried(made, laid_out(BUILD / "files")), has))
            print(f"{extra or 'core'}: {len(CASES)} calls, {len(bad)} not as they should be")
            found += bad
        if asked.write and not found:
            PAGE.write_text(page(wheel.stat().st_size / 1e6, start_ratios(made, BUILD)), encoding="utf-8")
            print(f"wrote {PAGE.relative_to(ROOT)}")
    print("\n".join(found))
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()
