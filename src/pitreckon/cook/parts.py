"""What cook files of every kind have in common: names, courses, amounts of sugar, tables that stand once."""

from __future__ import annotations

from datetime import datetime
from functools import partial
from zoneinfo import ZoneInfo

from pitreckon.cook.plan import STAGE_KINDS, SUGAR_LEVELS, StagePlan, Until
from pitreckon.cook.until import parse_until
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.names import KnownNames
from pitreckon.units import parse_duration, parse_mass, parse_temperature, shown


def one_table(top: Fields, key: str) -> Fields | None:
    """A table that stands once below the top; None: not at all. Raises InputError: it is no single table."""
    raw = top.raw.get(key)
    if raw is None:
        return None
    if not isinstance(raw, dict):
        raise top.fault(key, f"{key} is not one table", f"Head it with [{key}]")
    return Fields(raw, (key,), key, top.file, top.lines)


def parse_span_or_none(text: str) -> float:
    """A length of time [s]; "none" is no time at all."""
    return 0.0 if text.strip().casefold() in {"none", "0"} else parse_duration(text)


def stages_of(
    tables: list[Fields], known: KnownNames, put_on_utc: datetime, zone: ZoneInfo, serve_utc: datetime | None
) -> tuple[StagePlan, ...]:
    """An item's own course. Raises InputError: a stage that ends before it begins, or that cannot be read."""
    stages = []
    after_utc = put_on_utc
    for fields in tables:
        ends = partial(parse_until, after_utc=after_utc, zone=zone, serve_utc=serve_utc)
        until = fields.need("until", ends)
        if until.at_utc is not None:
            if until.at_utc <= after_utc:
                raise fields.fault("until", "the stage ends before it can begin", "Write a later time")
            after_utc = until.at_utc
        stages.append(_stage(fields, known, until))
    return tuple(stages)


def _stage(fields: Fields, known: KnownNames, until: Until) -> StagePlan:
    fields.only("do", "until", "wrap", "liquid", "air", "glaze")
    return fields.build(
        lambda: StagePlan(
            kind=fields.need("do", _stage_kind),
            until=until,
            wrap=fields.maybe("wrap", known.wrap),
            air_c=fields.maybe("air", parse_temperature),
            glaze_kg=fields.maybe("glaze", parse_mass),
            liquid_kg=fields.maybe("liquid", parse_mass) or 0.0,
        )
    )


def name_of(text: str) -> str:
    """A name as it was typed, without the blanks round it."""
    return text.strip()


def parse_sugar(text: str) -> float:
    """How much sugar there is, none, some or much, as a level [-]. Raises InputError: none of these."""
    level = SUGAR_LEVELS.get(text.strip().casefold())
    if level is None:
        raise InputError(f"{shown(text)} is no amount of sugar", f"Write {', '.join(SUGAR_LEVELS)}")
    return level


def _stage_kind(text: str) -> str:
    kind = text.strip().casefold()
    if kind not in STAGE_KINDS:
        raise InputError(f"{shown(text)} is nothing a stage can do", f"Write {', '.join(STAGE_KINDS)}")
    return kind


def no_twins(tables: list[Fields]) -> None:
    """Raise InputError where two tables have the same name."""
    seen: dict[str, Fields] = {}
    for fields in tables:
        name = fields.need("name", name_of)
        twin = seen.setdefault(name.casefold(), fields)
        if twin is not fields:
            raise fields.fault("name", f"{shown(name)} is also the name of {twin.title}", "Give each its own name")
