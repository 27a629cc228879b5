"""Changes that may make a day possible, each kind a ladder of growing steps: later, hotter, held longer, fewer."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from pitreckon.plan.buying.amounts import Amount, amounts_of
from pitreckon.plan.schedule.daybefore import can_be_cooked_before, cooked_before
from pitreckon.plan.schedule.lots import in_lots, whole_of
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes
from pitreckon.text.said import clock_time, difference, said, temperature
from pitreckon.units import (
    PIT_STEP_K,
    format_difference,
    format_duration,
    format_percent,
)

HOTTEST_C = 176.7
"""350 F: no pit is proposed hotter than this (common practice, no source)."""
COOLEST_C = 107.2
"""225 F: no pit is proposed cooler than this (common practice, no source)."""
COOL_HOLDS_C = (65.6, 62.8, 60.0)
"""150, 145 and 140 F: warm places that are proposed where meat goes soft in a hotter one. None below 140 F: local codes
ask for 135 or 140 F or more, and an air that is at the limit leaves nothing for a door that is opened."""
EARLIER_H = (0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 9.0, 12.0)
LATER_H = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
HOLDS_H = (1.0, 2.0, 3.0, 4.0, 6.0)
FEWER = (0.1, 0.2, 0.3, 0.5)

# What a change asks of the cook, so that the smallest come first: common practice, no source.
SIZE_EARLIER_H, SIZE_LATER_H, SIZE_HOTTER, SIZE_HOLD_H = 1.0, 1.5, 1.0, 0.5
SIZE_COOLER, SIZE_COOL_HOLD = 1.0, 0.5
SIZE_ANY_PIT, SIZE_LOTS, SIZE_WRAP, SIZE_PIT = 0.5, 1.5, 1.0, 5.0
SIZE_HANDS, SIZE_THERE, SIZE_FEWER, SIZE_DAY_BEFORE = 2.0, 3.0, 10.0, 4.0

Rung = Callable[[Wishes, list[Amount]], tuple[Wishes, list[Amount]] | None]


@dataclass(frozen=True)
class Ladder:
    """One kind of change in growing steps; each step is words, size and what it does to the wishes.

    about: what it changes, where others change that, too: of two such only one is made
    """

    steps: tuple[tuple[str, float, Rung], ...]
    about: frozenset[str] = frozenset()


def ladders_of(wishes: Wishes, amounts: Sequence[Amount], short: Sequence[int]) -> Iterator[Ladder]:
    """What could be done otherwise, what takes no time to try first. short: items that are not on time often enough.

    Being content with less is not among them.
    """
    whom = list(short) or list(range(len(wishes.items)))
    meats = _meats(wishes, whom)
    for each in meats:
        yield _holds(wishes, each)
    if len(meats) > 1:
        yield _holds(wishes, [i for each in meats for i in each])
    for each in meats:
        yield _cool_hold(wishes, each)
    if wishes.earliest_utc is not None and (wishes.planned_utc is None or wishes.planned_utc < wishes.earliest_utc):
        yield Ladder(
            tuple(
                (said("start {span} earlier", span=hours_words(h)), SIZE_EARLIER_H * h, earlier(h)) for h in EARLIER_H
            )
        )
    for number, away in enumerate(wishes.hands.away):
        begin, end = (clock_time(at, wishes.zone_info, wishes.serve_utc) for at in (away.from_utc, away.until_utc))
        size = SIZE_THERE + (1.0 if away.kind == "asleep" else 0.0)
        words = said("have somebody at the pit from {begin} to {end}", begin=begin, end=end)
        yield Ladder(((words, size, _there(number)),))
    for each in meats:
        yield _wraps(wishes, each)
    for each in meats:
        yield _any_pit(wishes, each)
    for i in whom:
        yield _day_before(wishes, i)
    for pit in wishes.pits:
        yield _hotter(pit)
    for pit in wishes.pits:
        yield _cooler(pit)
    if not short:
        for i in sorted(range(len(amounts)), key=lambda i: -amounts[i].pieces * amounts[i].mass_kg)[:2]:
            yield _lots(wishes, amounts, i)
        yield Ladder(((said("have one more pair of hands"), SIZE_HANDS, _more_hands),))
        if wishes.hold_places is not None:
            yield Ladder(((said("have a larger warm place"), SIZE_HANDS, _warm),))
        yield Ladder(((said("have one more pit, like {pit}", pit=wishes.pits[0].label), SIZE_PIT, _one_more_pit),))
        for i in sorted(range(len(amounts)), key=lambda i: -amounts[i].pieces * amounts[i].mass_kg)[:4]:
            yield _fewer(wishes.items[i], amounts[i], i)
    yield Ladder(tuple((said("serve {span} later", span=hours_words(h)), SIZE_LATER_H * h, later(h)) for h in LATER_H))


def _meats(wishes: Wishes, whom: Sequence[int]) -> list[list[int]]:
    """Items that a cook has one name for: all lots of what was parted are one, however many of them are meant."""
    wholes = dict.fromkeys(whole_of(wishes.items[i].label) for i in whom)
    return [[i for i, item in enumerate(wishes.items) if whole_of(item.label) == whole] for whole in wholes]


def _any_pit(wishes: Wishes, whom: Sequence[int]) -> Ladder:
    """Let an item go on any of the pits."""
    item = wishes.items[whom[0]]
    if not item.pits or set(item.pits) == {pit.label for pit in wishes.pits}:
        return Ladder(())

    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return _with_items(wishes, lambda i, item: replace(item, pits=()) if i in whom else item), amounts

    words = said("let {item} go on any of the pits", item=whole_of(item.label))
    return Ladder(((words, SIZE_ANY_PIT, do),))


def _day_before(wishes: Wishes, index: int) -> Ladder:
    """Cook an item the day before, cool it by the rules, and reheat it."""
    if not can_be_cooked_before(wishes, index):
        return Ladder(())

    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return cooked_before(wishes, index), amounts

    words = said(DAY_BEFORE, item=wishes.items[index].label)
    return Ladder(((words, SIZE_DAY_BEFORE, do),))


def _lots(wishes: Wishes, amounts: Sequence[Amount], index: int) -> Ladder:
    """Part an item into lots, which go on several pits or one after the other."""
    item = wishes.items[index]

    def into(count: int) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            parted = in_lots(wishes, tuple(amounts), index, count)
            return parted, list(amounts_of(parted))

        return do

    if ", lot " in item.label or amounts[index].pieces < 4:
        return Ladder(())
    counts = [count for count in (2, 3) if count <= amounts[index].pieces // 2]
    return Ladder(
        tuple(
            (said("put {item} on in {n} lots", item=item.label, n=count), SIZE_LOTS * count, into(count))
            for count in counts
        )
    )


def accept_words(chance: float, wishes: Wishes) -> str:
    """Being content with less."""
    return said(
        "accept {chance} instead of {asked}", chance=format_percent(chance), asked=format_percent(wishes.chance)
    )


def hours_words(hours: float) -> str:
    return format_duration(hours * 3600.0)


def _with_items(wishes: Wishes, change: Callable[[int, ItemWish], ItemWish]) -> Wishes:
    return replace(wishes, items=tuple(change(i, item) for i, item in enumerate(wishes.items)))


def _wraps(wishes: Wishes, whom: Sequence[int]) -> Ladder:
    open_ = [i for i in whom if not wishes.items[i].stages and wishes.items[i].wrapping in {"usual", "without"}]
    if not open_:
        return Ladder(())

    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return _with_items(wishes, lambda i, item: replace(item, wrapping="either") if i in open_ else item), amounts

    names = _listed(wishes, open_)
    return Ladder(((said("wrap {items} or leave the wrap off, as it comes out best", items=names), SIZE_WRAP, do),))


def _holds(wishes: Wishes, whom: Sequence[int]) -> Ladder:
    names = _listed(wishes, whom)

    def longer(hours: float) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            def one(i: int, item: ItemWish) -> ItemWish:
                most = min(item.most_hold_s + hours * 3600.0, 24 * 3600.0)
                return replace(item, most_hold_s=most) if i in whom else item

            return _with_items(wishes, one), amounts

        return do

    return Ladder(
        tuple(
            (said("let {items} be held {span} longer", items=names, span=hours_words(h)), SIZE_HOLD_H * h, longer(h))
            for h in HOLDS_H
        ),
        frozenset(f"held {wishes.items[i].label}" for i in whom),
    )


def _hotter(pit: PitWish) -> Ladder:
    def by(steps: int) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            hot = max(pit.sets_c) + steps * PIT_STEP_K
            pits = tuple(replace(p, sets_c=(*p.sets_c, hot)) if p.label == pit.label else p for p in wishes.pits)
            return replace(wishes, pits=pits), amounts

        return do

    steps = [n for n in (1, 2, 3) if max(pit.sets_c) + n * PIT_STEP_K <= HOTTEST_C]
    return Ladder(
        tuple(
            (said("run {pit} {step} hotter", pit=pit.label, step=step_words(n)), SIZE_HOTTER * n, by(n)) for n in steps
        )
    )


def _cooler(pit: PitWish) -> Ladder:
    """Run a pit cooler: what is on it takes longer, and the wrap, the feed and the rest come at better hours."""

    def by(steps: int) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            cool = min(pit.sets_c) - steps * PIT_STEP_K
            pits = tuple(replace(p, sets_c=(*p.sets_c, cool)) if p.label == pit.label else p for p in wishes.pits)
            return replace(wishes, pits=pits), amounts

        return do

    steps = [n for n in (1, 2) if min(pit.sets_c) - n * PIT_STEP_K >= COOLEST_C - 0.1]
    return Ladder(
        tuple(
            (said("run {pit} {step} cooler", pit=pit.label, step=step_words(n)), SIZE_COOLER * n, by(n)) for n in steps
        )
    )


COOL_HOLD = "hold {item} at {value} and not at {was}"
DAY_BEFORE = "cook {item} the day before, to be cooled at once and reheated"


def _cool_hold(wishes: Wishes, whom: Sequence[int]) -> Ladder:
    """Hold an item less hot: it goes soft more slowly."""
    item = wishes.items[whom[0]]
    if item.most_hold_s <= 0.0:
        return Ladder(())

    def at(hold_c: float) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            return _with_items(wishes, lambda i, item: replace(item, hold_c=hold_c) if i in whom else item), amounts

        return do

    was = temperature(item.hold_c)
    cooler = [hold_c for hold_c in COOL_HOLDS_C if hold_c < item.hold_c - 1.0]
    return Ladder(
        tuple(
            (said(COOL_HOLD, item=whole_of(item.label), value=temperature(hold_c), was=was), SIZE_COOL_HOLD, at(hold_c))
            for hold_c in cooler
        )
    )


def step_words(steps: int) -> str:
    """So many steps of a pit, as a difference of temperatures."""
    return difference(steps * PIT_STEP_K, format_difference(steps * PIT_STEP_K).lstrip("+"))


def earlier(hours: float) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]] | None:
        if wishes.earliest_utc is None:
            return None
        at = wishes.earliest_utc - timedelta(hours=hours)
        if wishes.planned_utc is not None:
            at = max(at, wishes.planned_utc)
        return replace(wishes, earliest_utc=at), amounts

    return do


def later(hours: float) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        return wishes.served_later(hours * 3600.0), amounts

    return do


def _there(number: int) -> Rung:
    def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
        away = tuple(a for i, a in enumerate(wishes.hands.away) if i != number)
        return replace(wishes, hands=replace(wishes.hands, away=away)), amounts

    return do


def _more_hands(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
    return replace(wishes, hands=replace(wishes.hands, cooks=min(wishes.hands.cooks + 1, 50))), amounts


def _warm(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
    return replace(wishes, hold_places=None), amounts


def _one_more_pit(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
    first = wishes.pits[0]
    taken = {pit.label for pit in wishes.pits}
    label = next(name for name in (f"another {first.label}"[:60], "one more pit", "the new pit") if name not in taken)
    items = tuple(
        replace(item, pits=(*item.pits, label)) if first.label in item.pits else item for item in wishes.items
    )
    return replace(wishes, pits=(*wishes.pits, replace(first, label=label)), items=items), amounts


def _fewer(wish: ItemWish, amount: Amount, index: int) -> Ladder:
    counts = sorted(
        {int(np.floor(amount.pieces * (1.0 - share))) for share in FEWER} - {0, amount.pieces}, reverse=True
    )

    def to(count: int) -> Rung:
        def do(wishes: Wishes, amounts: list[Amount]) -> tuple[Wishes, list[Amount]]:
            counted = _with_items(wishes, lambda i, item: replace(item, pieces=count) if i == index else item)
            return counted, [replace(a, pieces=count) if i == index else a for i, a in enumerate(amounts)]

        return do

    return Ladder(
        tuple(
            (
                said("{n} of {all} {item} fewer", n=amount.pieces - count, all=amount.pieces, item=wish.label),
                SIZE_FEWER * (1.0 - count / amount.pieces),
                to(count),
            )
            for count in counts
        )
    )


def _listed(wishes: Wishes, whom: Sequence[int]) -> str:
    names = list(dict.fromkeys(whole_of(wishes.items[i].label) for i in whom))
    return names[0] if len(names) == 1 else said("{first} and {last}", first=", ".join(names[:-1]), last=names[-1])
