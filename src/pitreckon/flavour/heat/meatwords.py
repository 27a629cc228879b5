"""What heat does to a mix on an item of a cook, in numbers and in sentences: setting, dripping, scorching, braising."""

from typing import Any

from pitreckon.cook import Cook, ItemPlan
from pitreckon.errors import InputError
from pitreckon.flavour.heat.drip import body_of, drip_share
from pitreckon.flavour.heat.onthemeat import (
    MEMBERS,
    glaze_minutes,
    left_on,
    one_item,
    scorch_on,
    water_share,
    wrap_effect,
    wrap_words,
)
from pitreckon.flavour.weigh.batch import Batch, surface_m2
from pitreckon.units import format_percent, format_temperature, shown

BRUSHED = ("glaze", "sauce")
STAGES = {"wrap": ("wrapped",)}
LEFT_ON_S = 3600.0
"""A set glaze is asked for an hour on the pit: nobody means it, and it happens."""


def on_the_meat(batch: Batch, cook: Cook, item: str | None) -> tuple[dict[str, Any], list[str]]:
    """What heat does to a mix on an item of a cook: values for JSON, and sentences. item: its label; None: the only one

    Raises InputError: the cook has no such item.
    """
    plan = _item(cook, item)
    per_piece = _per_piece_kg(batch, plan)
    values: dict[str, Any] = {"item": plan.label, "mass_g_per_piece": None if per_piece is None else 1000.0 * per_piece}
    lines = [] if per_piece is None else [f"{plan.label}: {1000.0 * per_piece:.0f} g a piece"]
    use = batch.mix.use
    if use in BRUSHED:
        lines += _glaze(values, batch, cook, plan, per_piece)
    if use == "wrap":
        water = water_share(batch) * (per_piece if per_piece is not None else batch.mass_kg)
        effect = wrap_effect(cook, plan.label, water)
        values["wrap"] = {
            "water_g": 1000.0 * water,
            "tender_minutes": effect.tender_min,
            "colour": effect.colour,
            "evaporated": effect.evaporated,
        }
        lines.append(wrap_words(effect))
    if use in BRUSHED:
        scorch, when = left_on(cook, plan.label, batch, LEFT_ON_S), "left on for an hour, "
    else:
        from pitreckon.reckon.forecast import reckon_runs  # noqa: PLC0415  the kernel is loaded only where it runs

        _, (run,) = reckon_runs(one_item(cook, plan.label), now=cook.start_utc, members=MEMBERS, seed=1)
        scorch, when = scorch_on(run, batch, STAGES.get(use, ("open", "wrapped", "sauced"))), ""
    values["browned"], values["scorched"], values["surface_c"] = scorch.browned, scorch.scorched, scorch.hottest_c
    lines.append(
        f"{when}its sugar browns in {format_percent(scorch.browned)} of the reckoned cooks and scorches in "
        f"{format_percent(scorch.scorched)}; the surface gets to about {format_temperature(scorch.hottest_c, 'F')} "
        f"(rough: good for comparing)"
    )
    return values, lines


def _glaze(values: dict[str, Any], batch: Batch, cook: Cook, plan: ItemPlan, per_piece: float | None) -> list[str]:
    share = min(max(water_share(batch), 0.02), 0.98)
    took = glaze_minutes(cook, plan.label, glaze_kg=per_piece, water=share)
    values["sets_in_minutes"] = {"p05": took.p05, "p50": took.p50, "p95": took.p95} if took.known else None
    if not took.known:
        return ["it does not set while it is on this pit"]
    lines = [f"it sets in about {took.p50:.0f} min ({took.p05:.0f} to {took.p95:.0f})"]
    if per_piece is not None:
        coat = per_piece / surface_m2(plan.cut, 1, plan.mass_kg, brushed=True)
        body = body_of(batch)
        drips = drip_share(coat, body, max(took.p50, 1.0) * 60.0)
        values["coat_kg_m2"], values["body"] = coat, body
        values["drips"] = {"low": drips.low, "high": drips.high}
        flows = {"thin": "as it is thin", "syrup": "if it flows like a syrup", "thick": "as thick as it is"}[body]
        lines.append(
            f"of a coat of {coat:.2g} kg/m2 ({coat / 1.15:.2g} mm) {format_percent(drips.low)} to "
            f"{format_percent(drips.high)} may run off, {flows}; a thinner coat holds better"
        )
    return lines


def _per_piece_kg(batch: Batch, plan: ItemPlan) -> float | None:
    """By the meat that the mix says it covers; None: it does not say."""
    for cover in batch.mix.covers:
        if cover.what == "weight":
            return batch.mass_kg * plan.mass_kg / cover.value
    return None


def _item(cook: Cook, label: str | None) -> ItemPlan:
    if label is None and len(cook.items) == 1:
        return cook.items[0]
    for each in cook.items:
        if label is not None and each.label.casefold() == label.casefold():
            return each
    trouble = "the cook has more than one item" if label is None else f"{shown(label)} is no item of the cook"
    raise InputError(trouble, f"Write --item with one of: {', '.join(i.label for i in cook.items)}")
