"""The one bibliography, and how code points at it.

Every source has a key in ``citations.bib``. Code names its sources in the docstring, as ``[key]_``;
``sources_of`` collects them, so that a run can list what it relied on.
"""

import inspect
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from pitreckon.errors import InputError, Place

FILE: Final = "citations.bib"

STATUSES: Final = ("seen", "seen second-hand", "computed here", "from memory")
"""How a source was read. "seen": itself, if only its abstract; "seen second-hand": as quoted elsewhere."""

_ENTRY: Final = re.compile(r"@(?P<kind>[a-z]+)\{(?P<key>[a-z0-9_]+),")
_FIELD: Final = re.compile(r"(?P<name>[a-z]+)\s*=\s*\{(?P<value>[^{}]*)\},?")
_KEY_IN_TEXT: Final = re.compile(r"\[([a-z0-9_]+)\]_")
_FIELDS: Final = ("author", "title", "year", "where", "status")


@dataclass(frozen=True)
class Citation:
    """One source."""

    key: str
    author: str
    title: str
    year: str
    where: str
    """Journal, volume and page, or publisher"""
    status: str
    """One of ``STATUSES``"""

    def __str__(self) -> str:
        return format_citation(self)


def format_citation(citation: Citation) -> str:
    """One line for a list of sources.

    >>> print(format_citation(cite("wagner_pruss_2002")))
    Wagner W., Pruss A. (2002). The IAPWS formulation 1995 for the thermodynamic properties of ordinary water
    substance for general and scientific use. J. Phys. Chem. Ref. Data 31:387-535. [seen second-hand]
    """
    author = citation.author.replace(" and ", ", ")
    return f"{author} ({citation.year}). {citation.title}. {citation.where}. [{citation.status}]"


def parse(text: str, file: str = FILE) -> dict[str, Citation]:
    """Read a bibliography in a regular subset of BibTeX: one field a line, values in plain braces.

    text: the bibliography
    file: its name, for messages

    Raises InputError: a line that fits nothing, a key given twice, a field missing, unknown or empty, with the line
    """
    found: dict[str, Citation] = {}
    key: str | None = None
    values: dict[str, str] = {}
    for number, raw in enumerate(text.splitlines(), start=1):
        line = raw.strip()
        place = Place(file, number)
        entry, field = _ENTRY.fullmatch(line), _FIELD.fullmatch(line)
        if not line or line.startswith("%"):
            continue
        if key is None and entry:
            key, values = entry["key"], {}
            if key in found:
                raise InputError(f"source '{key}' is there already", "Give it another key", place)
        elif key is not None and field:
            if field["name"] not in _FIELDS or field["name"] in values or not field["value"].strip():
                raise InputError(
                    f"'{field['name']}' is unknown, empty or given twice in '{key}'",
                    f"Give each of {', '.join(_FIELDS)} once",
                    place,
                )
            values[field["name"]] = field["value"].strip()
        elif key is not None and line == "}":
            found[key] = _citation(key, values, place)
            key = None
        else:
            raise InputError(
                f"'{line[:60]}' is no part of a bibliography",
                "Write @kind{key, then one 'name = {value},' a line, then }",
                place,
            )
    if key is not None:
        raise InputError(f"source '{key}' has no end", "Close it with a line }", Place(file))
    return found


def _citation(key: str, values: Mapping[str, str], place: Place) -> Citation:
    missing = [name for name in _FIELDS if name not in values]
    if missing:
        raise InputError(f"source '{key}' lacks {', '.join(missing)}", "Add it", place)
    if values["status"] not in STATUSES:
        raise InputError(
            f"status '{values['status']}' of '{key}' is unknown", f"Use one of: {', '.join(STATUSES)}", place
        )
    return Citation(key, **values)


@cache
def bibliography() -> Mapping[str, Citation]:
    """Every source by key, in the order of the file (read once)."""
    return MappingProxyType(parse(files("pitreckon").joinpath(FILE).read_text("utf-8")))


def cite(key: str) -> Citation:
    """The source with this key.

    Raises KeyError: no such source; the message names the nearest keys

    >>> cite("kestin_1978").year
    '1978'
    """
    known = bibliography()
    if key in known:
        return known[key]
    near = get_close_matches(key, known, n=3)
    hint = f"; nearest: {', '.join(near)}" if near else ""
    raise KeyError(f"no source '{key}' in {FILE}{hint}")


def keys_in(text: str | None) -> tuple[str, ...]:
    """The citation keys named in a text, each once, in order of appearance.

    >>> keys_in("After [kestin_1978]_ and [lewis_1922]_, see also [kestin_1978]_.")
    ('kestin_1978', 'lewis_1922')
    """
    return tuple(dict.fromkeys(_KEY_IN_TEXT.findall(text or "")))


def sources_of(*objects: object) -> tuple[Citation, ...]:
    """The sources that functions or classes name in their docstrings, sorted by key.

    Raises KeyError: a docstring names a key that is not in the bibliography
    """
    keys = {key for thing in objects for key in keys_in(inspect.getdoc(thing))}
    return tuple(cite(key) for key in sorted(keys))
