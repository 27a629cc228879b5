"""``python -m validation.chained``: simulation-based calibration of what a house believes after five cooks.

A house is drawn as the program's prior has houses: constants that hold for all cooks, a pit whose own ways wander by
its stated forgetting, a butcher for each cut, one person who looks, with a bias of which a part comes again. Five cooks
of it are drawn with pieces of their own, run by the forecaster's own model, and looked at as the likelihoods say looks
come about. A lesson is made after each. Then the belief about the next cook, of the same cut on the same pit by the
same person, is held against what that cook has been drawn to be: the chance below the truth (of the normal belief; for
the time it turns tender the weight of the members below) is as likely to be one as another. [talts2018]_

The chance is reckoned for every level of pit and meat, for the bias of the next cook's words, for the time it is
tender, as it is foretold at put-on, and for how far the truth is from the belief in all that was learned at once.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr
from scipy.stats import chi2, kstest

from pitreckon.catalog.calibrated import calibrated
from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.events import Event
from pitreckon.reckon import looks as errors_of
from pitreckon.reckon.baths import ONE_BATH_SD_K
from pitreckon.reckon.draws import stream
from pitreckon.reckon.hands import (
    HAND_KEEPS_S,
    OWN,
    OWN_OF_THERMOMETER,
    THERMOMETER,
    THERMOMETER_KEEPS_S,
    Bias,
    bias_of,
    error_of_spot,
    usual,
)
from pitreckon.reckon.learned import PIT_KEEPS_S, SAME_SOURCE, Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.levels import EVERYWHERE, OF_THE_DAY, PITS, ROW, UNKNOWNS, Levels
from pitreckon.reckon.measures import at_places, looked
from pitreckon.reckon.posterior import posterior
from pitreckon.reckon.prepare import GRATE, Ensemble, Track, ensemble, tracks_of
from pitreckon.section.simulate import simulate_all
from pitreckon.section.trace import Trace
from validation.calibration import START, probe_of, rank, say, uniform_p
from validation.histograms import histograms
from validation.marked import put

Floats = NDArray[np.float64]
COOKS, EVERY = 5, timedelta(days=14)
CUTS: Final = ("st-louis-ribs", "chicken-thigh", "st-louis-ribs", "st-louis-ribs", "st-louis-ribs", "st-louis-ribs")
"""Of the five cooks, and of the next one, which is foretold."""
WITH_PROBE: Final = (1, 3)
"""Cooks, from 0, in which a probe was left in."""
PIT, KIND, WHO = "pit", "pellet-cooker", "Ana"
NOW_H = 3.0
LOOKS_H: Final[Mapping[str, tuple[float, ...]]] = {
    "colour": (1.0, 2.0),
    "probe feel": (2.0, 2.75),
    "spot temperature": (1.5,),
    GRATE: (1.0,),
}
HANDS: Final = tuple(what for what in LOOKS_H if LOOK_KINDS[what].scale or LOOK_KINDS[what].errors.instrument)
"""Of what the person has a bias: two scales of words, and the thermometer."""
IN_ICE: Final = (2,)
"""Cooks, from 0, before which the thermometer was put into ice water."""
TRUTHS, MEMBERS, SEED, BINS = 192, 128, 20261130, 8
LEAST_P: Final = 0.01
DRAWN: Final = (
    *("offset", "wall", "convection", "lag", "gelatin", "colour", "scale", "transport", "hand, colour"),
    *("hand, probe feel", f"hand, {THERMOMETER}", "direction 1", "direction 2", "together", "tender"),
)
README = Path(__file__).parent / "README.md"
PICTURE = Path(__file__).parent / "results" / "chained.svg"
BEGIN, END = "<!-- made by python -m validation.chained: begin -->", "<!-- end of chained -->"


def begins(n: int) -> datetime:
    """When a cook, from 0, goes on."""
    return START + n * EVERY


def a_cook(n: int) -> Cook:
    """The cook of a number: a rack that is wrapped after two hours, or a thigh, on a pellet cooker."""
    stages = (
        StagePlan("open", Until("minutes", 2 * 3600.0)),
        StagePlan("wrapped", Until("minutes", 10 * 3600.0), wrap="foil"),
        StagePlan("rest", Until("minutes", 600.0)),
    )
    cut = CUTS[n]
    mass_kg = 1.2 if cut == "st-louis-ribs" else 0.2
    item = ItemPlan("meat", cut, 1, mass_kg, PIT, begins(n), stages=stages)
    return Cook(f"cook {n}", "UTC", None, 0.0, 15.0, 0.5, (PitPlan(PIT, KIND, 135.0),), (item,))


def shown_of(n: int, seed: int) -> list[Event]:
    """What the pit's readout showed in a cook, and that the meat went on."""
    rng = stream(seed, f"shown {n}")
    shown = 133.0 + np.cumsum(rng.normal(0.0, 1.5, int(NOW_H * 12) + 1)) * 0.5
    air = [Reading(begins(n) + timedelta(minutes=5 * i), "pit air", PIT, None, float(v)) for i, v in enumerate(shown)]
    return [*air, Act(begins(n), "meat", "put on")]


@dataclass(frozen=True)
class House:
    """True houses. w: of each cook's piece and pit, (cooks, unknowns, houses); bias: by scale, (cooks, houses)"""

    w: Floats
    bias: Mapping[str, Floats]


def wandering(rng: np.random.Generator, shape: tuple[int, ...], cooks: int, keeps_s: float) -> Floats:
    """Standard numbers that forget: alike by exp(-age / keeps) from cook to cook, (cooks, *shape)."""
    keep = float(np.exp(-EVERY.total_seconds() / keeps_s))
    out = [rng.standard_normal(shape)]
    for _ in range(1, cooks):
        out.append(keep * out[-1] + np.sqrt(1.0 - keep**2) * rng.standard_normal(shape))
    return np.stack(out)


def draw_houses(levels: Sequence[Levels], cuts: Sequence[str], many: int, rng: np.random.Generator) -> House:
    """Houses of the prior. levels, cuts: of each cook's piece."""
    cooks = len(levels)
    common = rng.standard_normal((len(calibrated().addresses), many))
    memory = {name: rng.standard_normal(many) for name in EVERYWHERE}
    own = np.concatenate(
        [
            wandering(rng, (PITS, many), cooks, PIT_KEEPS_S),
            rng.standard_normal((cooks, len(UNKNOWNS) - PITS, many)),
        ],
        axis=1,
    )
    for cut in dict.fromkeys(cuts):
        source = rng.standard_normal((len(UNKNOWNS) - PITS, many))
        for n in range(cooks):
            if cuts[n] == cut:
                share = SAME_SOURCE * (1.0 - levels[n].piece[PITS:, None])
                own[n, PITS:] = np.sqrt(share) * source + np.sqrt(1.0 - share) * own[n, PITS:]
    for name in OF_THE_DAY:
        own[:, ROW[name]] = rng.standard_normal((cooks, many))
    w = []
    for n, of in enumerate(levels):
        off = of.loads @ common + of.own[:, None] * own[n]
        for name in EVERYWHERE:
            off[ROW[name]] += of.memory[ROW[name]] * memory[name]
        w.append(np.linalg.solve(of.mix, off / of.sd[:, None]))
    bias = {}
    for what in HANDS:
        own_share, keeps_s = (OWN_OF_THERMOMETER, THERMOMETER_KEEPS_S) if what == THERMOMETER else (OWN, HAND_KEEPS_S)
        comes_again = wandering(rng, (many,), cooks, keeps_s)
        of_day = rng.standard_normal((cooks, many))
        bias[what] = usual(what).sd * (np.sqrt(own_share) * comes_again + np.sqrt(1.0 - own_share) * of_day)
    return House(np.stack(w), bias)


@dataclass(frozen=True)
class Ranks:
    """Chances below the truths, 0 to 1, by what was believed, (houses,). learned: lines that each house had."""

    of: dict[str, Floats]
    learned: Floats

    def p_values(self) -> dict[str, tuple[float, float]]:
        """Of Pearson's chi-square in ``BINS`` bins, and of Kolmogorov's test."""
        return {name: (uniform_p(each), float(kstest(each, "uniform").pvalue)) for name, each in self.of.items()}


def chain(truths: int, members: int, seed: int, *, first: int = 0, told: bool = False) -> Ranks:
    """Draw houses, let each learn from its five cooks, and rank the truth of the sixth; from number ``first`` on."""
    blank = [_track(n, Ledger.of(shown_of(n, seed)), seed) for n in range(COOKS)]
    ahead = _track(COOKS, None, seed)
    levels = [each.levels for each in (*blank, ahead)]
    houses = draw_houses(levels, CUTS, first + truths, stream(seed, "houses"))
    runs = [ensemble(replace(each, seed=seed + 1), houses.w[n], NOW_H * 3600.0 + 600.0) for n, each in enumerate(blank)]
    runs.append(ensemble(replace(ahead, seed=seed + 1), houses.w[COOKS], ahead.horizon_s))
    traces = simulate_all([each.job for each in runs])
    tender = np.nan_to_num(traces[COOKS].mark("tender"), nan=np.inf)
    found: dict[str, list[float]] = {}
    lines = []
    for i in range(first, first + truths):
        begun = time.perf_counter()
        lessons = learned_by(i, houses, runs, traces, members, seed)
        lines.append(sum(each.value.size for each in lessons.lessons))
        chances = believed(lessons, ahead, houses.w[COOKS, :, i])
        chances |= of_hands(lessons, {what: float(houses.bias[what][COOKS, i]) for what in HANDS})
        (got,) = posterior([replace(ahead, seed=seed + 1000 + i)], members, lessons=lessons)
        late = np.nan_to_num(got.trace.mark("tender"), nan=np.inf)
        chances["tender"] = rank(late, got.weights, float(tender[i]), stream(seed, f"ties {i}"))
        for name, chance in chances.items():
            found.setdefault(name, []).append(chance)
        if told:
            print(f"house {i}: {time.perf_counter() - begun:.1f} s", flush=True)
    return Ranks({name: np.array(each) for name, each in found.items()}, np.array(lines))


def _track(n: int, ledger: Ledger | None, seed: int) -> Track:
    cook = a_cook(n)
    now = begins(n) + timedelta(hours=NOW_H if ledger is not None else 0.0)
    return tracks_of(cook, cook.items[0], ledger or Ledger(), now, seed)[0]


def learned_by(
    i: int, houses: House, runs: Sequence[Ensemble], traces: Sequence[Trace], members: int, seed: int
) -> Lessons:
    """What house ``i`` has learned of its five cooks, a lesson after each."""
    lessons = Lessons()
    for n in range(COOKS):
        rng = stream(seed, f"house {i} cook {n}")
        events = [*shown_of(n, seed), *seen_of(n, i, houses, runs[n], traces[n], rng)]
        lessons = lessons.plus(learn(a_cook(n), Ledger.of(events), f"cook {n}", members=members, seed=seed + i))
    return lessons


def seen_of(n: int, i: int, houses: House, run: Ensemble, trace: Trace, rng: np.random.Generator) -> list[Event]:
    """What was looked at in cook ``n`` of house ``i``, as the likelihoods have it."""
    out: list[Event] = []
    track = run.track
    for what, hours in LOOKS_H.items():
        for hour in hours:
            at, at_s = begins(n) + timedelta(hours=hour), 3600.0 * hour
            tail = float(rng.standard_t(errors_of.TAIL_DEGREES))
            if what == GRATE:
                at_pit = next(each for each in shown_of(n, _seed_of(run)) if each.at_utc == at)
                assert isinstance(at_pit, Reading)
                over_k = float(run.draw.grate_k[i]) + LOOK_KINDS[what].errors.each * tail
                out.append(Look(at, PIT, None, what, at_pit.value_c + over_k))
                continue
            blank = Look(at, "meat", None, what, 0.0, by=WHO)
            if what != THERMOMETER:
                level = float(looked(track.cut, run.draw, trace, blank, at_s, track.item.mass_kg)[i])
                value = say(what, level + float(houses.bias[what][n, i]), rng)
            else:
                place = rng.choice(errors_of.PLACE_SHARES.size, p=errors_of.PLACE_SHARES)
                rest_k = error_of_spot(Bias(0.0, 0.0))
                value = float(at_places(trace, at_s)[place, i]) + float(houses.bias[what][n, i]) + rest_k * tail
            out.append(replace(blank, value=value))
    if n in IN_ICE:
        read_c = float(houses.bias[THERMOMETER][n, i] + ONE_BATH_SD_K * rng.standard_normal())
        out.append(Look(begins(n) + timedelta(minutes=5), "meat", None, "spot check", read_c, by=WHO))
    if n in WITH_PROBE:
        shift = begins(n) - START
        out += [replace(each, at_utc=each.at_utc + shift, on="meat") for each in probe_of(trace, i, rng)]
    return out


def _seed_of(run: Ensemble) -> int:
    return run.track.seed - 1


def believed(lessons: Lessons, ahead: Track, w: Floats) -> dict[str, float]:
    """Chances below the truth ``w`` of the next piece, by unknown, and of all that was learned together."""
    levels = ahead.levels
    place = (ahead.pit, KIND, ahead.item.cut, ahead.put_on)
    says = lessons.says(levels, place)
    precision = np.eye(w.size) + says.precision
    covariance = np.linalg.inv(precision)
    mean = covariance @ says.vector
    off = levels.mix @ (w - mean)
    sd = np.sqrt(np.diag(levels.mix @ covariance @ levels.mix.T))
    out = {name: float(chance) for name, chance in zip(UNKNOWNS, ndtr(off / sd), strict=True)}
    size, vectors = np.linalg.eigh(says.precision)
    best = vectors[:, np.argsort(-size)[:MOST_TOGETHER]]
    apart = best.T @ (w - mean)
    square = float(apart @ np.linalg.solve(best.T @ covariance @ best, apart))
    out["together"] = float(chi2.cdf(square, MOST_TOGETHER))
    for k in range(BEST):
        spread = np.sqrt(best[:, k] @ covariance @ best[:, k])
        # The sign of a direction is nobody's: the way in which the belief went is up.
        toward = 1.0 if best[:, k] @ mean >= 0.0 else -1.0
        out[f"direction {k + 1}"] = float(ndtr(toward * apart[k] / spread))
    return out


MOST_TOGETHER, BEST = 4, 2
"""Best-known directions of all unknowns that are looked at together, and each by itself."""


def of_hands(lessons: Lessons, true: Mapping[str, float]) -> dict[str, float]:
    """Chances below the bias of the next cook's words."""
    known = lessons.hands(begins(COOKS))
    out = {}
    for what, bias in true.items():
        belief = bias_of(known, WHO, what)
        out[f"hand, {what}"] = float(ndtr((bias - belief.mean) / belief.sd))
    return out


def page(found: Ranks, *, truths: int, members: int, seed: int) -> str:
    """A table of the p-values, the least first, with what is to be expected of so many."""
    p = sorted(found.p_values().items(), key=lambda each: min(each[1]))
    every = [value for _, both in p for value in both]
    low = sum(value < LEAST_P for value in every)
    head = f"{truths} houses of {COOKS} cooks, {members} members, seed {seed}; a house's lessons had "
    head += f"{np.median(found.learned):.0f} lines, in the middle one. Of {len(every)} p-values ({len(p)} beliefs, two "
    head += f"tests each) {low} are below {LEAST_P:g}, where chance alone would put {LEAST_P * len(every):.1f}; the "
    head += f"least times their number (Holm) is {min(1.0, min(every) * len(every)):.2g}."
    lines = [head, "", "| belief | p, chi-square | p, Kolmogorov | chances in eight bins |", "|---|---|---|---|"]
    for name, (square, kolmogorov) in p:
        counts = np.histogram(found.of[name], BINS, (0.0, 1.0))[0]
        lines.append(f"| {name} | {square:.3f} | {kolmogorov:.3f} | {' '.join(map(str, counts))} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.chained", description=__doc__)
    parser.add_argument("--truths", type=int, default=TRUTHS)
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--write", action="store_true", help="put table and picture into validation/")
    given = parser.parse_args()
    found = chain(given.truths, given.members, given.seed, told=True)
    made = page(found, truths=given.truths, members=given.members, seed=given.seed)
    print(made)
    if given.write:
        put(made, BEGIN, END, README)
        PICTURE.write_text(histograms({name: found.of[name] for name in DRAWN}, BINS), "utf-8")


if __name__ == "__main__":
    main()
