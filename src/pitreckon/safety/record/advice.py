"""What models of killing and growth say of each piece, as it stands in a record beside the rules."""

import math
from dataclasses import dataclass, replace
from typing import Any

from pitreckon.safety.history.history import History
from pitreckon.safety.microbes.advice import (
    MOST_SHOWN,
    OVERRULES_NOTHING,
    Growth,
    Lethality,
    forecast_advice,
    growth_words,
    kill_words,
)
from pitreckon.safety.microbes.models import has_models
from pitreckon.safety.rules.meat import INTACT, Meat
from pitreckon.safety.wording import Scale, rule_text

SPAN = "From put-on until it is eaten, as the members go; what was measured moves the members."


@dataclass(frozen=True, slots=True)
class AdviceLine:
    """One figure of one model.

    does: killed or grown; when, where: come-up or cooling, middle or surface, of what grows; "" for what is killed
    p50, p95_worst, worst: powers of ten, in the middle of the spread, in the worst 5 % and in the worst member; nan:
        nothing is known; known: share of the members that they are of
    limit: what is too much, of what grows; chance_over: share of the members that are over it
    words: all of it in a sentence; source, holds: whose it is, and for what
    """

    microbe: str
    does: str
    when: str
    where: str
    p50: float
    p95_worst: float
    worst: float
    known: float
    limit: float | None
    chance_over: float | None
    words: str
    source: str
    holds: str


@dataclass(frozen=True, slots=True)
class PieceAdvice:
    """Of one piece. notes: what is to be known of its figures."""

    label: str
    lines: tuple[AdviceLine, ...]
    notes: tuple[str, ...]


def advice_of(label: str, history: History, meat: Meat) -> PieceAdvice | None:
    """What the models say of a reckoned history; None: none is for this animal, or nothing was reckoned.

    A piece of which nobody has said that it is intact counts as one that is not: then its inside is looked at.
    """
    core, surface = history.core, history.surface
    if not has_models(meat.animal) or core is None or surface is None or history.end_s <= history.begin_s:
        return None
    core, surface = core.until(history.end_s), surface.until(history.end_s)
    if core.at_s.size < 2:
        return None
    intact = meat.states == (INTACT,)
    said = forecast_advice(
        core.at_s, core.temp_c, surface.temp_c, meat=meat.animal, intact=intact, weights=history.weights
    )
    lines = (*(_killed(each) for each in said.lethality), *(_grown(each) for each in said.growth))
    unsaid = not intact and INTACT in meat.states
    notes = ("Nobody has said that it is intact: its inside was looked at.",) if unsaid else ()
    return PieceAdvice(label, lines, (*said.notes, *notes))


def _killed(each: Lethality) -> AdviceLine:
    most = float(MOST_SHOWN)
    return AdviceLine(
        microbe=each.model.microbe,
        does="killed",
        when="",
        where="",
        p50=min(each.log10.p50, most),
        p95_worst=min(each.log10.p95_worst, most),
        worst=min(each.log10.worst, most),
        known=each.log10.known,
        limit=None,
        chance_over=None,
        words=kill_words(each),
        source=each.model.source,
        holds=each.model.holds,
    )


def _grown(each: Growth) -> AdviceLine:
    return AdviceLine(
        microbe=each.model.microbe,
        does="grown",
        when=each.model.when,
        where=each.where,
        p50=each.log10.p50,
        p95_worst=each.log10.p95_worst,
        worst=each.log10.worst,
        known=each.log10.known,
        limit=each.model.limit_log10,
        chance_over=each.chance_over,
        words=growth_words(each),
        source=each.model.source,
        holds=each.model.holds,
    )


def advice_in(advice: PieceAdvice, degrees: Scale) -> PieceAdvice:
    """The advice with what a model says of itself in a reader's unit."""
    lines = tuple(
        replace(
            each,
            words=rule_text(each.words, degrees),
            source=rule_text(each.source, degrees),
            holds=rule_text(each.holds, degrees),
        )
        for each in advice.lines
    )
    return replace(advice, lines=lines, notes=tuple(rule_text(note, degrees) for note in advice.notes))


def document_of_advice(advice: tuple[PieceAdvice, ...]) -> dict[str, Any]:
    """The advice as a JSON object: powers of ten, shares, and the sentences; null where nothing is known."""

    def number(value: float | None) -> float | None:
        return None if value is None or not math.isfinite(value) else round(value, 4)

    return {
        "standing": OVERRULES_NOTHING,
        "span": SPAN,
        "most_log10": MOST_SHOWN,
        "pieces": [
            {
                "piece": piece.label,
                "lines": [
                    {
                        "microbe": line.microbe,
                        "does": line.does,
                        "when": line.when,
                        "where": line.where,
                        "log10": {
                            "p50": number(line.p50),
                            "p95_worst": number(line.p95_worst),
                            "worst": number(line.worst),
                        },
                        "known": number(line.known),
                        "limit_log10": line.limit,
                        "chance_over": number(line.chance_over),
                        "words": line.words,
                        "source": line.source,
                        "holds": line.holds,
                    }
                    for line in piece.lines
                ],
                "notes": list(piece.notes),
            }
            for piece in advice
        ],
    }
