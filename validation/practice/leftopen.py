"""``python -m validation.practice.leftopen``: what is still open when the trade and the experiments have spoken.

Two results for the forecaster, who has the whole table; where the constants' middles lie was fitted on the fit half
alone and stays.

The first is the covariance of all fitted constants about the catalog's values. A band tells how cooks differ; its
middle is told far better than one cook's time, but all rows of a cut by the same tellers: a row's middle is off by
half of a cook's standard deviation of its own, and times of one cut by ``COMMON`` together (a judgement). The bands'
width decides, not what the model says of them: the covariance is that of the linear model with these errors.

The second are two numbers, ``pit_spread`` and ``piece_spread``: how far pits and pieces differ from their like over
what memory says of each, so that on the fit half's times nine cooks in ten are as far apart as the trade has them
(non-negative least squares of variances). The other half, fitted by itself, tells what they are worth.
"""

from __future__ import annotations

import argparse
import re
from dataclasses import dataclass
from math import log
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from pitreckon import catalog
from pitreckon.reckon.draws import hypercube, stream, wrap_of
from pitreckon.reckon.levels import PIT_UNKNOWNS, PLACES, UNKNOWNS, factor_of, levels_of
from validation.practice import adapter, deal, gaussnewton, objective, outcome, parameters, runs, table
from validation.practice.measure import measure
from validation.practice.score import CUT
from validation.practice.table import Row

Floats = NDArray[np.float64]

DATA = Path("src/pitreckon/catalog/data/constants")
OWN_ERROR = 0.5
"""Error of a band's middle by itself, in standard deviations of a cook."""
COMMON = 0.08
"""Error of all times of one cut together, of their logarithm."""
UNTOLD = 0.97
"""Spread that is left of a number, over its prior's, where nothing was told of it."""
COOKS = 48
NINE_IN_TEN = 2.0 * objective.NINE_IN_TEN_SD


def is_time(row: Row) -> bool:
    """Is it a time from put-on, with a band?"""
    return row.form == "value" and row.quantity.startswith("time_to") and row.bounded and row.low > 0.0


def cook_sd(row: Row) -> float:
    """Standard deviation of a cook's time, of its logarithm."""
    return log(row.high / row.low) / NINE_IN_TEN


def covariance() -> tuple[list[parameters.Parameter], Floats]:
    """Every fitted constant and their covariance, in prior standard deviations."""
    halves = deal.dealt()["half"]
    rows = [row for half in (deal.FIT, deal.TEST) for row in objective.fitted_rows(halves, half)]
    offered, _ = parameters.match()
    free = parameters.used(offered, table.setups(), {key for row in rows for key in row.setups})
    misfits = objective.Objective(free, rows, objective.fit_experiments(), runs.Store())
    slope = gaussnewton.jacobian(misfits, parameters.today(free))
    middle = misfits([parameters.today(free)])[0]
    near = np.abs(middle) < objective.standard(CUT)  # a row that is missed by far says nothing of the slope
    # From quarter rows to standard deviations of a cook.
    slope[: len(rows)] /= objective.ROW_WORTH**0.5
    errors = np.eye(len(slope))
    errors[: len(rows), : len(rows)] *= OWN_ERROR**2
    times = [i for i, row in enumerate(rows) if is_time(row)]
    for i in times:
        for j in times:
            if table.setups()[rows[i].setup].cut == table.setups()[rows[j].setup].cut:
                errors[i, j] += COMMON**2 / (cook_sd(rows[i]) * cook_sd(rows[j]))
    slope, errors = slope[near], errors[np.ix_(near, near)]
    return free, np.linalg.inv(slope.T @ np.linalg.solve(errors, slope) + np.eye(len(free)))


@dataclass(frozen=True)
class Apart:
    """How far cooks are apart on one row, of the logarithm: by the trade, and in the model at factors of 1."""

    row: Row
    trade: float
    pits: float
    pieces: float


def apart(half: str) -> list[Apart]:
    """Rows of a half: pits and pieces drawn as memory has them, the model's own constants at their middles."""
    halves = deal.dealt()["half"]
    rows = [row for row in objective.fitted_rows(halves, half) if is_time(row)]
    keys = list(dict.fromkeys(row.setup for row in rows))
    pits, pieces = _sd(rows, keys, of_pits=True), _sd(rows, keys, of_pits=False)
    every = [Apart(row, cook_sd(row), pits[row.key], pieces[row.key]) for row in rows]
    return [each for each in every if np.isfinite(each.pits + each.pieces)]


def _sd(rows: list[Row], keys: list[str], *, of_pits: bool) -> dict[str, float]:
    curves = adapter.run([each for key in keys for each in _cooks(key, of_pits)])
    of = {key: curves[i * COOKS : (i + 1) * COOKS] for i, key in enumerate(keys)}
    times = {row.key: np.array([measure(curve, row.quantity, row.unit) for curve in of[row.setup]]) for row in rows}
    return {key: float(np.log(hours).std()) for key, hours in times.items()}


def _cooks(key: str, of_pits: bool) -> list[adapter.Built]:
    setup = table.setups()[key]
    cut, pit = (getattr(catalog, kind)(adapter.key_of(kind, getattr(setup, kind))) for kind in ("cut", "pit"))
    levels = levels_of(cut, pit, wrap_of(adapter.item_of(setup)), measured=False)
    each = hypercube(stream(1, f"leftopen {key}"), UNKNOWNS, COOKS)
    z = np.stack([each[name] for name in UNKNOWNS])
    drawn = np.array([(name in PIT_UNKNOWNS or name in PLACES) == of_pits for name in UNKNOWNS])
    memory = levels.own / [factor_of(name) for name in UNKNOWNS]
    z *= (drawn * memory / levels.sd)[:, None]
    return [adapter.build(setup, z[:, [k]]) for k in range(COOKS)]


def factors(found: list[Apart]) -> tuple[float, float]:
    """What the spreads of pits and of pieces are to be multiplied by."""
    trade = np.array([a.trade for a in found])
    parts = np.array([[a.pits, a.pieces] for a in found])
    squares, _ = nnls((parts / trade[:, None]) ** 2, np.ones(trade.size))
    return float(np.sqrt(squares[0])), float(np.sqrt(squares[1]))


def main() -> None:
    """Reckon both, say them, write them where asked."""
    parser = argparse.ArgumentParser(prog="python -m validation.practice.leftopen", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put both into the catalog")
    write = parser.parse_args().write
    free, found = covariance()
    for p, sd in zip(free, np.sqrt(np.diag(found)), strict=True):
        print(f"{p.name:30} {sd * p.sd:8.3g} {p.sd:8.3g}")
    fit, test = apart(deal.FIT), apart(deal.TEST)
    of = dict(zip(("pit_spread", "piece_spread"), factors(fit), strict=True))
    other = factors(test)
    print(f"fit half, {len(fit)} times: {', '.join(f'{name} {value:.3f}' for name, value in of.items())}")
    print(f"test half by itself, {len(test)} times: {other[0]:.3f}, {other[1]:.3f}")
    wide = np.mean(
        [((of["pit_spread"] * a.pits) ** 2 + (of["piece_spread"] * a.pieces) ** 2) / a.trade**2 for a in test]
    )
    print(f"with the fit half's, variances of the test half are {wide:.2f} times the trade's")
    if write:
        # Where no row says anything of a cut's constant, it is no fitted one: the cut's own spread stands for it.
        told = [i for i, p in enumerate(free) if p.kind != "cut" or found[i, i] < UNTOLD**2]
        outcome.write_correlations([free[i] for i in told], found[np.ix_(told, told)], DATA / "correlations.csv")
        file = DATA / "meat.toml"
        text = file.read_text("utf-8")
        for name, value in of.items():
            text, count = re.subn(rf"(?<=\[{name}\])(.*\nvalue = ).*", rf"\g<1>{value:.3g}", text)
            assert count == 1
        file.write_text(text, "utf-8")


if __name__ == "__main__":
    main()
