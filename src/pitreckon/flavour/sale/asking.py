"""What is asked of a batch, as it is typed at a command or in a form."""

from collections.abc import Callable
from datetime import datetime
from typing import TypeVar

from pitreckon.errors import InputError, Place
from pitreckon.flavour.sale.batch import Asked
from pitreckon.flavour.sale.fill import FILLINGS
from pitreckon.flavour.sale.lots import parse_day
from pitreckon.flavour.sale.scale import parse_step
from pitreckon.units import parse_mass, parse_share

T = TypeVar("T")


def asked_of(
    *,
    jars: int,
    fill: str,
    scale: str,
    at_a_time: str | None,
    loss: str | None,
    filling: str,
    jar_cost: float,
    margin: str | None,
    market: str,
    made: str | None,
    lot: str,
    maker: str,
    nutrition: bool = False,
    mark: str = "--",
) -> Asked:
    """What was typed, read. mark: what stands before the name of a field in messages

    Raises InputError: one of them cannot be read, with its name.
    """

    def field(name: str, text: str | None, parse: Callable[[str], T]) -> T | None:
        if text is None or not text.strip():
            return None
        try:
            return parse(text)
        except InputError as fault:
            raise InputError(fault.trouble, fault.remedy, Place(field=f"{mark}{name}")) from None

    step_kg, unit = field("scale", scale, parse_step) or (0.001, "g")
    known = FILLINGS.get(filling.strip().casefold())
    spread = known if known is not None else field("filling", filling, _spread)
    return Asked(
        jars=jars,
        fill_kg=field("fill", fill, parse_mass) or 0.0,
        made=field("made", made, parse_day) or datetime.now().astimezone().date(),
        market=market,
        step_kg=step_kg,
        unit=unit,
        loss=field("loss", loss, parse_share),
        spread=FILLINGS["hand"] if spread is None else spread,
        most_kg=field("at-a-time", at_a_time, parse_mass),
        container=jar_cost,
        margin=field("margin", margin, parse_share),
        lot=lot.strip(),
        maker=maker.strip(),
        nutrition=nutrition,
    )


def _spread(text: str) -> float:
    try:
        return parse_share(text)
    except InputError:
        raise InputError("that is no way of filling", "Write hand, machine, or a spread as in 0.8 %") from None
