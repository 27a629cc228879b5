"""What a study can vary: how each setting is typed, what it changes in a cook, and its column in the results."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from pitreckon import catalog
from pitreckon.cook import Cook, ItemPlan, StagePlan, Until
from pitreckon.cook.keys import COOK, ITEM, PIT, STAGE
from pitreckon.cook.until import parse_until
from pitreckon.errors import InputError
from pitreckon.forms.checks import fault
from pitreckon.forms.keys import Form, Key, text, word
from pitreckon.forms.names import UNWRAPPED
from pitreckon.reckon.stages import PIT_KINDS, planned_stages
from pitreckon.units import is_clock, shown

COURSE: Final = ("cut", "wrap_when", "wrap", "done_when")
"""Settings that make a course together: what one of them can be hangs on the others."""
HABITS: Final = "habits"
"""The setting that names a table of the study itself."""
_KEYS: Final = {key.key: key for keys in (STAGE, PIT, COOK, ITEM) for key in keys.keys}
_WATER: Final = {"with": True, "without": False}


def _mark(typed: str) -> Until:
    """What ends a stage in every cook of a study: no time of the clock, which one day has."""
    if typed.strip().lower() == "serve" or is_clock(typed):
        raise InputError(
            f"{shown(typed)} is a time of the clock", "Write a mark, a core or a duration: tender, 203 F, 90 min"
        )
    return parse_until(typed)


_MARK: Final = text(_mark)


@dataclass(frozen=True, slots=True)
class Value:
    """A setting's value. text: as it was typed; meant: what that means, in the unit of its column"""

    text: str
    meant: Any


@dataclass(frozen=True, slots=True)
class Setting:
    """Something that can be varied.

    key: its form, and its name in a study's tables; column: in the results, with its unit; means: for the reference
    put: a cook with another value of it for the item; number: its column is of numbers, and it can be drawn between two
    """

    key: Key
    column: str
    means: str
    put: Callable[[Cook, str, Any], Cook]
    number: bool = True

    @property
    def name(self) -> str:
        """As a study's tables call it."""
        return self.key.key

    def cell(self, value: Value) -> float | str:
        """What stands in its column."""
        if self.number:
            return float(value.meant)
        return value.meant if isinstance(value.meant, str) else value.text


def item_of(cook: Cook, label: str) -> ItemPlan:
    """The item that a study is about."""
    return next(item for item in cook.items if item.label == label)


def _of_item(field: str) -> Callable[[Cook, str, Any], Cook]:
    return lambda cook, label, value: _with_item(cook, label, **{field: value})


def _of_cook(field: str) -> Callable[[Cook, str, Any], Cook]:
    return lambda cook, _, value: replace(cook, **{field: value})


def _of_pit(field: str) -> Callable[[Cook, str, Any], Cook]:
    def put(cook: Cook, label: str, value: Any) -> Cook:
        where = item_of(cook, label).pit
        changed = (replace(pit, **{field: value}) if pit.label == where else pit for pit in cook.pits)
        return replace(cook, pits=tuple(changed))

    return put


def _with_item(cook: Cook, label: str, **changes: Any) -> Cook:
    return replace(cook, items=tuple(replace(item, **changes) if item.label == label else item for item in cook.items))


def _with_stages(cook: Cook, label: str, stages: Sequence[StagePlan]) -> Cook:
    return _with_item(cook, label, stages=tuple(stages))


def _stages(cook: Cook, label: str) -> list[StagePlan]:
    item = item_of(cook, label)
    return list(planned_stages(catalog.cut(item.cut), item, cook))


def _wrapped(cook: Cook, label: str, stages: Sequence[StagePlan], field: str) -> int:
    found = [n for n, stage in enumerate(stages) if stage.kind == "wrapped"]
    if not found:
        item = item_of(cook, label)
        whose = "" if item.stages else f", the usual one of {item.cut}"
        other = "" if item.stages else ", or leave this cut out"
        remedy = f'Give the item a stage with do = "wrapped" in its cook{other}'
        raise fault(field, f"nothing is wrapped in this course{whose}", remedy)
    return found[0]


def _put_wrap(cook: Cook, label: str, value: Any) -> Cook:
    """Every wrapped stage in another wrap; ``none``: bare, to the same end, with nothing put inside."""
    stages = _stages(cook, label)
    _wrapped(cook, label, stages, "wrap")
    for n, stage in enumerate(stages):
        if stage.kind == "wrapped" and value == UNWRAPPED:
            stages[n] = replace(stage, kind="open", wrap=None, liquid_kg=0.0)
        elif stage.kind == "wrapped":
            stages[n] = replace(stage, wrap=str(value))
    return _with_stages(cook, label, stages)


def _put_wrap_when(cook: Cook, label: str, value: Until) -> Cook:
    """Another end of the stage before the first that is wrapped."""
    stages = _stages(cook, label)
    first = _wrapped(cook, label, stages, "wrap_when")
    if first == 0:
        raise fault("wrap_when", "it is wrapped from the start", 'Give it a stage with do = "open" before that')
    stages[first - 1] = replace(stages[first - 1], until=value)
    return _with_stages(cook, label, stages)


def _put_done_when(cook: Cook, label: str, value: Until) -> Cook:
    """Another end of the last stage on the pit that is no glaze."""
    stages = _stages(cook, label)
    last = max(
        (n for n, stage in enumerate(stages) if stage.kind in PIT_KINDS and stage.kind != "sauced"), default=None
    )
    if last is None:
        raise fault("done_when", "nothing is cooked in this course", 'Give it a stage with do = "open"')
    stages[last] = replace(stages[last], until=value)
    return _with_stages(cook, label, stages)


def _named(name: str, example: str, form: Form | None = None, *, like: str = "") -> Key:
    """A key of a study, with the form of a cook file's."""
    return Key(name, form or _KEYS[like or name].form, example)


SETTINGS: Final[dict[str, Setting]] = {
    each.name: each
    for each in (
        Setting(_named("cut", '["back-ribs", "st-louis-ribs"]'), "cut", "the cut", _of_item("cut"), number=False),
        Setting(_named("weight", '["2 lb", "3 lb"]'), "weight_kg", "weight of one piece", _of_item("mass_kg")),
        Setting(_named("thickness", '["1 in", "1 1/4 in"]'), "thickness_m", "as measured", _of_item("thickness_m")),
        Setting(
            _named("thinner", '["1/3", "1/2"]'),
            "thickness_factor",
            "how much was trimmed off its thickness; in the results, what is left of it",
            _of_item("thickness_factor"),
        ),
        Setting(_named("start", '["40 F", "55 F"]'), "start_c", "of the meat when it goes on", _of_item("start_c")),
        Setting(_named("sugar", '["none", "much"]'), "sugar", "in the rub, 0 to 1", _of_item("sugar")),
        Setting(
            _named("pit", '["kettle", "pellet-cooker"]', like="kind"),
            "pit",
            "kind of pit",
            _of_pit("kind"),
            number=False,
        ),
        Setting(_named("set", '["225 F", "275 F"]'), "set_c", "what the pit is set to", _of_pit("set_c")),
        Setting(
            _named("water_pan", '["with", "without"]', word(_WATER, "neither with nor without")),
            "water_pan",
            "a pan of water in the pit",
            _of_pit("water_pan"),
            number=False,
        ),
        Setting(
            _named("wrap_when", '["colour", "165 F"]', _MARK),
            "wrap_when",
            "what ends the stage before the wrap",
            _put_wrap_when,
            number=False,
        ),
        Setting(
            _named("wrap", '["none", "foil", "paper"]'),
            "wrap",
            "what a wrapped stage is wrapped in; none: it stays bare, to the same end",
            _put_wrap,
            number=False,
        ),
        Setting(
            _named("done_when", '["tender", "203 F"]', _MARK),
            "done_when",
            "what ends the last stage on the pit, a glaze apart",
            _put_done_when,
            number=False,
        ),
        Setting(_named("air", '["40 F", "90 F"]'), "weather_c", "the weather", _of_cook("weather_air_c")),
        Setting(_named("humidity", '["30 %", "80 %"]'), "weather_rh", "of the weather", _of_cook("weather_rh")),
        Setting(_named("altitude", '["0 ft", "5000 ft"]'), "altitude_m", "above the sea", _of_cook("altitude_m")),
        Setting(
            _named(HABITS, '["watchful", "busy"]', text()),
            HABITS,
            "how the cook goes about it: a [habits.NAME] of the study",
            lambda cook, _label, _value: cook,
            number=False,
        ),
    )
}
"""By name, in the order in which they are put into a cook: a course is that of the cut, and unwrapped last."""
