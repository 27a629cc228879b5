"""Writes what follows from the package's own layout: the rooms on the architecture page, and the page of all modules.

Run ``.venv/bin/python scripts/make_modules.py`` after a file was added, moved or taken away, or its first docstring
line changed; ``tests/docs`` fails until it was done. The sources are read, not loaded.
"""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGE = "pitreckon"
SOURCES = ROOT / "src" / PACKAGE
ARCHITECTURE = ROOT / "docs" / "architecture.md"
MODULES = ROOT / "docs" / "reference" / "modules.md"
COMMAND = ".venv/bin/python scripts/make_modules.py"
BEGIN = f"<!-- rooms: made by {COMMAND} -->\n"
END = "<!-- end of rooms -->\n"
STANDARD = sys.stdlib_module_names


@dataclass(frozen=True)
class Module:
    """One source file. name: dotted, without the package's own; blank for the package itself."""

    name: str
    path: Path

    @cached_property
    def tree(self) -> ast.Module:
        """What it says."""
        return ast.parse(self.path.read_text(encoding="utf-8"))

    @property
    def room(self) -> str:
        """The first part of its name."""
        return self.name.partition(".")[0]

    @property
    def is_folder(self) -> bool:
        """Is it the front of a folder?"""
        return self.path.name == "__init__.py"

    @property
    def says(self) -> str:
        """The first paragraph of its docstring, on one line, without the marks of reStructuredText."""
        said = " ".join((ast.get_docstring(self.tree) or "").split("\n\n")[0].split())
        return re.sub(r":\w+:`([^`]+)`", r"\1", said).replace("``", "")

    @cached_property
    def imports(self) -> frozenset[str]:
        """The dotted names of what it imports, wherever in the file it does, but for types alone."""
        return frozenset(self._imports())

    def _imports(self) -> Iterator[str]:
        every = list(ast.walk(self.tree))
        blocks = [node for node in every if isinstance(node, ast.If) and isinstance(node.test, ast.Name)]
        blocks = [node for node in blocks if ast.unparse(node.test) == "TYPE_CHECKING"]
        for_types = {id(inner) for node in blocks for inner in ast.walk(node)}
        for node in every:
            if id(node) in for_types:
                continue
            if isinstance(node, ast.Import):
                yield from (alias.name for alias in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module:
                whole = node.module == PACKAGE
                yield from (f"{PACKAGE}.{alias.name}" for alias in node.names) if whole else (node.module,)


@cache
def modules() -> tuple[Module, ...]:
    """Every module of the package, in the order of their names."""
    found = []
    for path in SOURCES.rglob("*.py"):
        parts = path.relative_to(SOURCES).with_suffix("").parts
        if parts == ("__main__",):
            continue  # a door to the command line, and no room
        found.append(Module(".".join(parts[:-1] if parts[-1] == "__init__" else parts), path))
    return tuple(sorted(found, key=lambda module: module.name))


def floors() -> list[tuple[str, ...]]:
    """The rooms, floor by floor from the top, as the import contract has them."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    (layers,) = [each["layers"] for each in project["tool"]["importlinter"]["contracts"] if each["type"] == "layers"]
    return [tuple(re.findall(rf"{PACKAGE}\.(\w+)", line)) for line in layers]


def _table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


def rooms() -> str:
    """The floors as a drawing, and a row for each room: what it holds, its folders, what it imports."""
    every = modules()
    order = [room for floor in floors() for room in floor]
    rows = []
    for room in order:
        mine = [module for module in every if module.room == room]
        names = {name for module in mine for name in module.imports}
        ours = {name.split(".")[1] for name in names if name.startswith(f"{PACKAGE}.")} & set(order) - {room}
        others = {name.partition(".")[0] for name in names} - STANDARD - {PACKAGE}
        folders = [f"`{each.name.rpartition('.')[2]}`" for each in mine if each.is_folder and each.name.count(".") == 1]
        rows.append(
            (
                f"`{room}`",
                next(module.says for module in mine if module.name == room),
                ", ".join(folders),
                ", ".join(sorted(ours, key=order.index)),
                ", ".join(sorted(others, key=str.lower)),
            )
        )
    drawing = "\n".join(" " + " | ".join(floor) for floor in floors())
    table = _table(("room", "holds", "folders", "imports", "libraries"), rows)
    return f"{BEGIN}\n```text\n{drawing}\n```\n\n{table}\n{END}"


def module_page() -> str:
    """The page of all modules: a section for each room, a row for each file."""
    every = modules()
    head = (
        "# Modules\n\n"
        f"<!-- Made from the code by {COMMAND}; change the code, not this page. -->\n\n"
        f"Every file of `src/{PACKAGE}` with the first line of what it says of itself, room by room from the top\n"
        "floor down. How the rooms hang together: [architecture](../architecture.md).\n"
    )
    parts = [head]
    for room in (room for floor in floors() for room in floor):
        mine = [module for module in every if module.room == room]
        (front,) = [module for module in mine if module.name == room]
        parts.append(f"\n## {room}\n\n{front.says}\n")
        rows = [
            (f"`{each.name.removeprefix(f'{room}.')}`" + ("/" if each.is_folder else ""), each.says)
            for each in mine
            if each is not front
        ]
        if rows:
            parts.append("\n" + _table(("", ""), rows))
    return "".join(parts)


def pages() -> dict[Path, str]:
    """Every page with its text."""
    text = ARCHITECTURE.read_text(encoding="utf-8")
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise SystemExit(f"{ARCHITECTURE} has lost the lines between which the rooms stand: {BEGIN}{END}")
    return {ARCHITECTURE: before + rooms() + after, MODULES: module_page()}


def main() -> None:
    """Write the pages that changed."""
    for path, text in pages().items():
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
            sys.stdout.write(f"wrote {path.relative_to(ROOT)}\n")


if __name__ == "__main__":
    main()
