"""Readers made up from the model, whose cause is known: do the odds find it, and are they what they say?

They are drawn as the reckoning supposes readers to be, with other seeds: this checks the reckoning against itself and
shows what it can tell apart. It says nothing of whether real readers are like that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon import catalog
from pitreckon.lessons.diagnosis.causes import causes
from pitreckon.lessons.diagnosis.complaints import SAID, Usual, word_chances, words_likelihood
from pitreckon.lessons.diagnosis.likelihood import could_be, report_likelihood
from pitreckon.lessons.diagnosis.practice import Right, practice_of, usual_practice
from pitreckon.lessons.diagnosis.report import FAULTS, NOT_BOTH, Report
from pitreckon.lessons.diagnosis.run import Built, Plates, run_all
from pitreckon.lessons.diagnosis.seen import seen_level

__all__ = ["SimulatedReader", "simulated_readers"]

Floats = NDArray[np.float64]

TELLS: Final = {"on_s": 0.8, "wrapped_after_s": 0.8, "pulled_at_c": 0.7, "sauced_s": 0.6, "salt_g_per_kg": 0.5}
"""Share of readers who tell a part that there is (common practice, no source)."""
TELLS_LIQUID: Final = 0.5
ROUND_S: Final = 300.0


@dataclass(frozen=True, slots=True)
class SimulatedReader:
    """A made-up reader. cause: what it was; clear: who knew the very piece and pit, and what every cause does to them,
    would give it a chance of ``CLEAR`` or more: it can be told from the others at all
    level, shown: colour of the plate on its scale, and as it is seen with its sugar"""

    report: Report
    cause: str
    clear: bool
    level: float = 1.0
    shown: float = 1.0


CLEAR: Final = 0.5


def simulated_readers(
    cut: str, each: int, seed: int, *, tells: bool = True, threads: int | None = None
) -> list[SimulatedReader]:
    """Readers of one cut, ``each`` drawn of every cause, those whose plate they call good left out.

    tells: what they did, in part; else the words alone
    """
    plain = Report(cut=cut, faults=("tough",), pit="kettle", set_c=_set_of(cut) if tells else None)
    built = Built.of(plain, each, seed)
    good = run_all(built, [(usual_practice(built.cut, plain, each), built.z)], threads)[0]
    usual, right = Usual.of(good), good.right
    rng = np.random.default_rng([seed, 4_711])
    keys = [key for key in causes() if could_be(key, built.cut, plain) > 0.0 and not (tells and key.startswith("set "))]
    practices = [practice_of(key, built.cut, plain, right, each, seed) for key in keys]
    plates = run_all(built, [(practice, built.z) for practice in practices], threads)
    made = []
    for key, here in zip(keys, plates, strict=True):
        chances = word_chances(built.cut, here, usual)
        felt = {name: rng.random(each) < SAID * chance for name, chance in chances.items()}
        for m in range(each):
            faults = _together(tuple(name for name in FAULTS if felt[name][m]))
            if not faults:
                continue
            report = replace(plain, faults=faults)
            if tells:
                report = _told(report, here, practices[keys.index(key)].liquid, m, rng)
            fits = {
                other: causes()[other].share * _fit(other, report, usual, right, there, m)
                for other, there in zip(keys, plates, strict=True)
            }
            clear = fits[key] >= CLEAR * sum(fits.values())
            made.append(SimulatedReader(report, key, clear, float(here.level[m]), float(seen_level(here)[m])))
    return made


def _set_of(cut: str) -> float:
    from pitreckon.lessons.diagnosis.practice import usual_set_c  # noqa: PLC0415

    return usual_set_c(catalog.cut(cut))


def _together(faults: tuple[str, ...]) -> tuple[str, ...]:
    for one, other in NOT_BOTH:
        if one in faults and other in faults:
            faults = tuple(each for each in faults if each != other)
    return faults


def _told(report: Report, plates: Plates, liquid: Floats, m: int, rng: np.random.Generator) -> Report:
    """What a reader remembers of it, to five minutes."""

    def about(seconds: float) -> float:
        return max(round(seconds * float(np.exp(0.03 * rng.standard_normal())) / ROUND_S), 2) * ROUND_S

    tells = {key: rng.random() < share for key, share in TELLS.items()}
    mass = catalog.cut(report.cut).shape.mass_kg.value
    wrapped = bool(np.isfinite(plates.wrapped_s[m]))
    on_s = about(float(plates.off_s[m]))
    after_s = about(float(plates.wrapped_s[m])) if wrapped else None
    if after_s is not None and after_s >= on_s:
        after_s = None
    thermometer = rng.random() < 0.5
    return replace(
        report,
        on_s=min(on_s, 36 * 3600.0) if tells["on_s"] else None,
        wrap=("foil" if wrapped else "none") if tells["wrapped_after_s"] else None,
        wrapped_after_s=after_s if tells["wrapped_after_s"] else None,
        liquid_kg=float(liquid[m]) * mass if wrapped and rng.random() < TELLS_LIQUID else None,
        thermometer="one" if thermometer else None,
        pulled_at_c=float(np.clip(plates.read_c[m], 30.0, 105.0)) if thermometer and tells["pulled_at_c"] else None,
        salt_g_per_kg=float(plates.salt_g_per_kg[m]) if tells["salt_g_per_kg"] else None,
    )


def _fit(key: str, report: Report, usual: Usual, right: Right, plates: Plates, m: int) -> float:
    cut = catalog.cut(report.cut)
    words = words_likelihood(word_chances(cut, plates, usual), report.faults)
    return float((words * report_likelihood(key, cut, report, right, plates))[m])
