"""Of all that could be done now, the few things that a cook is told of first; the rest by what it is done to.

A supper of six meats has some twenty what-ifs. What counts is supper as a whole: how likely all of it is on time, and,
where it is likelier late than not, when all of it is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.cook import Cook
from pitreckon.reckon.whatif import LEAVE, WhatIf
from pitreckon.text.said import said
from pitreckon.units import round_half_up, seconds_between

MOST: Final = 3
"""More nobody weighs while the lid is open."""
SURER: Final = 0.03
"""What makes supper surer by less than this nobody can tell."""
WELL: Final = 0.9
"""With so much chance, and nothing that helps more, nothing need be done."""
LATE: Final = 0.5
"""A supper that is less likely than this on time is helped by what makes it sooner, too."""
SOONER_S: Final = 5 * 60.0
"""By less than this nobody calls supper sooner [s]."""


@dataclass(frozen=True, slots=True)
class Sifted:
    """What could be done now, sorted for a cook.

    as_it_is: leaving it; helping: what brings most to all of supper, the best first, up to ``MOST``
    rest: all else by the pit or the item that it is done to, in the order of the cook
    """

    as_it_is: WhatIf | None
    helping: tuple[WhatIf, ...]
    rest: tuple[tuple[str, tuple[WhatIf, ...]], ...]

    @property
    def left(self) -> int:
        """How many things bring less."""
        return sum(len(those) for _, those in self.rest)


def sifted(options: Sequence[WhatIf], cook: Cook) -> Sifted:
    """The what-ifs of a moment, sorted.

    options: as ``what_ifs`` gives them, the best first
    """
    base = next((option for option in options if option.what == LEAVE), None)
    helping = that_help(options)[:MOST]
    others = [option for option in options if option is not base and option not in helping]
    rest = ((label, tuple(each for each in others if each.on == label)) for label in _labels(cook))
    return Sifted(base, helping, tuple((label, those) for label, those in rest if those))


def that_help(options: Sequence[WhatIf]) -> tuple[WhatIf, ...]:
    """What is better than leaving it, all told, and brings something to all of supper; the best first."""
    base = next((option for option in options if option.what == LEAVE), None)
    better = options if base is None else options[: options.index(base)]
    return tuple(option for option in better if base is None or helps(option, base))


def helps(option: WhatIf, base: WhatIf) -> bool:
    """Does it bring something to all of supper? base: leaving it as it is"""
    if option.on_time is None or base.on_time is None:
        return sooner_s(option, base) >= SOONER_S
    if option.on_time >= base.on_time + SURER:
        return True
    return base.on_time < LATE and option.on_time >= base.on_time and sooner_s(option, base) >= SOONER_S


def sooner_s(option: WhatIf, base: WhatIf) -> float:
    """By how much all of it is ready sooner, in the middle [s]; 0: not known of one."""
    then, was = option.all_ready[1], base.all_ready[1]
    return 0.0 if then is None or was is None else seconds_between(then, was)


def sooner_words(option: WhatIf, base: WhatIf) -> str:
    """The same in words; nothing where that is not worth saying."""
    by_s = sooner_s(option, base)
    if abs(by_s) < SOONER_S:
        return ""
    minutes = f"{round_half_up(abs(by_s) / 60.0):.0f}"
    return said(SOONER if by_s > 0.0 else "all of it {minutes} min later", minutes=minutes)


SOONER: Final = "all of it {minutes} min sooner"


def _labels(cook: Cook) -> tuple[str, ...]:
    return (*(pit.label for pit in cook.pits), *(item.label for item in cook.items))
