"""What a rule says of a piece: one verdict from members, measured and reckoned."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats
from pitreckon.reckon.quantiles import weighted_quantile
from pitreckon.safety.history.history import MEASURED, History
from pitreckon.safety.outcome import FAILED, MET, NOT_YET, UNSURE, Outcome
from pitreckon.safety.rules.rule import Rule
from pitreckon.safety.wording import share as share_words

VERDICTS: Final = ("met", "not met", "missed", "cannot tell", "not yet")
SURE: Final = 0.999
"""Share of the members that must meet a rule before it is called met: none that counts may stand against it."""
FAILED_SURE: Final = 0.95
"""Share at which it is called missed or not met."""
AGREE: Final = 0.99
"""Share of the members that must meet a rule, too, before one probe's "met" is believed: its tip may not be in the
coldest place, and the members know of that."""
LEAST_BEFORE: Final = 0.2
"""Share of the members, as they were before anything was seen of the piece, that must meet it as well: those that were
weighed by a lying reading agree with it (held against twin cooks)."""
UNLIKELY: Final = "before any reading only {share} of the members would have met it by now"
CLOCK: Final = "clock"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one rule says of one piece.

    verdict: met | not met | missed | cannot tell | not yet
    at_s: when it was met or missed [s since second 0 of the piece]; of reckoned members the one that is last to meet
        it, or the middle one that misses it; None: it was not
    margin: to the limit, positive on the good side; by ``unit`` a time [s] or a temperature [K]; the least of the
        members, or the middle one of those that fail; None: there is none to give
    basis: measured | reckoned | clock
    probability: share of the members that meet it; measured: None
    against: share of them that fail it; fails_at_s: when the middle one of those does [s]
    why, needs: of "cannot tell": what is in the way, and what would help
    said: what was found, in a few words; left_out: what was noted and does not count, in words
    before: share that meets it of the members as they were before anything was seen; None: no members
    overruled_by: key of the stricter seen rule that wins over this one, which is from memory; "" where none does
    """

    rule: Rule
    verdict: str
    at_s: float | None
    margin: float | None
    unit: str
    basis: str
    probability: float | None
    against: float | None = None
    why: str = ""
    needs: str = ""
    said: str = ""
    overruled_by: str = ""
    fails_at_s: float | None = None
    left_out: tuple[str, ...] = ()
    before: float | None = None

    def __post_init__(self) -> None:
        if self.verdict not in VERDICTS:
            raise ValueError(self.verdict)


def settled(rule: Rule, outcome: Outcome, history: History) -> Verdict:
    """One verdict from the outcomes of a history's members."""
    state, weights = outcome.state, history.weights / history.weights.sum()
    share = {each: float(weights[state == each].sum()) for each in (MET, FAILED, UNSURE, NOT_YET)}
    if share[MET] >= SURE:
        what, which = "met", state == MET
    elif share[FAILED] >= FAILED_SURE:
        what, which = outcome.failed_word, state == FAILED
    elif share[NOT_YET] > 0.0 and share[MET] + share[NOT_YET] >= FAILED_SURE:
        what, which = "not yet", state == NOT_YET
    else:
        what, which = "cannot tell", np.ones(state.size, dtype=bool)
    which = which & (weights > 0.0)
    single = history.members == 1
    why, needs = ("", "") if what != "cannot tell" else (outcome.why, outcome.needs)
    if what == "cannot tell" and not single and share[UNSURE] < 0.5:
        why = f"{share_words(share[MET])} of the members meet it, {share_words(share[FAILED])} do not"
        needs = needs if share[UNSURE] > share[FAILED] else "Measure the piece"
    level = 1.0 if what == "met" else 0.5
    least = 0.0 if what == "met" else 0.5
    basis = CLOCK if rule.measures == CLOCK else history.basis
    decided = what in {"met", outcome.failed_word}
    told = single and history.basis == MEASURED
    return Verdict(
        rule,
        what,
        at_s=_quantile(outcome.at_s, weights, which, level) if decided else None,
        margin=_quantile(outcome.margin, weights, which, least),
        unit=outcome.unit,
        basis=basis,
        probability=None if told else share[MET],
        against=None if told else share[FAILED],
        why=why,
        needs=needs,
        said=outcome.said if what != "cannot tell" else "",
        fails_at_s=_quantile(outcome.at_s, weights, (state == FAILED) & (weights > 0.0), 0.5),
        before=None if history.before is None else float(history.before[state == MET].sum()),
    )


def _quantile(values: Floats, weights: Floats, which: NDArray[np.bool_], level: float) -> float | None:
    there = which & np.isfinite(values)
    if not there.any():
        return None
    if level in {0.0, 1.0}:
        return float(values[there].max() if level else values[there].min())
    return weighted_quantile(values[there], weights[there] / weights[there].sum(), level)


def together(measured: Verdict | None, reckoned: Verdict | None) -> Verdict:
    """What was measured goes before what was reckoned, and what speaks against the piece before what speaks for it.

    A "met" of one probe does not stand while the members do not meet it, nor where they would hardly have done so
    before they were weighed by its readings. How a piece was when it went on no member knows.
    """
    if measured is None or reckoned is None:
        only = measured or reckoned
        if only is None:
            raise ValueError("there is no verdict")
        return only
    if measured.rule.kind == "start":
        return measured
    if measured.verdict == "cannot tell":
        return reckoned
    if measured.verdict == "met" and (reckoned.probability or 0.0) < AGREE:
        agree = share_words(reckoned.probability or 0.0)
        return replace(
            reckoned,
            verdict="not yet" if reckoned.verdict == "not yet" else "cannot tell",
            at_s=None,
            why=f"the readings meet it, and only {agree} of the members do: the tip may not be in the coldest place",
            needs=f"{AGAIN}, in more than one place",
        )
    if measured.verdict == "met" and unlikely(reckoned):
        return doubted(reckoned, UNLIKELY.format(share=share_words(reckoned.before or 0.0)), AGAIN)
    if measured.verdict == "not yet" and reckoned.verdict in {"missed", "not met"}:
        return reckoned
    fails_at_s = reckoned.fails_at_s if measured.fails_at_s is None else measured.fails_at_s
    return replace(measured, probability=reckoned.probability, against=reckoned.against, fails_at_s=fails_at_s)


AGAIN: Final = "Measure again in the thickest part"


def unlikely(reckoned: Verdict) -> bool:
    """Would too few of the members have met it before anything was seen of the piece?"""
    return reckoned.rule.measures != CLOCK and reckoned.before is not None and reckoned.before < LEAST_BEFORE


def doubted(verdict: Verdict, why: str, needs: str) -> Verdict:
    """A "met" that is not believed."""
    return replace(verdict, verdict="cannot tell", at_s=None, margin=None, why=why, needs=needs, said="")
