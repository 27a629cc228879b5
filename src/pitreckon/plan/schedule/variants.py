"""Small changes to what was asked for, to see what each would bring: served later, more hands, a hotter pit."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Final

from pitreckon.plan.schedule.relax import step_words
from pitreckon.plan.wishes import ItemWish, PitWish, Wishes
from pitreckon.text.said import said, temperature
from pitreckon.units import PIT_STEP_K, format_duration, format_temperature

LATER_S: Final = 30 * 60.0
LESS_SURE: Final = 0.8
COOL_HOLD_C: Final = 62.8
"""145 F: some degrees over the 135 or 140 F below which nothing is held hot."""
SETS_C: Final = (90.0, 200.0)


@dataclass(frozen=True)
class Variant:
    """One change. key: names it, as in an address; words: what a cook would call it; wishes: with it."""

    key: str
    words: str
    wishes: Wishes


def variants(wishes: Wishes) -> tuple[Variant, ...]:
    """The changes that make sense for these wishes, in the order in which a cook would think of them."""
    return tuple(_all(wishes))


def variant(wishes: Wishes, key: str) -> Variant | None:
    """The change of a key, if it makes sense here."""
    return next((each for each in variants(wishes) if each.key == key), None)


def _all(wishes: Wishes) -> Iterator[Variant]:
    span = format_duration(LATER_S)
    yield Variant("later", said("serve {span} later", span=span), wishes.served_later(LATER_S))
    if _can_be_earlier(wishes):
        yield Variant("earlier", said("serve {span} earlier", span=span), wishes.served_later(-LATER_S))
    if wishes.earliest_utc is not None:
        sooner = replace(wishes, earliest_utc=wishes.earliest_utc - timedelta(hours=1))
        yield Variant("start", said("begin up to an hour earlier"), sooner)
    for sign, word in ((1.0, "hotter"), (-1.0, "cooler")):
        pits = tuple(_set(pit, sign * PIT_STEP_K) for pit in wishes.pits)
        if None not in pits:
            words = said("pits {step} hotter" if sign > 0.0 else "pits {step} cooler", step=step_words(1))
            yield Variant(word, words, replace(wishes, pits=tuple(pit for pit in pits if pit is not None)))
    if wishes.hands.away:
        stays = replace(wishes, hands=replace(wishes.hands, away=()))
        yield Variant("stay", said("somebody is there all day"), stays)
    if wishes.hands.cooks < 50:
        yield Variant("hand", said("one more pair of hands"), _hands(wishes, 1))
    if wishes.hands.cooks > 1:
        yield Variant("fewer-hands", said("one pair of hands less"), _hands(wishes, -1))
    if any(not item.stages and item.wrapping != "either" for item in wishes.items):
        items = tuple(item if item.stages else replace(item, wrapping="either") for item in wishes.items)
        yield Variant("wrap", said("wrapped or not, as it comes out best"), replace(wishes, items=items))
    if any(item.most_hold_s < 10 * 3600.0 for item in wishes.items):
        items = tuple(replace(item, most_hold_s=min(item.most_hold_s + 3600.0, 24 * 3600.0)) for item in wishes.items)
        yield Variant("hold", said("hold up to an hour longer"), replace(wishes, items=items))
    cooler = tuple(_held_cooler(item) for item in wishes.items)
    if cooler != wishes.items:
        words = said("hold at {value}", value=temperature(COOL_HOLD_C, format_temperature(COOL_HOLD_C)))
        yield Variant("cooler-hold", words, replace(wishes, items=cooler))
    if wishes.chance > LESS_SURE:
        yield Variant("less-sure", said("be content with 8 in 10"), replace(wishes, chance=LESS_SURE))


def _can_be_earlier(wishes: Wishes) -> bool:
    first = wishes.serve_utc - timedelta(seconds=LATER_S)
    limits = [wishes.earliest_utc, wishes.planned_utc, *(item.put_on_utc for item in wishes.items)]
    return all(at is None or at < first for at in limits)


def _held_cooler(item: ItemWish) -> ItemWish:
    held = item.most_hold_s > 0.0 and item.hold_c > COOL_HOLD_C + 1.0
    return replace(item, hold_c=COOL_HOLD_C) if held else item


def _set(pit: PitWish, by_k: float) -> PitWish | None:
    sets = tuple(set_c + by_k for set_c in pit.sets_c)
    return replace(pit, sets_c=sets) if all(SETS_C[0] <= set_c <= SETS_C[1] for set_c in sets) else None


def _hands(wishes: Wishes, more: int) -> Wishes:
    return replace(wishes, hands=replace(wishes.hands, cooks=wishes.hands.cooks + more))
