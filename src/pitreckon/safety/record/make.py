"""The safety record of a cook: which rules each piece met, by what, with what gaps, and what entries it rests on."""

from collections.abc import Mapping
from dataclasses import asdict
from itertools import pairwise
from typing import Any, Final

import numpy as np

from pitreckon import __version__
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.ledger.chain import chain_over, digest
from pitreckon.reckon.forecast import Reckoning
from pitreckon.safety.forecast import foresee
from pitreckon.safety.history.fromrun import Histories
from pitreckon.safety.history.history import MEASURED, REJECTED
from pitreckon.safety.judgecook import judge_cook
from pitreckon.safety.record.advice import advice_of
from pitreckon.safety.record.form import PieceRecord, RuleLine, SafetyRecord
from pitreckon.safety.record.kept import LOG, Kept, handled_in, steps_of, told_of
from pitreckon.safety.record.words import marked_words
from pitreckon.safety.rules.judge import PieceSafety
from pitreckon.safety.rules.meat import GROUND, NON_INTACT, Handled, Meat
from pitreckon.units import format_duration, round_half_up

GAP_S: Final = 1800.0
"""A longer time between two readings is a gap: FSIS-GD-2021-14, p. 75."""


def record_of(
    reckoning: Reckoning,
    plan: str,
    ledger: Ledger,
    handled: Mapping[str, Handled] | None = None,
    *,
    kept: Kept | None = None,
    signed_by: str = "",
    house: str = "",
) -> SafetyRecord:
    """The record of a cook as it stands.

    reckoning: of the cook, at the moment of the record
    plan: text of its cook file; ledger: the whole of it, of which what is not later than that moment counts
    handled: what was done to the meat, by the item's label; it goes before what is kept of it
    kept: what the ledger keeps beside values; None: it is a log file
    signed_by: who signs; house: public key of the house, that is shown on it

    Raises InputError: an item that the cook does not have; a name that is too long
    """
    if len(signed_by) > 80:
        raise InputError(f"the name has {len(signed_by)} characters", "Sign with 80 at most", Place(field="signed"))
    kept = kept or Kept()
    labels = {item.label for item in reckoning.cook.items}
    given = {label: each for label, each in handled_in(kept).items() if label in labels} | dict(handled or {})
    safety = judge_cook(reckoning, given)
    rows = list(zip(reckoning_items(reckoning), safety.now, safety.histories, strict=True))
    cuts = {run.item.label: run.cut for run in reckoning.runs}
    pieces = tuple(
        _piece(piece, both, _handled_words(given.get(label), Meat.of(cuts[label], given.get(label))))
        for label, piece, both in rows
    )
    told = (
        advice_of(piece.label, both.reckoned, Meat.of(cuts[label], given.get(label))) for label, piece, both in rows
    )
    at_utc = reckoning.outlook.now_utc
    counts = ledger.until(at_utc)
    settings = {
        "rules": reckoning.cook.rules,
        "members": reckoning.outlook.members,
        "seed": reckoning.outlook.seed,
        "meat": {
            label: _handled_words(given.get(label), Meat.of(cuts[label], given.get(label))) for label in sorted(labels)
        },
        "made_with": f"pitreckon {__version__}",
    }
    return SafetyRecord(
        reckoning.cook.name,
        reckoning.cook.zone,
        at_utc,
        pieces,
        foresee(reckoning, given, safety=safety),
        chain_over(digest(plan.encode()), steps_of(kept, counts, settings)),
        signed_by,
        tuple(each for each in told if each is not None),
        reckoning.cook.rules,
        len(counts) if kept.source == LOG else len(kept.entries),
        settings,
        kept.source,
        kept.plan_version,
        told_of(kept, counts),
        house,
    )


def reckoning_items(reckoning: Reckoning) -> list[str]:
    """The item of each piece that is judged, in their order."""
    return [run.item.label for run in reckoning.runs for _ in run.tracks]


def _piece(piece: PieceSafety, both: Histories, handled: str) -> PieceRecord:
    core = None if both.measured is None else both.measured.core
    used = np.zeros(0) if core is None else core.at_s[core.marks == MEASURED]
    rejected = 0 if core is None else int((core.marks == REJECTED).sum())
    return PieceRecord(
        piece.label,
        tuple(
            RuleLine(
                each.rule.key,
                each.rule.name,
                each.rule.group,
                each.rule.governs,
                each.verdict,
                each.basis,
                each.probability,
                marked_words(each),
                each.rule.source,
                each.rule.status,
                each.rule.standing,
            )
            for each in piece.verdicts
        ),
        int(used.size),
        rejected,
        _gaps(used, both),
        handled,
        tuple(words for _, words in piece.notes),
    )


def _gaps(used: np.ndarray[Any, np.dtype[np.float64]], both: Histories) -> tuple[str, ...]:
    """Where nothing was measured for long, in words."""
    if used.size == 0:
        return ("Nothing was measured in this piece: all that is said of it is reckoned.",)
    end_s = both.measured.end_s if both.measured is not None else float(used[-1])
    edges = np.concatenate(([0.0], used, [max(end_s, float(used[-1]))]))
    gaps = [(a, b - a) for a, b in pairwise(edges.tolist()) if b - a > GAP_S]

    def span(seconds: float) -> str:
        return format_duration(60.0 * round_half_up(seconds / 60.0))

    words = [f"No reading for {span(lasts)}, from {span(a)} after put-on." for a, lasts in gaps]
    return tuple(words) or ("No gap of more than 30 min between readings.",)


def _handled_words(handled: Handled | None, meat: Meat) -> str:
    if meat.states == (GROUND,):
        return "ground, and judged as such"
    if handled is None:
        judged = "at its middle, whatever was done" if meat.states == (NON_INTACT,) else "both ways"
        return f"nobody has said whether it was injected, bladed, tumbled or rolled: judged {judged}"
    done = [name for name, value in asdict(handled).items() if value]
    unsaid = [name for name, value in asdict(handled).items() if value is None]
    words = ", ".join(done) or "intact"
    return words if not unsaid else f"{words}; not said: {', '.join(unsaid)}"
