"""What if: the pit hotter or cooler from now, wrapped now, unwrapped now, off and held now.

All of them go on from the members as they stand at the present, the same ones for each, so that two answers differ by
what was done and by nothing else. Only what is ahead is run.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Bools
from pitreckon.cook import Cook, StagePlan, Until
from pitreckon.ledger import Act
from pitreckon.physics import fuel as fire
from pitreckon.reckon import pitair
from pitreckon.reckon.forecast import Reckoning
from pitreckon.reckon.fromnow import AllOf, Drawn
from pitreckon.reckon.measures import at_each, level_of_colour
from pitreckon.reckon.outlook import ItemOutlook
from pitreckon.reckon.prepare import Track
from pitreckon.reckon.quantiles import Quantiles, quantiles_of
from pitreckon.reckon.stages import PIT_KINDS, STANDING_S, last_on_pit, planned_stages
from pitreckon.reckon.summary import Draws, ItemRun, item_outlook, last_ready
from pitreckon.reckon.turning import turning_words
from pitreckon.section.simulate import simulate_all
from pitreckon.text.said import said
from pitreckon.units import PIT_STEP_K, format_duration, format_percent, round_half_up

HOLD_C = 65.0
MEMBERS = 160
DONE_SLACK_S = 300.0
LEAVE = said("leave it as it is")
WORTH_DONE, WORTH_COLOUR, WORTH_LOSS, WORTH_FUEL, WORTH_HOUR = 1.0, 0.5, 2.0, 0.02, 0.5
"""What meat that is not done, a level of colour off, a share of the weight lost, a kilogram of fuel and an hour that
supper is likely to be late are worth in chance of serving on time: of the order of a cook's own judgement (common
practice, no source)."""
WORTH_LETTING_BE = 0.05
"""So much more has to come of an act than of leaving all as it is; less nobody can tell, and an act is work."""
LATEST_H = 6.0
"""Later than that is all the same, and so is what never gets ready."""


@dataclass(frozen=True, slots=True)
class ItemThen:
    """One item if it were done: when ready, the chance of serving on time, colour and water lost when ready.

    on_time: ready by serving, done, and not past its best; done: chance that it is tender when it is served (without a
        serving time when it is called ready), or its core is done where that is what counts
    """

    label: str
    ready: Quantiles
    on_time: float | None
    done: float
    colour: Quantiles
    loss: Quantiles
    outlook: ItemOutlook


WORTH_SAYING_S: Final = 90.0
WORTH_SAYING_LOSS: Final = 0.02
"""A smaller share of the weight nobody tastes [-]."""
RAW: Final = 0.5
"""What is done with less than this chance is not served."""
MOMENTS: Final = 512
"""So many times are looked at for when all is ready."""
HOURS_FROM_MIN: Final = 90
"""From so many minutes on hours are said."""
LESS_KEPT: Final = "{item}: {share} less of its weight kept"
COSTS: Final = {
    "wrapped": "the bark takes no more colour or smoke, and softens in the wrap",
    "unwrapped": "a wet outside cools it towards its plateau until it has dried",
    "hold": "in the box it gets no darker, and its bark softens",
    "hotter": "more fuel, and an outside that darkens and dries sooner",
    "cooler": "more hours, and a fire that is harder to keep clean",
}
"""What an act costs on the plate, by act: common practice, no source."""


Together = tuple[datetime | None, ...]
"""When all of it is ready, with so much chance."""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """One thing that could be done now.

    what: in words; on: the pit or item; acts: what it would add to the ledger
    on_time: chance that all items are served on time; None without a serving time
    fuel_kg: from now until the last item is off the pit, None where the fuel is not weighed
    moved_s: of the median of ready of the item it is done to (of the last one, for a pit), later positive [s]
    items: every item then, in the order of the cook
    how: what to do at the pit for it, in words; brings, spends: what it does to the plate, against as it is
    all_ready: when all of it is ready, the last piece too, with 5, 50 and 95 %; None: never so likely, or something
        comes off before it is done
    """

    what: str
    on: str
    acts: tuple[Act, ...]
    on_time: float | None
    fuel_kg: float | None
    moved_s: float
    items: tuple[ItemThen, ...]
    how: str = ""
    brings: tuple[str, ...] = ()
    spends: tuple[str, ...] = ()
    all_ready: Together = (None, None, None)

    def changes(self, item: ItemThen, base: WhatIf | None) -> bool:
        """Whether it makes anything of an item otherwise; what leaves all as it is tells of all.

        base: leaving it as it is
        """
        was = None if base is None else next((each for each in base.items if each.label == item.label), None)
        return self is base or was is None or was.ready != item.ready or was.on_time != item.on_time

    @property
    def costs(self) -> tuple[str, ...]:
        """What it costs on the plate and at the fire, in words."""
        words = [said(COSTS[act.act]) for act in self.acts if act.act in COSTS]
        turned = [said(COSTS[word]) for word in ("hotter", "cooler") if self.what.endswith(word)]
        return (*words, *turned, *self.spends)

    @property
    def moved(self) -> str:
        """By how much it is ready sooner or later, in words; nothing where that is not worth saying."""
        if abs(self.moved_s) < WORTH_SAYING_S:
            return ""
        minutes = round_half_up(abs(self.moved_s) / 60.0)
        much = f"{minutes:.0f} min" if minutes < HOURS_FROM_MIN else format_duration(60.0 * minutes)
        return said("{span} later" if self.moved_s > 0 else "{span} sooner", span=much)


def what_ifs(reckoning: Reckoning, *, members: int = MEMBERS) -> tuple[WhatIf, ...]:
    """Everything that could be done now, the best first; what is left as it is stands among them.

    What would put raw meat on the table is no remedy, and not among them.

    reckoning: as ``forecast.reckoning`` gives it
    members: of each piece; they are drawn from the posterior by weight
    """
    lived = live_options(reckoning, members)
    known: dict[int, ItemThen] = {}
    each_run = {id(run): run for _, runs in lived for run in runs}
    last = {key: last_ready_utc(run) for key, run in each_run.items()}
    outlook, left = ready_together(reckoning), _together([last[id(run)] for run in lived[0][1]])
    results = [
        replace(
            _result(reckoning, option, runs, known),
            all_ready=(None,) * len(left)
            if _pulls(option.acts)
            else _as_moved(outlook, left, _together([last[id(run)] for run in runs])),
        )
        for option, runs in lived
    ]
    base = results[0]
    moved = [_against(replace(each, moved_s=_moved_s(reckoning, each, base)), base) for each in results]
    good = [each for each in moved if each.what == LEAVE or not _raw(each, base)]
    return tuple(sorted(good, key=lambda each: _worth(each, base, reckoning.cook), reverse=True))


def ready_together(reckoning: Reckoning, chances: Sequence[float] = (0.05, 0.5, 0.95)) -> Together:
    """When all of it is ready if it is left as it is, the last piece too, with each of these chances; None: never."""
    return _together([last_ready_utc(run) for run in reckoning.runs], chances)


def _as_moved(outlook: Together, left: Together, then: Together) -> Together:
    """The outlook's own times, moved by what an option moves them on its fewer members."""
    threes = zip(outlook, left, then, strict=True)
    return tuple(None if a is None or b is None or c is None else a + (c - b) for a, b, c in threes)


def last_ready_utc(run: ItemRun) -> Draws:
    """When the last piece of an item is ready, sorted [s since 1970]."""
    draws = last_ready(run)
    order = np.argsort(draws.values)
    return Draws(run.put_on_utc.timestamp() + draws.values[order], draws.weights[order])


def _together(pieces: Sequence[Draws], chances: Sequence[float] = (0.05, 0.5, 0.95)) -> Together:
    """When all of several things are there, each with draws of its own that are sorted [s since 1970]."""
    every = np.unique(np.concatenate([each.values[np.isfinite(each.values)] for each in pieces]))
    every = every[:: max(every.size // MOMENTS, 1)]
    shares = np.ones(every.size)
    for each in pieces:
        so_far = np.concatenate([[0.0], np.cumsum(each.weights)])
        shares *= so_far[np.searchsorted(each.values, every, side="right")]
    found = [np.flatnonzero(shares >= chance) for chance in chances]
    return tuple(datetime.fromtimestamp(float(every[rows[0]]), UTC) if rows.size else None for rows in found)


def live_options(
    reckoning: Reckoning, members: int = MEMBERS, acts: Collection[str] | None = None
) -> list[tuple[Option, list[ItemRun]]]:
    """What would become of every item under everything that could be done now; as it is comes first.

    Members are drawn from the posterior by weight, the same ones for every option.
    acts: only what is done by these is looked at; None: everything
    """
    could = _options(reckoning)
    if acts is not None:
        could = [option for option in could if option.acts and all(act.act in acts for act in option.acts)]
    drawn = [[Drawn.of(track, members) for track in run.tracks] for run in reckoning.runs]
    as_it_is = [ItemRun.of(tuple(each.as_it_is() for each in of_item)) for of_item in drawn]
    lived = [(Option(LEAVE, "", (), reckoning.cook), as_it_is)]
    past = reckoning.sifted.ledger
    ledgers = [replace(past, all_acts=(*past.all_acts, *option.acts)) for option in could]
    tries = [
        (of_item, [n for n, option in enumerate(could) if _touches(option, run)])
        for run, of_item in zip(reckoning.runs, drawn, strict=True)
    ]
    jobs = [
        AllOf(each, [each.planned(could[n].cook, ledgers[n], could[n].acts) for n in touched])
        for of_item, touched in tries
        for each in of_item
        if touched
    ]
    traces = simulate_all([each.job for each in jobs])
    done = iter([list(each.lived(trace)) for each, trace in zip(jobs, traces, strict=True)])
    lived += [(option, list(as_it_is)) for option in could]
    for i, (of_item, touched) in enumerate(tries):
        tracks = [next(done) for _ in of_item] if touched else []
        for k, n in enumerate(touched):
            lived[1 + n][1][i] = ItemRun.of(tuple(track[k] for track in tracks))
    return lived


@dataclass(frozen=True)
class Option:
    """Something that can be done: in words, on which pit or item, the acts that it takes now, and the plan with it."""

    what: str
    on: str
    acts: tuple[Act, ...]
    cook: Cook


def _touches(option: Option, run: ItemRun) -> bool:
    """Does it change anything for an item? What leaves all as it is is run for all."""
    return option.on in {"", run.item.label, run.tracks[0].track.pit}


def _options(reckoning: Reckoning) -> list[Option]:
    """What can be done now."""
    cook, now = reckoning.cook, reckoning.outlook.now_utc
    options: list[Option] = []
    on_pits = {run.tracks[0].track.pit for run in reckoning.runs if _on_pit(run.tracks[0].track)}
    waiting = {run.tracks[0].track.pit for run in reckoning.runs if run.put_on_utc >= now}
    for pit in cook.pits:
        if pit.label not in on_pits | waiting:
            continue
        set_c = pitair.set_last(pit.set_c, reckoning.sifted.ledger.acts(pit.label))
        for sign in (1.0, -1.0):
            act = Act(now, pit.label, "set pit", air_c=set_c + sign * PIT_STEP_K)
            what = said("{pit} hotter" if sign > 0.0 else "{pit} cooler", pit=pit.label)
            options.append(Option(what, pit.label, (act,), cook))
    for run in reckoning.runs:
        track = run.tracks[0].track
        if not _on_pit(track):
            continue
        label, kind = run.item.label, _kind_now(track)
        if kind == "open":
            act = Act(now, label, "wrapped", detail=_wrap(track))
            options.append(Option(said("wrap {item} now", item=label), label, (act,), cook))
        if kind == "wrapped":
            options.append(Option(said("unwrap {item} now", item=label), label, (Act(now, label, "unwrapped"),), cook))
        held = (Act(now, label, "took off"), Act(now, label, "hold", air_c=HOLD_C))
        options.append(Option(said("{item} off and held now", item=label), label, held, cook))
        if all(stage.plan.kind != "hold" for stage in track.stages):
            options.append(Option(said("hold {item} when ready", item=label), label, (), _with_hold(cook, track)))
    return options


def _with_hold(cook: Cook, track: Track) -> Cook:
    """The plan with the item held warm after its course, to serving or as long as it is followed."""
    serve = cook.served_at(track.item)
    until = Until("clock", serve) if serve is not None else Until("minutes", STANDING_S)
    stages = (*planned_stages(track.cut, track.item, cook), StagePlan("hold", until, air_c=HOLD_C))
    items = tuple(replace(i, stages=stages) if i.label == track.item.label else i for i in cook.items)
    return replace(cook, items=items)


def _kind_now(track: Track) -> str:
    return next((stage.plan.kind for stage in track.stages if stage.running), "")


def _on_pit(track: Track) -> bool:
    return _kind_now(track) in PIT_KINDS


def _wrap(track: Track) -> str:
    """What the plan wraps it in, else foil."""
    return next((stage.wrap for stage in track.stages if stage.plan.kind == "wrapped" and stage.wrap), "foil")


def _result(
    reckoning: Reckoning, option: Option, runs: Sequence[ItemRun], known: dict[int, ItemThen] | None = None
) -> WhatIf:
    """What comes of an option. known: what runs of other options come to, by their identity; a run is shared by all
    options that leave its item as it is"""
    known = {} if known is None else known
    for run in runs:
        if id(run) not in known:
            own = [act for act in option.acts if act.on == run.item.label]
            known[id(run)] = _item_then(reckoning, option.cook, run, pulled=_pulls(own))
    items = tuple(known[id(run)] for run in runs)
    chances = [item.on_time for item in items if item.on_time is not None]
    on_time = float(np.prod(chances)) if chances else None
    fuel_kg = _fuel_kg(option.cook, runs, option.acts, reckoning)
    return WhatIf(option.what, option.on, option.acts, on_time, fuel_kg, 0.0, items, _how(option.cook, option))


def _pulls(acts: Sequence[Act]) -> bool:
    """Does something come off the pit by it?"""
    return any(act.act == "took off" for act in acts)


def _item_then(reckoning: Reckoning, cook: Cook, run: ItemRun, *, pulled: bool = False) -> ItemThen:
    """pulled: it is taken off now, and ready only once it is done: at once, or as it stands in the warm place."""
    outlook = item_outlook(cook, run, reckoning.sifted.ledger, reckoning.outlook.now_utc)
    ready, weights = run.ready_s, run.evidence.weights
    reached = np.isfinite(ready)
    when = np.where(reached, ready, 0.0)
    colour = level_of_colour(at_each(run.trace, "colour", when), run.draw.members["dark_at"])
    loss = at_each(run.trace, "evaporated", when) + at_each(run.trace, "dripped", when)
    serve = cook.served_at(run.item)
    serve_s = None if serve is None else serve.timestamp() - run.put_on_utc.timestamp()
    eaten = np.where(run.done_s > ready + DONE_SLACK_S, run.done_s, np.where(np.isfinite(run.done_s), ready, np.nan))
    return ItemThen(
        run.item.label,
        quantiles_of(eaten, weights) if pulled else outlook.marks["ready"],
        None if outlook.on_time is None else max(outlook.on_time - _raw_share(run, serve_s), 0.0),
        _done(run, serve_s),
        quantiles_of(np.where(reached, colour, np.nan), weights),
        quantiles_of(np.where(reached, loss, np.nan), weights),
        outlook,
    )


def _how(cook: Cook, option: Option) -> str:
    word = option.what.rpartition(" ")[2]
    kinds = [pit.kind for pit in cook.pits if pit.label == option.on]
    return turning_words(catalog.pits()[kinds[0]], word) if kinds and word in {"hotter", "cooler"} else ""


def _done_by_then(run: ItemRun, serve_s: float | None) -> Bools:
    """Which members are done when they are eaten: at serving, or when it is called ready if that is later or unset."""
    called = run.ready_s + DONE_SLACK_S
    return np.asarray(run.done_s <= (called if serve_s is None else np.fmax(called, serve_s)))


def _done(run: ItemRun, serve_s: float | None) -> float:
    """Chance that an item is done when it is eaten."""
    return float(np.sum(run.evidence.weights[_done_by_then(run, serve_s)]))


def _raw_share(run: ItemRun, serve_s: float | None) -> float:
    """Share of the members that are called ready by serving, and are not done."""
    there = np.ones(run.ready_s.size, dtype=bool) if serve_s is None else run.ready_s <= serve_s
    return float(np.sum(run.evidence.weights[there & ~_done_by_then(run, serve_s)]))


def _against(option: WhatIf, base: WhatIf) -> WhatIf:
    """The option with what it does to the plate, held against leaving it as it is."""
    brings: list[str] = []
    spends: list[str] = []
    for then, was in zip(option.items, base.items, strict=True):
        kept = was.loss.p50 - then.loss.p50
        if then.done >= RAW and np.isfinite(kept) and abs(kept) >= WORTH_SAYING_LOSS:
            message = "{item}: {share} more of its weight kept" if kept > 0 else LESS_KEPT
            more = said(message, item=then.label, share=format_percent(abs(kept)))
            (brings if kept > 0 else spends).append(more)
    return replace(option, brings=tuple(brings), spends=tuple(spends))


def _fuel_kg(cook: Cook, runs: Sequence[ItemRun], acts: Sequence[Act], reckoning: Reckoning) -> float | None:
    """Fuel from now until the last item is off each pit, by the pits' loss of heat."""
    total, weighed = 0.0, False
    now_s = reckoning.outlook.now_utc.timestamp()
    for plan in cook.pits:
        ends = [_off_pit_s(run) - now_s for run in runs if run.tracks[0].track.pit == plan.label]
        pit = catalog.pits()[plan.kind]
        fuel = catalog.fuels()[pit.fuel]
        burning_s = max([end for end in ends if np.isfinite(end)], default=0.0)
        if not fuel.burns:
            continue
        weighed = True
        events = [*reckoning.sifted.ledger.acts(plan.label), *acts]
        mine = [act for act in events if act.on == plan.label]
        set_c = pitair.set_last(plan.set_c, mine)
        outside_c = pitair.ROOM_C if cook.weather_air_c is None else cook.weather_air_c
        heat_w = pit.exchange.heat_loss_w_per_k.value * max(set_c - outside_c, 0.0) / pit.exchange.wall_share.value
        total += fire.fuel_rate(heat_w, fuel.lower_heating_j_kg.value) * max(burning_s, 0.0)
    return total if weighed else None


def _off_pit_s(run: ItemRun) -> float:
    """Median epoch at which an item comes off the pit [s]."""
    last = last_on_pit(run.stages)
    return run.put_on_utc.timestamp() + quantiles_of(run.ends_s[last], run.evidence.weights).p50


def _moved_s(reckoning: Reckoning, each: WhatIf, base: WhatIf) -> float:
    touched = [
        (then.ready.p50 - was.ready.p50)
        for then, was, run in zip(each.items, base.items, reckoning.runs, strict=True)
        if each.on in {then.label, run.tracks[0].track.pit}
    ]
    finite = [moved for moved in touched if np.isfinite(moved)]
    return max(finite, key=abs, default=0.0)


def _raw(option: WhatIf, base: WhatIf) -> bool:
    """Would it serve what is likelier not done than done? What comes off the pit so is no remedy, nor what would be
    done if it were left."""
    off = any(act.act == "took off" for act in option.acts)
    pairs = zip(option.items, base.items, strict=True)
    return any(then.done < RAW and (was.done >= RAW or (off and then.label == option.on)) for then, was in pairs)


def _late_h(each: WhatIf, cook: Cook) -> float:
    """How many hours late supper is in the middle of the members: half by the last item, half by all of them."""
    late = []
    for item in each.items:
        serve = cook.served_at(cook.item(item.label))
        if serve is not None:
            ready_s = item.outlook.put_on_utc.timestamp() + item.ready.p50
            hours = (ready_s - serve.timestamp()) / 3600.0
            late.append(max(hours, 0.0) if hours < LATEST_H else LATEST_H)  # what is not reached is no number
    return 0.5 * (max(late) + sum(late) / len(late)) if late else 0.0


def _worth(each: WhatIf, base: WhatIf, cook: Cook) -> float:
    """Chance of serving on time, less what colour, moisture, fuel and waiting for supper would cost, and meat that is
    not done by then."""
    worth = (0.0 if each.on_time is None else each.on_time) - WORTH_HOUR * _late_h(each, cook)
    worth += WORTH_LETTING_BE if each.what == LEAVE else 0.0
    for item, as_it_is in zip(each.items, base.items, strict=True):
        off = max(item.colour.p50 - 1.0, 0.0) + max(0.7 - item.colour.p50, 0.0)
        worth -= WORTH_COLOUR * (off if np.isfinite(off) else 1.0)
        worth -= WORTH_LOSS * (max(item.loss.p50 - 0.3, 0.0) if np.isfinite(item.loss.p50) else 0.0)
        worth -= WORTH_DONE * max(as_it_is.done - item.done, 0.0)
    return worth - WORTH_FUEL * (each.fuel_kg or 0.0)
