"""A mix as one JSON object: weights, spoons, tastes and label, numbers in SI-like kitchen units named by the keys."""

import math
from collections.abc import Mapping
from typing import Any

from pitreckon.catalog.foods import Range
from pitreckon.flavour.label import Label
from pitreckon.flavour.taste.tastes import scoville_by_dry_mass, tastes_of
from pitreckon.flavour.weigh.batch import Batch, Ingredient
from pitreckon.units import format_spoons


def mix_document(batch: Batch, batches: float = 1.0) -> dict[str, Any]:
    """The batch as plain values for ``json``; what is not known is null. batches: how many of the file's it is."""
    volume = batch.volume_m3
    return {
        "name": batch.mix.name,
        "use": batch.mix.use,
        "batches": batches,
        "mass_g": 1000.0 * batch.mass_kg,
        "volume_ml": None if volume is None else 1e6 * volume,
        "ingredients": [_ingredient(each) for each in batch.ingredients],
        "tastes": [
            {"name": each.name, "unit": each.unit, **_range(each.value), "not_known": list(each.not_known)}
            for each in tastes_of(batch)
        ],
        "scoville_by_dry_mass": _range(scoville_by_dry_mass(batch)),
        "contents": {name: _range(value) for name, value in batch.contents.nutrients.items()},
        "cost": batch.cost,
        "currency": batch.mix.currency,
    }


def label_document(label: Label) -> Mapping[str, Any]:
    """A label as plain values for ``json``."""
    return {
        "name": label.name,
        "standing": label.standing,
        "serving": label.serving,
        "serving_g": 1000.0 * label.serving_kg,
        "servings": label.servings,
        "lines": [
            {
                "name": line.name,
                "unit": line.unit,
                **_range(line.value),
                "declared": line.declared,
                "percent_daily_value": line.percent,
                "at_least": line.at_least,
            }
            for line in label.lines
        ],
        "contains": list(label.contains),
        "may_contain": list(label.may_contain),
        "cost": label.cost,
        "currency": label.currency,
        "notes": list(label.notes),
    }


def _ingredient(each: Ingredient) -> dict[str, Any]:
    return {
        "name": each.name,
        "mass_g": 1000.0 * each.mass_kg,
        "volume_ml": None if each.volume_m3 is None else 1e6 * each.volume_m3,
        "spoons": None if each.volume_m3 is None else format_spoons(each.volume_m3),
        "cost": each.cost,
    }


def _range(value: Range) -> dict[str, float | None]:
    return {"low": value.low, "high": value.high if math.isfinite(value.high) else None}
