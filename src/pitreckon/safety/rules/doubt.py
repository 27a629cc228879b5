"""Why members that meet a rule are not believed: readings speak against them, or nothing was heard any more."""

from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.safety.history.history import MEASURED, History, Series
from pitreckon.safety.history.probe import CONTACT_K
from pitreckon.safety.rules.dwell import may_have_met, span
from pitreckon.safety.rules.meat import Meat
from pitreckon.safety.rules.rule import Rule
from pitreckon.safety.rules.verdict import AGAIN, AGREE, SURE, UNLIKELY, Verdict, unlikely
from pitreckon.safety.wording import share, temperature
from pitreckon.units import format_duration

NOT_SEEN: Final = "no reading bears out how cold it went on, and no member knows how long it stood about before"
WARM: Final = "by its first reading it may have been in the range before it went on, and for how long no member knows"
AT_START: Final = "Measure the middle when it goes on"
REFUTED: Final = "a reading of {read} speaks against the members, of which none was so {how} by then"
COLDER: Final = (
    "by its thawing only {share} of the members had a warm enough middle when it went on: the tip may not be in the "
    "coldest place"
)
BLIND: Final = "after {long} on the pit no reading came any more, and what the fire did since nobody knows"
WARM_SIDE: Final = frozenset({"dwell", "come-up", "reach"})


def against_members(
    rule: Rule, meat: Meat, history: History, measured: History | None, verdict: Verdict
) -> tuple[str, str]:
    """Why a reckoned "met" is not believed, and what would help; ("", "") where nothing speaks against it.

    history: with the members that meet it; measured: what instruments said of the same piece, if they did
    verdict: what the members come to
    """
    if unlikely(verdict):
        return UNLIKELY.format(share=share(verdict.before or 0.0)), AGAIN
    if rule.kind == "come-up" and not history.start_seen:
        return NOT_SEEN, AT_START
    if rule.kind == "come-up" and history.began_c > (rule.low_c or 0.0):
        return WARM, AT_START
    at_s = history.end_s if verdict.at_s is None else verdict.at_s
    if at_s > history.blind_s:
        return BLIND.format(long=format_duration(history.blind_s)), AGAIN
    if measured is None or measured.core is None:
        return "", ""
    refuted = _refuted(rule, history, measured)
    if refuted:
        return refuted, AGAIN
    if rule.kind == "dwell":
        begin, _ = span(measured)
        rows = rule.rows_for(meat)
        if not may_have_met(measured.core_path, rows, begin, np.full(1, min(at_s, measured.end_s)))[0]:
            return "the readings had not met it by then", AGAIN
    return "", ""


def against_readings(rule: Rule, history: History, measured: History, verdict: Verdict) -> tuple[str, str]:
    """Why a measured "met" is not believed.

    A reading up to then was hotter than the middle can have been at all; or members of a piece that was thawed had a
    colder middle when it went on.

    history: with the members; verdict: what the readings come to
    """
    if rule.kind == "start":
        return _still_frozen(rule, history)
    if rule.kind not in {"dwell", "reach"} or verdict.at_s is None:
        return "", ""
    warmer = _beyond(history, measured, verdict.at_s)[1]
    if warmer is None:
        return "", ""
    return REFUTED.format(read=temperature(warmer), how="warm"), AGAIN


def _still_frozen(rule: Rule, history: History) -> tuple[str, str]:
    """Of a piece whose thawing is reckoned too: what the members say of its middle."""
    if not history.of_kind("thaw"):
        return "", ""
    here = history.core_path.at(history.begin_of(*rule.phases))
    warm = here >= (rule.at_least_c or 0.0)
    meet = min(
        float(each[warm].sum())
        for each in (history.weights, history.weights if history.before is None else history.before)
    )
    if meet >= AGREE:
        return "", ""
    return COLDER.format(share=share(meet)), AGAIN


def _refuted(rule: Rule, history: History, measured: History) -> str:
    """Where a reading lies beyond every member on the side that matters, in words."""
    colder, warmer = _beyond(history, measured, np.inf)
    cold_matters = rule.kind in WARM_SIDE or rule.at_least_c is not None or rule.kind == "out"
    warm_matters = rule.kind in {"come-up", "cooling", "out"} or rule.at_most_c is not None
    for found, matters, how in ((colder, cold_matters, "cold"), (warmer, warm_matters, "warm")):
        if matters and found is not None:
            return REFUTED.format(read=temperature(found), how=how)
    return ""


def _beyond(history: History, measured: History, until_s: float) -> tuple[float | None, float | None]:
    """The first reading colder than every member, even taken twice as far apart, and the first warmer one [degC]."""
    core = measured.core
    members = history.wider.core
    if core is None or members is None:
        return None, None
    used = core.marks == MEASURED
    times, temps = core.at_s[used], core.temp_c[used, 0]
    inside = (times >= members.at_s[0]) & (times <= min(members.at_s[-1], until_s))
    times, temps = times[inside], temps[inside]
    if not times.size:
        return None, None
    low, high = _bounds(members, times, history.weights)
    # In meat that warms no place is colder than the coldest; a tip that is not in it may well read warmer.
    error_k = measured.error_k - measured.learned_k  # what was learned of a thermometer takes back no reading
    colder, warmer = temps < low - error_k, temps > high + error_k + CONTACT_K
    first = [float(temps[int(np.argmax(found))]) if found.any() else None for found in (colder, warmer)]
    return first[0], first[1]


def _bounds(members: Series, at_s: Floats, weights: Floats) -> tuple[Floats, Floats]:
    """The coldest and the warmest of the members that count, at some times [degC]."""
    order = np.argsort(weights)
    counts = np.zeros(weights.size, dtype=bool)
    counts[order[np.cumsum(weights[order]) > 1.0 - SURE]] = True
    k = np.clip(np.searchsorted(members.at_s, at_s), 1, members.at_s.size - 1)
    share_of = ((at_s - members.at_s[k - 1]) / (members.at_s[k] - members.at_s[k - 1]))[:, None]
    here = (1.0 - share_of) * members.temp_c[k - 1][:, counts] + share_of * members.temp_c[k][:, counts]
    there = np.isfinite(here)
    low = np.min(np.where(there, here, np.inf), axis=1)
    high = np.max(np.where(there, here, -np.inf), axis=1)
    known = there.any(axis=1)
    return np.where(known, low, -np.inf), np.where(known, high, np.inf)
