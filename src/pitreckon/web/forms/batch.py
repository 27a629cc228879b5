"""The form of a batch for sale: what is asked for, and a lot with its date for each food."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Mix
from pitreckon.flavour.sale.asking import asked_of
from pitreckon.flavour.sale.batch import MOST_JARS, Sale, names_of, sale_of
from pitreckon.flavour.sale.fill import MARKETS
from pitreckon.flavour.sale.lots import Lot, parse_day
from pitreckon.forms.checks import fault
from pitreckon.web.forms.fields import clean

USUAL: Final = {"jars": "100", "fill": "12 oz", "scale": "1 g", "filling": "hand", "market": "us", "jar_cost": "0"}
REST: Final = ("at_a_time", "loss", "margin", "made", "lot", "maker", "nutrition")
LONGEST: Final = 120
MOST_FOODS: Final = 60


@dataclass(frozen=True, slots=True)
class FoodRow:
    """One food of the mix with its lot and date, as typed."""

    name: str
    lot: str
    day: str


def filled_of(form: Mapping[str, object]) -> dict[str, str]:
    """What was typed, under the names of the form; what was not is as usual."""
    typed = {name: clean(form.get(name))[:LONGEST] for name in (*USUAL, *REST)}
    return {name: text or USUAL.get(name, "") for name, text in typed.items()}


def food_rows(mix: Mix, form: Mapping[str, object]) -> tuple[FoodRow, ...]:
    """A row for each food of the mix, in its order."""
    names = [each[0] for each in names_of(mix)][:MOST_FOODS]
    return tuple(
        FoodRow(name, clean(form.get(f"lot_{n}"))[:LONGEST], clean(form.get(f"day_{n}"))[:LONGEST])
        for n, name in enumerate(names)
    )


def sale_from(mix: Mix, filled: Mapping[str, str], rows: Sequence[FoodRow], today: date) -> Sale:
    """The batch that was asked for. Raises InputError: something cannot be read, or cannot be done."""
    jars = jars_of(filled["jars"])
    try:
        container = float(filled["jar_cost"])
    except ValueError:
        raise fault("jar_cost", "that is no price", "Write a plain number, as in 0.85") from None
    if filled["market"] not in MARKETS:
        raise fault("market", "that is no market", f"Choose one of: {', '.join(MARKETS)}")
    asked = asked_of(
        jars=jars,
        fill=filled["fill"],
        scale=filled["scale"],
        at_a_time=filled["at_a_time"],
        loss=filled["loss"],
        filling=filled["filling"],
        jar_cost=container,
        margin=filled["margin"],
        market=filled["market"],
        made=filled["made"] or today.isoformat(),
        lot=filled["lot"],
        maker=filled["maker"],
        nutrition=filled["nutrition"] == "yes",
        mark="",
    )
    return sale_of(mix, asked, _lots(rows))


def jars_of(typed: object) -> int:
    """A number of jars. Raises InputError: it is none."""
    text = clean(typed)
    if not (text.isascii() and text.isdigit() and len(text) < 7 and 1 <= int(text) <= MOST_JARS):
        raise fault("jars", "that is no number of jars", f"Write a number from 1 to {MOST_JARS}")
    return int(text)


def _lots(rows: Sequence[FoodRow]) -> tuple[Lot, ...]:
    found = []
    for row in rows:
        if row.day and not row.lot:
            raise InputError("a date without a lot", "Write the lot that it is of, as its pack says")
        if row.lot:
            found.append(Lot(row.name, row.lot, parse_day(row.day) if row.day else None))
    return tuple(found)
