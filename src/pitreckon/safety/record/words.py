"""Verdicts and cautions in a cook's words, for every door."""

from pitreckon.safety.cautions import MEMORY
from pitreckon.safety.rules.verdict import Verdict
from pitreckon.safety.wording import Scale, difference, rule_text, share, told
from pitreckon.units import format_duration


def verdict_words(verdict: Verdict, degrees: Scale = "F") -> str:
    """A verdict as one sentence, with its basis, its chance and what it leaves out, in a reader's unit.

    >>> from pitreckon.safety.history.history import History
    >>> from pitreckon.safety.rules.judge import judge_piece
    >>> from pitreckon.safety.rules.meat import Meat
    >>> piece = judge_piece("shoulder", Meat("pork"), [History.measured([0, 60], [62.7, 62.7])])
    >>> verdict_words(piece.group("cooking"))
    'Meat, time and temperature: not met, measured (the hottest was 144.9 °F, 13 °F short of 158 °F).'
    """
    return told(marked_words(verdict), degrees).replace(verdict.rule.name, rule_text(verdict.rule.name, degrees), 1)


def marked_words(verdict: Verdict) -> str:
    """The same with its temperatures as marks, for ``told``."""
    rule = verdict.rule
    parts = [f"{rule.name}: {verdict.verdict}, {_basis(verdict)}"]
    found = _found(verdict)
    if found:
        parts.append(f" ({found})")
    if verdict.why:
        parts.append(f", because {verdict.why}. {verdict.needs}")
    if rule.standing == "practice":
        parts.append("; practice, not law")
    if rule.status == "memory":
        parts.append(f"; {MEMORY}")
    if verdict.overruled_by:
        parts.append(", and a stricter rule that was seen wins over it")
    if verdict.left_out:
        parts.append(f"; not counted: {'; '.join(verdict.left_out)}")
    return "".join(parts) + "."


def _basis(verdict: Verdict) -> str:
    if verdict.basis == "clock":
        return "by the clock"
    if verdict.basis == "measured" or verdict.probability is None:
        return verdict.basis
    return f"reckoned: {share(verdict.probability)} of the members meet it"


def _found(verdict: Verdict) -> str:
    if verdict.said:
        return verdict.said
    if verdict.margin is None or verdict.verdict == "cannot tell":
        return ""
    good = verdict.margin >= 0.0
    if verdict.verdict == "met" and not good:
        return ""
    if verdict.unit == "s":
        return f"{format_duration(abs(verdict.margin))} {'to spare' if good else 'over'}"
    size = difference(abs(verdict.margin))
    return f"{size} {'to spare' if good else 'short'}"
