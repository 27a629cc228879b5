"""What models say of lethality and growth in reckoned histories: advice beside the rules, with its spread.

No model here decides anything: there is no "met" and no "not met", and nothing in the rules asks this module.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from pitreckon.arrays import Floats
from pitreckon.errors import InputError, Place
from pitreckon.reckon.quantiles import weighted_quantile
from pitreckon.safety.cautions import LOCAL
from pitreckon.safety.microbes.models import (
    STAPHYLOCOCCUS_COME_UP,
    Grown,
    Killed,
    killed_in,
    perfringens_come_up,
    perfringens_cooling,
)
from pitreckon.safety.microbes.path import Part, Spans, growth_drive, growth_log10, process_value, spans_of
from pitreckon.units import format_duration, format_percent, round_half_up

MOST_SHOWN = 12
"""Powers of ten of a kill past which a figure only looks exact."""
OVERRULES_NOTHING = "Advice of models: it overrules no rule, and a rule that is not met stays not met."
NONE_GROWN_LOG10 = 0.05
LONG_STEP_S = 1800.0


@dataclass(frozen=True)
class Levels:
    """A quantity over the members: the middle one, the worst 5 %, the worst of all; and how many it is known of."""

    p50: float
    p95_worst: float
    worst: float
    known: float


@dataclass(frozen=True)
class Lethality:
    """Powers of ten by which a microbe is reduced at the coldest point."""

    model: Killed
    log10: Levels


@dataclass(frozen=True)
class Growth:
    """Powers of ten by which a microbe may have grown; chance_over: that it is more than the model's limit."""

    model: Grown
    where: str
    log10: Levels
    chance_over: float


@dataclass(frozen=True)
class Advice:
    """All that the models say of one piece."""

    lethality: tuple[Lethality, ...]
    growth: tuple[Growth, ...]
    notes: tuple[str, ...]

    @property
    def words(self) -> tuple[str, ...]:
        """One plain sentence for each figure, then what is to be known of them."""
        return (
            *(kill_words(each) for each in self.lethality),
            *(growth_words(each) for each in self.growth),
            *self.notes,
            OVERRULES_NOTHING,
            LOCAL,
        )


def grown_log10(time_s: ArrayLike, temp_c: ArrayLike, model: Grown) -> Floats:
    """Powers of ten by which a microbe may grow in its part of the history, per member; nan where nothing is known.

    time_s: samples, rising [s]
    temp_c: (samples,) or (samples, members) where it would grow [degC]; nan: no reading, and the worst is taken
    model: the microbe; its ``when`` says whether the come-up to the hottest reading counts or what comes after

    Raises InputError: shapes, times or temperatures that cannot be
    """
    return _growth(spans_of(time_s, temp_c), model)


def forecast_advice(
    time_s: ArrayLike,
    coldest_c: ArrayLike,
    surface_c: ArrayLike,
    *,
    meat: str,
    intact: bool,
    weights: ArrayLike | None = None,
) -> Advice:
    """What the models say of a piece whose members are reckoned from put-on to the end of the cooling.

    time_s: samples, rising [s]
    coldest_c: (samples, members) at the coldest point while it warms and the hottest while it cools: its middle [degC]
    surface_c: the same at the surface [degC]
    meat: key of an animal that a model is for
    intact: neither ground, injected, bladed nor rolled: then Staphylococcus is on the surface only
    weights: of the members, any scale; all the same if None

    Raises InputError: another meat, shapes, times, temperatures or weights that cannot be
    """
    killed = killed_in(meat)
    middle, outside = spans_of(time_s, coldest_c), spans_of(time_s, surface_c)
    if middle.known.size != outside.known.size:
        raise InputError(
            f"{middle.known.size} members at the middle, {outside.known.size} at the surface",
            "Give both of the same members",
            Place(field="surface_c"),
        )
    share = _shares(weights, middle.known.size)
    lethality = tuple(
        Lethality(model, _levels(_lethality(middle, model), share, worst_is_low=True)) for model in killed
    )
    cooling, come_up = perfringens_cooling(meat), perfringens_come_up(meat)
    staph_where, staph_spans = ("surface", outside) if intact else ("middle", middle)
    growth = (
        _found(STAPHYLOCOCCUS_COME_UP, staph_where, staph_spans, share),
        _found(come_up, "middle", middle, share),
        _found(cooling, "middle", middle, share),
    )
    return Advice(lethality, growth, tuple(_notes(middle, share)))


def shown_log10(value: float) -> str:
    """A kill as it may be printed: never more than twelve powers of ten.

    >>> shown_log10(6.52), shown_log10(12.04), shown_log10(3e7)
    ('6.5', 'more than 12', 'more than 12')
    """
    if not np.isfinite(value):
        return "more than 12" if value > 0.0 else "not known"
    return f"more than {MOST_SHOWN}" if value > MOST_SHOWN else str(round_half_up(value, 1))


def _lethality(spans: Spans, model: Killed) -> Floats:
    return np.asarray(process_value(spans, model.ref_c, model.z_k, from_c=model.from_c) / model.d_ref_s)


def _growth(spans: Spans, model: Grown) -> Floats:
    part: Part = "cooling" if model.when == "cooling" else "come-up"
    return growth_log10(growth_drive(spans, model.rate, part), model.readiness, model.room_log10)


def _found(model: Grown, where: str, spans: Spans, share: Floats) -> Growth:
    log10 = _growth(spans, model)
    known = np.isfinite(log10)
    weight = float(share[known].sum())
    over = float(share[known & (np.nan_to_num(log10) > model.limit_log10)].sum())
    return Growth(model, where, _levels(log10, share, worst_is_low=False), over / weight if weight > 0.0 else np.nan)


def _levels(log10: Floats, share: Floats, *, worst_is_low: bool) -> Levels:
    known = np.isfinite(log10) & (share > 0.0)
    if not known.any():
        return Levels(np.nan, np.nan, np.nan, 0.0)
    values, weights = log10[known], share[known] / share[known].sum()
    level = 0.05 if worst_is_low else 0.95
    return Levels(
        weighted_quantile(values, weights, 0.5),
        weighted_quantile(values, weights, level),
        float(values.min() if worst_is_low else values.max()),
        float(share[known].sum()),
    )


def _shares(weights: ArrayLike | None, members: int) -> Floats:
    share = np.ones(members) if weights is None else np.asarray(weights, dtype=np.float64)
    if share.shape != (members,) or not np.isfinite(share).all() or (share < 0.0).any() or share.sum() <= 0.0:
        raise InputError(
            f"the weights do not fit {members} members", "Give one number from 0 up for each", Place(field="weights")
        )
    return np.asarray(share / share.sum())


def _notes(spans: Spans, share: Floats) -> list[str]:
    notes = []
    unknown = float(share[~spans.known].sum())
    if unknown > 0.0:
        notes.append(f"Of {format_percent(unknown)} of the members nothing is known; they are not in these figures.")
    if spans.gap.any():
        notes.append("Over gaps in the readings nothing counts as killed, and growth as the fastest there is.")
    step = float(spans.seconds.max(initial=0.0))
    if step > LONG_STEP_S and not spans.gap.any():
        notes.append(f"Readings up to {format_duration(step)} apart were joined by straight lines.")
    return notes


def kill_words(each: Lethality) -> str:
    """A kill as a sentence."""
    levels, model = each.log10, each.model
    if levels.known <= 0.0:
        return f"{model.microbe}: nothing is known of the temperatures."
    text = f"{model.microbe}: reduced by {shown_log10(levels.p50)} powers of ten in the middle of the spread"
    if shown_log10(levels.worst) != shown_log10(levels.p50):
        text += f", {shown_log10(levels.p95_worst)} in the worst 5 %, {shown_log10(levels.worst)} in the worst member"
    return f"{text} ({model.holds})."


def growth_words(each: Growth) -> str:
    """A growth as a sentence."""
    levels, model = each.log10, each.model
    head = f"{model.microbe} in the {model.when}, at the {each.where}"
    if levels.known <= 0.0:
        return f"{head}: nothing is known of the temperatures."
    if levels.worst < NONE_GROWN_LOG10:
        return f"{head}: next to no growth in any member ({model.holds})."
    return (
        f"{head}: {round_half_up(levels.p50, 1)} powers of ten in the middle of the spread, "
        f"{round_half_up(levels.p95_worst, 1)} in the worst 5 %, {round_half_up(levels.worst, 1)} in the worst member; "
        f"more than {model.limit_log10:g} in {format_percent(each.chance_over)} of the members ({model.holds})."
    )
