"""From raw pieces to what is eaten of them: trim, cooking loss, bone.

The cooking loss is the section model's own where the caller has run it (:func:`loss_of`); else what it gave for the
cut's usual course, from the catalog (:func:`usual_loss`). What yield tables and scales find beyond that water, rendered
fat and drip, is the catalog's either way.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.catalog.buying import Buying, buying
from pitreckon.catalog.figure import Figure
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan
from pitreckon.errors import InputError, Place
from pitreckon.plan.buying.portions import Many
from pitreckon.plan.wishes import ItemWish
from pitreckon.reckon.draws import stream

BATCH = 0.5
"""Spread of a whole purchase over that from piece to piece: pieces of one case are alike (from memory)."""
LEAST_EATEN = 0.05
"""No draw eats less of a piece than this share of it: the tails of the losses would add up to more than there is."""
USUAL_PIT: Final = ("pellet-cooker", 121.1)
"""Where a cut's usual loss is run: a kind of pit, and what it is set to [C]."""
_ANY_DAY = datetime(2026, 6, 6, 6, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of an item.

    on_kg: [kg] as it goes on; bought_kg: [kg] as it is bought; low_kg, high_kg: [kg] what to ask the butcher for;
    spread: [-] standard deviation from piece to piece over the mean
    """

    on_kg: float
    bought_kg: float
    low_kg: float
    high_kg: float
    spread: float


def piece_of(item: ItemWish, cut: Cut, buy: Buying) -> Piece:
    """One piece of an item: as the cook says, else the middle of the cut's usual range."""
    kept = 1.0 if item.trimmed else 1.0 - buy.trim_share.value
    low, high = buy.piece_low_kg.value, buy.piece_high_kg.value
    spread = (high - low) / 12**0.5 / ((high + low) / 2)  # alike between the ends of the range
    if item.mass_kg is not None:
        on_kg = item.mass_kg
    elif buy.key == cut.key:
        on_kg = (low + high) / 2 * (1.0 - buy.trim_share.value)
    else:
        on_kg = cut.shape.mass_kg.value
    bought_kg = on_kg / kept
    half = spread * 3**0.5
    return Piece(on_kg, bought_kg, bought_kg * (1.0 - half), bought_kg * (1.0 + half), spread)


def eaten_share(buy: Buying, label: str, loss: Sequence[float] | Floats | None, seed: int, draws: int) -> Floats:
    """Share of a raw piece, as it goes on, that is eaten; (draws,).

    buy: the cut's bone and what is lost besides water; label: of the item, for its stream
    loss: [-] water lost by every member of a run at the moment it is ready; None: the catalog's

    Raises InputError: a loss that is empty, not a number, or outside 0 to 0.9.
    """
    rng = stream(seed, f"yield {label}")
    if loss is None:
        water = _drawn(buy.water_share, rng, draws)
    else:
        members = np.asarray(loss, dtype=np.float64).ravel()
        if members.size == 0 or not np.all((members >= 0.0) & (members <= 0.9)):
            raise InputError(
                "the cooking loss is empty or not a share between 0 and 0.9",
                "Give the loss of every member that got ready, as loss_of does",
                Place(field="loss"),
            )
        rng.standard_normal(draws)  # what the catalog's loss would have drawn, so that the rest stays as it is
        water = stream(seed, f"loss {label}").choice(members, draws)
    gone = water + _drawn(buy.beyond_water_share, rng, draws) + _drawn(buy.not_eaten_share, rng, draws)
    return np.asarray(np.maximum(1.0 - gone, LEAST_EATEN))


def _drawn(figure: Figure, rng: np.random.Generator, draws: int) -> Floats:
    return np.asarray(np.maximum(figure.value + figure.spread * rng.standard_normal(draws), 0.0))


def trimmed(item: ItemWish, buy: Buying, seed: int, draws: int) -> Floats:
    """What trimming leaves, over what it leaves in the mean [-]; (draws,). 1 where the weight is that after it."""
    if item.trimmed or item.mass_kg is not None:
        return np.ones(draws)
    cut_off = _drawn(buy.trim_share, stream(seed, f"trim {item.label}"), draws)
    return np.asarray(np.maximum(1.0 - cut_off, LEAST_EATEN) / (1.0 - buy.trim_share.value))


class Pieces:
    """Raw mass of any number of pieces [kg] in every draw; more pieces never weigh less."""

    def __init__(self, piece: Piece, label: str, seed: int, draws: int) -> None:
        ln_sd = float(np.sqrt(np.log1p(piece.spread**2)))
        self._piece, self._many = piece, Many(ln_sd, stream(seed, f"pieces {label}"), draws)
        batch = BATCH * ln_sd
        self._batch = np.exp(batch * stream(seed, f"batch {label}").standard_normal(draws) - 0.5 * batch**2)

    def on_kg(self, count: int) -> Floats:
        """As they go on; (draws,)."""
        return np.asarray(self._many.total(count) * self._batch * self._piece.on_kg)


@lru_cache(maxsize=256)
def loss_of(
    item: ItemWish,
    pit_kind: str,
    set_c: float,
    *,
    stages: tuple[StagePlan, ...] = (),
    altitude_m: float = 0.0,
    air_c: float | None = None,
    rh: float | None = None,
    members: int = 96,
    seed: int = 1,
) -> tuple[float, ...]:
    """Water that each member of an item has lost when it can be served, as a share of the raw piece [-].

    Runs the section once for the same arguments (kept in memory). Members that never get ready count with their
    last loss; members that failed are left out.

    item: what is cooked; pit_kind: catalog key; set_c: what the pit is set to [C]; stages: in place of the item's own

    Raises InputError: an unknown cut or pit; fewer than 8 members; nothing that came through.
    """
    from pitreckon.reckon.forecast import reckon_runs  # noqa: PLC0415  the kernel: a plan from tables needs none of it

    cut = catalog.cut(item.cut)
    piece = piece_of(item, cut, buying(cut.key))
    plan = ItemPlan(
        *(item.label, cut.key, 1, piece.on_kg, "pit", _ANY_DAY, item.start_c, item.thickness_m),
        *(item.thickness_factor, item.sugar, item.salt_g_per_kg, stages or item.stages),
    )
    pit = PitPlan("pit", catalog.pit(pit_kind).key, set_c)
    cook = Cook("loss", "UTC", None, altitude_m, air_c, rh, (pit,), (plan,))
    _, (run,) = reckon_runs(cook, members=members, seed=seed)
    ready = np.where(np.isnan(run.ready_s), np.inf, run.ready_s)
    until = (run.trace.time_s[:, None] <= ready + 1.0) & np.isfinite(run.trace.loss)
    came = until.any(axis=0) & np.isnan(run.trace.failed_s)
    if not came.any():
        raise InputError(f"the model failed for '{item.label}' in every member", "Change its course or its pit")
    loss = np.max(np.where(until, run.trace.loss, 0.0), axis=0)[came]
    return tuple(float(each) for each in np.clip(loss, 0.0, 0.9))


def usual_loss(cut: str) -> tuple[float, ...]:
    """Water that each member has lost in a cut's usual course [-]: its mean is ``water_share`` of the buying file.

    On a pellet cooker at 250 degF, 64 members, seed 1. Raises InputError: an unknown cut.
    """
    return loss_of(ItemWish("usual", cut), *USUAL_PIT, members=64, seed=1)
