"""Rules of time: come-up, holding, out of temperature control, age, and how a piece starts."""

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.safety.history.bounds import SLACK_K, SLACK_S, Path
from pitreckon.safety.history.history import MEASURED, History, Phase
from pitreckon.safety.outcome import CLOSE, FAILED, GAPS, MET, NOT_YET, UNSURE, Outcome
from pitreckon.safety.rules.rule import Rule
from pitreckon.safety.wording import temperature
from pitreckon.units import format_duration

AIR_ERROR_K = 5.0
"""How far the air may be from the weather that was said, which is of another place and hour; a stand in the sun is
warmer still (common practice, no source)."""

PLACE_K = 3.0
"""What a reading is held for too warm at least when a frozen middle is asked for [K], a checked thermometer's too: meat
thaws from the outside, and a tip beside the middle reads warmer than it (common practice, no source; held against
twin cooks)."""

SOON_S = 1800.0
"""A reading so soon after the start stands for it [s]: the middle has hardly moved."""


def judge_come_up(rule: Rule, history: History, path: Path, lethal_s: Floats, *, stand_in: bool) -> Outcome:
    """How long a place lay between two temperatures before the piece was through a lethal row.

    lethal_s: when each member was [s]; nan: not. Until then hours add up, even those of a second warming
    stand_in: the path is of the middle where the face would do: what it misses is then not known to be missed
    """
    low_c, high_c, most_s = _number(rule.low_c), _number(rule.high_c), _number(rule.most_s)
    begin, through = np.full(history.members, history.begin_s), ~np.isnan(lethal_s)
    end = np.minimum(np.where(through, lethal_s, np.inf), np.minimum(history.begin_of("cool", "chilled"), np.inf))
    lasting = path.overlap_s(begin, np.minimum(end, history.end_s))
    surely = lasting * ((path.low_c > low_c) & (path.peak_c < high_c))
    maybe = lasting * ((path.peak_c > low_c) & (path.low_c < high_c))
    # In a stretch of which nothing is known at the middle it may have come through its lethal row.
    surely = np.where(path.at_s[:-1, None] < _first_unknown_s(history)[None, :], surely, 0.0)
    least, most = surely.sum(axis=0), maybe.sum(axis=0)
    first = path.at(begin)
    late = ~(first + path.error_k <= low_c + SLACK_K)  # it may have been in the band before
    over = through | history.over | np.isfinite(history.begin_of("cool", "chilled"))
    missed = least > most_s + SLACK_S
    met = over & ~late & (most <= most_s + SLACK_S)
    state = np.where(missed, UNSURE if stand_in else FAILED, np.where(met, MET, np.where(over, UNSURE, NOT_YET)))
    when = np.where(missed, _crossed(path, surely, most_s), np.where(met, np.minimum(end, history.end_s), np.nan))
    if late.all() and np.isfinite(first).any():
        began_c = float(np.nanmin(first))
        inside = "inside the range" if began_c > low_c else "and by what the thermometer may be off, inside the range"
        why, needs = f"the record begins at {temperature(began_c)}, {inside}", "Log the piece from the cold on"
    elif stand_in:
        why = f"at the middle it took {format_duration(float(np.median(most)))}; the face was not measured"
        needs = "Measure just under the face early on"
    else:
        why, needs = _unsure(path)
    said = f"{format_duration(float(most[0]))} at most" if history.members == 1 and np.isfinite(most[0]) else ""
    return Outcome(state, when, most_s - np.where(missed, least, most), "s", "missed", why, needs, said)


def _first_unknown_s(history: History) -> Floats:
    """From when on something at the middle is not known, in each member [s]; inf: all of it is."""
    path = history.core_path
    unknown = path.there & ~np.isfinite(path.low_c)
    if not unknown.shape[0]:  # it has not begun
        return np.full(history.members, np.inf)
    first = path.at_s[np.argmax(unknown, axis=0)]
    return np.asarray(np.where(unknown.any(axis=0), first, np.inf))


def judge_out(rule: Rule, history: History, path: Path, air_c: float | None) -> Outcome:
    """How long it lay in a band in some phases, by the clock where nothing is known of its temperature."""
    low_c, high_c = _number(rule.low_c), _number(rule.high_c)
    least, most = np.zeros(history.members), np.zeros(history.members)
    # Where nothing is known of its outside, the middle in the band is enough to say that it was in it.
    sure = path if bool((np.isfinite(path.low_c) & path.there).any()) else history.core_path
    lasts = np.zeros(sure.gap_s.size)[:, None]
    for phase in history.of_kind(*rule.phases):
        lasting, surely = path.overlap_s(*_bounds(phase, history)), sure.overlap_s(*_bounds(phase, history))
        lasts = lasts + surely * ((sure.low_c > low_c) & (sure.peak_c < high_c))
        least += (surely * ((sure.low_c > low_c) & (sure.peak_c < high_c))).sum(axis=0)
        most += (lasting * ((path.peak_c > low_c) & (path.low_c < high_c))).sum(axis=0)
    strict = lenient = _number(rule.most_s)
    why, needs = _unsure(path)
    if rule.hot_most_s is not None and rule.hot_air_c is not None:
        near = air_c is not None and abs(air_c - rule.hot_air_c) <= AIR_ERROR_K
        if air_c is None or near:
            strict = rule.hot_most_s
            why = f"above {temperature(rule.hot_air_c)} outside only {format_duration(strict)} would be allowed"
            needs = (
                "Say how warm the air is where it stands" if air_c is None else "Serve it or cool it within that time"
            )
        elif air_c > rule.hot_air_c:
            strict = lenient = rule.hot_most_s
    over = _ended(history, *rule.phases) | history.over
    missed, met = least > lenient + SLACK_S, over & (most <= strict + SLACK_S)
    state = np.where(missed, FAILED, np.where(met, MET, np.where(over, UNSURE, NOT_YET)))
    when = np.where(missed, _crossed(sure, lasts, lenient), np.where(met, history.end_s, np.nan))
    said = f"{format_duration(float(most[0]))} at most" if history.members == 1 else ""
    return Outcome(state, when, strict - np.where(missed, least, most), "s", "missed", why, needs, said)


def judge_keep(rule: Rule, history: History, path: Path) -> Outcome:
    """Was it kept on one side of a temperature all through some phases?"""
    above = rule.at_least_c is not None
    limit_c = _number(rule.at_least_c if above else rule.at_most_c)
    n = history.members
    good, bad, when = np.ones(n, dtype=bool), np.zeros(n, dtype=bool), np.full(n, np.nan)
    margin = np.full(n, np.nan)
    for phase in history.of_kind(*rule.phases):
        begin, end = _bounds(phase, history)
        inside = path.overlap_s(begin, end) > 0.0
        whole = inside & (path.at_s[:-1, None] >= begin) & (path.at_s[1:, None] <= end)
        sure = path.low_c >= limit_c - SLACK_K if above else path.high_c <= limit_c + SLACK_K
        unsettled = inside & ~sure
        ends = [path.at(begin), path.at(end)]
        node = (path.at_s[:, None] >= begin) & (path.at_s[:, None] <= end)
        off = path.error_k if above else -path.error_k
        inner = np.where(node, path.temp_c, np.nan)
        # a first or last interval counts by what of it lies in the phase: its own ends and the node inside
        ends_good = np.all([_is_good(value - off, limit_c, above=above) for value in ends], axis=0)
        inner_good = ~np.any(np.isfinite(inner) & ~_is_good(inner - off, limit_c, above=above), axis=0)
        known = ~np.any(inside & ~np.isfinite(path.low_c), axis=0)
        fully = ~np.any(unsettled & whole, axis=0)
        good &= (fully & known & ends_good & inner_good) | (begin >= end)
        outside = np.isfinite(inner) & ~_is_good(inner + off, limit_c, above=above)
        first_bad = np.where(outside.any(axis=0), path.at_s[np.argmax(outside, axis=0)], np.inf)
        bad |= np.isfinite(first_bad)
        when = np.fmin(when, np.where(np.isfinite(first_bad), first_bad, np.nan))
        worst = np.min(np.where(np.isfinite(inner), inner if above else -inner, np.inf), axis=0, initial=np.inf)
        here = worst - (limit_c if above else -limit_c)
        margin = np.where(np.isfinite(here), np.fmin(margin, here), margin)
    over = _ended(history, *rule.phases) | history.over
    state = np.where(bad, FAILED, np.where(over, np.where(good, MET, UNSURE), NOT_YET))
    said = ""
    if n == 1 and np.isfinite(margin[0]):
        reached = limit_c + margin[0] if above else limit_c - margin[0]
        said = f"{'lowest' if above else 'highest'} {temperature(float(reached), 1)}"
    decided = np.where(bad, when, np.where(state == MET, history.end_s, np.nan))
    why, needs = _unsure(path)
    return Outcome(state, decided, margin, "K", "missed", why, needs, said)


def judge_start(rule: Rule, history: History) -> Outcome:
    """Was every part warm enough when a phase began? Only a reading of soon after can say so, and no plan."""
    least_c = _number(rule.at_least_c)
    begin = history.begin_of(*rule.phases)
    here = soon_c = np.full(history.members, np.nan)
    core = history.core
    if history.basis == MEASURED and core is not None:
        soon = (core.marks == MEASURED) & (core.at_s >= begin[0] - SLACK_S) & (core.at_s <= begin[0] + SOON_S)
        if soon.any():
            first = int(np.argmax(soon))
            soon_c = core.temp_c[first]
            here = soon_c - history.warms_k_per_s * max(float(core.at_s[first] - begin[0]), 0.0)
    good, bad = here - max(history.error_k, PLACE_K) >= least_c - SLACK_K, here + history.error_k < least_c
    bad &= soon_c + history.error_k < least_c
    state = np.where(good, MET, np.where(bad, FAILED, UNSURE))
    why, needs = "nobody measured its middle when it went on", "Measure the middle before it goes on"
    if np.isfinite(here).any():
        why = "by the first reading its middle may have been colder when it went on"
    return Outcome(state, np.where(good | bad, begin, np.nan), here - least_c, "K", "missed", why, needs)


def judge_age(rule: Rule, history: History) -> Outcome:
    """How long it has been kept, by the clock."""
    most_s = _number(rule.most_s)
    begin = history.begin_of(*rule.phases)
    end = np.full(history.members, -np.inf)
    for phase in history.of_kind(*rule.phases):
        end = np.maximum(end, phase.end_s)
    age = np.where(np.isfinite(end), end, history.end_s) - begin
    over = np.isfinite(end) | history.over
    state = np.where(age > most_s + SLACK_S, FAILED, np.where(over, MET, NOT_YET))
    when = np.where(state == FAILED, begin + most_s, np.where(state == MET, begin + age, np.nan))
    soon = rule.soon_s is not None and bool(np.any((age > rule.soon_s) & (age <= most_s)))
    said = "eat it today or freeze it" if soon else ""
    return Outcome(state, when, most_s - age, "s", "missed", said=said)


def _bounds(phase: Phase, history: History) -> tuple[Floats, Floats]:
    n = history.members
    begin = np.maximum(np.broadcast_to(phase.begin_s, (n,)), history.begin_s)
    return begin, np.minimum(np.broadcast_to(phase.end_s, (n,)), history.end_s)


def _ended(history: History, *kinds: str) -> Bools:
    ended = np.ones(history.members, dtype=bool)
    for phase in history.of_kind(*kinds):
        ended &= np.isfinite(phase.end_s) & (phase.end_s <= history.end_s)
    return ended


def _crossed(path: Path, lasting: Floats, most_s: float) -> Floats:
    """When the time that has surely gone by passes a limit [s]; nan: never."""
    when = np.full(path.members, np.nan)
    lasting = np.broadcast_to(lasting, (path.gap_s.size, path.members))
    late = np.flatnonzero(lasting.sum(axis=0) > most_s + SLACK_S)
    if late.size:
        total = np.cumsum(lasting[:, late], axis=0)
        i = np.argmax(total > most_s + SLACK_S, axis=0)
        when[late] = path.at_s[i + 1] - (total[i, np.arange(late.size)] - most_s)
    return when


def _is_good(value: Floats, limit_c: float, *, above: bool) -> Bools:
    return np.asarray(value >= limit_c - SLACK_K if above else value <= limit_c + SLACK_K)


def _unsure(path: Path) -> tuple[str, str]:
    unknown_s = float(path.unknown_s.max(initial=0.0))
    if unknown_s > 0.0:
        return GAPS.format(long=format_duration(unknown_s)), "Measure at least every 30 min"
    return CLOSE, "Measure more often near the limit"


def _number(value: float | None) -> float:
    if value is None:
        raise ValueError("the rule has no such limit")
    return value
