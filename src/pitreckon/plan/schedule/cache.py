"""Options that were run already, so that another question about the same day need not run them again."""

from collections.abc import Hashable
from dataclasses import dataclass, field

from pitreckon.plan.schedule.scenarios import Case
from pitreckon.plan.schedule.tables import Option
from pitreckon.plan.wishes import Wishes

MOST = 24
"""Days that are kept; the oldest is forgotten first."""

Options = dict[Case, Option]


@dataclass
class OptionCache:
    """Options by the conditions that they were run under: the weather, the pits' kinds, and what else lies there."""

    _days: dict[Hashable, tuple[Options, Options]] = field(default_factory=dict)

    def of(self, wishes: Wishes, seed: int, members: int) -> tuple[Options, Options]:
        """What is known of such a day: options of the scenarios of the choice, and of those it does not see."""
        key = (*conditions(wishes), seed, members)
        found = self._days.pop(key, None) or ({}, {})
        self._days[key] = found
        while len(self._days) > MOST:
            self._days.pop(next(iter(self._days)))
        return found


def conditions(wishes: Wishes) -> tuple[Hashable, ...]:
    """All that an option depends on beside its own case. Not the hour of serving: a run begins at its put-on."""
    pits = tuple((pit.label, pit.kind, pit.water_pan) for pit in wishes.pits)
    items = tuple((item.label, item.cut, item.pieces, item.mass_kg, item.pits) for item in wishes.items)
    day = wishes.serve_utc.date()  # on which a course's clock times lie
    return (wishes.zone, wishes.altitude_m, wishes.weather_air_c, wishes.weather_rh, pits, items, wishes.guests, day)
