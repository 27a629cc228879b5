"""What is installed here, by what distributions say of themselves: closures, and the modules that they bring."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.metadata import Distribution, distribution, packages_distributions
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[1]


def canonical(name: str) -> str:
    """A distribution's name as all its spellings agree on (packaging specifications, "name normalization")."""
    return re.sub(r"[-_.]+", "-", name).lower()


@cache
def extras() -> Mapping[str, tuple[str, ...]]:
    """What each extra of ``pyproject.toml`` asks for; under "" what the core does."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return {"": tuple(project["dependencies"]), **{k: tuple(v) for k, v in project["optional-dependencies"].items()}}


def closure(extra: str = "") -> dict[str, Distribution]:
    """Every distribution that the core, or an extra, brings with it here, by its name."""
    found: dict[tuple[str, str], Distribution] = {}
    todo = [(Requirement(each), "") for each in extras()[extra]]
    while todo:
        asked, of = todo.pop()
        if asked.marker is not None and not asked.marker.evaluate({"extra": of}):
            continue
        name = canonical(asked.name)
        if name == "pitreckon":
            todo += [(Requirement(each), "") for more in asked.extras for each in extras()[more]]
            continue
        for one in asked.extras or {""}:
            if (name, one) in found:
                continue
            found[name, one] = distribution(name)
            todo += [(Requirement(each), one) for each in distribution(name).requires or ()]
            todo += [(Requirement(each), "") for each in distribution(name).requires or () if one]
    return {name: each for (name, _), each in found.items()}


def modules(distributions: Iterable[str]) -> set[str]:
    """The top modules that they bring."""
    wanted = set(distributions)
    return {module for module, names in _brought().items() if wanted & set(names)}


@cache
def _brought() -> Mapping[str, tuple[str, ...]]:
    return {module: tuple(map(canonical, names)) for module, names in packages_distributions().items()}


def size_mb(distributions: Iterable[Distribution]) -> float:
    """What their files take on this disk, without compiled bytecode [MB]."""
    files = (path for each in distributions for path in each.files or () if path.suffix != ".pyc")
    return sum(Path(str(path.locate())).stat().st_size for path in files if Path(str(path.locate())).is_file()) / 1e6


def linked(folder: Path, distributions: Iterable[Distribution]) -> Path:
    """A fresh environment in which these distributions of this one can be imported, and nothing else; its Python.

    They are links, so no network is asked and it is there in a second; what is not named is not there at all.
    """
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", "--clear", str(folder)], check=True)
    (packages,) = folder.glob("lib/python*/site-packages")
    for each in distributions:
        for top in {path.parts[0] for path in each.files or () if path.parts[0] not in {"..", "__pycache__"}}:
            if not (packages / top).exists():
                (packages / top).symlink_to(Path(str(each.locate_file(top))).absolute())
    return folder / "bin" / "python"
