"""A remedy that was tried: what meets an error, and the same changed as the error says; and where errors are made."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pitreckon
from pitreckon.errors import InputError, StoreError

SRC = Path(pitreckon.__file__).parent
MAKERS = {"InputError", "UnsureError", "StoreError", "fault", "refuse", "misread", "within"}
"""What makes an error of a person's input: by the name that is called, plain or as a method."""


@dataclass(frozen=True)
class Tried:
    """trouble, remedy: of the error that ``wrong`` meets; rights: what the remedy says to write, each is read."""

    trouble: str
    remedy: str
    read: Callable[[Any], object]
    wrong: Any
    rights: tuple[Any, ...]


def tried(trouble: str, remedy: str, read: Callable[[Any], object], wrong: Any, *rights: Any) -> Tried:
    assert rights, trouble
    return Tried(trouble, remedy, read, wrong, rights)


def swapped(text: str, at: str, piece: str) -> str:
    """The text with another piece where ``at`` stands, once."""
    assert text.count(at) == 1, at
    return text.replace(at, piece)


@dataclass(frozen=True, order=True)
class Site:
    """A call that makes an error. file: in the package; function: in which it stands; call: as written, for people"""

    file: str
    first: int
    last: int
    function: str
    call: str

    @property
    def key(self) -> str:
        """What a list of exceptions calls it: it stays where lines move."""
        return f"{self.file} {self.function}: {self.call}"


def sites(files: list[str]) -> list[Site]:
    """Every call that makes an error in these files."""
    found: list[Site] = []

    def walk(node: ast.AST, file: str, function: str) -> None:
        for each in ast.iter_child_nodes(node):
            inside = each.name if isinstance(each, ast.FunctionDef | ast.ClassDef) else ""
            if isinstance(each, ast.Call):
                called = each.func
                name = getattr(called, "id", None) or getattr(called, "attr", None)
                if name in MAKERS:
                    call = ast.unparse(each)[:90]
                    found.append(Site(file, each.lineno, each.end_lineno or each.lineno, function, call))
            walk(each, file, f"{function}.{inside}".strip(".") if inside else function)

    for file in files:
        walk(ast.parse((SRC / file).read_text("utf-8")), file, "")
    return sorted(found)


@dataclass
class Made:
    """One error as it was made: what it said, and the lines of the package that were being run."""

    said: tuple[str, str]
    lines: set[tuple[str, int]]


@contextmanager
def recorded(monkeypatch: Any) -> Iterator[list[Made]]:
    """The errors that are made meanwhile."""
    made: list[Made] = []

    def told(plain: Callable[..., None], self: Any, trouble: str, remedy: str, *more: Any, **named: Any) -> None:
        plain(self, trouble, remedy, *more, **named)
        lines, frame = set(), sys._getframe(1)
        while frame is not None:
            path = Path(frame.f_code.co_filename)
            if path.is_relative_to(SRC):
                lines.add((path.relative_to(SRC).as_posix(), frame.f_lineno))
            frame = frame.f_back  # type: ignore[assignment]
        made.append(Made((trouble, remedy), lines))

    with monkeypatch.context() as patch:
        for kind in (InputError, StoreError):
            plain = kind.__init__
            patch.setattr(kind, "__init__", lambda *given, _plain=plain, **named: told(_plain, *given, **named))
        yield made


def reached(all_sites: list[Site], made: list[Made], error: InputError | StoreError) -> set[Site]:
    """The sites through which this error was made; what it was made of is the same trouble with another remedy."""
    lines = set[tuple[str, int]]().union(*(each.lines for each in made if each.said[0] == error.trouble))
    return {site for site in all_sites if any((site.file, n) in lines for n in range(site.first, site.last + 1))}
