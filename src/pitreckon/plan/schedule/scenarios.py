"""How long every option for an item takes, scenario by scenario: the section model's ensemble, once for each."""

import math
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import islice

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.ledger import Ledger
from pitreckon.plan.buying.amounts import Amount
from pitreckon.plan.schedule.courses import courses_of, is_wrapped
from pitreckon.plan.schedule.tables import Due, Option
from pitreckon.plan.space.layout import places_needed
from pitreckon.plan.wishes import ItemWish, Wishes
from pitreckon.reckon.around import LONGEST_STAGE_S
from pitreckon.reckon.draws import stream
from pitreckon.reckon.evidence import Evidence
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.measures import at_each
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.prepare import Ensemble, Track, ensemble, tracks_of
from pitreckon.reckon.stages import PIT_KINDS
from pitreckon.reckon.summary import ItemRun, core_got_to_least, past_best, ready_stage, until_words
from pitreckon.reckon.update import Information
from pitreckon.reckon.windows import coming_acts
from pitreckon.section.course import COLUMN, Drive
from pitreckon.section.simulate import Job, simulate_all
from pitreckon.section.trace import Trace

RIDGE = 0.05
HOLD_MIN_S = 60.0
FOLLOWED_S = (7 * 3600.0, 12 * 3600.0, 24 * 3600.0)
"""Where holds are tried one longer than the other, one so long is run, and serves them all [s]."""
HOUR_S = 3600.0
AT_ONCE = 4
"""Options whose ensembles are handed to the kernel together."""
STANDS_S = 1800.0
"""Meat that is not held is followed so long past its course: it goes to the table before then [s]."""
MOST_OTHERS = 60
"""Pieces beyond this many change the time of the last one by little; they are not drawn."""


@dataclass(frozen=True)
class Case:
    """One ensemble to be run: an item on a pit at a set temperature through a course."""

    wish: ItemWish
    amount: Amount
    pit: str
    set_c: float
    stages: tuple[StagePlan, ...]
    area_m2: float = 0.0


def pits_of(wishes: Wishes, wish: ItemWish) -> tuple[str, ...]:
    """Labels of the pits that an item may go on."""
    return wish.pits or tuple(pit.label for pit in wishes.pits)


def cases_of(
    wishes: Wishes,
    amounts: Sequence[Amount],
    *,
    tries_holds: bool = False,
    known: Mapping[Case, Option] | None = None,
) -> list[list[Case]]:
    """Every option of every item, in the order of the wishes.

    tries_holds: longer holds will be asked for, too: they are run as long as all of them ask
    known: what was run already; of it is taken what was held for just as long as is asked, too
    """
    before = wishes.serve_utc - timedelta(days=1)
    out = []
    for wish, amount in zip(wishes.items, amounts, strict=True):
        courses = courses_of(wish, wishes.zone_info, before)
        labels = pits_of(wishes, wish)
        pits = [pit for pit in wishes.pits if pit.label in labels]
        meat = _same_meat(wish, tries_holds)
        out.append(
            [
                _known(Case(meat, amount, pit.label, set_c, course, area_m2), wish.most_hold_s, known or {})
                for pit, area_m2 in ((pit, amount.pieces * places_needed(wish, amount.mass_kg, pit)) for pit in pits)
                for set_c in pit.sets_c
                for course in courses
            ]
        )
    return out


def _known(case: Case, asked_s: float, known: Mapping[Case, Option]) -> Case:
    """The case without the hour more that ``_same_meat`` gives it, where it was run so and that is as long as asked."""
    shorter_s = case.wish.most_hold_s - HOUR_S
    if case in known or not HOLD_MIN_S <= asked_s <= shorter_s:
        return case
    shorter = _held(case, shorter_s)
    return shorter if shorter in known else case


def _same_meat(wish: ItemWish, tries_holds: bool) -> ItemWish:
    """The wish without what does not change how its meat cooks, so that no option is run twice."""
    most_s = 0.0 if wish.most_hold_s < HOLD_MIN_S else HOUR_S * math.ceil(wish.most_hold_s / HOUR_S)
    if most_s > 0.0:
        # An hour more than was asked, for whoever asks next what an hour longer would bring.
        most_s = next(s for s in FOLLOWED_S if most_s <= s) if tries_holds else min(most_s + HOUR_S, FOLLOWED_S[-1])
    return replace(
        wish,
        most_hold_s=most_s,
        least_hold_s=0.0,
        travel_s=0.0,
        put_on_utc=None,
        serve_utc=None,
        wrapping="usual",
        wrap=None,
        pits=(),
        price_per_kg=None,
    )


def options_of(
    wishes: Wishes,
    cases: Sequence[Sequence[Case]],
    members: int,
    seed: int,
    threads: int | None = None,
    cache: dict[Case, Option] | None = None,
    *,
    coarse: bool = False,
) -> list[tuple[Option, ...]]:
    """Run all options of all items at once.

    members: scenarios; seed: of their draws: the same seed gives the same scenarios
    coarse: in steps of twice the time: for a choice, not for what is promised of it
    cache: options that were run already, with as many members and the same seed; what is run is put there too
    """
    done = {} if cache is None else cache
    flat = list(dict.fromkeys(case for of_item in cases for case in of_item if case not in done))
    alike = Evidence(np.full(members, 1.0 / members), float(members), 1.0, float(members))
    learned = None if wishes.learned is None else wishes.learned.before(wishes.serve_utc)
    made = (_made(wishes, cases, case, members, seed, learned, coarse=coarse) for case in flat)
    for case, (cook, each), trace in _run_as_made(flat, made, threads):
        run = ItemRun.of((Posterior(each, trace, alike, Information.none(len(UNKNOWNS))),))
        option = option_of(case.pit, case.set_c, case.stages, run, cook, _at_utc(wishes))
        done[case] = replace(option, area_m2=case.area_m2)
    return [tuple(done[case] for case in of_item) for of_item in cases]


def held_till_served(case: Case, option: Option, served_s: float, known: Mapping[Case, Option] | None = None) -> Case:
    """The way of cooking with no more of its hold than is looked at, where it is known how long it waits to be served.

    option: what came of it in other scenarios; served_s: [s since put-on]; known: of these one that does is taken
    """
    done = option.first_s[np.isfinite(option.first_s)]
    most_s = case.wish.most_hold_s
    if most_s < HOLD_MIN_S or not done.size:
        return case
    least_h = max(math.ceil((served_s - float(done.min())) / HOUR_S), 0) + 1  # others are done sooner than all of these
    shorter = [_held(case, HOUR_S * hours) for hours in range(least_h, math.ceil(most_s / HOUR_S))]
    return next((each for each in (*shorter, case) if each in (known or {})), (*shorter, case)[0])


def as_far_as_followed(case: Case, option: Option) -> Option:
    """An option of which nothing is called good that its run did not follow where its hold ends early."""
    if case.wish.most_hold_s < HOLD_MIN_S:
        return option
    return replace(option, past_s=np.minimum(option.past_s, option.first_s + case.wish.most_hold_s))


def _held(case: Case, most_s: float) -> Case:
    return replace(case, wish=replace(case.wish, most_hold_s=most_s))


def _coarser(job: Job) -> Job:
    """The run with every second knot of its air: a minute or two late, for four fifths of the work."""
    knot_s = 2.0 * job.drive.knot_s
    drive = Drive(np.ascontiguousarray(job.drive.air_c[::2]), knot_s, job.drive.known_until_s)
    return replace(job, drive=drive, record_every=max(job.record_every // 2, 1))


def _no_longer(job: Job) -> Job:
    """The run without the hours past the hold: what is not served by then is late whatever comes of it."""
    table = job.course.table.copy()
    table[-1, COLUMN["longest_s"]] = 0.0 if job.course.names[-2] == "hold" else STANDS_S
    return replace(job, course=replace(job.course, table=table))


def _at_utc(wishes: Wishes) -> datetime:
    """When all that is run goes on: long before it is served, so that nothing of it is past."""
    return wishes.serve_utc - timedelta(days=2)


Made = tuple[Cook, Ensemble]


def _made(
    wishes: Wishes,
    cases: Sequence[Sequence[Case]],
    case: Case,
    members: int,
    seed: int,
    learned: Lessons | None,
    *,
    coarse: bool,
) -> Made:
    """The cook of an option, and its ensemble, ready to run. learned: what the house knew before that day"""
    cook = _cook(wishes, cases, case, _at_utc(wishes))
    (track,) = tracks_of(cook, cook.item(case.wish.label), Ledger(), _at_utc(wishes), seed)
    z = track.prior(members)
    if learned is not None:
        place = (track.pit, cook.pit(track.pit).kind, track.item.cut, track.put_on)
        z = learned.taught(z, track.levels, place)
    each = ensemble(track, z, track.horizon_s)
    return cook, replace(each, job=_no_longer(_coarser(each.job) if coarse else each.job))


def _run_as_made(
    cases: Sequence[Case], made: Iterator[Made], threads: int | None
) -> Iterator[tuple[Case, Made, Trace]]:
    """Traces of the ensembles, a few at a time: the next are made while the kernel works on those before."""
    left = list(cases)
    with ThreadPoolExecutor(1) as pool:
        running: tuple[list[Case], list[Made], Future[list[Trace]]] | None = None
        while left or running:
            some, left = left[:AT_ONCE], left[AT_ONCE:]
            batch = list(islice(made, len(some)))
            jobs = [each.job for _, each in batch]
            then = (some, batch, pool.submit(simulate_all, jobs, threads=threads)) if some else None
            if running is not None:
                yield from zip(running[0], running[1], running[2].result(), strict=True)
            running = then


@dataclass(frozen=True)
class _Words:
    until: str
    until_core_c: float | None


@dataclass(frozen=True)
class _AsPlanned:
    """What an item's acts need of an outlook; all of it would take a third of the time that the runs leave."""

    put_on_planned: bool
    stages: tuple[_Words, ...]


def option_of(
    pit: str,
    set_c: float,
    stages: tuple[StagePlan, ...],
    run: ItemRun,
    cook: Cook,
    now_utc: datetime,
    ledger: Ledger | None = None,
) -> Option:
    """A run of the ensemble as an option: its acts from ``now_utc`` on, and when it is ready."""
    told = any(act.act == "put on" for act in ledger.acts(run.item.label)) if ledger else False
    words = tuple(_Words(until_words(stage, cook), stage.plan.until.core_c) for stage in run.stages)
    outlook = _AsPlanned(not told, words)
    ends, last = run.ends_s, ready_stage(run.stages)
    ready = np.where(np.isfinite(run.ready_s), run.ready_s, np.inf)
    first, after = spread_of_pieces(run.main.track, run.main.ensemble, ready)
    on_pit = max((i for i, stage in enumerate(run.stages) if stage.plan.kind in PIT_KINDS), default=0)
    off = np.where(np.isfinite(ends[on_pit]), ends[on_pit], np.inf)
    coming = [act for act in coming_acts(run, outlook, now_utc, None) if act.act != "put on"]
    finite = np.isfinite(ready)
    loss = np.median(run.trace.loss[-1]) if not finite.any() else _loss(run, ready)
    return Option(
        pit=pit,
        set_c=set_c,
        wrapped=is_wrapped(stages),
        stages=stages,
        dues=tuple(
            Due(
                act.act,
                np.where(np.isfinite(act.opens_s), act.opens_s, np.inf),
                np.where(np.isfinite(act.closes_s), act.closes_s, np.inf),
                act.carries,
                act.wrap or "",
            )
            for act in coming
        ),
        first_s=first,
        last_s=after,
        off_s=np.where(finite, off + np.where(finite, after, 0.0) - np.where(finite, ready, 0.0), np.inf),
        past_s=_past(run, ready),
        done=_done(run, ready) & (ends[last] < np.inf),
        loss=float(loss),
    )


def _cook(wishes: Wishes, cases: Sequence[Sequence[Case]], case: Case, at_utc: datetime) -> Cook:
    """A cook in which the item goes this way; all that may go on its pit is there, for the pit's damp air."""
    pit = next(each for each in wishes.pits if each.label == case.pit)
    there = [of_item[0] for of_item in cases if any(each.pit == case.pit for each in of_item)]
    items = tuple(plan_of(case if each.wish.label == case.wish.label else each, case.pit, at_utc) for each in there)
    return wishes.as_cook((PitPlan(case.pit, pit.kind, case.set_c, pit.water_pan),), items, None)


def plan_of(case: Case, pit: str, put_on_utc: datetime, *, hold_until: Until | None = None) -> ItemPlan:
    """The item of a cook; held after its course as long as it may be, or until ``hold_until``."""
    wish, amount = case.wish, case.amount
    until = hold_until or (Until("minutes", wish.most_hold_s) if wish.most_hold_s >= HOLD_MIN_S else None)
    hold = () if until is None else (StagePlan("hold", until, air_c=wish.hold_c),)
    return ItemPlan(
        label=wish.label,
        cut=wish.cut,
        pieces=amount.pieces,
        mass_kg=amount.mass_kg,
        pit=pit,
        put_on_utc=put_on_utc,
        start_c=wish.start_c,
        thickness_m=wish.thickness_m,
        thickness_factor=wish.thickness_factor,
        sugar=wish.sugar,
        salt_g_per_kg=wish.salt_g_per_kg,
        stages=(*case.stages, *hold),
    )


def spread_of_pieces(track: Track, each: Ensemble, ready: Floats) -> tuple[Floats, Floats]:
    """When the first and the last piece of an item are ready, in every scenario [s since put-on].

    A scenario is one piece. A straight line through the logarithm of the times parts them into what the pieces have in
    common and what is each one's own; its fellows share the former and have the latter drawn anew.
    """
    many = track.stands_for
    good = np.isfinite(ready) & (ready > 0.0)
    if many == 1 or good.sum() <= len(UNKNOWNS) // 2:
        return ready, ready
    z, own = each.z, each.track.levels.alone
    logs = np.log(np.where(good, ready, 1.0))
    dz = z - z[:, good].mean(axis=1, keepdims=True)
    dt = np.where(good, logs - logs[good].mean(), 0.0)
    fit = dz[:, good]
    slope = np.linalg.solve(fit @ fit.T / good.sum() + RIDGE * np.eye(z.shape[0]), fit @ dt[good] / good.sum())
    rng = stream(track.seed, f"fellows {track.label}")
    n = z.shape[1]
    fresh = rng.standard_normal((len(UNKNOWNS), n))
    shared = (1.0 - own)[:, None] * z + np.sqrt(own * (1.0 - own))[:, None] * fresh
    size = float(np.linalg.norm(slope * np.sqrt(own)))
    others = min(many - 1, MOST_OTHERS)
    drawn = (logs + slope @ (shared - z))[None, :] + size * rng.standard_normal((others, n))
    every = np.concatenate((logs[None, :], drawn))
    return np.where(good, np.exp(every.min(axis=0)), np.inf), np.where(good, np.exp(every.max(axis=0)), np.inf)


def _past(run: ItemRun, ready: Floats) -> Floats:
    """When a held piece is past its best, as the outlook has it [s since put-on]; inf: not while it was followed."""
    past = past_best(run, np.where(np.isfinite(ready), ready, np.nan))
    return np.where(np.isnan(past), np.inf, past)


def _done(run: ItemRun, ready: Floats) -> Bools:
    """Is it at its own end when it is called ready, with a core that got to the official minimum before?"""
    kept = np.isnan(run.trace.failed_s) & np.isfinite(ready) & core_got_to_least(run)
    begin = np.zeros(ready.size)
    for stage, end in zip(run.stages, run.ends_s, strict=False):
        if stage.plan.kind in PIT_KINDS and stage.ended_utc is None:
            kept &= ~(end - begin >= LONGEST_STAGE_S[stage.plan.kind] - 60.0)
        begin = np.where(np.isfinite(end), end, begin)
    return np.asarray(kept)


def _loss(run: ItemRun, ready: Floats) -> float:
    when = np.where(np.isfinite(ready), ready, 0.0)
    lost = at_each(run.trace, "evaporated", when) + at_each(run.trace, "dripped", when)
    return float(np.nanmedian(np.where(np.isfinite(ready), lost, np.nan)))
