"""What can share a pit at one temperature, and what of a day cannot."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.plan.wishes import ItemWish, PitWish
from pitreckon.units import format_temperature

LEAST_LEAD_K: Final = 8.0
"""The air has to be so much above the core at the finish, or the last degrees take for ever: common practice, no
source."""
MOST_TENDER_C: Final = 165.0
"""Hottest air for a cut that has to get tender, before its outside burns (330 F): common practice, no source."""
MOST_CORE_C: Final = 230.0
"""The same for a cut that is done by its core (450 F): common practice, no source."""


@dataclass(frozen=True, slots=True)
class Sharing:
    """At which of a pit's temperatures all of the items can cook together.

    sets_c: [°C] in the pit's own order; empty: none
    against: label of an item, a set temperature [°C] and why that does not do, for each that is ruled out
    """

    sets_c: tuple[float, ...]
    against: tuple[tuple[str, float, str], ...]


def air_range_c(cut: Cut) -> tuple[float, float]:
    """Coolest and hottest pit at which a cut gets done [degC].

    >>> [round(air_c, 1) for air_c in air_range_c(catalog.cut("brisket-whole"))]
    [103.0, 165.0]
    """
    most_c = MOST_TENDER_C if cut.texture.done_by == "tender" else MOST_CORE_C
    return cut.texture.done_core_c.value + LEAST_LEAD_K, most_c


def sharing(pit: PitWish, items: Sequence[ItemWish]) -> Sharing:
    """Which of the pit's set temperatures [°C] do for every item. Raises InputError for a cut that is not there."""
    against = []
    for item in items:
        least_c, most_c = air_range_c(catalog.cut(item.cut))
        for set_c in pit.sets_c:
            if set_c < least_c:
                why = f"as a rule it gets done at {format_temperature(least_c)} and above"
            elif set_c > most_c:
                why = f"as a rule its outside burns above {format_temperature(most_c)}"
            else:
                continue
            against.append((item.label, set_c, why))
    barred = {set_c for _, set_c, _ in against}
    return Sharing(tuple(set_c for set_c in pit.sets_c if set_c not in barred), tuple(against))


def against_words(pit: PitWish, items: Sequence[ItemWish]) -> tuple[str, ...]:
    """What speaks against temperatures of a pit, an item and a reason each; none: all of them do for all items."""
    found = sharing(pit, items)
    reasons: dict[tuple[str, str], list[str]] = {}
    for label, set_c, why in found.against:
        reasons.setdefault((label, why), []).append(format_temperature(set_c))
    words = [f"{label} not at {' or '.join(sets)}: {why}" for (label, why), sets in reasons.items()]
    if len(items) > 1 and not found.sets_c:
        words.insert(0, "no temperature that it may be set to does for all of them")
    return tuple(f"on {pit.label}, {each}" for each in words)
