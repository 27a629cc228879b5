"""Every rule over the histories of a piece, and what they come to together."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from pitreckon.arrays import Floats
from pitreckon.errors import InputError
from pitreckon.safety.history.bounds import Path, colder_of, hotter_of
from pitreckon.safety.history.history import MEASURED, RECKONED, REJECTED, History
from pitreckon.safety.outcome import Outcome, worse_of
from pitreckon.safety.rules.doubt import against_members, against_readings
from pitreckon.safety.rules.dwell import cooked, judge_dwell
from pitreckon.safety.rules.limits import judge_age, judge_come_up, judge_keep, judge_out, judge_start
from pitreckon.safety.rules.meat import ASK, INTACT, Meat
from pitreckon.safety.rules.rule import GROUPS, Rule, rules
from pitreckon.safety.rules.stagedcooling import judge_cooling, judge_reach
from pitreckon.safety.rules.verdict import CLOCK, Verdict, doubted, settled, together

WORST_FIRST: Final = ("missed", "not met", "cannot tell", "not yet", "met")
NOT_SAID: Final = "it has not been said whether the meat is intact, and that decides"

WORD_ALONE: Final = (
    "its face meets it and its middle does not: for a whole cut the face is enough, and that it is whole "
    "no reading shows"
)
LABEL: Final = "Keep the label that says it was not injected or bladed, and show it"
TOO_NEAR: Final = "every member meets it, but some by so little that another might not"


@dataclass(frozen=True, slots=True)
class PieceSafety:
    """What the rules say of one piece.

    label: item and piece; meat: what it is; verdicts: one a rule that applies, in the order of its day
    notes: what was found out about its readings: (time [s], words)
    """

    label: str
    meat: Meat
    verdicts: tuple[Verdict, ...]
    notes: tuple[tuple[float, str], ...] = ()

    def verdict(self, key: str) -> Verdict | None:
        """The verdict of a rule, if it applies."""
        return next((each for each in self.verdicts if each.rule.key == key), None)

    def group(self, name: str) -> Verdict | None:
        """What decides a group: the worst of its governing rules; None: no rule of it applies so far."""
        governing = [each for each in self.verdicts if each.rule.group == name and each.rule.governs]
        return min(governing, key=lambda each: WORST_FIRST.index(each.verdict), default=None)

    @property
    def groups(self) -> dict[str, Verdict]:
        """What decides each group that applies, in the order of a piece's day."""
        found = {name: self.group(name) for name in GROUPS}
        return {name: verdict for name, verdict in found.items() if verdict is not None}


def judge_piece(
    label: str,
    meat: Meat,
    histories: Sequence[History],
    notes: Sequence[tuple[float, str]] = (),
    which: str = "us",
) -> PieceSafety:
    """Hold every rule that applies against what is known of a piece.

    label: item and piece
    meat: what it is and what was done to it
    histories: at most one measured and one reckoned
    notes: handed on
    which: whose rules, one of ``SETS``

    Raises InputError: no history, or two of one basis
    """
    of = {history.basis: history for history in histories}
    if not histories or len(of) < len(histories):
        raise InputError(f"{label}: {len(histories)} histories", "Give one that is measured, one reckoned, or both")
    measured, verdicts = of.get(MEASURED), []
    out = left_out(measured, notes)
    for rule in rules(which):
        states = rule.applies(meat)
        if not states:
            continue
        found = {
            basis: verdict
            for basis, history in of.items()
            if (verdict := _settled(rule, meat, states, history, measured)) is not None
        }
        if found:
            one = together(found.get(MEASURED), found.get(RECKONED))
            if one.verdict == "met" and one.basis == MEASURED and measured is not None and RECKONED in of:
                why, needs = against_readings(rule, of[RECKONED], measured, one)
                one = doubted(one, why, needs) if why else one
            verdicts.append(one if rule.measures == CLOCK else replace(one, left_out=out))
    return PieceSafety(label, meat, _overruled(verdicts), tuple(notes))


def left_out(measured: History | None, notes: Sequence[tuple[float, str]]) -> tuple[str, ...]:
    """What was noted of a piece and does not count, in words; none where all of it does."""
    if measured is None or measured.core is None:
        return ()
    marks = measured.core.marks
    rejected, used = int((marks == REJECTED).sum()), int((marks == MEASURED).sum())
    why = dict.fromkeys(words for at_s, words in notes if at_s <= measured.end_s)
    told = "; ".join(why) or "out of range, or one that stands alone"
    if rejected:
        return (f"{rejected} of {rejected + used} readings ({told})",)
    return tuple(words for words in why if "left out" in words)


def _settled(
    rule: Rule, meat: Meat, states: Sequence[str], history: History, measured: History | None
) -> Verdict | None:
    """What one history comes to; what its members meet they have to meet with something to spare."""
    outcome = _outcome(rule, meat, states, history)
    if outcome is None:
        return None
    verdict = settled(rule, outcome, history)
    if verdict.verdict != "met" or history.basis != RECKONED or rule.measures == CLOCK:
        return verdict
    spared = _outcome(rule, meat, states, history.wider)
    if spared is None:
        return verdict
    strict = settled(rule, spared, history.wider)
    if strict.verdict == "met":
        stands = replace(verdict, at_s=strict.at_s, margin=strict.margin)
        why, needs = against_members(rule, meat, history, measured, stands)
        return doubted(stands, why, needs) if why else stands
    said = "not yet" if strict.verdict == "not yet" else "cannot tell"
    why, needs = (TOO_NEAR, "Measure the piece") if said == "cannot tell" else ("", "")
    return replace(verdict, verdict=said, at_s=None, margin=None, why=why, needs=needs, said="")


def _outcome(rule: Rule, meat: Meat, states: Sequence[str], history: History) -> Outcome | None:
    """The rule over one history; None: the piece has not had that phase."""
    if rule.phases and not history.of_kind(*rule.phases):
        return None
    match rule.kind:
        case "dwell":
            return judge_dwell(history, rule.rows_for(meat))
        case "come-up":
            return _come_up(rule, meat, states, history)
        case "keep":
            return judge_keep(rule, history, _place(rule, history))
        case "out":
            return judge_out(rule, history, _place(rule, history), meat.air_c)
        case "cooling":
            return judge_cooling(rule, history, history.core_path) if history.of_kind("cool") else None
        case "reach":
            return judge_reach(rule, history, history.core_path)
        case "start":
            return judge_start(rule, history)
        case _:
            return judge_age(rule, history)


def _come_up(rule: Rule, meat: Meat, states: Sequence[str], history: History) -> Outcome:
    lethal_s = lethal(meat, history)
    middle = judge_come_up(rule, history, history.core_path, lethal_s, stand_in=False)
    if INTACT not in states or rule.measures != "surface if intact":
        return middle
    if history.surface is None:  # the middle is later than the face: what it meets, the face meets
        face = judge_come_up(rule, history, history.core_path, lethal_s, stand_in=True)
    else:
        face = judge_come_up(rule, history, history.surface_path, lethal_s, stand_in=False)
    if states == (INTACT,):  # members have a face of a whole cut, whatever lies on the grate
        return face if history.basis == MEASURED else worse_of(face, middle, WORD_ALONE, LABEL)
    return worse_of(face, middle, NOT_SAID, ASK)


def lethal(meat: Meat, history: History) -> Floats:
    """When each member is surely through a row of the table that governs its cooking [s]; nan: it is not."""
    rule = next(each for each in rules() if each.kind == "dwell" and each.governs and each.applies(meat))
    return cooked(history, rule.rows_for(meat))[0]


def _place(rule: Rule, history: History) -> Path:
    """Where a rule measures. Of what has to be hot the colder of middle and outside counts, of what has to be cold the
    hotter one. A middle alone will do for meat that is chilled through, not for meat that is held hot or thawing.
    """
    outside = history.outer is not None or history.surface is not None
    if rule.measures == "outer":
        warms = "thaw" in rule.phases  # from the outside
        return history.outer_path if warms else colder_of(history.core_path, history.outer_path)
    if rule.at_most_c is not None and outside:
        return hotter_of(history.core_path, history.outer_path)
    return history.core_path


def _overruled(verdicts: Sequence[Verdict]) -> tuple[Verdict, ...]:
    """A rule from memory that is met while a seen one of its group is not gives way to it."""
    out = []
    for each in verdicts:
        stricter = ""
        if each.rule.status == "memory" and each.verdict == "met":
            seen = [v for v in verdicts if v.rule.group == each.rule.group and v.rule.status == "seen"]
            stricter = next((v.rule.key for v in seen if v.rule.governs and v.verdict != "met"), "")
        out.append(replace(each, overruled_by=stricter) if stricter else each)
    return tuple(out)
