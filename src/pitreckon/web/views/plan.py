"""The Plan page: each course, and what could be done now, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.ledger import Act
from pitreckon.reckon import ItemOutlook
from pitreckon.reckon.whatif import LEAVE, ItemThen, WhatIf
from pitreckon.reckon.words import STANDING, colour_word, waiting_words
from pitreckon.units import format_bulk, format_percent
from pitreckon.web.views.reader import ClockWords
from pitreckon.web.views.spans import span_words

UNDONE: Final = 0.8


@dataclass(frozen=True, slots=True)
class StageView:
    """One stage of an item in words."""

    kind: str
    until: str
    when: str
    done: bool


def stage_views(item: ItemOutlook, clock: ClockWords) -> list[StageView]:
    """An item's course with its times."""
    out = []
    for stage in item.stages:
        when = span_words(item, stage.ends_s, clock)
        until = clock.retold(waiting_words(stage.until, stage.until_core_c, clock.preferences.degrees))
        kind = clock.preferences.say(STANDING[stage.kind])
        if stage.wrap and stage.kind == "wrapped":
            kind = clock.preferences.say("{doing} in {wrap}", doing=kind, wrap=clock.preferences.say(stage.wrap))
        out.append(StageView(kind, until, when, stage.done))
    return out


@dataclass(frozen=True, slots=True)
class OptionView:
    """A what-if card.

    name: what one would do; on: pit or item; sums: what it comes to; items: what each item would do
    acts: what one tap records, as values of a form
    """

    name: str
    on: str
    sums: tuple[str, ...]
    items: tuple[str, ...]
    acts: tuple[dict[str, str], ...]
    leaves: bool


def option_views(options: Sequence[WhatIf], clock: ClockWords) -> list[OptionView]:
    """What could be done now, the best first."""
    as_it_is = next((option for option in options if option.what == LEAVE), None)
    out = []
    for option in options:
        shown = [item for item in option.items if option.changes(item, as_it_is)]
        name = clock.retold(option.what)
        set_c = next((act.air_c for act in option.acts if act.act == "set pit"), None)
        if set_c is not None:
            name = clock.preferences.say("{what}: set it to {aim}", what=name, aim=clock.preferences.temperature(set_c))
        out.append(
            OptionView(
                name=name,
                on=option.on,
                sums=tuple(_sums(option, as_it_is, clock)),
                items=tuple(f"{item.label}: {_then(item, clock)}" for item in shown),
                acts=tuple(_act_form(act) for act in option.acts),
                leaves=option.what == LEAVE,
            )
        )
    return out


def _sums(option: WhatIf, as_it_is: WhatIf | None, clock: ClockWords) -> list[str]:
    words, say, retold = [], clock.preferences.say, clock.retold
    if option.on_time is not None:
        chance = say("all ready, done and still good: {chance}", chance=format_percent(option.on_time))
        if as_it_is is not None and as_it_is is not option and as_it_is.on_time is not None:
            chance += f" ({say('as it is: {chance}', chance=format_percent(as_it_is.on_time))})"
        words.append(chance)
    if option.moved:
        words.append(say("ready {moved}", moved=retold(option.moved)))
    if option.fuel_kg is not None:
        words.append(say("about {mass} of fuel from now", mass=format_bulk(option.fuel_kg, clock.preferences.mass)))
    words += [say("how: {words}", words=retold(option.how))] if option.how else []
    words += [say("brings: {words}", words=retold(brought)) for brought in option.brings]
    words += [say("costs: {words}", words=retold(cost)) for cost in option.costs]
    return words


def _then(item: ItemThen, clock: ClockWords) -> str:
    say = clock.preferences.say
    words = [say("ready: {when}", when=span_words(item.outlook, item.ready, clock))]
    if item.done < UNDONE and item.ready.known:
        words.append(say("but done only {chance} likely", chance=format_percent(item.done)))
    if item.colour.known:
        words.append(say(colour_word(item.colour.p50)))
    if item.loss.known:
        words.append(say("{share} of its weight lost as juice and steam", share=format_percent(item.loss.p50)))
    return ", ".join(words)


def _act_form(act: Act) -> dict[str, str]:
    value = act.detail if act.air_c is None else f"{act.air_c:.1f} C"
    return {"kind": "act", "on": act.on, "what": act.act, "value": value}
