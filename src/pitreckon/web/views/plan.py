"""The Plan page: each course, and what could be done now, in words; what helps supper most comes first."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from pitreckon.cook import Cook
from pitreckon.ledger import Act
from pitreckon.reckon import ItemOutlook
from pitreckon.reckon.helping import WELL, sifted, sooner_words
from pitreckon.reckon.whatif import ItemThen, WhatIf
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


@dataclass(frozen=True, slots=True)
class OptionsView:
    """What could be done now. lead: one sentence; as_it_is: nothing, if that was reckoned; helping: what helps most

    rest: all else, by the pit or the item that it is done to
    """

    lead: str
    as_it_is: tuple[OptionView, ...]
    helping: tuple[OptionView, ...]
    rest: tuple[tuple[str, tuple[OptionView, ...]], ...]


def options_view(options: Sequence[WhatIf], cook: Cook, clock: ClockWords) -> OptionsView | None:
    """What could be done now, what helps supper most first; None: it is not reckoned yet."""
    if not options:
        return None
    found, say = sifted(options, cook), clock.preferences.say
    base = found.as_it_is
    if found.helping:
        lead = say("What helps supper most comes first. One tap records it as done.")
    elif base is not None and (base.on_time or 0.0) >= WELL:
        lead = say("All is well as it is.")
    else:
        lead = say("Nothing that can be done now helps supper: leave it as it is.")

    def views(those: Sequence[WhatIf]) -> tuple[OptionView, ...]:
        return tuple(_views(those, base, clock))

    rest = tuple((label, views(those)) for label, those in found.rest)
    return OptionsView(lead, views((base,) if base is not None else ()), views(found.helping), rest)


def _views(options: Sequence[WhatIf], as_it_is: WhatIf | None, clock: ClockWords) -> list[OptionView]:
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
    if as_it_is is option and option.all_ready[1] is not None:
        words.append(say("all of it ready by {at} with even odds", at=clock(option.all_ready[1])))
    if as_it_is is not None and (sooner := sooner_words(option, as_it_is)):
        words.append(retold(sooner))
    elif option.moved:
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
