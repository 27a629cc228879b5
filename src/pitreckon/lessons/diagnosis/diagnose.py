"""What went wrong: the likeliest causes of a bad plate with their odds, and the one change to try.

Every cause is run as an ensemble of the section model with what was told kept as told and the rest drawn; how well
the told parts and the reader's words fit gives its odds (Bayes). Changes are tried on members drawn by those odds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Final

from pitreckon.arrays import Floats
from pitreckon.errors import InputError
from pitreckon.lessons.diagnosis.causes import Cause, causes
from pitreckon.lessons.diagnosis.changes import Tried, caution_for, try_changes
from pitreckon.lessons.diagnosis.complaints import Usual, word_chances, words_likelihood
from pitreckon.lessons.diagnosis.likelihood import could_be, report_likelihood
from pitreckon.lessons.diagnosis.practice import Practice, practice_of, usual_practice
from pitreckon.lessons.diagnosis.report import Report
from pitreckon.lessons.diagnosis.run import Built, Plates, run_all
from pitreckon.lessons.diagnosis.seen import photo_likelihood

MEMBERS: Final = 48
ALIKE: Final = ("dirty smoke", "salt heavy")
"""Causes that change nothing in the model's run: theirs is that of nothing odd."""


@dataclass(frozen=True, slots=True)
class Odds:
    """A cause and the chance that it was it [-]."""

    cause: Cause
    chance: float


@dataclass(frozen=True, slots=True)
class Why:
    """The answer. causes: likeliest first; changes: what was tried, best first; none may help; again: as before [-]

    cautions: to be shown with it, whatever else is
    without_photo: chance of each cause as if no colour had been measured, by its key; empty where none was
    """

    report: Report
    causes: tuple[Odds, ...]
    changes: tuple[Tried, ...]
    again: float
    cautions: tuple[str, ...]
    without_photo: Mapping[str, float] = field(default_factory=dict)

    @property
    def change(self) -> Tried | None:
        """The one change to try; None: none of them helps much."""
        return self.changes[0] if self.changes and self.changes[0].helps else None


@dataclass(frozen=True)
class Weighed:
    """Every cause's ensemble, before any word is weighed: good for any words about the same report."""

    built: Built
    usual: Usual
    practices: dict[str, Practice]
    plates: dict[str, Plates]
    shares: dict[str, Floats]

    def posterior(self, faults: tuple[str, ...], colour: tuple[float, float] | None = None) -> dict[str, Floats]:
        """Weight of each member of each cause, all of them together 1. colour: as measured in a photo; None: in none"""
        weights = {}
        for key, plates in self.plates.items():
            words = words_likelihood(word_chances(self.built.cut, plates, self.usual), faults)
            weights[key] = self.shares[key] * words
            if colour is not None:
                weights[key] = weights[key] * photo_likelihood(plates, *colour)
        total = sum(float(each.sum()) for each in weights.values())
        return {key: each / total for key, each in weights.items()}

    def odds(self, faults: tuple[str, ...], colour: tuple[float, float] | None = None) -> tuple[Odds, ...]:
        """Likeliest first."""
        found = [Odds(causes()[key], float(each.sum())) for key, each in self.posterior(faults, colour).items()]
        return tuple(sorted(found, key=lambda each: -each.chance))


def weigh(report: Report, *, members: int = MEMBERS, seed: int = 1, threads: int | None = None) -> Weighed:
    """Run every cause that what was told does not rule out.

    Raises InputError: fewer than 8 members.
    """
    if members < 8:
        raise InputError(f"an ensemble of {members} members is too small to have a spread", "Ask for 8 or more")
    built = Built.of(report, members, seed)
    cut = built.cut
    as_told = usual_practice(cut, report, members)
    by_habit = Built.of(_habit(report), members, seed)
    right_plates, usual_plates = (
        run_all(built, [(as_told, built.z)], threads)[0],
        run_all(by_habit, [(usual_practice(cut, _habit(report), members), by_habit.z)], threads)[0],
    )
    right = right_plates.right
    priors = {key: each.share * could_be(key, cut, report) for key, each in causes().items()}
    keys = [key for key, share in priors.items() if share > 0.0]
    practices = {key: practice_of(key, cut, report, right, members, seed) for key in keys}
    run = [key for key in keys if key not in ALIKE]
    plates = dict(zip(run, run_all(built, [(practices[key], built.z) for key in run], threads), strict=True))
    for key in set(keys) - set(run):
        plates[key] = _alike(plates["nothing odd"], practices[key])
        practices[key] = _with(practices["nothing odd"], practices[key])
    shares = {key: priors[key] / members * report_likelihood(key, cut, report, right, plates[key]) for key in keys}
    return Weighed(built, Usual.of(usual_plates), practices, {key: plates[key] for key in keys}, shares)


def why(report: Report, *, members: int = MEMBERS, seed: int = 1, threads: int | None = None) -> Why:
    """The likeliest causes of what a reader reports, and the one change to try.

    report: what was done and what was wrong; members: of each ensemble; seed: of every draw; threads: of the kernel

    Raises InputError: fewer than 8 members.
    """
    weighed = weigh(report, members=members, seed=seed, threads=threads)
    posterior = weighed.posterior(report.faults, report.colour)
    tried, again = try_changes(weighed.built, weighed.usual, weighed.practices, posterior, members, seed, threads)
    told = weighed.odds(report.faults, report.colour)
    without = {} if report.colour is None else {o.cause.key: o.chance for o in weighed.odds(report.faults)}
    return Why(report, told, tried, again, caution_for(report), without)


def _habit(report: Report) -> Report:
    """The same piece on the same kind of pit, all else as usual: what a reader expects of a plate."""
    return Report(
        cut=report.cut,
        faults=report.faults,
        mass_kg=report.mass_kg,
        thickness_m=report.thickness_m,
        pit=report.pit,
        altitude_m=report.altitude_m,
    )


def _alike(plates: Plates, practice: Practice) -> Plates:
    changed = {each.name: getattr(plates, each.name) for each in fields(plates)}
    return Plates(**{**changed, "salt_g_per_kg": practice.salt_g_per_kg, "smoke": practice.smoke})


def _with(plain: Practice, practice: Practice) -> Practice:
    same = {each.name: getattr(plain, each.name) for each in fields(plain)}
    return Practice(**{**same, "salt_g_per_kg": practice.salt_g_per_kg, "smoke": practice.smoke})


def document_of(found: Why) -> dict[str, Any]:
    """An answer as plain values for ``json``."""
    return {
        "came_out": list(found.report.faults),
        "causes": [
            {"key": o.cause.key, "words": o.cause.words, "chance": round(o.chance, 4)}
            | ({"without_photo": round(found.without_photo[o.cause.key], 4)} if found.without_photo else {})
            for o in found.causes
        ],
        "again": round(found.again, 4),
        "change": None if found.change is None else found.change.key,
        "changes": [
            {"key": t.key, "words": t.words, "again": round(t.again, 4), "other": round(t.other, 4), "helps": t.helps}
            for t in found.changes
        ],
        "cautions": list(found.cautions),
    }
