"""All that was seen of one piece: what it would be in each member, and how likely that makes the member."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import ndtr

from pitreckon.arrays import Bools, Floats
from pitreckon.catalog import Cut
from pitreckon.cook.looks import KINDS, LookKind
from pitreckon.ledger import Look
from pitreckon.reckon import looks as errors_of
from pitreckon.reckon.draws import ItemDraw
from pitreckon.reckon.hands import THERMOMETER, Bias, Hands, Whose, bias_of, error_of_spot, with_baths
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

    def of(self, which: Bools) -> "Predicted":
        """The same for some of the members."""
        return replace(self, of_members=self.of_members[:, which])

    @property
    def normalised_innovation(self) -> Floats:
        """Seen less the members' mean, over the whole spread to be expected: errors and members, (seen,)."""
        spread = np.sqrt(np.diag(self.covariance) + self.of_members.var(axis=1))
        return np.asarray((self.value - self.of_members.mean(axis=1)) / spread)


TRANSITION_STEP, TRANSITION_K = 0.2, 4.0
"""How near to its end a cook judges a stage, as a level and in kelvins: common practice, no source."""
ACTS_ON = 0.85
"""Share of the times when a cook who is there acts on it: others wait, or have other reasons to act (common practice,
no source)."""
SAYS_SO = 0.97
"""Share of the times when one who says "not yet" has looked at the right piece (common practice, no source)."""
SAID_ERROR = 0.4
"""Error of one who says "not yet", over that of one who only lets it run: it is his own mark that he speaks of, and he
will go by the same hand when he ends the stage (common practice, no source)."""
BESIDE = 0.4
"""Share of the times when one who is at the pit for something else looks at this piece and acts on it (common practice,
no source)."""


@dataclass(frozen=True)
class Transition:
    """What a cook who was there did, or did not do, when a stage waits for a colour, a tenderness or a core.

    at_s: when; ends_by: colour, tender or core; goal: the level or temperature that ends the stage; ended: it was ended
    then, or let run
    heed: share of the times when it would have been ended, had it been due
    """

    at_s: float
    ends_by: str
    goal: float
    ended: bool
    heed: float = ACTS_ON


@dataclass(frozen=True)
class GrateCheck:
    """A thermometer laid on the grate: so far over the pit's readout, or over its setting where none was read [K].

    at_s: since put-on; error_k: standard error of the difference
    """

    at_s: float
    over_k: float
    error_k: float


@dataclass(frozen=True)
class Observations:
    """What was seen of a piece and of its pit's grate, by seconds since put-on.

    hands: what is known of the biases of those who looked, and of others
    baths: what their thermometers read in ice and boiling water in this very cook, that alone
    """

    cut: Cut
    mass_kg: float
    looks: tuple[tuple[float, Look], ...]
    probe: ProbeRecord
    transitions: tuple[Transition, ...] = ()
    grate: tuple[GrateCheck, ...] = ()
    hands: Hands = field(default_factory=dict)
    baths: Hands = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.looks or self.probe.stretches or self.transitions or self.grate)

    @property
    def last_s(self) -> float:
        """When the last of it was seen [s since put-on]; 0 when nothing was."""
        ends = [float(stretch.at_s[-1]) for stretch in self.probe.stretches]
        return max(
            [at for at, _ in self.looks] + [transition.at_s for transition in self.transitions] + ends, default=0.0
        )

    def log_likelihood(self, draw: ItemDraw, trace: Trace) -> Floats:
        """Of every member, up to one constant; -inf where the member failed. Shape (members,)."""
        total = np.zeros(trace.members)
        for kind in IN_ORDER:
            total += self._looks(kind, draw, trace)
        for transition in self.transitions:
            total += _transition_log_likelihood(transition, draw, trace)
        for stretch in self.probe.stretches:
            total += stretch.log_likelihood(np.stack([at_places(trace, float(t)) for t in stretch.at_s]))
        if self.grate:
            part = self._predicted_grate(draw)
            total += errors_of.measured_log_likelihood(part.of_members - part.value[:, None], part.covariance)
        total[~np.isfinite(total)] = -np.inf
        total[~np.isnan(trace.failed_s)] = -np.inf
        return total

    def predicted(self, draw: ItemDraw, trace: Trace) -> Predicted:
        """All of it as numbers with normal errors, for the linear half of the update."""
        parts = [self._predicted_looks(kind, draw, trace) for kind in IN_ORDER]
        parts += [self._predicted_stretch(stretch, trace) for stretch in self.probe.stretches]
        parts += [_predicted_transition(transition, draw, trace) for transition in self.transitions if transition.ended]
        parts.append(self._predicted_grate(draw))
        parts = [part for part in parts if part.value.size]
        return stacked(parts, trace.members)

    def whose(self) -> tuple[Whose | None, ...]:
        """Of each number of ``predicted``, in its order, whose word it is on which scale, or whose thermometer's; None:
        it is neither, or the thermometer was in a bath, which tells more of it.
        """
        kinds = {kind.name for kind in KINDS if kind.scale or kind.errors.instrument}
        found = ((look.by, look.kind) if look and look.kind in kinds else None for look in self.in_order())
        return tuple(None if each in self.baths else each for each in found)

    def thermometer_of(self, by: str) -> Bias | None:
        """What is known of the thermometer that somebody takes spot temperatures with; None: nothing."""
        return with_baths(self.hands.get((by, THERMOMETER)), self.baths.get((by, THERMOMETER)))

    def in_order(self) -> tuple[Look | None, ...]:
        """Of each number of ``predicted``, in its order, the look that it is; None: it is none."""
        looks = [look for kind in IN_ORDER for _, look in self._of(kind)]
        rest = sum(stretch.at_s.size for stretch in self.probe.stretches)
        rest += sum(each.ended for each in self.transitions) + len(self.grate)
        return (*looks, *[None] * rest)

    def _predicted_grate(self, draw: ItemDraw) -> Predicted:
        names = tuple(("grate temperature", check.at_s) for check in self.grate)
        value = np.array([check.over_k for check in self.grate])
        members = np.tile(draw.grate_k, (len(self.grate), 1))
        return Predicted(names, value, members, np.diag([check.error_k**2 for check in self.grate]))

    def _of(self, kind: LookKind) -> list[tuple[float, Look]]:
        return [(at, look) for at, look in self.looks if look.kind == kind.name]

    def _looks(self, kind: LookKind, draw: ItemDraw, trace: Trace) -> Floats:
        """Log likelihood of all looks of a kind."""
        mine = self._of(kind)
        if not mine:
            return np.zeros(draw.members.size)
        if kind.errors.place:
            each = []
            for at, look in mine:
                known = self.thermometer_of(look.by)
                true_c = look.value if known is None else look.value - known.mean
                each.append(errors_of.spot_log_likelihood(at_places(trace, at), true_c, error_of_spot(known)))
            return np.asarray(sum(each))
        if kind.scale:
            levels, total = self._as_members_have(mine, draw, trace), np.zeros(draw.members.size)
            for by in dict.fromkeys(look.by for _, look in mine):  # each person has a bias of their own
                rows = [i for i, (_, look) in enumerate(mine) if look.by == by]
                values = [mine[i][1].value for i in rows]
                bias = bias_of(self.hands, by, kind.name)
                total += errors_of.words_log_likelihood(kind.name, values, levels[rows], bias)
            return total
        part = self._predicted_looks(kind, draw, trace)
        return errors_of.measured_log_likelihood(part.of_members - part.value[:, None], part.covariance)

    def _as_members_have(self, mine: list[tuple[float, Look]], draw: ItemDraw, trace: Trace) -> Floats:
        return np.stack([looked(self.cut, draw, trace, look, at, self.mass_kg) for at, look in mine])

    def _predicted_looks(self, kind: LookKind, draw: ItemDraw, trace: Trace) -> Predicted:
        mine = self._of(kind)
        if not mine:
            return stacked([], draw.members.size)
        if kind.errors.place:
            places = np.stack([at_places(trace, at) for at, _ in mine])
            known = [self.thermometer_of(look.by) for _, look in mine]
            true_c = [
                look.value if bias is None else look.value - bias.mean
                for (_, look), bias in zip(mine, known, strict=True)
            ]
            part = self._at_unknown_place(kind.name, [at for at, _ in mine], true_c, places)
            error_k = np.array([error_of_spot(bias) for bias in known])
            return replace(part, covariance=np.diag(np.diag(part.covariance) + error_k**2))
        each = np.hypot([kind.errors.of_each(look.text) for _, look in mine], kind.errors.rounded)
        shared = kind.errors.shared
        size = self.mass_kg if kind.errors.of_raw else 1.0
        k = len(mine)
        value = np.array([look.value for _, look in mine])
        if kind.scale:
            biases = [bias_of(self.hands, look.by, kind.name) for _, look in mine]
            same = np.array([[one.by == other.by for _, other in mine] for _, one in mine])
            value = value - np.array([bias.mean for bias in biases])
            sd = np.array([bias.sd for bias in biases])
            covariance = np.diag(each**2) + same * np.outer(sd, sd)
        else:
            covariance = size**2 * (np.diag(each**2) + shared**2 * np.ones((k, k)))
        names = tuple((kind.name, at) for at, _ in mine)
        return Predicted(names, value, self._as_members_have(mine, draw, trace), covariance)

    def _predicted_stretch(self, stretch: Stretch, trace: Trace) -> Predicted:
        places = np.stack([at_places(trace, float(t)) for t in stretch.at_s])
        names = stretch.at_s.tolist()
        part = self._at_unknown_place("the probe", names, stretch.value_c.tolist(), places)
        return Predicted(part.names, part.value, part.of_members, part.covariance + stretch.covariance())

    def _at_unknown_place(self, what: str, at_s: Sequence[float], values: Sequence[float], places: Floats) -> Predicted:
        """The mean over the places a tip may be at, and what that leaves open: once for all."""
        share = errors_of.PLACE_SHARES
        mean = np.einsum("kpm,p->km", places, share)
        off = np.sqrt(np.einsum("kpm,p->k", (places - mean[:, None]) ** 2, share) / places.shape[2])
        return Predicted(tuple((what, at) for at in at_s), np.array(values), mean, np.outer(off, off))


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
    if transition.heed == SAYS_SO:
        error *= SAID_ERROR
    there = transition.heed * ndtr(past / error)
    return np.asarray(np.log(1.0 - transition.heed + there) if transition.ended else np.log1p(-there))


def _predicted_transition(transition: Transition, draw: ItemDraw, trace: Trace) -> Predicted:
    """For the lines: a stage that was ended had met its goal, and not long before."""
    past, error = _past_goal(transition, draw, trace)
    name = (("when a stage was ended", transition.at_s),)
    return Predicted(name, np.array([0.5 * error]), past[None], np.array([[(2.0 * error) ** 2]]))


IN_ORDER = sorted((kind for kind in KINDS if kind.measure), key=lambda kind: (kind.errors.place, not kind.scale))
"""Words, then what is measured, then temperatures: sums and products keep their order, and so their last digits."""


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
    before: weights of the members before anything was seen of the piece, sum 1; None: as ``weights``
    """

    weights: Floats
    ess: float
    tempering_exponent: float
    ess_untempered: float
    outliers: tuple[tuple[str, float], ...] = ()
    before: Floats | None = None
