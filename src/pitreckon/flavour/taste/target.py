"""A mix changed as little as can be so that it meets targets: ``same heat, half the sugar, at most 1.2 % salt``.

Every target is linear in the amounts of the ingredients, and the change is measured by the sum of the squares of the
relative changes of the amounts. That is a least-distance problem; it is solved exactly through its dual, a
least-squares problem without negative unknowns (Lawson and Hanson, Solving Least Squares Problems, chapter 23, from
memory).
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog.foods import Range
from pitreckon.errors import InputError
from pitreckon.flavour.mix import DRY_USES
from pitreckon.flavour.taste.tastes import amount_of
from pitreckon.flavour.weigh.batch import Batch, Contents
from pitreckon.units import format_percent, parse_salt_dose, parse_share, shown

MEASURES: Final = ("sugar", "sweetness", "salt", "heat", "acid", "weight", "calories")
_WORDS: Final = {"sweet": "sweetness", "sodium": "salt", "hot": "heat", "pungency": "heat", "sour": "acid"}
_SIZES: Final = {"same": 1.0, "half": 0.5, "double": 2.0, "third": 1 / 3, "quarter": 0.25}
_ONE: Final = re.compile(r"(\w+)\s+(at most|at least|up to|to)?\s*(.+)", re.IGNORECASE)
_OF_MIX: Final = re.compile(r"(.+?)\s+of the mix", re.IGNORECASE)
TOLERANCE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Target:
    """One thing that the mix is to meet.

    what: one of ``MEASURES``; sense: ``is`` | ``at most`` | ``at least``
    value: [-]; of: ``before`` (times what it has now), ``mix`` or ``meat`` (share of its weight)
    words: as it was asked for
    """

    what: str
    sense: str
    value: float
    of: str
    words: str


def parse_targets(text: str) -> tuple[Target, ...]:
    """Targets from ``sugar half; heat same; salt at most 1.2 %``.

    A share of salt is of the meat's weight (as is ``12 g/kg``), or ``of the mix``; every other one of what it is now.

    Raises InputError: a target that cannot be read.
    """
    targets = tuple(_target(each) for each in re.split(r"[;,]", text) if each.strip())
    if not targets:
        raise InputError("there is no target", 'Write it as in "sugar half; heat same; salt at most 1.2 %"')
    return targets


def _target(text: str) -> Target:
    words = " ".join(text.split())
    found = _ONE.fullmatch(words)
    example = "Write it as in sugar half, heat same, salt at most 1.2 %, weight at most 80 %"
    if found is None:
        raise InputError(f"{shown(words)} is no target", example)
    what = found[1].casefold()
    what = _WORDS.get(what, what)
    if what not in MEASURES:
        raise InputError(f"{shown(found[1])} is nothing a mix can be changed by", f"Write {', '.join(MEASURES)}")
    asked = (found[2] or "").casefold()
    sense = {"at most": "at most", "up to": "at most", "at least": "at least"}.get(asked, "is")
    of_mix = _OF_MIX.fullmatch(found[3])
    size = (of_mix[1] if of_mix else found[3]).casefold()
    if of_mix:
        return Target(what, sense, parse_share(size), "mix", words)
    if size in _SIZES:
        return Target(what, sense, _SIZES[size], "before", words)
    times = re.fullmatch(r"([0-9]*\.?[0-9]+)\s*times", size)
    if times is not None:
        return Target(what, sense, float(times[1]), "before", words)
    try:
        if what == "salt":
            return Target(what, sense, parse_salt_dose(size) / 1000.0, "meat", words)
        return Target(what, sense, parse_share(size), "before", words)
    except InputError as error:
        raise InputError(error.trouble, example) from None


def measure(contents: Contents, what: str) -> Range:
    """How much of a measure is in an amount: g, mg of capsaicin, kcal, or g of weight."""
    if what in {"sugar", "calories"}:
        return contents.nutrients["sugars_g" if what == "sugar" else "energy_kcal"]
    if what == "weight":
        return Range.exact(1000.0 * contents.mass_kg)
    return amount_of(contents, {"sweetness": "sweet", "heat": "hot", "acid": "sour"}.get(what, what))


def solve(batch: Batch, targets: Sequence[Target], meat_kg: float | None = None) -> Batch:
    """The mix that meets the targets, changed as little as can be.

    meat_kg: that a batch goes on; needed for a share of the meat

    A rub may change in weight: what counts is what a batch brings to the meat. Anything else keeps its weight, unless
    a target is about the weight, because its strength counts. Ranges count by their middle.

    Raises InputError: the targets cannot be met together, and which of them stands in the way.
    """
    rows = [_row(batch, each, meat_kg) for each in targets]
    names = [each.words for each in targets]
    if batch.mix.use not in DRY_USES and not any(each.what == "weight" for each in targets):
        rows.append(_row(batch, Target("weight", "is", 1.0, "before", "weight same"), meat_kg))
        names.append("weight same, as for any mix but a rub")
    _explain_if_it_cannot_be(rows, names)
    factors = _least_change(rows)
    kept = tuple(each.times(float(f)) for each, f in zip(batch.ingredients, factors, strict=True) if f > 1e-6)
    return Batch(batch.mix, kept)


@dataclass(frozen=True, slots=True)
class _Row:
    """weights @ factors, low to high, over the size of what is asked."""

    weights: Floats
    low: float
    high: float


def _row(batch: Batch, target: Target, meat_kg: float | None) -> _Row:
    has = np.array([measure(each.contents, target.what).middle for each in batch.ingredients])
    if target.of == "mix":  # sum(has) <= value * sum(weight), so a homogeneous row
        weight = np.array([1000.0 * each.mass_kg for each in batch.ingredients])
        has, goal = has - target.value * weight, 0.0
        size = max(float(np.abs(has).sum()), TOLERANCE)
    else:
        goal = _goal(batch, target, float(has.sum()), meat_kg)
        size = max(goal, float(has.sum()), TOLERANCE)
    low = -math.inf if target.sense == "at most" else goal / size
    high = math.inf if target.sense == "at least" else goal / size
    return _Row(has / size, low, high)


def _goal(batch: Batch, target: Target, now: float, meat_kg: float | None) -> float:
    if target.of == "meat":
        if meat_kg is None:
            raise InputError(
                f"'{target.words}' is a share of the meat, and '{batch.mix.name}' does not say how much meat it is for",
                'Write it in the mix file, as in covers = "2.5 kg", or ask for a share "of the mix"',
            )
        return target.value * 1000.0 * meat_kg
    if now <= 0.0 and target.value > 0.0 and target.sense == "is":
        raise InputError(f"'{target.words}': there is no {target.what} in '{batch.mix.name}'", "Leave it out")
    return target.value * now


def _least_change(rows: Sequence[_Row]) -> Floats:
    """Factors nearest to 1, none negative, that meet every row."""
    from scipy.optimize import nnls  # noqa: PLC0415  only a mix that is to be changed waits for it

    n = rows[0].weights.size
    G, h = [np.eye(n)], [-np.ones(n)]  # z >= -1, where z is the relative change
    for row in rows:
        now = float(row.weights.sum())
        if math.isfinite(row.low):
            G.append(row.weights[None])
            h.append(np.array([row.low - now]))
        if math.isfinite(row.high):
            G.append(-row.weights[None])
            h.append(np.array([now - row.high]))
    A, b = np.vstack(G), np.concatenate(h)
    E = np.vstack([A.T, b])
    f = np.zeros(n + 1)
    f[n] = 1.0
    u, _ = nnls(E, f, maxiter=100 * E.shape[1])
    r = E @ u - f
    change: Floats = -r[:n] / r[n]
    return np.maximum(1.0 + change, 0.0)


def _explain_if_it_cannot_be(rows: Sequence[_Row], names: Sequence[str]) -> None:
    if _possible(rows):
        return
    for row, name in zip(rows, names, strict=True):
        if not _possible([row]):
            raise InputError(f"'{name}' cannot be met by any amounts of these ingredients", _nearest([], row))
    for i, name in enumerate(names):
        others = [row for j, row in enumerate(rows) if j != i]
        if _possible(others):
            rest = " and ".join(f"'{other}'" for j, other in enumerate(names) if j != i)
            raise InputError(f"'{name}' cannot be met together with {rest}", _nearest(others, rows[i]))
    raise InputError(f"the targets contradict each other: {'; '.join(names)}", "Leave one out")


def _nearest(others: Sequence[_Row], row: _Row) -> str:
    """What can be had instead."""
    low, high = _reach(others, row, 1.0), _reach(others, row, -1.0)
    asked = row.high if math.isfinite(row.high) and low > row.high else row.low
    got = low if low > asked else high
    now = float(row.weights.sum())
    if not math.isfinite(got) or now <= TOLERANCE or asked <= 0.0:
        return "Leave it out, or add an ingredient that brings it"
    can, wanted = format_percent(got / now), format_percent(asked / now)
    return f"The nearest that can be had is {can} of what it is now, not {wanted}"


def _possible(rows: Sequence[_Row]) -> bool:
    return math.isfinite(_reach(rows, _Row(np.zeros(rows[0].weights.size), 0.0, 0.0), 1.0)) if rows else True


def _reach(rows: Sequence[_Row], of: _Row, sign: float) -> float:
    """Least (sign 1) or most (sign -1) of a row that the others allow; infinite when they allow nothing or anything."""
    from scipy.optimize import linprog  # noqa: PLC0415  as above

    A, b = [], []
    for row in rows:
        slack = TOLERANCE
        if math.isfinite(row.high):
            A.append(row.weights)
            b.append(row.high + slack)
        if math.isfinite(row.low):
            A.append(-row.weights)
            b.append(-row.low + slack)
    done = linprog(
        sign * of.weights,
        A_ub=np.array(A) if A else None,
        b_ub=np.array(b) if b else None,
        bounds=(0.0, None),
        method="highs",
    )
    return sign * float(done.fun or 0.0) if done.status == 0 else sign * math.inf
