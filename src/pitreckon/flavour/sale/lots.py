"""Lots of what goes in, with their dates, from a small TOML file; the earliest date decides that of the batch."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Final

from pitreckon.errors import InputError
from pitreckon.forms.checks import fault, is_label
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys, text
from pitreckon.text.file import read_text
from pitreckon.text.words import did_you_mean
from pitreckon.units import shown

MOST_LOTS: Final = 200


@dataclass(frozen=True, slots=True)
class Lot:
    """One lot of one food. food: as the mix calls it; lot: as its pack says; best_before: None: the pack has none"""

    food: str
    lot: str
    best_before: date | None = None
    supplier: str = ""

    def __post_init__(self) -> None:
        is_label("food", self.food)
        is_label("lot", self.lot)
        if self.supplier:
            is_label("supplier", self.supplier)


@dataclass(frozen=True, slots=True)
class BestBefore:
    """The date that a batch may carry. decides: whose lot it is; missing: foods without a lot or a date"""

    day: date | None
    decides: str
    missing: tuple[str, ...]


def parse_day(text: str) -> date:
    """A day from ``2027-05-31``. Raises InputError: none."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"{shown(text)} is no day", "Write it as in 2027-05-31") from None


LOT: Final = Keys(
    Lot,
    Key("food", text(), '"brown sugar"', needed=True),
    Key("lot", text(), '"L 2204"', needed=True),
    Key("best_before", text(parse_day, date.isoformat), '"2027-05-31"'),
    Key("supplier", text(), '"the mill"'),
)


def read_lots(path: Path, names: Sequence[tuple[str, ...]]) -> tuple[Lot, ...]:
    """The lots of a file. names: of each food of the mix all that it may be called, the mix's own name first

    Raises InputError: the file cannot be read, or names a food that is not in the mix (file, line and field).
    """
    return lots_from_text(read_text(path), str(path), names)


def lots_from_text(content: str, file: str, names: Sequence[tuple[str, ...]]) -> tuple[Lot, ...]:
    """The same from a text. An empty text has no lots."""
    top = Fields.of_text(content, file)
    top.only("lot")
    tables = top.tables("lot")
    if len(tables) > MOST_LOTS:
        raise InputError(f"there are {len(tables)} lots", f"Write no more than {MOST_LOTS}")
    known = {_plain(called): each[0] for each in names for called in each}
    found: list[Lot] = []
    for each in tables:
        lot = LOT.read(each)
        name = known.get(_plain(lot.food))
        if name is None:
            how = did_you_mean(lot.food, [each[0] for each in names], "It has")
            raise each.fault("food", f"{shown(lot.food)} is not in the mix", how)
        made = Lot(name, lot.lot, lot.best_before, lot.supplier)
        if any((made.food, made.lot) == (other.food, other.lot) for other in found):
            raise each.fault("lot", f"lot {shown(lot.lot)} of {shown(name)} stands twice", "Write it once")
        found.append(made)
    return tuple(found)


def best_before(foods: Sequence[str], lots: Sequence[Lot]) -> BestBefore:
    """The earliest date of all lots; none where a food has no lot, or a lot no date: then nothing is promised."""
    missing = []
    for food in foods:
        of = [each for each in lots if each.food == food]
        if not of:
            missing.append(food)
        else:
            missing += [f"{food}, lot {each.lot}" for each in of if each.best_before is None]
    dated = sorted((each.best_before, each.food, each.lot) for each in lots if each.best_before is not None)
    if missing or not dated:
        return BestBefore(None, "", tuple(missing))
    day, food, lot = dated[0]
    return BestBefore(day, f"{food}, lot {lot}", ())


def lot_code(mix_name: str, made: date) -> str:
    """The lot of a batch where none was given: the mix's initials and the day.

    >>> lot_code("orchard rub", date(2026, 11, 30))
    'OR-261130'
    """
    initials = "".join(word[0] for word in re.findall(r"[A-Za-z0-9]+", mix_name)).upper()[:4] or "B"
    return f"{initials}-{made:%y%m%d}"


def check_lot_code(lot: str) -> str:
    """The lot of a batch. Raises InputError: it cannot stand on a label with a jar's number behind it."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9.-]{0,23}", lot):
        raise fault("lot", f"{shown(lot)} cannot be the lot of a batch", "Write up to 24 letters, digits, - and .")
    return lot


def jar_code(lot: str, number: int, jars: int) -> str:
    """What a jar is called: its batch's lot and its number.

    >>> jar_code("OR-261130", 7, 200)
    'OR-261130/007'
    """
    return f"{lot}/{number:0{len(str(jars))}d}"


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").split())
