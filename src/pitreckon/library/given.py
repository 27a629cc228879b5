"""What is given to a simulation, read: a cut, a pit, a course, numbers of one's own; each fault in one message."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import ArrayLike

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan
from pitreckon.cook.keys import Around, stages_of
from pitreckon.errors import InputError, Place
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames
from pitreckon.ledger import Ledger
from pitreckon.reckon.prepare import Track, tracks_of
from pitreckon.section.course import FIELDS, Course, Drive
from pitreckon.section.members import PARAMETERS, Members
from pitreckon.section.shapes import GROUPS
from pitreckon.text.words import did_you_mean
from pitreckon.units import is_clock, next_clock, parse_clock, parse_instant, shown

PUT_ON: Final = datetime(2000, 1, 1, tzinfo=UTC)
"""Zero of a simulation's seconds where no clock goes into it; only differences count."""
ZONE: Final = ZoneInfo("UTC")
FREE: Final = frozenset({"until", "value", "forced_s", "not_before_s", "longest_s", "glaze_water", "glaze_solid"})
"""Fields of a stage that its course says, not what surrounds the piece."""
MOST_MEMBERS: Final = 100_000
MOST_PIECES: Final = 500
HOTTEST_C, COLDEST_C = 400.0, -40.0
SET_C: Final = (10.0, 400.0)


@dataclass(frozen=True)
class When:
    """The clock of a simulation: when the piece goes on and when it is served, UTC; None: neither counts."""

    put_on_utc: datetime | None = None
    serve_utc: datetime | None = None


def when_of(put_on: datetime | str | None, serve: datetime | str | None) -> When:
    """Put-on and serving as instants with a zone, or as texts: a day and time, or a clock time alone.

    A text without an offset is meant in UTC: only how long it is from one to the other counts. A clock time alone is on
    an unnamed day, that of serving the first after put-on.

    Raises InputError: what is no such time, serving without put-on, or serving that is not after it
    """
    put_on_utc = _instant("put_on", put_on, PUT_ON - timedelta(seconds=1))
    if put_on_utc is None and serve is not None:
        raise InputError("when it is served says nothing without when it goes on", 'Give put_on, too, as in "22:00"')
    serve_utc = _instant("serve", serve, put_on_utc or PUT_ON)
    if put_on_utc is not None and serve_utc is not None and not put_on_utc < serve_utc:
        raise InputError("it is served before it goes on", "Give a later serve", Place(field="serve"))
    return When(put_on_utc, serve_utc)


def _instant(name: str, given: datetime | str | None, after_utc: datetime) -> datetime | None:
    if given is None:
        return None
    if isinstance(given, str):
        try:
            return next_clock(after_utc, parse_clock(given), ZONE) if is_clock(given) else parse_instant(given, ZONE)
        except InputError as fault:
            raise fault.at(field=name) from None
    if not isinstance(given, datetime) or given.tzinfo is None:
        remedy = 'Give a datetime with its zone, or a text as in "2026-10-10 05:00" or "05:00"'
        raise InputError(f"{name} is no instant", remedy, Place(field=name))
    return given.astimezone(UTC)


@dataclass(frozen=True)
class Meat:
    """One piece and the day it is cooked on; what is not said is as a cook file has it.

    mass_kg: of the piece; None: the cut's usual; start_c: [degC] when it goes on; thickness_m: measured; None: by mass
    sugar: in the rub, 0 none, 0.5 some, 1 much; altitude_m, weather_air_c, weather_rh: of the place
    """

    mass_kg: float | None = None
    start_c: float = 4.0
    thickness_m: float | None = None
    sugar: float = 0.5
    altitude_m: float = 0.0
    weather_air_c: float | None = None
    weather_rh: float | None = None


def meat_of(given: Mapping[str, float | None]) -> Meat:
    """A piece and its day. Raises InputError: there is nothing of that name to be said, or it is no number."""
    known = tuple(each.name for each in fields(Meat))
    for name, value in given.items():
        if name not in known:
            raise InputError(f"{shown(str(name))} is nothing of the meat or the day", did_you_mean(str(name), known))
        if value is not None and (isinstance(value, bool) or not isinstance(value, int | float)):
            raise InputError(f"{name} is no number", f"Give a number in the unit of its name, as in {name}=3.0")
    return Meat(**given)  # type: ignore[arg-type]


def cut_of(given: str | Cut) -> Cut:
    """A cut by its name or itself. Raises InputError: the catalog has none of that name."""
    return catalog.cut(given.key if isinstance(given, Cut) else given)


def pit_of(given: str | PitPlan, cut: Cut, set_c: float | None) -> PitPlan:
    """A pit by its kind's name, or as planned. set_c: what it is set to [degC]; None: what is usual for the animal

    Raises InputError: there is no such kind, or it cannot be set to that
    """
    if set_c is not None:
        set_c = number("set_c", set_c, *SET_C)
    kind = catalog.pit(given.kind if isinstance(given, PitPlan) else given).key
    if isinstance(given, PitPlan):
        return replace(given, kind=kind) if set_c is None else replace(given, kind=kind, set_c=set_c)
    usual_c = catalog.animal(cut.animal).usual_set_c.value
    return PitPlan(label=kind, kind=kind, set_c=usual_c if set_c is None else set_c)


def course_of(given: Iterable[StagePlan | Mapping[str, Any]] | None, when: When = When()) -> tuple[StagePlan, ...]:
    """Stages as records or as the tables of a cook file; None: none, which means the cut's usual.

    Raises InputError: a table is wrong (its number and key), a stage ends before it begins, or by a clock that nobody
        has said
    """
    if given is None:
        return ()
    asked = tuple(given) if isinstance(given, Iterable) and not isinstance(given, str | Mapping) else (None,)
    if not all(isinstance(each, StagePlan | Mapping) for each in asked):
        example = '[{"do": "open", "until": "90 min"}]'
        raise InputError("the course is no list of stages", f"Give stages as a cook file has them, as in {example}")
    stages: list[StagePlan] = []
    around = Around(ZONE, when.serve_utc, KnownNames.from_catalog())
    after_utc = when.put_on_utc or PUT_ON
    for n, each in enumerate(asked, 1):
        if isinstance(each, StagePlan):
            stages.append(each)
        elif each is not None:
            table = Fields.of_tables({"stage": [dict(each)]}, "the course", f"stage {n}")
            table.around = around
            stages += stages_of(table, after_utc)
        at_utc = stages[-1].until.at_utc
        if at_utc is None:
            continue
        place = Place("the course", field=f"stage {n}")
        if when.put_on_utc is None:
            trouble = "the stage ends by the clock, and nobody says when it goes on"
            raise InputError(trouble, 'Give put_on, as in put_on="22:00", or end it by a duration', place)
        if at_utc <= after_utc:
            raise InputError("the stage ends before it can begin", "Give a later time", place)
        after_utc = at_utc
    if not stages:
        raise InputError("the course has no stages", "Give one or more, or leave it out for the cut's usual course")
    return tuple(stages)


def track_of(
    cut: Cut,
    pit: PitPlan,
    course: tuple[StagePlan, ...],
    meat: Meat,
    seed: int,
    when: When = When(),
    pieces: int = 1,
) -> Track:
    """The pieces of a cook of nothing else. Raises InputError: a number is out of its range"""
    item = ItemPlan(
        label=cut.key,
        cut=cut.key,
        pieces=pieces,
        mass_kg=cut.shape.mass_kg.value if meat.mass_kg is None else meat.mass_kg,
        pit=pit.label,
        put_on_utc=when.put_on_utc or PUT_ON,
        start_c=meat.start_c,
        thickness_m=meat.thickness_m,
        sugar=meat.sugar,
        stages=course,
    )
    cook = Cook(
        f"{cut.name} simulated",
        ZONE.key,
        serve_utc=when.serve_utc,
        altitude_m=meat.altitude_m,
        weather_air_c=meat.weather_air_c,
        weather_rh=meat.weather_rh,
        pits=(pit,),
        items=(item,),
    )
    return tracks_of(cook, item, Ledger(), item.put_on_utc, seed)[0]


def pieces_of(pieces: int, members: int) -> int:
    """How many pieces lie on each pit. Raises InputError: none, or more with all their members than fit into memory."""
    if isinstance(pieces, bool) or not isinstance(pieces, int | np.integer) or not 1 <= pieces <= MOST_PIECES:
        raise InputError(f"pieces is {pieces}", f"Give a whole number from 1 to {MOST_PIECES}")
    ensemble_size(int(pieces) * members)
    return int(pieces)


def ensemble_size(members: int) -> int:
    """How many members. Raises InputError: none, or more than fit into memory."""
    if isinstance(members, bool) or not isinstance(members, int | np.integer):
        raise InputError(f"{shown(str(members))} members is no whole number", "Ask for a whole number, as in 64")
    if not 1 <= members <= MOST_MEMBERS:
        raise InputError(
            f"an ensemble of {members} members cannot be simulated at once",
            f"Ask for 1 to {MOST_MEMBERS}; for more, study them in chunks with other seeds",
        )
    return int(members)


def seed_of(seed: int) -> int:
    """A seed. Raises InputError: it is no whole number, or less than nothing."""
    if isinstance(seed, bool) or not isinstance(seed, int | np.integer) or seed < 0:
        raise InputError(f"the seed is {shown(str(seed))}", "Give a whole number from 0 on", Place(field="seed"))
    return int(seed)


def with_own(members: Members, own: Mapping[str, ArrayLike]) -> Members:
    """Members with numbers of one's own in the place of what was drawn.

    Raises InputError: there is no such parameter, or it is not one number or one a member
    """
    for name, value in own.items():
        if name not in PARAMETERS:
            raise InputError(f"{shown(name)} is no parameter of a member", did_you_mean(name, tuple(PARAMETERS)))
        _fits(name, value, members.size)
    return members.changed(**own)


def with_around(course: Course, own: Mapping[str, ArrayLike]) -> Course:
    """A course in whose every stage these fields are one's own; a name without its number means all groups of faces.

    Raises InputError: there is no such field, or it is not one number or one a member
    """
    known = [name for name in FIELDS if name not in FREE]
    grouped = {f"{name}_{g}": name for name in ("convection", "emissivity", "vapour", "through") for g in range(GROUPS)}
    table = course.table.copy()
    for name, value in own.items():
        rows = [i for i, field in enumerate(FIELDS) if name in {field, grouped.get(field)} and field not in FREE]
        if not rows:
            words = tuple(dict.fromkeys(grouped.get(field, field) for field in known))
            raise InputError(f"{shown(name)} is nothing that surrounds a piece", did_you_mean(name, words))
        _fits(name, value, table.shape[2])
        table[:, rows] = value
    return replace(course, table=table)


def drive_of(given: float | Sequence[tuple[float, float]], like: Drive, horizon_s: float) -> Drive:
    """Pit air of one's own: a temperature [degC], or (time [s since put-on], temperature) in order of time.

    It is the air at the piece: no offset, no wander and no lid is added. Raises InputError: it is neither
    """
    try:
        pairs = np.asarray([(0.0, float(given))] if np.isscalar(given) else given, dtype=np.float64)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        pairs = np.empty((0, 0))
    remedy = "Give a temperature in °C, or pairs (seconds since put-on, °C) in order of time"
    if pairs.ndim != 2 or pairs.shape[1] != 2 or not pairs.shape[0] or not np.isfinite(pairs).all():
        raise InputError("the pit's air is neither a temperature nor a list of pairs", remedy)
    time_s, air_c = pairs[:, 0], pairs[:, 1]
    if (np.diff(time_s) <= 0.0).any():
        raise InputError("the pit's air does not run forward in time", remedy)
    if air_c.min() < COLDEST_C or air_c.max() > HOTTEST_C:
        raise InputError(f"pit air of {air_c.max():g} or {air_c.min():g} °C is none", "Give it in °C, from -40 to 400")
    knots = np.arange(round(horizon_s / like.knot_s) + 1) * like.knot_s
    air: Floats = np.repeat(np.interp(knots, time_s, air_c)[:, None], like.air_c.shape[1], axis=1)
    return Drive(air, like.knot_s, known_until_s=np.inf)


def _fits(name: str, value: ArrayLike, members: int) -> None:
    try:
        shape = np.shape(np.asarray(value, dtype=np.float64))
    except (TypeError, ValueError):
        shape = (-1,)
    if shape not in {(), (members,)}:
        raise InputError(f"{name} is neither a number nor one for each of {members} members", "Give either of them")


def number(name: str, value: float, low: float, high: float) -> float:
    """A number in its range. Raises InputError: it is none, or outside."""
    if isinstance(value, bool) or not isinstance(value, int | float | np.number) or not low <= float(value) <= high:
        raise InputError(f"{name} is {value}", f"Give a number from {low:g} to {high:g}", Place(field=name))
    return float(value)


def times(given: Iterable[float]) -> tuple[float, ...]:
    """Times of fields [s since put-on]. Raises InputError: there is none, or they do not run forward from put-on."""
    try:
        found = np.asarray(list(given), dtype=np.float64)
    except (TypeError, ValueError):
        found = np.empty(0)
    if (
        found.ndim != 1
        or not found.size
        or not np.isfinite(found).all()
        or found[0] < 0.0
        or (np.diff(found) <= 0).any()
    ):
        remedy = "Give seconds since put-on, from 0, each later than the one before"
        raise InputError("the times of the fields do not run forward", remedy, Place(field="at_s"))
    return tuple(float(at) for at in found)
