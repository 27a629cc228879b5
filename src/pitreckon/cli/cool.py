"""The ways to cool what is left over, on the screen and as JSON."""

from typing import Any

import numpy as np
from rich.table import Table

from pitreckon import catalog
from pitreckon.cli.screen import Screen, print_table
from pitreckon.reckon.quantiles import Quantiles
from pitreckon.safety.cooling.plan import FOOD_CODE, NOTES, PLANTS, CoolingPlan, Trial, chance_words
from pitreckon.safety.microbes.advice import shown_log10
from pitreckon.units import Scale, format_mass, format_temperature, round_half_up


def print_cooling(plan: CoolingPlan, cut: str, mass_kg: float, start_c: float, degrees: Scale) -> None:
    """The ways on the screen, the least work first."""
    console = Screen(degrees)
    name = catalog.cut(cut).name
    mass = format_mass(mass_kg, "lb" if degrees == "F" else "kg")
    console.print(f"{name}, {mass}, {format_temperature(start_c, degrees)} in the middle")
    console.print(f"Limit: {FOOD_CODE.name} ({FOOD_CODE.source})")
    console.print()
    _table(console, "Likely to make it, least work first", [trial for trial in plan.trials if trial.enough])
    _table(console, "Not likely to make it", [trial for trial in plan.trials if not trial.enough])
    if plan.least_work is None:
        console.print("None of these is likely enough: make smaller pieces or batches, with more cold around them.")
    for note in NOTES:
        console.print(note)
    console.print(
        f"Growth: powers of ten of {plan.model.microbe}, the worst of the spread; an advice that overrules no limit."
    )
    console.print(f"It holds for {plan.model.holds} ({plan.model.source}).")
    console.print("Times in hours:minutes from 135 °F on, in brackets 5 to 95 % of what is not known.")


def _table(console: Screen, title: str, trials: list[Trial]) -> None:
    if not trials:
        return
    table = Table(title=title, title_justify="left", box=None, padding=(0, 2, 0, 0), pad_edge=False)
    table.add_column("way", overflow="fold", ratio=1)
    for head in ("70 °F after", "41 °F after", "makes both", "growth"):
        table.add_column(head, no_wrap=True)
    for trial in trials:
        ice = "" if trial.ice_kg is None else f"; {format_mass(trial.ice_kg)} of ice or more"
        row = (_hours(trial.to_70_s), _hours(trial.to_41_s), chance_words(trial.makes), shown_log10(trial.growth.worst))
        table.add_row(f"{trial.method.words}{ice}", *row)
    print_table(console, table)
    console.print()


def _hours(quantiles: Quantiles) -> str:
    """Hours and minutes with their 5 to 95 %, short enough for a column.

    >>> _hours(Quantiles(3600.0, 5400.0, 7260.0, 1.0))
    '1:30 (1:00 to 2:01)'
    """

    def one(seconds: float) -> str:
        if not np.isfinite(seconds):
            return "over 24 h"
        hours, minutes = divmod(int(round_half_up(seconds / 60.0)), 60)
        return f"{hours}:{minutes:02d}"

    return f"{one(quantiles.p50)} ({one(quantiles.p05)} to {one(quantiles.p95)})"


def document_of(plan: CoolingPlan) -> dict[str, Any]:
    """The plan as one JSON object: SI, seconds from 135 °F on, null for "not within the run"."""
    return {
        "limit": {"name": FOOD_CODE.name, "source": FOOD_CODE.source, "status": FOOD_CODE.status},
        "also": {"name": PLANTS.name, "source": PLANTS.source, "status": PLANTS.status},
        "ways": [_trial(trial) for trial in plan.trials],
        "growth": {"of": plan.model.microbe, "source": plan.model.source, "holds_for": plan.model.holds},
        "notes": list(NOTES),
    }


def _trial(trial: Trial) -> dict[str, Any]:
    method = trial.method
    return {
        "way": method.words,
        "form": method.form,
        "place": method.place.name,
        "depth_m": method.depth_m,
        "likely": trial.enough,
        "makes_both": trial.makes,
        "makes_70_f": trial.makes_first,
        "makes_plants": trial.makes_plants,
        "to_70_f_s": _spread(trial.to_70_s),
        "to_41_f_s": _spread(trial.to_41_s),
        "perfringens_log10": {
            "p50": trial.growth.p50,
            "p95_worst": trial.growth.p95_worst,
            "worst": trial.growth.worst,
            "known": trial.growth.known,
            "words": shown_log10(trial.growth.p95_worst),
            "advice_only": True,
        },
        "ice_kg": trial.ice_kg,
    }


def _spread(quantiles: Quantiles) -> dict[str, float | None]:
    levels = {"p05": quantiles.p05, "p50": quantiles.p50, "p95": quantiles.p95}
    return {name: round(value, 1) if abs(value) < 1e9 else None for name, value in levels.items()}
