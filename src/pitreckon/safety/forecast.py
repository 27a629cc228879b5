"""Rules that will be missed if nothing is done: which, when, how likely, and what to do now.

The chance is the share of the posterior's members that fail a rule as they go on. What could be done to the fire is run
through the same members, so that the cook reads what each would bring.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from pitreckon.reckon.forecast import Reckoning
from pitreckon.reckon.summary import ItemRun
from pitreckon.reckon.whatif import LEAVE, live_options
from pitreckon.safety.foreseen import Change, Foreseen
from pitreckon.safety.history.fromrun import history_of
from pitreckon.safety.judgecook import Safety, judge_cook
from pitreckon.safety.rules.judge import PieceSafety, judge_piece
from pitreckon.safety.rules.meat import Handled, Meat
from pitreckon.safety.rules.rule import Rule
from pitreckon.safety.rules.verdict import Verdict
from pitreckon.safety.wording import temperature
from pitreckon.units import instant_after

LEAST: Final = 0.05
"""A chance to miss a rule from which on it is said (common practice, no source)."""
HELPS: Final = 0.05
"""By how much less likely something has to make it, to be named."""
MEMBERS: Final = 96
MOST_WAYS: Final = 3
HOTTER: Final = frozenset({"set pit", "wrapped"})
"""Acts that may bring the meat through sooner; taking it off is no way to cook it."""
DO: Final[Mapping[str, tuple[str, ...]]] = {
    "thawing": ("Thaw it through in the cold or in cold water before it goes on",),
    "cooking": ("Leave it on until the coldest place shows what it must, and check with a thermometer",),
    "come-up": ("Run the pit hotter now", "Finish it in a hot oven", "Cut it into smaller pieces"),
    "hot holding": ("Make the warm place hotter, {limit} or more in the meat", "Wrap it", "Serve it sooner"),
    "time out": ("Serve it, keep it hot, or chill it before then",),
    "cooling": ("Halve or slice it, or pull it into shallow trays, before cooling", "Put it into an ice bath"),
    "cold holding": ("Colder, {limit} or less, with room for air around it",),
    "leftovers": ("Eat it or freeze it before then",),
    "reheating": ("Heat it through faster, to {limit}",),
}
"""What helps, by group; {limit}: the rule's own temperature."""


def do_for(rule: Rule) -> tuple[str, ...]:
    """What helps against missing a rule, with its limit."""
    limits = (rule.at_least_c, rule.at_most_c, *(row.temp_c for row in rule.rows[:1]))
    limit_c = next((each for each in limits if each is not None), None)
    limit = "" if limit_c is None else temperature(limit_c)
    return tuple(each.format(limit=limit) for each in DO.get(rule.group, ()))


def foresee(
    reckoning: Reckoning,
    handled: Mapping[str, Handled] | None = None,
    *,
    safety: Safety | None = None,
    members: int = MEMBERS,
) -> tuple[Foreseen, ...]:
    """The governing rules that may be missed, the likeliest first.

    reckoning: a cook with its members
    handled: what was done to the meat, by the item's label
    safety: of the same reckoning, where it is known already
    members: for what could be done, drawn from the posterior

    Raises InputError: an item that the cook does not have
    """
    judged = safety or judge_cook(reckoning, handled)
    found = []
    for piece, both in zip(judged.ahead, judged.histories, strict=True):
        for verdict in piece.verdicts:
            chance = _chance(verdict)
            if not verdict.rule.governs or chance < LEAST:
                continue
            zero, at_s = both.reckoned.zero_utc, verdict.fails_at_s
            at_utc = None if zero is None or at_s is None else instant_after(zero, at_s)
            already = at_utc is not None and at_utc <= judged.at_utc and chance >= 1.0 - LEAST
            found.append(Foreseen(piece.label, verdict.rule, chance, at_utc, already, do_for(verdict.rule)))
    open_still = [each for each in found if not each.already and each.rule.group in {"come-up", "cooking"}]
    if open_still:
        ways = _ways(reckoning, dict(handled or {}), open_still, members)
        found = [replace(each, ways=ways.get((each.label, each.rule.key), ())) for each in found]
    return tuple(sorted(found, key=lambda each: (-each.chance, each.label, each.rule.key)))


def _chance(verdict: Verdict) -> float:
    """That it is missed."""
    if verdict.verdict in {"missed", "not met"}:
        return 1.0 if verdict.against is None else max(verdict.against, 1.0 - LEAST)
    if verdict.verdict == "met":
        return 0.0
    return verdict.against or 0.0


def _ways(
    reckoning: Reckoning, handled: Mapping[str, Handled], wanted: Sequence[Foreseen], members: int
) -> dict[tuple[str, str], tuple[Change, ...]]:
    """What each thing that could be done now would make of each rule."""
    changes: dict[tuple[str, str], list[Change]] = {}
    before: dict[tuple[str, str], float] = {}
    for option, runs in live_options(reckoning, members, HOTTER):
        pieces = [piece for run in runs for piece in _judged(reckoning, run, handled)]
        for each in wanted:
            piece = next((p for p in pieces if p.label == each.label), None)
            verdict = None if piece is None else piece.verdict(each.rule.key)
            if verdict is None:
                continue
            key, chance = (each.label, each.rule.key), _chance(verdict)
            if option.what == LEAVE:
                before[key] = chance
            elif chance <= before.get(key, each.chance) - HELPS:
                set_c = next((act.air_c for act in option.acts if act.act == "set pit"), None)
                changes.setdefault(key, []).append(Change(option.what, chance, set_c))
    return {key: tuple(sorted(ways, key=lambda way: way.chance)[:MOST_WAYS]) for key, ways in changes.items()}


def _judged(reckoning: Reckoning, run: ItemRun, handled: Mapping[str, Handled]) -> list[PieceSafety]:
    meat = Meat.of(run.cut, handled.get(run.item.label), reckoning.cook.weather_air_c)
    out = []
    for track in run.tracks:
        both = history_of(track, reckoning.sifted.ledger)
        out.append(judge_piece(track.track.label, meat, (both.reckoned,), both.notes, reckoning.cook.rules))
    return out
