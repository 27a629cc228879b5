"""Files of the library: cooks, wishes, ledgers, mixes and lessons, read and written whole."""

from __future__ import annotations

import warnings
from os import PathLike
from pathlib import Path
from typing import Any, Final

from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.cook.read import read_cook as _cook_of
from pitreckon.cook.write import cook_text
from pitreckon.errors import InputError, Place
from pitreckon.flavour.mix import Mix
from pitreckon.flavour.read import read_mix as _mix_of
from pitreckon.flavour.write import files_of_mix
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.dates import Dates
from pitreckon.ledger.log.read import read_log
from pitreckon.ledger.log.write import log_text
from pitreckon.ledger.store.place import place_of
from pitreckon.lessons.house.form import lessons_of_text
from pitreckon.plan.read import read_wishes as _wishes_of
from pitreckon.plan.wishes import Wishes
from pitreckon.reckon.learned import Lessons
from pitreckon.sheets.writers.write import write_whole
from pitreckon.text.file import read_text
from pitreckon.units import Scale

Pathlike = str | PathLike[str]
DATES: Final = (None, "day first", "month first")


def read_cook(path: Pathlike) -> Cook:
    """The cook that a cook file plans (``docs/reference/cook-file.md``).

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field)
    """
    return _cook_of(path_of(path))


def write_cook(cook: Cook, path: Pathlike) -> None:
    """Write a cook file; ``read_cook`` reads the same cook, but for its trip costs, which the file is not told.

    Temperatures are written to 0.01 K, weights to 0.1 g, times to the minute (``pitreckon.cook.values``).

    Raises InputError: it cannot be written; what was there stays then
    """
    put(cook_text(_a(cook, Cook, "cook")), path, "the cook")


def read_wishes(path: Pathlike) -> Wishes:
    """What a cook file asks for that leaves the day to be planned (``docs/how-to/plan-the-day.md``).

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field)
    """
    return _wishes_of(path_of(path))


def read_ledger(path: Pathlike, cook: Cook, *, set_aside: bool = False, dates: Dates | None = None) -> Ledger:
    """The ledger that a log holds (``docs/reference/ledger-file.md``).

    cook: that it belongs to
    set_aside: keep readings that are fault codes as rejected, instead of refusing the file
    dates: "day first" or "month first"; None: found from them

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field)
    """
    if dates not in DATES:
        raise InputError(f"dates is {dates!r}", 'Give "day first", "month first" or None', Place(field="dates"))
    return read_log(path_of(path), _a(cook, Cook, "cook"), set_aside=set_aside, dates=dates)


def read_kept(where: Pathlike | None = None) -> dict[str, tuple[Cook, Ledger]]:
    """Every cook of a ledger that is kept, with what has happened in it, by the cook's id, the latest first.

    where: a file, or postgresql://user@host/database; None: the usual one (``docs/how-to/keep-a-ledger.md``)

    A cook whose plan cannot be read is left out, with a warning. The ledger is only read.

    Raises MissingExtraError: the database library is not installed
    Raises InputError: there is no such file. StoreError: it cannot be opened, or is something else
    """
    given = None if where is None else str(where)
    place = place_of(given)  # asks for the library first
    if place.file is not None and not place.file.is_file():
        raise InputError("there is no such ledger", "Check its name and folder", Place(str(place.file)))
    from pitreckon.ledger.store import Store  # noqa: PLC0415  not everybody keeps a ledger

    found = {}
    with Store.open(given) as store:
        for row in store.cooks():
            try:
                found[row.id] = cook_from_text(row.plan_toml, row.id), store.ledger(row.id)
            except InputError as fault:
                warnings.warn(f"the cook {row.id} is left out, its plan cannot be read: {fault}", stacklevel=2)
    return found


def write_ledger(ledger: Ledger, cook: Cook, path: Pathlike, *, degrees: Scale = "F") -> None:
    """Write a log: temperatures to a tenth of a degree, times to the second; ``tables.ledger`` keeps all digits.

    ledger, cook: what has happened in which cook; its zone is that of the times
    degrees: "F" or "C", what temperatures, weights and lengths are written in

    Raises InputError: it cannot be written; what was there stays then
    """
    scale_of(degrees)
    put(log_text(_a(ledger, Ledger, "ledger"), _a(cook, Cook, "cook"), degrees=degrees), path, "the log")


def read_mix(path: Pathlike) -> Mix:
    """The mix of a mix file, with the mixes in it (``docs/reference/mix-file.md``).

    Raises InputError: a file cannot be read, or something in it is wrong (file, line and field)
    """
    return _mix_of(path_of(path))


def write_mix(mix: Mix, path: Pathlike) -> None:
    """Write a mix file, and each mix in it as a file beside it; ``read_mix`` reads the same mix.

    Raises InputError: one cannot be written, or would be written over the file of another
    """
    whole = path_of(path)
    for name, text in files_of_mix(_a(mix, Mix, "mix"), whole.name).items():
        put(text, whole.parent / name, "the mix")


def read_lessons(path: Pathlike) -> Lessons:
    """What earlier cooks of a house told, as ``pitreckon lessons`` keeps it.

    Raises InputError: the file cannot be read, or is no such file
    """
    return lessons_of_text(read_text(path_of(path)), str(path))


def path_of(given: Any) -> Path:
    """A path. Raises InputError: it is none."""
    try:
        return Path(given)
    except TypeError:
        raise InputError(f"a {type(given).__name__} is no path", "Give the name of a file") from None


def put(text: str, path: Pathlike, what: str) -> None:
    """Write a text file in one step. Raises InputError: it cannot be written."""
    write_whole(text.encode(), path_of(path), what)


def scale_of(degrees: str) -> Scale:
    """A scale of temperature. Raises InputError: neither F nor C."""
    if degrees == "F":
        return "F"
    if degrees == "C":
        return "C"
    raise InputError(f"degrees is {degrees!r}", 'Give "F" or "C"', Place(field="degrees"))


def _a(given: Any, kind: type[Any], what: str) -> Any:
    if not isinstance(given, kind):
        raise InputError(f"a {type(given).__name__} is no {what}", f"Give the {what} itself, as it was read")
    return given
