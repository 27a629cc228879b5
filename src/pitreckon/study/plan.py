"""The record of a study, and its cases: each setting of it, in a fixed order, with a label that names its draws."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Final

from pitreckon.arrays import Floats
from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.forms.checks import fault, is_label, number, within
from pitreckon.reckon.draws import stream
from pitreckon.study.settings import COURSE, HABITS, SETTINGS, Value

MOST_CASES, MOST_ROWS = 100_000, 20_000_000
LEAST_MEMBERS, MOST_MEMBERS = 8, 4096
CHUNK_ROWS: Final = 2048
"""Members of a chunk, or those of one case where they are more: some seconds of one core."""
Row = tuple[tuple[str, Value], ...]


@dataclass(frozen=True, slots=True)
class Habit:
    """How a cook goes about it, in the terms of the readers of a card (``lessons.card.readers.Audience``).

    look_every_s: from one look to the next, once it may be there [s]; late_s: how late at the most [s]
    by_clock: share of the members who go by the clock, whatever there is to see [-]
    colour, feel: how far off they see a colour and feel tenderness, spread relative to its level [-]
    """

    name: str
    look_every_s: float = 1200.0
    late_s: float = 0.0
    by_clock: float = 0.0
    colour: float = 0.0
    feel: float = 0.0

    def __post_init__(self) -> None:
        within("look_every", self.look_every_s, 60.0, 6 * 3600.0, lambda s: f"{number(s / 60.0)} min")
        within("late", self.late_s, 0.0, 6 * 3600.0, lambda s: f"{number(s / 60.0)} min")
        for name in ("by_clock", "colour", "feel"):
            within(name, getattr(self, name), 0.0, 1.0 if name == "by_clock" else 0.5, lambda x: f"{100 * x:g} %")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A setting that is drawn: any of ``choices``, all as often; or any number between ``low`` and ``high``."""

    name: str
    choices: tuple[Value, ...] = ()
    low: Value | None = None
    high: Value | None = None


@dataclass(frozen=True, slots=True)
class Case:
    """One setting of a study. label: names its random streams; values: of what is varied, in the order of the file"""

    number: int
    label: str
    values: Row

    def __getitem__(self, name: str) -> Value:
        return dict(self.values)[name]


@dataclass(frozen=True)
class Study:
    """What is asked of many settings of one item of a cook.

    members: of each setting; seed: of all draws; keep: names of ``outcomes.OUTCOMES``
    same_members: every setting has the same members, so that what differs is the setting alone; else each its own
    grid: every value with every other; together: rows of values that belong together, each with all of the grid
    drawn, draws: settings that are drawn, so many times, each with all of that
    chunk_rows: pieces of a chunk; what comes of the study is the same whatever it is
    """

    name: str
    cook: Cook
    item: str
    members: int
    seed: int
    keep: tuple[str, ...]
    same_members: bool
    grid: tuple[tuple[str, tuple[Value, ...]], ...] = ()
    together: tuple[Row, ...] = ()
    drawn: tuple[Drawn, ...] = ()
    draws: int = 0
    habits: tuple[Habit, ...] = ()
    chunk_rows: int = CHUNK_ROWS

    def __post_init__(self) -> None:
        is_label("name", self.name)
        within("members", self.members, LEAST_MEMBERS, MOST_MEMBERS)
        if self.cases > MOST_CASES:
            raise fault("grid", f"these are {self.cases} settings", f"A study takes {MOST_CASES:,} at the most")
        if self.rows > MOST_ROWS:
            raise fault(
                "members", f"these are {self.rows} simulated pieces", f"A study takes {MOST_ROWS:,} at the most"
            )

    @property
    def varied(self) -> tuple[str, ...]:
        """What is varied, in the order of ``SETTINGS``."""
        names = {name for name, _ in self.grid} | {name for row in self.together for name, _ in row}
        names |= {each.name for each in self.drawn}
        return tuple(name for name in SETTINGS if name in names)

    @property
    def cases(self) -> int:
        """How many settings."""
        return max(self.draws, 1) * max(len(self.together), 1) * math.prod(len(values) for _, values in self.grid)

    @property
    def rows(self) -> int:
        """Simulated pieces."""
        return self.cases * self.members

    @property
    def cases_a_chunk(self) -> int:
        """How many settings a chunk has, the last one apart."""
        return max(1, self.chunk_rows // self.members)

    @property
    def chunks(self) -> int:
        """Pieces of work, numbered from 0."""
        return -(-self.cases // self.cases_a_chunk)

    def of_chunk(self, chunk: int) -> range:
        """The cases of a chunk."""
        first = chunk * self.cases_a_chunk
        return range(first, min(first + self.cases_a_chunk, self.cases))

    def habit(self, name: str) -> Habit:
        """The habits of this name. Raises KeyError."""
        return {each.name: each for each in self.habits}[name]

    def case(self, n: int) -> Case:
        """The setting of a number: draws change slowest, then rows, then the grid from its first key to its last."""
        sizes = (max(len(self.together), 1), *(len(values) for _, values in self.grid))
        rest, places = n, list[int]()
        for size in reversed(sizes):
            rest, place = divmod(rest, size)
            places.insert(0, place)
        values = dict(self.together[places[0]] if self.together else ())
        values |= {name: own[place] for (name, own), place in zip(self.grid, places[1:], strict=True)}
        words = [f"{name} {value.text}" for name, value in values.items()]
        if self.draws:
            values |= {each.name: _drawn(each, self.draws, self.seed)[rest] for each in self.drawn}
            words.insert(0, f"draw {rest + 1}")
        return Case(
            n, "; ".join(words) or "as it is", tuple((name, values[name]) for name in SETTINGS if name in values)
        )

    def seed_of(self, case: Case) -> int:
        """The seed of a case's members: of the study and of its label alone, whatever else the study varies."""
        if self.same_members:
            return self.seed
        digest = hashlib.sha256(f"study {self.seed}: {case.label}".encode()).digest()
        return int.from_bytes(digest[:4], "big") >> 1

    def cook_of(self, case: Case) -> Cook:
        """The cook with a case's settings. Raises InputError: what is set does not go together."""
        return put_in(self.cook, self.item, case.values)

    def every_value(self) -> Iterator[tuple[str, Value]]:
        """All values that are written in it, and both ends of what is drawn between two."""
        for name, values in self.grid:
            yield from product([name], values)
        for row in self.together:
            yield from row
        for each in self.drawn:
            ends = [end for end in (each.low, each.high) if end is not None]
            yield from product([each.name], [*each.choices, *ends])

    def courses(self) -> Iterator[Row]:
        """Every way in which values of ``COURSE`` meet, each once: a row's with all of the grid and of the draws."""
        own = [[(name, value) for value in values] for name, values in self.grid if name in COURSE]
        own += [[(each.name, value) for value in each.choices] for each in self.drawn if each.name in COURSE]
        rows = dict.fromkeys(
            tuple((name, value) for name, value in row if name in COURSE) for row in self.together or ((),)
        )
        for row, rest in product(rows, product(*own)):
            yield tuple(sorted((*row, *rest), key=lambda each: COURSE.index(each[0])))


def put_in(cook: Cook, item: str, values: Row) -> Cook:
    """A cook with settings put in, in the order of ``SETTINGS``. Raises InputError: it cannot be (field)."""
    given = dict(values)
    for name, setting in SETTINGS.items():
        if name in given and name != HABITS:
            try:
                cook = setting.put(cook, item, given[name].meant)
            except InputError as error:
                raise error.put(fault(name, error.trouble, error.remedy).place) from None
    return cook


@lru_cache(maxsize=64)
def _drawn(each: Drawn, count: int, seed: int) -> tuple[Value, ...]:
    """Every draw of a setting, evenly spread: each of as many equal parts is hit once."""
    rng = stream(seed, f"study draws {each.name}")
    even: Floats = (rng.permutation(count) + rng.random(count)) / count
    if each.choices:
        return tuple(each.choices[int(u * len(each.choices))] for u in even)
    assert each.low is not None
    assert each.high is not None
    low, high = float(each.low.meant), float(each.high.meant)
    write = SETTINGS[each.name].key.form.write
    found = [low + float(u) * (high - low) for u in even]
    return tuple(Value(str(write(meant, None)), meant) for meant in found)
