"""Where the catalog's files lie, how a folder of them is read, and how a name finds its entry."""

import functools
import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Generic, TypeVar

from pitreckon.catalog.buyforms import BeforeFire, Buying, Portions
from pitreckon.catalog.form import Document, build, read_document
from pitreckon.catalog.forms import Animal, Cut, Fuel, Pit, Wrap
from pitreckon.errors import InputError, Place
from pitreckon.text.words import plain, resolve, spellings

VARIABLE = "PITRECKON_CATALOG"
OWN_DATA = Path(__file__).parent / "data"
FOLDERS = "animals, cuts, pits, wraps, fuels"  # what most have of their own; see buying.py for the others

MOST_NAMES = 512
"""Spellings of which it is kept what they stand for."""

_KEY = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

E = TypeVar("E", Animal, Cut, Pit, Wrap, Fuel, Buying, Portions, BeforeFire)


def users_directory(extra_dir: Path | None = None) -> Path | None:
    """The user's own catalog: the argument, else $PITRECKON_CATALOG, else pitreckon/catalog in the
    configuration directory ($XDG_CONFIG_HOME or ~/.config) if it is there.
    """
    if extra_dir is not None:
        return _opened(Path(extra_dir), "the catalog directory")
    named = os.environ.get(VARIABLE)
    if named:
        return _opened(Path(named).expanduser(), f"the catalog directory that {VARIABLE} names")
    # Strings, not paths: it is asked for at every look into the catalog, dozens of times in one outlook.
    base = os.environ.get("XDG_CONFIG_HOME") or os.path.expanduser("~/.config")  # noqa: PTH111
    found = os.path.join(base, "pitreckon", "catalog")  # noqa: PTH118
    if base.startswith("~") or not os.path.isdir(found):  # noqa: PTH112  no home directory: nothing of the user's
        return None
    return _opened(Path(found), "the catalog directory")


class Every(Generic[E]):
    """Calling it gives every entry of one kind by its key, the shipped ones and the user's own.

    extra_dir: of the user's files, if they do not lie in their usual place

    Raises InputError where a file is at fault.
    """

    def __init__(self, form: type[E], check: Callable[[E, Document, Path | None], None] | None = None) -> None:
        self.at: Callable[[Path | None], dict[str, E]] = functools.cache(lambda at: _read_shelf(form, at, check))

    def __call__(self, extra_dir: Path | None = None) -> dict[str, E]:
        return dict(self.at(users_directory(extra_dir)))


class One(Generic[E]):
    """Calling it gives the entry of a key, a name or another spelling; capitals, dots and spaces do not count.

    Raises InputError with near matches if there is none.
    """

    def __init__(self, every: Every[E], word: str) -> None:
        self._of: Callable[[Path | None, str], E] = functools.lru_cache(MOST_NAMES)(
            lambda at, name: every.at(at)[resolve(name, spellings(every.at(at).values()), word)]
        )

    def __call__(self, name: str, extra_dir: Path | None = None) -> E:
        return self._of(users_directory(extra_dir), name)


def _read_shelf(
    form: type[E], directory: Path | None, check: Callable[[E, Document, Path | None], None] | None
) -> dict[str, E]:
    """Every entry of one kind by key; files in `directory` add to the shipped ones or replace them."""
    users = {} if directory is None else _documents(directory / form.folder)
    shipped = {key: each for key, each in _documents(OWN_DATA / form.folder).items() if key not in users}
    entries: dict[str, E] = {}
    holders: dict[str, str] = {}
    # the user's files come last, so that a clash is laid to them and not to a shipped file
    for key, document in (shipped | users).items():
        entry: E = build(form, document.table, document)
        if entry.key != key:
            raise document.refuse(
                "key", f"key = '{entry.key}' but the file is {key}.toml", "Give file and key the same name"
            )
        if not _KEY.fullmatch(key):
            raise document.refuse("key", f"'{key}' is not a key", "Use lower-case words joined by hyphens")
        for field, spelling in _spelled(entry):
            if holders.setdefault(spelling, key) != key:
                raise document.refuse(
                    field, f"'{spelling}' already stands for {holders[spelling]}", "Use another spelling"
                )
        if check is not None:
            check(entry, document, directory)
        entries[key] = entry
    return dict(sorted(entries.items()))


def _spelled(entry: Animal | Cut | Pit | Wrap | Fuel | Buying | Portions | BeforeFire) -> list[tuple[str, str]]:
    """Every spelling of an entry, with the field that gives it."""
    own = [("key", entry.key), ("name", entry.name), *(("also", each) for each in entry.also)]
    return [(field, plain(spelling)) for field, spelling in own]


def _documents(folder: Path) -> dict[str, Document]:
    paths = sorted(path for path in folder.glob("*.toml") if not path.name.startswith("."))
    return {path.stem: read_document(path) for path in paths}


def _opened(directory: Path, what: str) -> Path:
    if not directory.is_dir():
        raise InputError(f"{what} is not there", f"Make it, with the folders {FOLDERS} in it", Place(str(directory)))
    stray = next(directory.glob("*.toml"), None)
    if stray is not None:
        raise InputError(
            "this file lies in none of the catalog's folders",
            f"Move it into one of {FOLDERS}",
            Place(str(stray)),
        )
    return directory.resolve()
