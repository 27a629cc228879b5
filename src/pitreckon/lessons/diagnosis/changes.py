"""Changes tried one at a time on readers drawn by the odds of the causes, with another piece on the same pit."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.lessons.diagnosis.causes import changes
from pitreckon.lessons.diagnosis.complaints import Usual, any_fault, word_chances
from pitreckon.lessons.diagnosis.practice import CORE_SD_K, FEEL_SD, SALT_G_PER_KG, Practice
from pitreckon.lessons.diagnosis.report import FAULTS, Report
from pitreckon.lessons.diagnosis.run import Built, run_all
from pitreckon.reckon.draws import hypercube, prior, stream
from pitreckon.reckon.levels import PIT_UNKNOWNS
from pitreckon.reckon.quantiles import systematic_resample
from pitreckon.reckon.words import CAUTION
from pitreckon.units import PIT_STEP_K, format_both, format_duration

LAST_OPEN_S: Final = 900.0
GRATE_SD_K: Final = 3.0
LEAST_GAIN: Final = 0.05
"""A change that lowers the chance by less is not worth a reader's while (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A change and what it does.

    key; words: what to do; again: chance that what was wrong is wrong again [-]; other: that something else is
    score: the lower the better; helps: is it worth trying?
    """

    key: str
    words: str
    again: float
    other: float
    score: float
    helps: bool


def try_changes(
    built: Built,
    usual: Usual,
    practices: Mapping[str, Practice],
    posterior: Mapping[str, Floats],
    members: int,
    seed: int,
    threads: int | None = None,
) -> tuple[tuple[Tried, ...], float]:
    """Every change that may help against what was wrong, best first; and the chance of it with none."""
    report, cut = built.report, built.cut
    drawn = systematic_resample(np.concatenate([posterior[key] for key in practices]), members)
    names = [each.name for each in fields(Practice)]
    whole = Practice(*(np.concatenate([getattr(each, name) for each in practices.values()])[drawn] for name in names))
    z = prior("another piece", "pit", members, seed)
    z[: len(PIT_UNKNOWNS)] = built.z[: len(PIT_UNKNOWNS), drawn % built.z.shape[1]]  # the pit is the same
    keys = [key for key, each in changes().items() if set(each.against) & set(report.faults)]
    made = [(key, _changed(key, whole, report, cut, seed)) for key in keys]
    made = [(key, each) for key, each in made if each is not None]
    plates = run_all(built, [(whole, z), *((each, z) for _, each in made if each is not None)], threads)
    others = tuple(word for word in FAULTS if word not in report.faults)
    seen = []
    for each in plates:
        chances = word_chances(cut, each, usual)
        seen.append((float(any_fault(chances, report.faults).mean()), float(any_fault(chances, others).mean())))
    again, other = seen[0]
    tried = []
    for (key, _), (then, beside) in zip(made, seen[1:], strict=True):
        score = then + 0.5 * max(beside - other, 0.0)
        tried.append(Tried(key, _words(key, cut), then, beside, score, again - score >= LEAST_GAIN))
    return tuple(sorted(tried, key=lambda each: each.score)), again


def _changed(key: str, practice: Practice, report: Report, cut: Cut, seed: int) -> Practice | None:
    """What was done with one change; None: there is nothing to change."""
    n = practice.scale.size
    z = hypercube(stream(seed, f"change {key}"), ("one",), n)["one"]
    nan, none = np.full(n, np.nan), np.zeros(n)

    def wrap_at_colour() -> Practice | None:
        if report.wrap is None and not any(stage.do == "wrapped" for stage in cut.course):
            return None
        return replace(practice, wrapped=np.ones(n), open_s=nan, open_level=np.exp(0.1 * z))

    def by_feel() -> Practice:
        core_k = CORE_SD_K * z
        return replace(
            practice, end_s=nan, core_c=nan, end_level=1.0 + FEEL_SD * z, end_core_k=core_k, probe_k=np.abs(z)
        )

    def glaze_last() -> Practice | None:
        if not np.any(practice.sauced_s > 0.0):
            return None
        return replace(practice, sauced_s=np.where(practice.sauced_s == 0.0, 0.0, np.nan))

    def two_places() -> Practice | None:
        return None if report.thermometer == "none" else replace(practice, probe_k=np.abs(0.5 * z))

    def dry_wrap() -> Practice | None:
        if not np.any(practice.wrapped > 0.0):
            return None
        return replace(practice, liquid=none, last_open_s=LAST_OPEN_S * practice.wrapped)

    does: Mapping[str, Callable[[], Practice | None]] = {
        "set lower": lambda: replace(practice, set_k=practice.set_k - PIT_STEP_K),
        "set higher": lambda: replace(practice, set_k=practice.set_k + PIT_STEP_K),
        "at the grate": lambda: replace(practice, air_k=GRATE_SD_K * z),
        "off the fire": lambda: replace(practice, wall_k=none),
        "wrap at colour": wrap_at_colour,
        "by feel": by_feel,
        "two places": two_places,
        "glaze last": glaze_last,
        "no sugar": lambda: replace(practice, sugar=none) if np.any(practice.sugar > 0.0) else None,
        "dry wrap": dry_wrap,
        "clean fire": lambda: replace(practice, smoke=none),
        "weigh salt": lambda: replace(practice, salt_g_per_kg=np.full(n, SALT_G_PER_KG)),
    }
    return does[key]()


def _words(key: str, cut: Cut) -> str:
    both = format_both(cut.texture.done_core_c.value)
    feel = (
        f"Take it off when the coldest of two or three places reads {both}, not by the clock"
        if cut.texture.done_by == "core"
        else "Leave it on until a thin probe slides in, and no longer, whatever the clock says"
    )
    return changes()[key].words.format(
        step="25 °F (14 °C)", feel=feel, open=format_duration(LAST_OPEN_S), salt=f"{SALT_G_PER_KG:g} g/kg"
    )


def caution_for(report: Report) -> tuple[str, ...]:
    """What has to be said with any answer, and more where meat was raw."""
    lines = []
    if "raw near the bone" in report.faults:
        cut = catalog.cut(report.cut)
        both = format_both(cut.texture.least_core_c.value)
        beside = ", beside the bone and not on it," if cut.has_bone else ""
        rest_s = cut.texture.least_rest_s.value
        rest = f", then {format_duration(rest_s)} of rest" if rest_s else ""
        lines.append(
            f"Do not eat what is raw: put it back until the coldest place{beside} reads {both}"
            f"{rest}. Colour does not tell whether meat is safe. What stood warm for over two hours is not to be kept"
        )
    lines.append(CAUTION.removesuffix("."))
    return tuple(f"{line}." for line in lines)
