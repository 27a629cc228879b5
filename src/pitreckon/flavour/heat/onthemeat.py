"""What the section model says of a glaze and of a wrap: minutes until it sets, colour and tenderness in the wrap."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from pitreckon.cook import Cook, ItemPlan, StagePlan, Until
from pitreckon.errors import InputError
from pitreckon.flavour.heat.scorch import Scorch, scorch_chance, sugar_of
from pitreckon.reckon.quantiles import Quantiles, quantiles_of

if TYPE_CHECKING:
    from pitreckon.flavour.weigh.batch import Batch
    from pitreckon.reckon.forecast import ItemRun

MEMBERS = 128


def water_share(batch: Batch) -> float:
    """Share of water in a mix [-], the middle of what is known."""
    return batch.contents.nutrients["water_g"].middle / (1000.0 * batch.mass_kg)


def one_item(cook: Cook, label: str, stages: tuple[StagePlan, ...] | None = None) -> Cook:
    """The same cook with one of its items alone, one piece of it, on a course of our own if given.

    Raises KeyError: no such item.
    """
    item: ItemPlan = replace(cook.item(label), pieces=1)
    if stages is not None:
        item = replace(item, stages=stages)
    return replace(cook, items=(item,), serve_utc=None, pits=(cook.pit(item.pit),))


def glaze_minutes(
    cook: Cook,
    label: str,
    *,
    glaze_kg: float | None = None,
    water: float | None = None,
    members: int = MEMBERS,
    seed: int = 1,
) -> Quantiles:
    """Minutes that a glaze needs at this pit until it has set, from the glaze's own water balance in the model.

    cook, label: the cook and its item; a course without a glaze gets one at its end
    glaze_kg: brushed on one piece [kg]; None: as the course says
    water: share of water in the glaze [-], see ``water_share``; None: as the model takes it

    Raises InputError: fewer than 8 members, or no share of water; KeyError: no such item.
    """
    from pitreckon.section.course import COLUMN, Course  # noqa: PLC0415  the model is loaded only where it runs
    from pitreckon.section.simulate import simulate  # noqa: PLC0415

    if water is not None and not 0.02 <= water <= 0.98:
        raise InputError(f"the share of water in the glaze is {water:g}", "It lies between 2 % and 98 %")
    alone = one_item(cook, label)
    planned = _run(alone, 8, seed)
    stages = tuple(stage.plan for stage in planned.stages)
    at = next((i for i, stage in enumerate(stages) if stage.kind == "sauced"), None)
    if at is None:
        before = tuple(s for s in stages if s.kind in {"open", "wrapped"})
        stages, at = (*before, StagePlan("sauced", Until("glaze"))), len(before)
    glazed = replace(stages[at], until=Until("glaze"))
    if glaze_kg is not None:
        glazed = replace(glazed, glaze_kg=glaze_kg)
    run = _run(one_item(cook, label, (*stages[:at], glazed, *stages[at + 1 :])), members, seed)
    trace = run.trace
    if water is not None:
        job = run.main.ensemble.job
        table = job.course.table.copy()
        coat = table[at, COLUMN["glaze_water"]] + table[at, COLUMN["glaze_solid"]]
        table[at, COLUMN["glaze_water"]], table[at, COLUMN["glaze_solid"]] = coat * water, coat * (1.0 - water)
        trace = simulate(
            *(job.section, job.members, job.drive, Course(table, job.course.names)),
            horizon_s=job.horizon_s,
            mass=job.mass,
            record_every=job.record_every,
        )
    begin = trace.stage_end_s[at - 1] if at else np.zeros(trace.stage_end_s.shape[1])
    took = (trace.stage_end_s[at] - begin) / 60.0
    return quantiles_of(took, np.full(took.size, 1.0 / took.size))


@dataclass(frozen=True, slots=True)
class WrapEffect:
    """What liquid in a wrap does, middle members: with it less without it.

    tender_min: time to tender [min]; colour: at the end of the wrap, on the scale where 1 is set
    evaporated: share of the raw weight that has evaporated when it is tender [-]; water_kg: what was put in
    """

    tender_min: float
    colour: float
    evaporated: float
    water_kg: float


def wrap_effect(
    cook: Cook, label: str, water_kg: float, wrap: str = "foil", *, members: int = MEMBERS, seed: int = 1
) -> WrapEffect:
    """Wrapped at colour until tender, with so much water in the wrap and with none.

    water_kg: [kg] the water of what is put in: butter is 16 % water (USDA SR28 01001), its fat does not evaporate

    Raises KeyError: no such item. InputError: fewer than 8 members.
    """
    got = []
    for liquid in (0.0, water_kg):
        wrapped = StagePlan("wrapped", Until("tender"), wrap=wrap, liquid_kg=liquid)
        run = _run(one_item(cook, label, (StagePlan("open", Until("colour")), wrapped)), members, seed)
        ends = run.trace.stage_end_s[1]
        values = [
            [run.trace.at(channel, float(end))[i] if np.isfinite(end) else np.nan for i, end in enumerate(ends)]
            for channel in ("colour", "evaporated")
        ]
        got.append((float(np.nanmedian(ends)) / 60.0, *(float(np.nanmedian(each)) for each in values)))
    later, darker, drier = (b - a for a, b in zip(*got, strict=True))
    return WrapEffect(later, darker, drier, water_kg)


def wrap_words(effect: WrapEffect) -> str:
    """The same in a sentence for the cook."""
    minutes = round(effect.tender_min)
    when = "as soon" if abs(minutes) < 2 else f"{abs(minutes)} min {'later' if minutes > 0 else 'sooner'}"
    colour = "as dark" if abs(effect.colour) < 0.03 else "lighter" if effect.colour < 0.0 else "darker"
    return (
        f"With {1000.0 * effect.water_kg:.0f} g of water in the wrap it is tender {when}, and {colour} when it comes "
        f"out; fat does not evaporate, so butter counts by its water alone"
    )


def left_on(cook: Cook, label: str, batch: Batch, seconds: float, *, members: int = MEMBERS, seed: int = 1) -> Scorch:
    """The chance that a glaze scorches when it is left on the pit for so long after it was brushed on [s].

    Raises KeyError: no such item. InputError: fewer than 8 members.
    """
    planned = _run(one_item(cook, label), 8, seed)
    before = tuple(each.plan for each in planned.stages if each.plan.kind in {"open", "wrapped"})
    glazed = StagePlan("sauced", Until("minutes", seconds))
    return scorch_on(_run(one_item(cook, label, (*before, glazed)), members, seed), batch, ("sauced",))


def scorch_on(run: ItemRun, batch: Batch, kinds: tuple[str, ...] = ("open", "wrapped", "sauced")) -> Scorch:
    """The chance that a mix scorches over the stages of a run that it is on.

    run: of ``reckon_runs``; kinds: the stages it is on the meat in, as ``("sauced",)`` for a glaze
    """
    trace = run.trace
    stage = trace["stage"]
    on = np.zeros(stage.shape, dtype=bool)
    for i, each in enumerate(run.stages):
        if each.plan.kind in kinds:
            on |= np.round(stage) == i
    surface = np.where(on, trace["surface_c"], np.nan)
    sugars, share = sugar_of(batch)
    return scorch_chance(sugars, share, trace.time_s, surface, trace["activity"], seed=run.main.track.seed)


def _run(cook: Cook, members: int, seed: int) -> ItemRun:
    from pitreckon.reckon.forecast import reckon_runs  # noqa: PLC0415  the kernel is loaded only where it runs

    return reckon_runs(cook, now=cook.start_utc, members=members, seed=seed)[1][0]
