"""What a person wants where nothing else is said: units, ledger, people. Said by the environment, else by a file.

An option of a command goes before both. The file is ``pitreckon/defaults.toml`` in the folder for settings of the
freedesktop.org base directory specification: $XDG_CONFIG_HOME, else ~/.config.
"""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pitreckon.errors import InputError, Place
from pitreckon.forms.checks import fault
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import WHOLE, Key, Keys, text, word
from pitreckon.text.file import read_text
from pitreckon.units import Scale

UNITS: Final[dict[str, Scale]] = {"us": "F", "metric": "C"}
MOST_PEOPLE: Final = 5000
ENVIRONMENT: Final = {"units": "PITRECKON_UNITS", "ledger": "PITRECKON_LEDGER", "people": "PITRECKON_PEOPLE"}


def _not_blank(given: str) -> str:
    if not given.strip():
        raise InputError("it is blank", "Give the path of a file, or leave it out")
    return given.strip()


@dataclass(frozen=True, slots=True)
class Defaults:
    """What the file says; None: nothing.

    units: ``us`` or ``metric``; ledger: where it is kept, a file or an address; people: how many usually eat
    """

    units: str | None = None
    ledger: str | None = None
    people: int | None = None

    def __post_init__(self) -> None:
        if self.people is not None and not 1 <= self.people <= MOST_PEOPLE:
            raise fault("people", f"people is {self.people}", f"Write how many usually eat, 1 to {MOST_PEOPLE}")


KEYS: Final = Keys(
    Defaults,
    Key("units", word({name: name for name in UNITS}, "no units"), '"metric"'),
    Key("ledger", text(_not_blank), '"~/suppers/ledger.sqlite"'),
    Key("people", WHOLE, "8"),
)


@dataclass(frozen=True, slots=True)
class Told:
    """What holds of one of them. whence: ``$PITRECKON_UNITS``, the file's name, or "" where nobody says"""

    value: str | int | None
    whence: str = ""


def place() -> Path:
    """Where the file is, or would be."""
    base = os.environ.get("XDG_CONFIG_HOME") or "~/.config"
    return Path(os.path.expanduser(base)) / "pitreckon" / "defaults.toml"  # noqa: PTH111  no home is no fault here


def read_defaults() -> Defaults:
    """What the file says; nothing where there is none.

    Raises InputError: it cannot be read, or something in it is wrong (file, line and key).
    """
    file = place()
    if not file.exists():
        return Defaults()
    return KEYS.read(Fields.of_text(read_text(file), str(file)))


def told(name: str) -> Told:
    """What holds of ``units``, ``ledger`` or ``people``: what the environment says, else the file.

    Raises InputError: either cannot be read.
    """
    variable = ENVIRONMENT[name]
    given = os.environ.get(variable)
    if given:
        return Told(_of_environment(name, given, variable), f"${variable}")
    value = getattr(read_defaults(), name)
    return Told(value, str(place()) if value is not None else "")


def _of_environment(name: str, given: str, variable: str) -> str | int:
    as_typed: Any = int(given) if name == "people" and given.isascii() and given.isdigit() else given
    try:
        found = KEYS.read(Fields.of_tables({name: as_typed}, f"${variable}"))
    except InputError as error:
        raise error.put(Place(f"${variable}")) from None
    value: str | int = getattr(found, name)
    return value


def degrees() -> Scale | None:
    """The scale that was said; None: nobody says."""
    value = told("units").value
    return None if value is None else UNITS[str(value)]
