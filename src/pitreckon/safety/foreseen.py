"""A safety rule that may be missed, as a record, and in a cook's words; whoever only shows it needs no more."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from pitreckon.safety.cautions import LOCAL, MEMORY
from pitreckon.safety.rules.rule import Rule
from pitreckon.safety.wording import Scale, rule_text, told
from pitreckon.units import format_percent, format_temperature


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
    chance = "certain to be" if each.chance >= 0.995 else f"{format_percent(each.chance)} likely to be"
    what = "has been missed" if each.already else f"{chance} missed"
    when = "" if each.at_utc is None or each.already else f", about {clock(each.at_utc)}"
    standing = "" if each.rule.status == "seen" else f"; {MEMORY}"
    name, source = (rule_text(text, degrees) for text in (each.rule.name, each.rule.source.partition(",")[0]))
    said = f"{name}: {what}{when} ({source}{standing})."
    ways = [
        way.what
        + ("" if way.set_c is None else f", to {format_temperature(way.set_c, degrees)}")
        + f" (then {format_percent(way.chance)})"
        for way in each.ways
    ]
    now = "; or ".join((*ways, *(do[:1].lower() + do[1:] for do in each.do)))
    return said, told(f"Now: {now}. {LOCAL}", degrees)
