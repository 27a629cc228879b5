"""The page of the public names, ``docs/reference/library.md``; ``scripts/make_reference.py`` writes it."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass
from types import ModuleType
from typing import Any, Final

import pitreckon as pr
from pitreckon.citations import keys_in
from pitreckon.library import labels, plots, tables

INTRODUCTION: Final = """`import pitreckon as pr`: what it has, and what is promised of it. How it is used: [call it
from Python](../how-to/call-it-from-python.md).

## What is promised

- The names on this page, the order, names and defaults of their arguments, the fields of their records, and the names,
  dimensions and units of the labelled arrays. One test lists them (`tests/library/test_library_names.py`), so that none
  changes by accident.
- New names, new arguments and fields that may be left out, new columns and new arrays can come with any version.
- A name that is to go is told in the [changelog](../../CHANGELOG.md) and works on for two minor versions, with a
  `DeprecationWarning` that says what to write instead and which version no longer has it.
- Numbers are not promised: a better model gives other ones. The same version, arguments and seed give the same numbers.
- Whatever else can be imported from `pitreckon` is for those who change the program, and may change with it.

Everything inside is SI; a name carries its unit (`air_c`, `mass_kg`); instants have a zone. What is wrong raises
`pr.InputError`, which knows the place and the remedy; a library that is not installed raises `pr.MissingExtraError`
with the line that installs it. A forecast is no promise of safety: check the thickest part with a thermometer, and
follow your local food code and your health department.
"""
STUDY: Final = """
`pr.study(asked, *, out, on=None, workers=None, tell=None)` simulates every setting of a study.
"""
ARRAYS: Final = """
## Labelled arrays

Of `pr.simulate`, which gives an `xarray.Dataset`. The section's own measure is a whole piece, a metre of its length or
a square metre of it, as the attribute `measure` says; a member's lengths are those of the section times its `scale`.
The attributes tell the cut, the pit, the seed, the version, the shape of the section, and the cook file that it was.

"""
CATALOG: Final = """
## The catalog

{listed}: each by its key, its name or another spelling, or all of them. Every number is a `Figure` with `value`, `sd`
and `source`; all of them: [the catalog](catalog.md).
"""
LAWS: Final = """
## The laws of physics

`from pitreckon.physics import vapour`. Each has its equation, units, range, source and a worked value in its docstring,
and on the API pages of the site (`make docs`); a test reckons each equation as it is written and holds it against the
function. The keys of the sources: `pitreckon.citations.cite`. Arguments: [nomenclature](../nomenclature.md).

"""


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    return (
        "\n".join([*lines, *("| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows)])
        + "\n"
    )


def says(thing: object) -> str:
    """The first sentence or line of what something says of itself."""
    first = (inspect.getdoc(thing) or "").partition("\n\n")[0].replace("\n", " ")
    return re.sub(r"``([^`]*)``", r"`\1`", re.sub(r":\w+:`([^`]*)`", r"`\1`", first))


def signature(function: Callable[..., Any]) -> str:
    """A call without its types."""
    found = inspect.signature(function)
    bare = [each.replace(annotation=inspect.Parameter.empty) for each in found.parameters.values()]
    return str(found.replace(parameters=bare, return_annotation=inspect.Signature.empty))


def _functions(names: Iterable[tuple[str, Any]]) -> str:
    return _table(("", ""), ((f"`{n}{signature(f)}`", says(inspect.unwrap(f))) for n, f in names))


def _records() -> str:
    found = []
    for name in sorted(pr._NAMES):
        thing = None if name == "study" else getattr(pr, name)
        if inspect.isclass(thing) and is_dataclass(thing):
            own = [each.name for each in fields(thing)]
            more = [
                _named(n, each) for n, each in vars(thing).items() if n[0] != "_" and n not in own and _answers(each)
            ]
            found.append((f"`pr.{name}`", says(thing), " ".join(f"`{each}`" for each in [*own, *sorted(more)])))
    return _table(("record", "", "its fields, and what else it answers"), found)


def _named(name: str, thing: object) -> str:
    """As it is written where it is used."""
    return name if isinstance(thing, property) else f"{name}()"


def _answers(thing: object) -> bool:
    return isinstance(thing, property | classmethod) or inspect.isfunction(thing)


def _rooms() -> list[tuple[str, ModuleType]]:
    room = importlib.import_module("pitreckon.physics")
    names = sorted(each.name for each in pkgutil.iter_modules(room.__path__) if not each.name.startswith("_"))
    return [(name, importlib.import_module(f"pitreckon.physics.{name}")) for name in names]


def _laws() -> str:
    rows = []
    for name, room in _rooms():
        for each, law in vars(room).items():
            if inspect.isfunction(law) and law.__module__ == room.__name__ and each[0] != "_":
                source = ", ".join(keys_in((inspect.getdoc(law) or "").partition("Source:")[2]))
                rows.append((f"`{name}.{each}{signature(law)}`", says(law), source))
    return _table(("law", "", "source"), rows)


def _arrays() -> str:
    every = {**labels.FIELDS, **labels.BOOKS, **{name: label for name, (_, label) in labels.RECORDS.items()}}
    every |= {"mark_time": labels.MARKS, "stage_end": labels.STAGE_END, "failed": labels.FAILED}
    every |= {"parameters": labels.PARAMETERS, **labels.COORDINATES}
    rows = ((f"`{n}`", ", ".join(label.dims), label.units, label.says) for n, label in every.items())
    return _table(("array", "over", "unit", ""), rows)


def library_page(made: str) -> str:
    """The whole page. made: the line that says who wrote it"""
    calls = [(f"pr.{n}", getattr(pr, n)) for n in sorted(pr._NAMES) if n != "study" and n.islower()]
    errors = [(f"`pr.{n}`", says(getattr(pr, n))) for n in ("PitreckonError", "InputError", "MissingExtraError")]
    loaders = ("animal", "animals", "cut", "cuts", "fuel", "fuels", "pit", "pits", "wrap", "wraps")
    listed = ", ".join(f"`pr.catalog.{each}`" for each in loaders)
    return "".join((
        "# The library\n\n", made, INTRODUCTION, "\n## Functions\n\n", _functions(calls), STUDY,
        "\n## Records\n\n", _records(), "\n## Errors\n\n", _table(("", ""), errors),
        "\n## Tables\n\n", about(tables), _functions((f"pr.tables.{n}", getattr(tables, n)) for n in tables.__all__),
        "\n## Pictures\n\n", about(plots), _functions((f"pr.plots.{n}", getattr(plots, n)) for n in plots.__all__),
        ARRAYS, _arrays(), CATALOG.format(listed=listed), LAWS, _laws(),
    ))  # fmt: skip


def about(module: ModuleType) -> str:
    """What a module says of itself, as it stands."""
    return (inspect.getdoc(module) or "").replace("``", "`") + "\n\n"
