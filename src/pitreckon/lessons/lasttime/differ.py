"""What was otherwise from one cook of a cut to the next, fact by fact, in words and as a change to the plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

from pitreckon import catalog
from pitreckon.catalog.shapes import thickness_of
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.cook.scales import word_for
from pitreckon.lessons.card.finished import FinishedItem
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.text.said import difference, joined, said, temperature, weight
from pitreckon.units import format_about, format_difference, format_temperature

SET_K, START_K, AIR_K, CORE_K = 1.5, 1.0, 3.0, 1.5
"""Temperatures nearer to each other than this count as the same: pit, meat at put-on, weather, at a stage's end."""
SHARE, LEVEL, SPAN_S, HIGH_M = 0.03, 0.06, 600.0, 150.0
"""So are weights and thicknesses (relative), levels of colour and feel, times of a stage, and heights."""
ITEM, PIT = "piece", "pit"
"""Labels in the plans that are compared."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that was otherwise. key: of what; words: this time against last time; change: last time's plan so"""

    key: str
    words: str
    change: Callable[[Cook], Cook]


def as_it_went(done: FinishedItem) -> Cook:
    """A plan of the item alone that has every stage on the pit end as it did, at the heat that the pit was held at.

    A last stage of which nothing is known but the clock ends by what the cut is usually done by.
    """
    item, pit = done.item, done.cook.pit(done.item.pit)
    stages = [record.plan for record in done.on_pit]
    if stages and stages[-1].until.ends_by == "minutes" and stages[-1].kind != "sauced":
        stages[-1] = replace(stages[-1], until=_usual_end(item))
    stages = [replace(stage, about_utc=None) for stage in stages]
    alone = replace(
        item, label=ITEM, pieces=1, pit=PIT, put_on_utc=done.put_on_utc, stages=tuple(stages), serve_utc=None
    )
    there = PitPlan(PIT, pit.kind, min(max(done.set_c, 10.0), 400.0), water_pan=pit.water_pan)
    return replace(done.cook, pits=(there,), items=(alone,), serve_utc=None, tasks=(), away=())


def _usual_end(item: ItemPlan) -> Until:
    texture = catalog.cut(item.cut).texture
    return Until("core", texture.done_core_c.value) if texture.done_by == "core" else Until("tender")


def facts(this: FinishedItem, last: FinishedItem) -> tuple[Fact, ...]:
    """What was otherwise, in the order in which a cook decides it. Both are of one cut."""
    return tuple(_facts(as_it_went(this), as_it_went(last)))


def _facts(this: Cook, last: Cook) -> Iterator[Fact]:
    yield from _of_pits(this.pits[0], last.pits[0])
    yield from _of_meat(this.items[0], last.items[0])
    yield from _of_weather(this, last)
    yield from _of_course(this.items[0], last.items[0])


def _of_pits(this: PitPlan, last: PitPlan) -> Iterator[Fact]:
    kinds = catalog.pits()
    if this.kind != last.kind:
        names = said(kinds[this.kind].name.lower()), said(kinds[last.kind].name.lower())
        words = said("on another kind of pit: {this}, not {last}", this=names[0], last=names[1])
        yield Fact("pit", words, lambda cook: _pit(cook, kind=this.kind, water_pan=this.water_pan))
    over_k = this.set_c - last.set_c
    if abs(over_k) >= SET_K:
        far = difference(abs(over_k), format_difference(abs(over_k)).lstrip("+"))
        message = "pit {far} hotter: {this}, not {last}" if over_k > 0.0 else "pit {far} cooler: {this}, not {last}"
        words = said(message, far=far, this=_degrees(this.set_c), last=_degrees(last.set_c))
        yield Fact("set", words, lambda cook: _pit(cook, set_c=this.set_c))


def _of_meat(this: ItemPlan, last: ItemPlan) -> Iterator[Fact]:
    if abs(this.mass_kg / last.mass_kg - 1.0) >= SHARE:
        heavier = this.mass_kg > last.mass_kg
        message = "pieces heavier: {this}, not {last}" if heavier else "pieces lighter: {this}, not {last}"
        words = said(message, this=weight(this.mass_kg), last=weight(last.mass_kg))
        yield Fact("weight", words, lambda cook: _item(cook, mass_kg=this.mass_kg))
    thick, thick_last = _thickness_m(this), _thickness_m(last)
    said_of_either = this.thickness_m is not None or last.thickness_m is not None
    if said_of_either and abs(thick / thick_last - 1.0) >= SHARE:
        message = "pieces thicker by {share}" if thick > thick_last else "pieces thinner by {share}"
        words = said(message, share=f"{100.0 * abs(thick / thick_last - 1.0):.0f} %")
        same = {"thickness_m": this.thickness_m, "thickness_factor": this.thickness_factor}
        yield Fact("thickness", words, lambda cook: _item(cook, **same))
    if abs(this.start_c - last.start_c) >= START_K:
        warmer = this.start_c > last.start_c
        message = "went on warmer: {this}, not {last}" if warmer else "went on colder: {this}, not {last}"
        words = said(message, this=_degrees(this.start_c), last=_degrees(last.start_c))
        yield Fact("start", words, lambda cook: _item(cook, start_c=this.start_c))


def _of_weather(this: Cook, last: Cook) -> Iterator[Fact]:
    air, before = this.weather_air_c, last.weather_air_c
    if air is not None and before is not None and abs(air - before) >= AIR_K:
        message = "a warmer day: {this}, not {last}" if air > before else "a colder day: {this}, not {last}"
        words = said(message, this=_degrees(air), last=_degrees(before))
        yield Fact("weather", words, lambda cook: replace(cook, weather_air_c=air, weather_rh=this.weather_rh))
    if abs(this.altitude_m - last.altitude_m) >= HIGH_M:
        higher = this.altitude_m > last.altitude_m
        words = said("at a higher place") if higher else said("at a lower place")
        yield Fact("altitude", words, lambda cook: replace(cook, altitude_m=this.altitude_m))


def _of_course(this: ItemPlan, last: ItemPlan) -> Iterator[Fact]:
    """Of the way there, and of what was waited for: one by one where the stages are the same."""
    mine, theirs = this.stages, last.stages
    if not mine or not theirs:
        return
    if [(each.kind, not each.wrap) for each in mine] != [(each.kind, not each.wrap) for each in theirs]:
        words = said("{this}; last time {last}", this=course_words(mine), last=course_words(theirs))
        yield Fact("course", words, lambda cook: _item(cook, stages=_other_way(mine, cook.items[0].stages[-1])))
        return
    for n, (stage, before) in enumerate(zip(mine, theirs, strict=True)):
        if stage.wrap and before.wrap and stage.wrap != before.wrap:
            words = said("in {this}, not in {last}", this=said(stage.wrap), last=said(before.wrap))
            yield Fact(f"wrap of {n + 1}", words, partial(_wrapped, n=n, stage=stage))
        if not _same_end(stage.until, before.until):
            act = TURNS[mine[n + 1].kind] if n + 1 < len(mine) else "taken off {this}, not {last}"
            words = said(act, this=goal_words(stage.until), last=goal_words(before.until))
            yield Fact(f"end of {n + 1}", words, partial(_ended, n=n, until=stage.until))


TURNS: Final = {
    "wrapped": "wrapped {this}, not {last}",
    "sauced": "sauced {this}, not {last}",
    "open": "unwrapped {this}, not {last}",
}
"""What begins when a stage ends, by the next one's kind."""


def _wrapped(cook: Cook, n: int, stage: StagePlan) -> Cook:
    """With the n-th stage in another wrap, ended as it was."""
    stages = list(cook.items[0].stages)
    stages[n] = replace(stage, until=stages[n].until)
    return _item(cook, stages=tuple(stages))


def _ended(cook: Cook, n: int, until: Until) -> Cook:
    """With the n-th stage ended otherwise."""
    stages = list(cook.items[0].stages)
    stages[n] = replace(stages[n], until=until)
    return _item(cook, stages=tuple(stages))


def _other_way(stages: Sequence[StagePlan], last: StagePlan) -> tuple[StagePlan, ...]:
    """Other stages, with the end that there was: what was waited for at the end is a fact of its own."""
    if "sauced" in {stages[-1].kind, last.kind}:
        return tuple(stages)
    return (*stages[:-1], replace(stages[-1], until=last.until))


def _same_end(one: Until, other: Until) -> bool:
    if one.ends_by != other.ends_by:
        return False
    if one.ends_by == "core":
        return abs((one.core_c or 0.0) - (other.core_c or 0.0)) < CORE_K
    if one.ends_by == "minutes":
        return abs((one.duration_s or 0.0) - (other.duration_s or 0.0)) < SPAN_S
    if one.ends_by == "glaze":
        return True
    return abs((one.level or 1.0) - (other.level or 1.0)) < LEVEL


def course_words(stages: tuple[StagePlan, ...]) -> str:
    """The stages on the pit in words."""
    parts = []
    for n, stage in enumerate(stages):
        if stage.kind not in PIT_KINDS:
            continue
        if stage.kind == "wrapped":
            what = said("in {wrap}", wrap=said(stage.wrap or "foil"))
        else:
            what = said("with sauce") if stage.kind == "sauced" else said("bare")
        last = n + 1 == len(stages)
        parts.append(what if last else said("{stage}, ended {goal}", stage=what, goal=goal_words(stage.until)))
    return joined("; ", parts)


def goal_words(until: Until) -> str:
    """What ends a stage."""
    if until.ends_by == "core":
        return said("at {core}", core=_degrees(until.core_c or 0.0))
    if until.ends_by == "minutes":
        return said("after {span}", span=format_about(until.duration_s or 0.0))
    if until.ends_by == "glaze":
        return said("once the glaze is set")
    scale = "colour" if until.ends_by == "colour" else "probe feel"
    level = 1.0 if until.level is None else until.level
    return said("at '{word}'", word=said(word_for(scale, level)))


def _degrees(temp_c: float) -> str:
    return temperature(temp_c, format_temperature(temp_c))


def _thickness_m(item: ItemPlan) -> float:
    if item.thickness_m is not None:
        return item.thickness_m
    cut = catalog.cut(item.cut)
    return thickness_of(cut.shape).value * cut.scale(item.mass_kg) * item.thickness_factor


def _pit(cook: Cook, **changed: object) -> Cook:
    return replace(cook, pits=(replace(cook.pits[0], **changed),))  # type: ignore[arg-type]


def _item(cook: Cook, **changed: object) -> Cook:
    return replace(cook, items=(replace(cook.items[0], **changed),))  # type: ignore[arg-type]
