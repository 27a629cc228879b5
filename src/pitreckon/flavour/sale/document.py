"""A batch for sale as plain values for JSON, and as the record that the ledger keeps of it."""

from typing import Any

from pitreckon.flavour.sale.batch import Sale


def sale_document(sale: Sale) -> dict[str, Any]:
    """Weights in grams, money in the mix's currency; what is not known is null."""
    weights, cost, fill = sale.weights, sale.cost, sale.fill
    return {
        "name": sale.batch.mix.name,
        "use": sale.batch.mix.use,
        "lot": sale.lot,
        "made": sale.asked.made.isoformat(),
        "market": sale.asked.market,
        "jars_wanted": sale.asked.jars,
        "jars": {"low": sale.jars[0], "middle": sale.jars[1], "high": sale.jars[2]},
        "fill_g": _g(fill.nominal_kg),
        "fill_to_g": _g(fill.mean_kg),
        "fill_spread_g": _g(fill.spread_kg),
        "shortage_allowed_g": _g(fill.short_kg),
        "mass_g": _g(sale.mass_kg),
        "loss": sale.loss,
        "loss_is_usual": sale.loss_usual,
        "rounds": weights.rounds,
        "scale_step_g": _g(weights.step_kg),
        "weigh": [
            {"name": each.name, "exact_g": _g(each.exact_kg), "scale_g": _g(each.shown_kg)} for each in weights.weighed
        ],
        "premixes": [
            {
                "of": each.of,
                "into": each.carrier,
                "own_g": _g(each.own_kg),
                "carrier_g": _g(each.carrier_kg),
                "taken_g": _g(each.taken_kg),
                "left_g": _g(each.left_kg),
            }
            for each in weights.premixes
        ],
        "too_little": list(weights.too_little),
        "order": [str(step) for step in sale.order],
        "buy": [
            {
                "name": each.name,
                "need_g": _g(each.need_kg),
                "pack_g": None if each.pack_kg is None else _g(each.pack_kg),
                "packs": each.packs,
                "left_g": _g(each.left_kg),
                "used": each.used,
                "paid": each.paid,
            }
            for each in cost.bought
        ],
        "cost": cost.used,
        "paid": cost.paid,
        "cost_of_jar": cost.of_jar,
        "cost_of_jar_if_rest_is_wasted": cost.of_jar_if_wasted,
        "price_of_jar": cost.price,
        "currency": cost.currency,
        "lots": [lot_document(each) for each in sale.lots],
        "best_before": None if sale.date.day is None else sale.date.day.isoformat(),
        "best_before_by": sale.date.decides,
        "undated": list(sale.date.missing),
        "net": sale.net,
        "ingredients": list(sale.ingredients),
        "contains": list(sale.contains),
        "may_contain": list(sale.may_contain),
        "in_100_g": [{"name": each.name, "declared": each.words or None} for each in sale.declared],
    }


def lot_document(lot: Any) -> dict[str, Any]:
    """One lot."""
    day = None if lot.best_before is None else lot.best_before.isoformat()
    return {"food": lot.food, "lot": lot.lot, "best_before": day, "supplier": lot.supplier}


def _g(mass_kg: float) -> float:
    return round(1000.0 * mass_kg, 6)
