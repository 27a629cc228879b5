"""Simulation-based calibration of the update on the forecaster's own model.

A truth is drawn from the prior and run; looks and a probe's record of it are drawn as the likelihood says they come
about; the update is given them. If it is right, the truth's rank among the posterior's members is as likely to be one
as another, for every unknown and for the time at which it is tender. [talts2018]_
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.reckon import looks as errors_of
from pitreckon.reckon.draws import stream
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.measures import at_places, looked
from pitreckon.reckon.posterior import posterior
from pitreckon.reckon.prepare import Ensemble, ensemble, tracks_of
from pitreckon.reckon.proberecord import Stretch
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace
from validation.marked import put

Floats = NDArray[np.float64]

START = datetime(2026, 10, 10, 12, 0, tzinfo=UTC)
NOW_H, BINS, LEAST_P = 3.0, 8, 0.01
LOOKS_H = {"colour": (1.0, 2.0), "probe feel": (2.0, 2.75), "spot temperature": (1.5, 2.5), "weight": (2.9,)}
PROBE_H = (0.5, 1.0, 1.5, 2.0, 2.5, 3.0)
TRUTHS, MEMBERS, SEED = 256, 192, 20260711
README = Path(__file__).parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.calibration: begin -->", "<!-- end of calibration -->"


@dataclass(frozen=True)
class Calibration:
    """Ranks of the truths, each 0 to 1, by what was ranked; and how many members counted."""

    ranks: dict[str, Floats]
    effective: Floats

    def p_values(self) -> dict[str, float]:
        """Of the chi-square test that the ranks are uniform."""
        return {name: uniform_p(ranks) for name, ranks in self.ranks.items()}


def uniform_p(ranks: Floats) -> float:
    """Chi-square p-value of uniform ranks in ``BINS`` bins."""
    counts, _ = np.histogram(ranks, BINS, (0.0, 1.0))
    expected = ranks.size / BINS
    return float(chi2.sf(np.sum((counts - expected) ** 2) / expected, BINS - 1))


def a_cook() -> Cook:
    """A rack on a pellet cooker that is wrapped after two hours."""
    stages = (
        StagePlan("open", Until("minutes", 2 * 3600.0)),
        StagePlan("wrapped", Until("minutes", 10 * 3600.0), wrap="foil"),
        StagePlan("rest", Until("minutes", 600.0)),
    )
    item = ItemPlan("racks", "st-louis-ribs", 1, 1.2, "pit", START, stages=stages)
    return Cook("calibration", "UTC", None, 0.0, 15.0, 0.5, (PitPlan("pit", "pellet-cooker", 135.0),), (item,))


def what_the_pit_showed(rng: np.random.Generator) -> list[Reading | Act]:
    """Readings every five minutes up to now, and that it went on."""
    shown = 133.0 + np.cumsum(rng.normal(0.0, 1.5, int(NOW_H * 12) + 1)) * 0.5
    readings: list[Reading | Act] = [
        Reading(START + timedelta(minutes=5 * i), "pit air", "pit", None, float(v)) for i, v in enumerate(shown)
    ]
    return [*readings, Act(START, "racks", "put on")]


def calibrate(
    truths: int, members: int, seed: int, *, looks: bool = True, probe: bool = True, first: int = 0
) -> Calibration:
    """Draw truths, update on what was seen of each, and rank them; from number ``first`` on."""
    cook = a_cook()
    known = what_the_pit_showed(np.random.default_rng(seed))
    now = START + timedelta(hours=NOW_H)
    blank = tracks_of(cook, cook.items[0], Ledger.of(known), now, seed)[0]
    of_truths = replace(blank, seed=seed + 1)
    true = ensemble(of_truths, of_truths.prior(first + truths), blank.horizon_s)
    trace = simulate_all([true.job])[0]
    tender = trace.mark("tender")
    ranks: dict[str, list[float]] = {name: [] for name in (*UNKNOWNS, "tender")}
    effective = []
    for i in range(first, first + truths):
        rng = stream(seed, f"truth {i}")
        seen: list[Look | Reading] = seen_of(true, trace, i, rng) if looks else []
        if probe:
            seen += probe_of(trace, i, rng)
        ledger = Ledger.of([*known, *seen])
        track = replace(tracks_of(cook, cook.items[0], ledger, now, seed)[0], seed=seed + 1000 + i)
        (got,) = posterior([track], members)
        for name, row, value in zip(UNKNOWNS, got.ensemble.z, true.z[:, i], strict=True):
            ranks[name].append(rank(row, got.weights, float(value), rng))
        late = np.nan_to_num(got.trace.mark("tender"), nan=np.inf)
        ranks["tender"].append(rank(late, got.weights, float(np.nan_to_num(tender[i], nan=np.inf)), rng))
        effective.append(got.evidence.ess)
    return Calibration({name: np.array(found) for name, found in ranks.items()}, np.array(effective))


def rank(values: Floats, weights: Floats, truth: float, rng: np.random.Generator) -> float:
    """Weight of the members below the truth; those at the same value count by chance."""
    below, same = weights[values < truth].sum(), weights[values == truth].sum()
    return float(np.clip(below + rng.random() * same, 0.0, 1.0 - 1e-12))


def seen_of(true: Ensemble, trace: Trace, i: int, rng: np.random.Generator) -> list[Look | Reading]:
    """Looks at truth ``i``, as the likelihood has them."""
    cut, item = true.track.cut, true.track.item
    out: list[Look | Reading] = []
    for what, hours in LOOKS_H.items():
        kind = LOOK_KINDS[what]
        bias = kind.errors.shared * rng.standard_normal()
        shared = rng.standard_normal()
        tail = np.sqrt(errors_of.TAIL_DEGREES / rng.chisquare(errors_of.TAIL_DEGREES))
        for hour in hours:
            at_s, at = hour * 3600.0, START + timedelta(hours=hour)
            blank = Look(at, item.label, None, what, 0.0)
            value = float(looked(cut, true.draw, trace, blank, at_s, item.mass_kg)[i])
            if kind.scale:
                value = say(what, value + bias, rng)
            elif kind.errors.of_raw:
                each = np.hypot(kind.errors.each * rng.standard_normal(), kind.errors.shared * shared)
                value += float(item.mass_kg * tail * np.sign(rng.standard_normal()) * abs(each))
            else:
                place = rng.choice(errors_of.PLACE_SHARES.size, p=errors_of.PLACE_SHARES)
                value = float(at_places(trace, at_s)[place, i])
                value += float(errors_of.SPOT_SD_K * rng.standard_t(errors_of.TAIL_DEGREES))
            out.append(replace(blank, value=value))
    return out


def say(scale: str, level: float, rng: np.random.Generator) -> float:
    """The word for a level, with a look's own error, now and then any word: its level on the scale."""
    kind = LOOK_KINDS[scale]
    steps = np.array(list(kind.scale.values()))
    if rng.random() < errors_of.BLUNDER:
        return float(rng.choice(steps))
    return float(steps[np.argmin(np.abs(steps - level - kind.errors.each * rng.standard_normal()))])


def probe_of(trace: Trace, i: int, rng: np.random.Generator) -> list[Look | Reading]:
    """A probe's record of truth ``i``."""
    place = rng.choice(errors_of.PLACE_SHARES.size, p=errors_of.PLACE_SHARES)
    at_s = np.array(PROBE_H) * 3600.0
    covariance = Stretch(at_s, at_s).covariance()
    tail = np.sqrt(errors_of.TAIL_DEGREES / rng.chisquare(errors_of.TAIL_DEGREES))
    off = np.linalg.cholesky(covariance) @ rng.standard_normal(at_s.size) * tail
    values = [float(at_places(trace, float(t))[place, i]) for t in at_s] + off
    return [
        Reading(START + timedelta(seconds=float(t)), "probe", "racks", None, float(v))
        for t, v in zip(at_s, values, strict=True)
    ]


def page(found: Calibration, *, truths: int, members: int, seed: int, classes: str) -> str:
    """A table of the p-values, the least first, with what is to be expected of so many."""
    p = sorted(found.p_values().items(), key=lambda pair: pair[1])
    low = sum(value < LEAST_P for _, value in p)
    head = f"{truths} truths ({classes}), {members} members, seed {seed}. Members that counted, in the middle truth: "
    head += f"{np.median(found.effective):.0f}. {low} of {len(p)} p-values are below {LEAST_P:g}, where chance alone "
    head += (
        f"would put {LEAST_P * len(p):.1f}; the least times their number (Holm) is {min(1.0, p[0][1] * len(p)):.2g}."
    )
    lines = [
        head,
        "",
        "| unknown | p | ranks in eight bins |",
        "|---|---|---|",
    ]
    lines += [
        f"| {name} | {value:.3f} | {' '.join(map(str, np.histogram(found.ranks[name], BINS, (0.0, 1.0))[0]))} |"
        for name, value in p
    ]
    return "\n".join(lines) + "\n"


def main() -> None:
    """``python -m validation.calibration``: run all of it and put its table into ``validation/README.md``."""
    found = calibrate(TRUTHS, MEMBERS, SEED)
    made = page(found, truths=TRUTHS, members=MEMBERS, seed=SEED, classes="looks and a probe")
    put(made, BEGIN, END, README)
    print(made)


if __name__ == "__main__":
    main()
