"""What was run and chosen already, so that another question about the same day need not run or choose it again."""

from collections.abc import Hashable
from dataclasses import dataclass, field, replace

from pitreckon.plan.schedule.found import Found
from pitreckon.plan.schedule.scenarios import Case
from pitreckon.plan.schedule.tables import Day, Option
from pitreckon.plan.wishes import Wishes

MOST = 24
"""Days that are kept; the oldest is forgotten first."""

Options = dict[Case, Option]


@dataclass
class OptionCache:
    """Options by the conditions that they were run under: the weather, the pits' kinds, and what else lies there.

    choices: what was chosen of a day, by its likeness and how it was chosen
    """

    _days: dict[Hashable, tuple[Options, Options]] = field(default_factory=dict)
    choices: dict[Hashable, Found] = field(default_factory=dict)

    def of(self, wishes: Wishes, seed: int, members: int) -> tuple[Options, Options]:
        """What is known of such a day: options of the scenarios of the choice, and of those it does not see."""
        key = (*conditions(wishes), seed, members)
        found = self._days.pop(key, None) or ({}, {})
        self._days[key] = found
        while len(self._days) > MOST:
            self._days.pop(next(iter(self._days)))
        return found

    def keep(self, key: Hashable, found: Found) -> None:
        """Keep a choice; the oldest is forgotten first."""
        self.choices[key] = found
        while len(self.choices) > MOST:
            self.choices.pop(next(iter(self.choices)))


def likeness(day: Day) -> Hashable:
    """The same for two days that differ by no more than their hour: as a choice sees them, from serving backwards.

    Of options it is their identity: good as long as the day itself is kept.
    """
    tasks = tuple((replace(task, options=()), tuple(id(option) for option in task.options)) for task in day.tasks)
    return (tasks, day.places, day.cooks, day.away, day.earliest_s, day.hold_places, day.chance, day.grid_s, day.unfed)


def conditions(wishes: Wishes) -> tuple[Hashable, ...]:
    """All that an option depends on beside its own case. Not the hour of serving: a run begins at its put-on, and a
    course that ends by the clock cannot be planned.
    """
    pits = tuple((pit.label, pit.kind, pit.water_pan) for pit in wishes.pits)
    items = tuple((item.label, item.cut, item.pieces, item.mass_kg, item.pits) for item in wishes.items)
    air = (wishes.altitude_m, wishes.weather_air_c, wishes.weather_rh)
    return (wishes.zone, *air, pits, items, wishes.guests, wishes.learned)
