"""What would have happened otherwise: the same members once more, with one thing changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook import Cook, ItemPlan, StagePlan, Until
from pitreckon.ledger import Act, Ledger, Reading
from pitreckon.lessons.card.finished import FinishedItem
from pitreckon.lessons.explain.members import Fitting
from pitreckon.lessons.lasttime.differ import as_it_went
from pitreckon.lessons.lasttime.spread import Spread
from pitreckon.reckon.measures import at_each, level_of_colour
from pitreckon.reckon.prepare import ensemble, tracks_of
from pitreckon.reckon.stages import last_on_pit
from pitreckon.section.simulate import simulate_all
from pitreckon.text.said import difference, said, temperature
from pitreckon.units import format_about, format_difference

HOTTER_K: Final = 15.0 / 1.8 * 2.0
"""30 degF."""
THINNER: Final = 0.8
BARE_WRAP_C: Final = 70.0
"""A core at which pieces are wrapped that had no wrap [degC]: common practice, no source."""
BEFORE_DONE_K: Final = 15.0
"""A piece that is done at a lower core is wrapped so long before that."""


@dataclass(frozen=True, slots=True)
class Otherwise:
    """One thing otherwise, against the same members with all as it was.

    key: which; words: what; minutes: longer on the pit [min]; loss: more water lost [share of the raw weight]
    colour: further on the colour scale when it comes off [level]
    """

    key: str
    words: str
    minutes: Spread
    loss: Spread
    colour: Spread


@dataclass(frozen=True, slots=True)
class _Ended:
    """Of every member when it comes off: when [s], water lost [-], colour [level]."""

    off_s: Floats
    loss: Floats
    colour: Floats


def otherwise(
    cook: Cook, ledger: Ledger, done: FinishedItem, fitted: Fitting, threads: int | None = None
) -> tuple[Otherwise, ...]:
    """Wrapped earlier (wrapped at all, where it was bare), the pit hotter, the piece thinner.

    All go by the same looks as the cook did (a stage ends by what was seen then), on the pit's own readings.
    """
    stages = as_it_went(done).items[0].stages
    item = replace(cook.item(done.item.label), stages=stages, serve_utc=None)
    plain = replace(cook, items=(item,), serve_utc=None, tasks=(), away=())
    events = _of_pit(ledger, fitted, done)
    ways: list[tuple[str, str, Cook, Ledger, int]] = []
    bases: list[tuple[Cook, Ledger]] = [(plain, events)]
    words, base, earlier = _wrapped(item, done)
    if base is not item:
        bases.append((replace(plain, items=(base,)), events))
    ways.append(("wrap", words, replace(plain, items=(earlier,)), events, len(bases) - 1))
    hot = replace(
        plain, pits=tuple(replace(p, set_c=p.set_c + HOTTER_K) if p.label == item.pit else p for p in plain.pits)
    )
    far = difference(HOTTER_K, format_difference(HOTTER_K).lstrip("+"))
    words = said("the pit {far} hotter, at {set}", far=far, set=temperature(done.set_c + HOTTER_K))
    ways.append(("hotter", words, hot, _hotter(events, HOTTER_K), 0))
    thin = replace(item, thickness_factor=item.thickness_factor * THINNER)
    if item.thickness_m is not None:
        thin = replace(item, thickness_m=item.thickness_m * THINNER)
    ways.append(("thinner", said("the piece a fifth thinner"), replace(plain, items=(thin,)), events, 0))
    ran = _run([*bases, *((way, log) for _, _, way, log, _ in ways)], fitted, threads)
    was, then = ran[: len(bases)], ran[len(bases) :]
    return tuple(
        Otherwise(
            key,
            words,
            Spread.of((new.off_s - was[base].off_s) / 60.0),
            Spread.of(new.loss - was[base].loss),
            Spread.of(new.colour - was[base].colour),
        )
        for (key, words, _, _, base), new in zip(ways, then, strict=True)
    )


def _wrapped(item: ItemPlan, done: FinishedItem) -> tuple[str, ItemPlan, ItemPlan]:
    """In words; the item as it was, its wrap at a time by the clock; and with the wrap sooner."""
    at_s = 0.0
    for n, record in enumerate(done.on_pit):
        if record.plan.kind == "wrapped" and n > 0:
            before = done.on_pit[n - 1].took_s
            sooner_s = 3600.0 if at_s >= 3.5 * 3600.0 else 1800.0 if at_s >= 5400.0 else at_s / 3.0
            sooner_s = min(sooner_s, 0.5 * before)
            words = said("wrapped {span} earlier", span=format_about(sooner_s))
            return words, _ended(item, n - 1, before), _ended(item, n - 1, before - sooner_s)
        at_s += record.took_s
    if done.on_pit and done.on_pit[0].plan.kind == "wrapped":
        stages = (StagePlan("open", Until("minutes", 3600.0)), *item.stages)
        return said("in the smoke for {span} first, then wrapped", span="1 h"), item, replace(item, stages=stages)
    texture, until = done.cut.texture, item.stages[0].until
    end_c = until.core_c or (texture.done_core_c.value if texture.done_by == "core" else BARE_WRAP_C + BEFORE_DONE_K)
    core_c = min(BARE_WRAP_C, end_c - BEFORE_DONE_K)
    first = replace(item.stages[0], until=Until("core", core_c))
    foil = StagePlan("wrapped", item.stages[0].until, wrap="foil")
    words = said("wrapped in foil once its core is at {core}", core=temperature(core_c))
    return words, item, replace(item, stages=(first, foil, *item.stages[1:]))


def _ended(item: ItemPlan, n: int, after_s: float) -> ItemPlan:
    stages = list(item.stages)
    stages[n] = replace(stages[n], until=Until("minutes", after_s))
    return replace(item, stages=tuple(stages))


def _of_pit(ledger: Ledger, fitted: Fitting, done: FinishedItem) -> Ledger:
    """What the pit did, and that the piece went on; not what was done to it later."""
    mine = done.item.label
    kept = [each for each in ledger.events if not (isinstance(each, Act) and each.on == mine)]
    on = [each for each in fitted.track.acts if each.act == "put on"]
    return Ledger.of([*kept, *on])


def _hotter(ledger: Ledger, far_k: float) -> Ledger:
    def hotter(event: object) -> object:
        if isinstance(event, Reading) and event.channel == "pit air":
            return replace(event, value_c=event.value_c + far_k)
        if isinstance(event, Act) and event.act == "set pit" and event.air_c is not None:
            return replace(event, air_c=event.air_c + far_k)
        return event

    return Ledger.of([hotter(each) for each in ledger.events])  # type: ignore[misc]


def _run(plans: list[tuple[Cook, Ledger]], fitted: Fitting, threads: int | None) -> list[_Ended]:
    made, lasts = [], []
    for cook, ledger in plans:
        item, old = cook.items[0], fitted.track
        tracks = tracks_of(cook, item, ledger, old.put_on, old.seed)
        track = next((each for each in tracks if each.piece == old.piece), tracks[-1])
        made.append(ensemble(track, fitted.unknowns, track.horizon_s))
        lasts.append(last_on_pit(track.stages))
    out = []
    for each, trace, last in zip(made, simulate_all([m.job for m in made], threads=threads), lasts, strict=True):
        off_s = np.asarray(trace.stage_end_s[last])
        then = np.where(np.isfinite(off_s), off_s, 0.0)
        colour = level_of_colour(at_each(trace, "colour", then), each.draw.members["dark_at"])
        loss = at_each(trace, "evaporated", then) + at_each(trace, "dripped", then)
        known = np.isfinite(off_s)
        out.append(_Ended(off_s, np.where(known, loss, np.nan), np.where(known, colour, np.nan)))
    return out
