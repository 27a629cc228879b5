"""A safety rule that may be missed, as a record, and in a cook's words; whoever only shows it needs no more."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from typing import Final

from pitreckon.safety.cautions import LOCAL, MEMORY
from pitreckon.safety.rules.rule import Rule
from pitreckon.safety.wording import Scale, rule_text, with_values
from pitreckon.text.said import instant, joined, said, temperature
from pitreckon.units import format_percent

CERTAIN: Final = 0.995


@dataclass(frozen=True, slots=True)
class Change:
    """Something that could be done now. chance: then, that the rule is missed; set_c: what the pit is set to [degC]."""

    what: str
    chance: float
    set_c: float | None = None


@dataclass(frozen=True, slots=True)
class Foreseen:
    """A rule that will be missed, or may be.

    label: item and piece; chance: that it is missed if nothing is done
    at_utc: when, in the middle case; None: not known
    already: it has been missed; do: what helps, in plain words; ways: what could be done to the fire, the best first
    """

    label: str
    rule: Rule
    chance: float
    at_utc: datetime | None
    already: bool
    do: tuple[str, ...]
    ways: tuple[Change, ...] = ()


def words_of(each: Foreseen, clock: Callable[[datetime], str], degrees: Scale = "F") -> tuple[str, str]:
    """A line that says what is foreseen, and one that says what to do now."""
    if each.already:
        what = said("has been missed")
    elif each.chance >= CERTAIN:
        what = said("certain to be missed")
    else:
        what = said("{chance} likely to be missed", chance=format_percent(each.chance))
    if each.at_utc is not None and not each.already:
        what = said("{what}, about {at}", what=what, at=instant(each.at_utc, clock(each.at_utc)))
    name, source = (rule_text(text, degrees) for text in (each.rule.name, each.rule.source.partition(",")[0]))
    if each.rule.status != "seen":
        source = joined("; ", [source, said(MEMORY)])
    line = said("{rule}: {what} ({source}).", rule=said(name), what=what, source=source)
    ways = (*(_way(way, degrees) for way in each.ways), *(_do(do, degrees) for do in each.do))
    now = reduce(lambda one, other: said("{one}; or {other}", one=one, other=other), ways) if ways else ""
    return line, said("Now: {do}. {local}", do=now, local=said(LOCAL))


def _way(way: Change, degrees: Scale) -> str:
    chance = format_percent(way.chance)
    if way.set_c is None:
        return said("{what} (then {chance})", what=way.what, chance=chance)
    to = temperature(way.set_c, scale=degrees)
    return said("{what}, to {set} (then {chance})", what=way.what, set=to, chance=chance)


def _do(text: str, degrees: Scale) -> str:
    """What helps, in the middle of a sentence; its temperature, where it has one, as a value."""
    message, values = with_values(text, degrees)
    return said(message[:1].lower() + message[1:], **values)
