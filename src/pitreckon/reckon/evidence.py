"""All that was seen of one piece: what it would be in each member, and how likely that makes the member."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.cook.scales import SCALES
from pitreckon.ledger import Look
from pitreckon.reckon import looks as errors_of
from pitreckon.reckon.draws import ItemDraw
from pitreckon.reckon.measures import MOST_FELT, at_places, held_at, level_of_colour, looked
from pitreckon.reckon.proberecord import ProbeRecord, Stretch
from pitreckon.section.trace import Trace


@dataclass(frozen=True)
class Predicted:
    """Everything seen as plain numbers with errors.

    names: what and when [s since put-on]; value: as seen, (seen,); of_members: as the members have it,
    (seen, members); covariance: of the difference, (seen, seen)
    """

    names: tuple[tuple[str, float], ...]
    value: Floats
    of_members: Floats
    covariance: Floats

    @property
    def normalised_innovation(self) -> Floats:
        """Seen less the members' mean, over the whole spread to be expected: errors and members, (seen,)."""
        spread = np.sqrt(np.diag(self.covariance) + self.of_members.var(axis=1))
        return np.asarray((self.value - self.of_members.mean(axis=1)) / spread)


@dataclass(frozen=True)
class Transition:
    """What a cook who was there did, or did not do, when a stage waits for a colour, a tenderness or a core.

    at_s: when; ends_by: colour, tender or core; goal: the level or temperature that ends the stage; ended: it was ended
    then, or let run though the piece was looked at
    """

    at_s: float
    ends_by: str
    goal: float
    ended: bool


@dataclass(frozen=True)
class Observations:
    """What was seen of a piece, by seconds since put-on."""

    cut: Cut
    mass_kg: float
    looks: tuple[tuple[float, Look], ...]
    probe: ProbeRecord
    transitions: tuple[Transition, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.looks or self.probe.stretches or self.transitions)

    @property
    def last_s(self) -> float:
        """When the last of it was seen [s since put-on]; 0 when nothing was."""
        ends = [float(stretch.at_s[-1]) for stretch in self.probe.stretches]
        return max(
            [at for at, _ in self.looks] + [transition.at_s for transition in self.transitions] + ends, default=0.0
        )

    def log_likelihood(self, draw: ItemDraw, trace: Trace) -> Floats:
        """Of every member, up to one constant; -inf where the member failed. Shape (members,)."""
        total = np.zeros(trace.values.shape[2])
        for scale in SCALES:
            total += self._words(scale, draw, trace)
        for what in ("bone showing", "weight"):
            total += self._measured(what, draw, trace)
        for at_s, look in self._of("spot temperature"):
            total += errors_of.spot_log_likelihood(at_places(trace, at_s), look.value)
        for transition in self.transitions:
            total += _transition_log_likelihood(transition, draw, trace)
        for stretch in self.probe.stretches:
            total += stretch.log_likelihood(np.stack([at_places(trace, float(t)) for t in stretch.at_s]))
        total[~np.isfinite(total)] = -np.inf
        total[~np.isnan(trace.failed_s)] = -np.inf
        return total

    def predicted(self, draw: ItemDraw, trace: Trace) -> Predicted:
        """All of it as numbers with normal errors, for the linear half of the update."""
        parts = [self._predicted_looks(what, draw, trace) for what in errors_by_kind()]
        parts += [self._predicted_stretch(stretch, trace) for stretch in self.probe.stretches]
        parts += [_predicted_transition(transition, draw, trace) for transition in self.transitions if transition.ended]
        parts = [part for part in parts if part.value.size]
        return stacked(parts, trace.values.shape[2])

    def _of(self, what: str) -> list[tuple[float, Look]]:
        return [(at, look) for at, look in self.looks if look.kind == what]

    def _words(self, scale: str, draw: ItemDraw, trace: Trace) -> Floats:
        mine = self._of(scale)
        if not mine:
            return np.zeros(draw.members.size)
        levels = np.stack([looked(self.cut, draw, trace, look, at, self.mass_kg) for at, look in mine])
        return errors_of.words_log_likelihood(scale, [look.value for _, look in mine], levels)

    def _measured(self, what: str, draw: ItemDraw, trace: Trace) -> Floats:
        part = self._predicted_looks(what, draw, trace)
        if not part.value.size:
            return np.zeros(draw.members.size)
        return errors_of.measured_log_likelihood(part.of_members - part.value[:, None], part.covariance)

    def _predicted_looks(self, what: str, draw: ItemDraw, trace: Trace) -> Predicted:
        mine = self._of(what)
        if not mine:
            return stacked([], draw.members.size)
        if what == "spot temperature":
            places = np.stack([at_places(trace, at) for at, _ in mine])
            return self._at_unknown_place(what, [at for at, _ in mine], [k.value for _, k in mine], places, True)
        of_members = np.stack([looked(self.cut, draw, trace, look, at, self.mass_kg) for at, look in mine])
        each, shared = errors_by_kind()[what]
        size = self.mass_kg if what == "weight" else 1.0
        k = len(mine)
        covariance = size**2 * (each**2 * np.eye(k) + shared**2 * np.ones((k, k)))
        value = np.array([look.value for _, look in mine])
        return Predicted(tuple((what, at) for at, _ in mine), value, of_members, covariance)

    def _predicted_stretch(self, stretch: Stretch, trace: Trace) -> Predicted:
        places = np.stack([at_places(trace, float(t)) for t in stretch.at_s])
        names = stretch.at_s.tolist()
        part = self._at_unknown_place("the probe", names, stretch.value_c.tolist(), places, False)
        return Predicted(part.names, part.value, part.of_members, part.covariance + stretch.covariance())

    def _at_unknown_place(
        self, what: str, at_s: Sequence[float], values: Sequence[float], places: Floats, afresh: bool
    ) -> Predicted:
        """The mean over the places a tip may be at, and what that leaves open: anew each time, or once for all."""
        share = errors_of.PLACE_SHARES
        mean = np.einsum("kpm,p->km", places, share)
        off = np.sqrt(np.einsum("kpm,p->k", (places - mean[:, None]) ** 2, share) / places.shape[2])
        covariance = np.diag(off**2 + errors_of.SPOT_SD_K**2) if afresh else np.outer(off, off)
        return Predicted(tuple((what, at) for at in at_s), np.array(values), mean, covariance)


TRANSITION_STEP, TRANSITION_K = 0.2, 4.0
"""How near to its end a cook judges a stage, as a level and in kelvins: common practice, no source."""
ACTS_ON = 0.85
"""Share of the times when a cook who is there acts on it: others wait, or have other reasons to act (common practice,
no source)."""


def _past_goal(transition: Transition, draw: ItemDraw, trace: Trace) -> tuple[Floats, float]:
    """How far each member is past a stage's goal, and the cook's error in that."""
    members = draw.members
    if transition.ends_by == "core":
        return held_at(trace, "core_c", transition.at_s) - np.minimum(
            transition.goal, members["boil_c"] - 1.0
        ), TRANSITION_K
    if transition.ends_by == "colour":
        level = level_of_colour(held_at(trace, "colour", transition.at_s), members["dark_at"])
    else:
        level = np.minimum(held_at(trace, "gelatin_core", transition.at_s) / members["tender_at"], MOST_FELT)
    return level - transition.goal, TRANSITION_STEP


def _transition_log_likelihood(transition: Transition, draw: ItemDraw, trace: Trace) -> Floats:
    """That a stage was ended, or not, by a cook who was there."""
    past, error = _past_goal(transition, draw, trace)
    there = ACTS_ON * ndtr(past / error)
    return np.asarray(np.log(1.0 - ACTS_ON + there) if transition.ended else np.log1p(-there))


def _predicted_transition(transition: Transition, draw: ItemDraw, trace: Trace) -> Predicted:
    """For the lines: a stage that was ended had met its goal, and not long before."""
    past, error = _past_goal(transition, draw, trace)
    name = (("when a stage was ended", transition.at_s),)
    return Predicted(name, np.array([0.5 * error]), past[None], np.array([[(2.0 * error) ** 2]]))


def errors_by_kind() -> dict[str, tuple[float, float]]:
    """Standard errors of each kind of look: anew each time, and the same in all of a kind."""
    word = (float(np.hypot(errors_of.RANDOM_STEP, 0.06)), errors_of.BIAS_STEP)  # a word is also rounded
    return {
        "colour": word,
        "probe feel": word,
        "bend": word,
        "bone showing": (errors_of.BONE_SD_M, errors_of.BONE_SHARED_M),
        "weight": (errors_of.WEIGHT_SD, errors_of.WEIGHT_SHARED),
        "spot temperature": (errors_of.SPOT_SD_K, 0.0),
    }


def stacked(parts: Sequence[Predicted], members: int) -> Predicted:
    """Several sets one after the other, their errors independent."""
    sizes = [part.value.size for part in parts]
    total = sum(sizes)
    covariance = np.zeros((total, total))
    row = 0
    for part, size in zip(parts, sizes, strict=True):
        covariance[row : row + size, row : row + size] = part.covariance
        row += size
    return Predicted(
        tuple(name for part in parts for name in part.names),
        np.concatenate([np.zeros(0), *[part.value for part in parts]]),
        np.concatenate([np.zeros((0, members)), *[part.of_members for part in parts]]),
        covariance,
    )


@dataclass(frozen=True)
class Evidence:
    """Weights of the members and what they rest on.

    weights: sum to 1, shape (members,)
    ess: effective sample size, how many members still count
    tempering_exponent: of the likelihood, 0 to 1; 1: all of the evidence was used
    ess_untempered: how many would count with all of it
    outliers: what of it does not fit the rest: (what, seconds since put-on)
    """

    weights: Floats
    ess: float
    tempering_exponent: float
    ess_untempered: float
    outliers: tuple[tuple[str, float], ...] = ()
