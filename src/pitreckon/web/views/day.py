"""A planned day in a page's words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pitreckon import catalog
from pitreckon.reckon.statements import sure_words
from pitreckon.units import format_duration, format_percent, round_half_up
from pitreckon.web.views.reader import ClockWords

BEST = "best-"
LESS = 0.005
"""What is short by less than this reads as what was asked."""

if TYPE_CHECKING:
    from pitreckon.plan.schedule.schedule import Answer, Call, PlannedItem, PlannedPit, Schedule
    from pitreckon.plan.schedule.variants import Variant
    from pitreckon.plan.wishes import Wishes
    from pitreckon.web.live.jobs import PlannedDay


@dataclass(frozen=True, slots=True)
class VariantView:
    """A small change. waits: it is still being reckoned; sums, loses: what it brings and costs, against as it is."""

    key: str
    words: str
    waits: bool
    possible: bool
    sums: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DayView:
    """What a page says of a day.

    lead: one sentence; trips: (time, acts); items, pits: rows of words; why: where it cannot be done
    changes: what would help, the one that helps most first, with the key that takes it, "" for none
    helps: what the first of them is to the others
    """

    possible: bool
    lead: str
    facts: tuple[tuple[str, str], ...]
    trips: tuple[tuple[str, tuple[str, ...]], ...]
    items: tuple[tuple[str, ...], ...]
    pits: tuple[tuple[str, ...], ...]
    why: tuple[str, ...]
    changes: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    helps: str


def day_view(day: PlannedDay, answer: Answer, clock: ClockWords) -> DayView:
    """An answer as a page shows it."""
    say, schedule = clock.preferences.say, answer.best

    def retold(lines: Iterable[str]) -> tuple[str, ...]:
        return tuple(clock.retold(line) for line in lines)

    possible = answer.schedule is not None
    if schedule is None:
        lead = say("It cannot be done as it was asked for.")
        changes, helps = _changes(answer, clock), clock.retold(answer.lead)
        return DayView(False, lead, (), (), (), (), retold(answer.why), changes, retold(answer.notes), helps)
    chance = format_percent(schedule.chance)
    served = clock(schedule.serve_utc)
    word = say(sure_words(schedule.chance))
    lead = say("All ready by {at} and still good then: {word}, {chance}.", at=served, word=word, chance=chance)
    asked = format_percent(day.wishes.chance)
    if possible and schedule.chance < day.wishes.chance - LESS:
        lead = " ".join((lead, say("{asked} was asked.", asked=asked)))
    if not possible:
        lead = say(
            "Not as surely as you asked: {chance} likely by {at} at best, and {asked} was asked.",
            chance=chance,
            at=served,
            asked=asked,
        )
    lead = " ".join((lead, *(clock.retold(each.counts_on) for each in schedule.alone if each.counts_on)))
    first = min((pit.lit_utc for pit in schedule.pits if pit.lit_utc is not None), default=None)
    facts = [(say("serve"), served), (say("light it"), "–" if first is None else clock(first))]
    facts += [(say("trips"), str(len(schedule.trips))), (say("fuel"), clock.preferences.weight(schedule.fuel_kg))]
    return DayView(
        possible,
        lead,
        tuple(facts),
        tuple(
            (clock(trip.at_utc), tuple(_act(call, schedule, clock) for call in trip.calls)) for trip in schedule.trips
        ),
        tuple(_item(item, schedule, clock) for item in schedule.items),
        tuple(_pit(pit, clock) for pit in schedule.pits),
        retold(answer.why),
        _changes(answer, clock),
        retold(dict.fromkeys((*answer.notes, *schedule.notes))),
        clock.retold(answer.lead),
    )


def _changes(answer: Answer, clock: ClockWords) -> tuple[tuple[str, str], ...]:
    """Changes in words, each with its key."""
    out = []
    for number, change in enumerate(answer.changes):
        what = clock.retold(change.what)
        if change.does and change.chance is not None:
            what = clock.preferences.say("{what}: {chance} likely", what=what, chance=format_percent(change.chance))
        out.append((what, f"{BEST}{number}" if change.wishes is not None else ""))
    return tuple(out)


def best_change(answer: Answer, key: str) -> Wishes | None:
    """The wishes with a change that helps, by its key; None: it is no such key."""
    found = (change.wishes for n, change in enumerate(answer.changes) if key == f"{BEST}{n}")
    return next(found, None)


def _act(call: Call, schedule: Schedule, clock: ClockWords) -> str:
    words, note = clock.retold(call.words), clock.retold(call.note)
    if call.act == "serve":
        return words if call.on == schedule.name else f"{call.on}: {words}"
    if call.act == "light":
        pit = next(pit for pit in schedule.pits if pit.label == call.on)
        return f"{call.on}: {words} ({clock.preferences.say(catalog.pit(pit.kind).name).lower()}; {note})"
    more = schedule.onto(call) or (note if call.act != "do" else "")
    return f"{call.on}: {words}" + (f" ({more})" if more else "")


def _item(item: PlannedItem, schedule: Schedule, clock: ClockWords) -> tuple[str, ...]:
    preferences, say = clock.preferences, clock.preferences.say
    wrapped = say("wrapped") if item.wrapped else say("not wrapped")
    each = say("{mass} each", mass=preferences.weight(item.mass_kg))
    return (
        f"{item.label}: {item.pieces} × {say(catalog.cut(item.cut).name)}, {each}",
        clock(item.put_on_utc),
        f"{item.pit}, {preferences.temperature(item.set_c)}, {wrapped}",
        say(
            "likely {at}, may be {range}", at=clock(item.ready.p50), range=clock.between(item.ready.p05, item.ready.p95)
        ),
        _held(schedule.held_s(item.label), item.hold_c, clock),
        format_percent(item.chance),
    )


def _pit(pit: PlannedPit, clock: ClockWords) -> tuple[str, ...]:
    lit = "–" if pit.lit_utc is None else clock(pit.lit_utc)
    fuel = clock.preferences.weight(pit.fuel_kg) if pit.fuel_kg > 0.0 else "–"
    return (pit.label, lit, clock.preferences.temperature(pit.set_c), clock(pit.off_utc), fuel)


def _minutes(span_s: float) -> str:
    return format_duration(300.0 * round_half_up(span_s / 300.0)) if span_s >= 150.0 else "–"


def _held(span_s: float, hold_c: float, clock: ClockWords) -> str:
    """For how long in the warm place, and how warm that is."""
    span, value = _minutes(span_s), clock.preferences.temperature(hold_c)
    return clock.preferences.say("{span} at {value}", span=span, value=value) if span_s >= 150.0 else span


def variant_views(day: PlannedDay, offered: Sequence[Variant], clock: ClockWords) -> list[VariantView]:
    """What small changes would bring, the best first; those still being reckoned last."""
    made = []
    for each in offered:
        answer, words = day.variants.get(each.key), clock.retold(each.words)
        if answer is None:
            made.append((2.0, VariantView(each.key, words, not day.all_known, possible=False)))
            continue
        schedule = answer.best
        if schedule is None:
            made.append(
                (
                    1.0,
                    VariantView(
                        each.key,
                        words,
                        waits=False,
                        possible=False,
                        sums=(clock.preferences.say("cannot be done"),),
                    ),
                )
            )
            continue
        sums = _sums(schedule, day.best, clock)
        view = VariantView(each.key, words, waits=False, possible=answer.schedule is not None, sums=sums)
        made.append((-schedule.chance, view))
    return [view for _, view in sorted(made, key=lambda pair: pair[0])]


def _sums(schedule: Schedule, base: Schedule | None, clock: ClockWords) -> tuple[str, ...]:
    first = min((pit.lit_utc for pit in schedule.pits if pit.lit_utc is not None), default=None)
    held = sum(schedule.held_s(item.label) for item in schedule.items) / max(len(schedule.items), 1)
    say = clock.preferences.say
    line = say("{chance} likely by {at}", chance=format_percent(schedule.chance), at=clock(schedule.serve_utc))
    if base is not None and abs(schedule.chance - base.chance) >= 0.005:
        points = round_half_up(100.0 * (schedule.chance - base.chance))
        line += f" ({'+' if points > 0 else '−'}{say('{n} in a hundred', n=f'{abs(points):.0f}')})"
    more = [
        say("held {span} on average", span=_minutes(held)),
        say("{n} trips", n=len(schedule.trips)),
        clock.preferences.weight(schedule.fuel_kg),
    ]
    if first is not None:
        more.insert(0, say("light at {at}", at=clock(first)))
    return (line, ", ".join(more))


def moved_lines(moved: Sequence[str], clock: ClockWords) -> tuple[str, ...]:
    """What is otherwise than planned; one line when nothing is."""
    return tuple(clock.retold(line) for line in moved) or (clock.preferences.say("As it was planned."),)
