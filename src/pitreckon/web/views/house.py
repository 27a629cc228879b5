"""What the house has learned, in a page's words: beliefs by pit and by meat, how they moved, and what they rest on."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Final
from zoneinfo import ZoneInfo

from pitreckon import catalog
from pitreckon.ledger.store import HouseRows, PitSaid
from pitreckon.lessons.house.beliefs import (
    EASY_K,
    LEAST_LONGER,
    NEARLY,
    Belief,
    Doubt,
    Step,
    beliefs_of,
    doubts_of,
    steps_of,
    strays_words,
    wants_a_thermometer,
)
from pitreckon.lessons.house.hands import HandBelief, hands_known
from pitreckon.lessons.house.said import ANOTHER, NINE_IN_TEN, SAID, SAME, THERMOMETER_KIND
from pitreckon.reckon.hands import THERMOMETER
from pitreckon.reckon.learned import Lesson, Lessons
from pitreckon.units import format_difference
from pitreckon.web.live.house import lessons_in, lessons_of
from pitreckon.web.views.moved import Mark, moved_picture
from pitreckon.web.views.reader import ClockWords, Preferences

EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)
"""Sentences that are kept have their times written out."""


@dataclass(frozen=True, slots=True)
class Story:
    """What is believed, and how each belief moved."""

    lessons: Lessons
    beliefs: tuple[Belief, ...]
    doubts: tuple[Doubt, ...]
    steps: Mapping[tuple[str, str, str], Sequence[Step]]


@lru_cache(2)
def story_of(rows: HouseRows) -> Story:
    """The same rows have one story; a long one takes a second."""
    lessons = lessons_in(rows)
    return Story(lessons, tuple(beliefs_of(lessons)), tuple(doubts_of(lessons)), steps_of(lessons))


@dataclass(frozen=True, slots=True)
class CookHere:
    """A cook as the page names it. zone: whose days count"""

    name: str
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class PitHere:
    """A pit that a plan of the house has, as the latest such plan has it."""

    label: str
    kind: str
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class BeliefView:
    """One belief. picture: SVG; rests: on what, in words; cooks: names with dates; doubts: who says otherwise"""

    words: str
    rests: str
    picture: str
    cooks: tuple[tuple[str, str], ...]
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SaidView:
    """What somebody said of a pit. doubted: the cooks say otherwise, in words; "" where they do not"""

    id: str
    words: str
    doubted: str


@dataclass(frozen=True, slots=True)
class PitView:
    """A pit. anew: since which day it is another one, "": it is not; today: in its zone, for a form

    changed: that it seems another one though nobody said so, in words, "": it does not; changed_on: since which day
    unsure: a thermometer laid on its grate would tell most of it
    """

    label: str
    kind: str
    kind_name: str
    beliefs: tuple[BeliefView, ...]
    said: tuple[SaidView, ...]
    anew: str
    anew_by: str
    today: str
    changed: str
    changed_on: str
    unsure: bool


@dataclass(frozen=True, slots=True)
class CookView:
    """A cook that was learned from. hands: who looked, "" where nobody knows; out: it is left out, by whom

    not_believed: what of its ledger was not, in words
    """

    id: str
    name: str
    date: str
    seen: int
    hands: str
    out: bool
    out_by: str
    not_believed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HandView:
    """Somebody who looks. looks_in: so many cooks; known: of their eye, finger and thermometer, in words

    said: of the thermometer outright; today: for a form
    """

    name: str
    looks_in: int
    known: tuple[str, ...]
    said: tuple[SaidView, ...]
    today: str


@dataclass(frozen=True, slots=True)
class HouseView:
    """The whole page. meats: name and beliefs; hands: of those who looked, and of who reads it

    strays: how far the house's cooks stray from what is foretold, in words; "": as is thought of all
    """

    pits: tuple[PitView, ...]
    meats: tuple[tuple[str, tuple[BeliefView, ...]], ...]
    cooks: tuple[CookView, ...]
    hands: tuple[HandView, ...]
    strays: str


def house_view(
    rows: HouseRows,
    cooks: Mapping[str, CookHere],
    pits: Sequence[PitHere],
    preferences: Preferences,
    now: datetime,
    me: str = "",
) -> HouseView:
    """What the house has learned.

    cooks: by their ids; pits: of the house's plans, the latest first; me: who reads it, where they may look
    """
    story = story_of(rows)
    told = _Teller(story, cooks, preferences)
    known = {(each.label, each.kind): each for each in pits}
    zone = pits[0].zone if pits else ZoneInfo("UTC")
    for belief in story.beliefs:
        if belief.kind:
            known.setdefault((belief.key, belief.kind), PitHere(belief.key, belief.kind, zone))
    for each in rows.said:
        if each.kind in catalog.pits():
            known.setdefault((each.pit, each.kind), PitHere(each.pit, each.kind, zone))
    lines = tuple(_cook_view(rows, each.cook_id, cooks, told) for each in reversed(rows.learned))
    hands = [hand for each in lines if not each.out for hand in each.hands.split(", ") if hand]
    of_whom = {*hands, *(each.pit for each in rows.said if each.kind == THERMOMETER_KIND), *([me] if me else [])}
    return HouseView(
        tuple(_pit_view(each, rows, told, now) for each in known.values()),
        tuple((preferences.say(each.of), (told.view(each),)) for each in story.beliefs if not each.kind),
        lines,
        tuple(
            HandView(
                *(hand, hands.count(hand), told.of_hand(hand, now)),
                tuple(told.said_of_thermometer(each, zone) for each in rows.said if _of_thermometer(each, hand)),
                day_of(now, zone),
            )
            for hand in sorted(of_whom)
        ),
        told.retold(strays_words(story.lessons)),
    )


def _of_thermometer(said: PitSaid, whose: str) -> bool:
    return (said.kind, said.pit) == (THERMOMETER_KIND, whose)


def _pit_view(pit: PitHere, rows: HouseRows, told: _Teller, now: datetime) -> PitView:
    anew = next((each for each in rows.anew if each.pit == pit.label), None)
    mine = (pit.label, pit.kind)
    beliefs = [each for each in told.story.beliefs if (each.key, each.kind) == mine]
    return PitView(
        pit.label,
        pit.kind,
        catalog.pits()[pit.kind].name,
        tuple(told.view(each) for each in beliefs),
        tuple(told.said(each, pit.zone) for each in rows.said if (each.pit, each.kind) == mine),
        "" if anew is None else day_of(anew.since_utc, pit.zone),
        "" if anew is None else anew.by,
        day_of(now, pit.zone),
        *told.changed(pit),
        wants_a_thermometer(beliefs),
    )


def _cook_view(rows: HouseRows, cook_id: str, cooks: Mapping[str, CookHere], told: _Teller) -> CookView:
    row = next(each for each in rows.learned if each.cook_id == cook_id)
    lessons = lessons_of(row.content, cook_id)
    out = next((each for each in rows.left_out if each.cook_id == cook_id), None)
    here = cooks.get(cook_id)
    return CookView(
        cook_id,
        cook_id if here is None else here.name,
        day_of(row.ended_utc, ZoneInfo("UTC") if here is None else here.zone),
        sum(each.seen for each in lessons),
        ", ".join(_hands(lessons)),
        out is not None,
        "" if out is None else out.by,
        tuple(told.retold(line) for each in lessons for line in each.not_believed),
    )


def _hands(lessons: Sequence[Lesson]) -> list[str]:
    told = {hand.by for each in lessons for hand in each.hands}
    return sorted(({each.hand for each in lessons if each.hand} | told) - {""})


def day_of(at: datetime, zone: ZoneInfo) -> str:
    """A date, as the list of cooks has them."""
    return at.astimezone(zone).strftime("%Y-%m-%d")


@dataclass(frozen=True, slots=True)
class _Teller:
    """Puts beliefs into one person's words."""

    story: Story
    cooks: Mapping[str, CookHere]
    preferences: Preferences

    def view(self, belief: Belief) -> BeliefView:
        return BeliefView(
            self._words(belief),
            self._rests(belief),
            self._picture(belief),
            tuple((self._name(cook), self._date(cook)) for cook in belief.cooks),
            tuple(self._doubt(each) for each in belief.doubted if each.item),
        )

    def retold(self, text: str) -> str:
        """A stored sentence."""
        return ClockWords(ZoneInfo("UTC"), EPOCH, self.preferences).retold(text)

    def of_hand(self, by: str, now: datetime) -> tuple[str, ...]:
        """What is known of a person's eye and finger."""
        clock = ClockWords(ZoneInfo("UTC"), now, self.preferences)
        return tuple(clock.retold(each.words) for each in hands_known(self.story.lessons, now) if each.by == by)

    def said_of_thermometer(self, said: PitSaid, zone: ZoneInfo) -> SaidView:
        """What somebody said of a thermometer."""
        say, day = self.preferences.say, day_of(said.since_utc, zone)
        if said.what == ANOTHER:
            return SaidView(said.id, say("{who} says: another thermometer since {day}", who=said.by, day=day), "")
        belief = HandBelief(said.pit, THERMOMETER, said.amount, said.give / NINE_IN_TEN, ())
        clock = ClockWords(zone, said.since_utc, self.preferences)
        return SaidView(
            said.id, say("{who} says, since {day}: {what}", who=said.by, day=day, what=clock.retold(belief.words)), ""
        )

    def changed(self, pit: PitHere) -> tuple[str, str]:
        """That a pit seems another one though nobody said so, and since which day; nothing where it does not."""
        change = self.story.lessons.change(pit.label, pit.kind)
        if change is None:
            return "", ""
        day, cook = day_of(change.since, pit.zone), self._name(change.cook)
        say, n = self.preferences.say, f"{10.0 * change.chance:.0f}"
        if change.chance >= NEARLY:
            words = say(
                "It seems another pit since {day}, {cook}: nearly sure. What was told of it before counts little",
                day=day,
                cook=cook,
            )
        else:
            words = say(
                "It seems another pit since {day}, {cook}: {n} in 10 sure. What was told of it before counts little",
                day=day,
                cook=cook,
                n=n,
            )
        return words, day

    def said(self, said: PitSaid, zone: ZoneInfo) -> SaidView:
        say = self.preferences.say
        if said.what == SAME:
            up_to = day_of(said.since_utc, zone)
            return SaidView(said.id, say("{who} says: up to {day} it is the same pit", who=said.by, day=up_to), "")
        far = self._far(said.amount, give=said.give)
        words = say("{who} says, since {day}: {what}", who=said.by, day=day_of(said.since_utc, zone), what=far)
        key = f"{SAID}{said.id}"
        doubts = [each for each in self.story.doubts if each.cook == key]
        return SaidView(said.id, words, self._doubt(doubts[0]) if doubts else "")

    def _words(self, belief: Belief) -> str:
        say, give = self.preferences.say, NINE_IN_TEN * belief.sd
        if belief.what == "offset":
            return self._far(belief.usual + belief.mean, give=give)
        n, around = _percent(abs(belief.mean)), f"{_percent(give)} %"
        if belief.what == "convection":
            if belief.mean > 0.0:
                return say(
                    "its draught is {n} % stronger than in others of its kind, give or take {give}", n=n, give=around
                )
            return say("its draught is {n} % weaker than in others of its kind, give or take {give}", n=n, give=around)
        if 100.0 * math.expm1(abs(belief.mean)) < LEAST_LONGER:
            return say("takes as long here as is foretold elsewhere, give or take {give}", give=around)
        if belief.mean > 0.0:
            return say("takes {n} % longer here than is foretold elsewhere, give or take {give}", n=n, give=around)
        return say("takes {n} % less long here than is foretold elsewhere, give or take {give}", n=n, give=around)

    def _far(self, over_k: float, *, give: float) -> str:
        say = self.preferences.say
        far, around = self._apart(over_k), self._apart(give)
        if abs(over_k) < EASY_K:
            return say("the grate is as its gauge says, give or take {give}", give=around)
        if over_k > 0.0:
            return say("the grate runs {far} over its gauge, give or take {give}", far=far, give=around)
        return say("the grate runs {far} under its gauge, give or take {give}", far=far, give=around)

    def _apart(self, kelvins: float) -> str:
        return format_difference(abs(kelvins), self.preferences.degrees).lstrip("+")

    def _rests(self, belief: Belief) -> str:
        say, parts = self.preferences.say, []
        if len(belief.cooks) == 1:
            parts.append(say("from one cook"))
        elif belief.cooks:
            parts.append(say("from {n} cooks", n=len(belief.cooks)))
        parts += [say("as {who} said", who=who or say("somebody")) for who in belief.said_by]
        return say(" and ").join(parts)

    def _doubt(self, doubt: Doubt) -> str:
        say, share = self.preferences.say, f"{100.0 / doubt.times:.0f} %"
        if not doubt.item:
            return say(
                "Doubted: it is far from what cooks and pits of its kind tell; it counts for {share} of what it would",
                share=share,
            )
        cook = self._name(doubt.cook)
        return say(
            "Doubted: {cook} says otherwise than the rest; it counts for {share} of what it would",
            cook=cook,
            share=share,
        )

    def _picture(self, belief: Belief) -> str:
        """The prior of the kind first, then after each cook."""
        say, steps = self.preferences.say, self.story.steps.get(belief.same, ())
        marks = [_mark(belief.usual, belief.before)] + [_mark(belief.usual + each.mean, each.sd) for each in steps]
        write = self._degrees if belief.what == "offset" else _signed_percent
        told = [say("before anything was learned: {value}", value=write(marks[0].mid))]
        told += [f"{self._name(step.cook)}: {write(mark.mid)}" for step, mark in zip(steps, marks[1:], strict=True)]
        return moved_picture(
            marks,
            write,
            said=say("How it moved. {steps}", steps="; ".join(told)),
            zero=say("gauge") if belief.what == "offset" else say("usual"),
            ends=(say("before"), self._date(steps[-1].cook, steps[-1].at_utc) if steps else ""),
        )

    def _degrees(self, kelvins: float) -> str:
        size = self._apart(kelvins)
        return size if size.startswith("0 ") else f"{'+' if kelvins > 0.0 else '−'}{size}"

    def _name(self, cook: str) -> str:
        if cook.startswith(SAID):
            lesson = next((each for each in self.story.lessons.used if each.cook == cook), None)
            return self.preferences.say(
                "as {who} said", who=(lesson and lesson.hand) or self.preferences.say("somebody")
            )
        return self.cooks[cook].name if cook in self.cooks else cook

    def _date(self, cook: str, at: datetime | None = None) -> str:
        zone = self.cooks[cook].zone if cook in self.cooks else ZoneInfo("UTC")
        if at is None:
            at = next(each.at_utc for each in self.story.lessons.used if each.cook == cook)
        return day_of(at, zone)


def _mark(mid: float, sd: float) -> Mark:
    return Mark(mid, mid - NINE_IN_TEN * sd, mid + NINE_IN_TEN * sd)


def _percent(logarithm: float) -> str:
    return f"{100.0 * math.expm1(logarithm):.0f}"


def _signed_percent(logarithm: float) -> str:
    size = 100.0 * math.expm1(logarithm)
    return f"{'+' if size > 0.0 else '−'}{abs(size):.0f} %" if abs(size) >= 0.5 else "0 %"
