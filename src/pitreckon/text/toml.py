"""A TOML file with the line on which each of its values stands.

The standard library's parser says what a file holds, not where. The file is parsed first, so the walk over
its lines below only meets valid TOML: it finds headers and keys, and steps over values of several lines.
"""

import re
import tomllib
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.units import shown

Path = tuple[str | int, ...]  # ("item", 1, "weight"): the weight of the second item

_PIECE = r"""(?:"(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)"""
_DOTTED = rf"{_PIECE}(?:[ \t]*\.[ \t]*{_PIECE})*"
_HEADER: Final = re.compile(rf"[ \t]*(\[\[?)[ \t]*({_DOTTED})[ \t]*\]")
_KEY: Final = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
_PIECES: Final = re.compile(_PIECE)
# What moves the walk on through a value: strings whole, brackets one by one, comments to the end of the line.
_TOKEN: Final = re.compile(
    r"""\"{3}(?:[^\\]|\\.)*?"{3,5}|'{3}.*?'{3,5}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|\#[^\n]*|[\[\]{}]|\n""",
    re.DOTALL,
)
# What can hold something that looks like a key and is none, and every run of steps joined by points. An unfinished
# text of several lines reaches to the end: nothing behind it is read.
_RUN: Final = re.compile(
    rf"""\"{{3}}(?:[^\\]|\\.)*?(?:"{{3,5}}|\\?\Z)|'{{3}}.*?(?:'{{3,5}}|\Z)|\#[^\n]*|(?P<steps>{_DOTTED})""",
    re.DOTALL,
)
MOST_STEPS: Final = 8
"""In a key, as in ``a.b.c``. The parser's own work and memory grow with the square of their number."""
_AT_LINE: Final = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)$")


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """What a TOML text holds; ``file`` is its name for messages.

    Raises InputError: not TOML, or a key of more than ``MOST_STEPS`` steps, with the line.
    """
    _refuse_deep_keys(text, file)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise InputError(
            "its brackets are nested too deeply", 'Write a list of texts alone, as in ["one", "two"]', Place(file)
        ) from None
    except ValueError as error:  # TOMLDecodeError, and what int() and date() raise through it
        message = str(error)
        where = _AT_LINE.search(message)
        line = int(where[1]) if where and where[1] else None
        if where and line is None:
            line = max(1, len(text.splitlines()))
        raise InputError(
            f"the file is not TOML: {_AT_LINE.sub('', message)}",
            'Write one key = "value" on a line, texts in double quotes, below the [head] of its table',
            Place(file, line),
        ) from None


def _refuse_deep_keys(text: str, file: str) -> None:
    """Before the text is parsed: a key of 8,000 steps would cost the parser 264 MB, one of 60,000 over 4 GB."""
    if not any(line.count(".") >= MOST_STEPS for line in text.split("\n")):  # nearly every file; a key has one line
        return
    for run in _RUN.finditer(text):
        if run["steps"] and "." in run["steps"] and len(_PIECES.findall(run["steps"])) > MOST_STEPS:
            raise InputError(
                f"the key {shown(run['steps'])} has more than {MOST_STEPS} steps",
                "Write it below the [head] of its table, with fewer points",
                Place(file, text.count("\n", 0, run.start()) + 1),
            )


class Lines:
    """Where each value of a parsed TOML text stands."""

    def __init__(self, text: str) -> None:
        self._lines: dict[Path, int] = {(): 1}
        self._counts: dict[Path, int] = {}
        self._walk(text.replace("\r\n", "\n"))

    def of(self, path: Path) -> int:
        """The line of a value, or of the nearest table around it."""
        while path not in self._lines:
            path = path[:-1]
        return self._lines[path]

    def _walk(self, text: str) -> None:
        at, line, table = 0, 1, ()  # type: tuple[int, int, Path]
        while at < len(text):
            header = _HEADER.match(text, at)
            key = None if header else _KEY.match(text, at)
            if header:
                table = self._enter(_names(header[2]), line, many=header[1] == "[[")
                at = header.end()
            elif key:
                names = _names(key[1])
                for depth in range(1, len(names) + 1):
                    self._lines.setdefault((*table, *names[:depth]), line)
                at = key.end()
            at, line = _next_line(text, at, line)

    def _enter(self, names: Path, line: int, *, many: bool) -> Path:
        """The full path of a header: each array of tables on the way stands for its latest entry."""
        path: Path = ()
        for depth, name in enumerate(names, start=1):
            path = (*path, name)
            self._lines.setdefault(path, line)
            if depth == len(names) and many:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path = (*path, self._counts[path])
                self._lines.setdefault(path, line)
        return path


def _names(dotted: str) -> Path:
    return tuple(piece[1:-1] if piece[0] in "\"'" else piece for piece in _PIECES.findall(dotted))


def _next_line(text: str, at: int, line: int) -> tuple[int, int]:
    """Past the value at ``at`` to the start of the next line that can hold a header or a key."""
    depth = 0
    for token in _TOKEN.finditer(text, at):
        found = token[0]
        line += found.count("\n")
        if found == "\n" and depth <= 0:
            return token.end(), line
        depth += (found in {"[", "{"}) - (found in {"]", "}"})
    return len(text), line
