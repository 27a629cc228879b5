"""What is due to be told, as a pure function of the outlook, the ledger, the settings and what was told."""

from collections.abc import Collection, Iterator, Sequence
from datetime import datetime, timedelta

from pitreckon.alerts.alert import Alert
from pitreckon.alerts.instruments import instrument_alerts
from pitreckon.alerts.settings import AlertSettings
from pitreckon.ledger import Ledger
from pitreckon.reckon import ItemOutlook, Outlook, Task, Window
from pitreckon.reckon.fires import DONE_AS
from pitreckon.reckon.words import CAUTION, DOING, in_wrap, task_words, waiting_words, whole_minute
from pitreckon.safety.foreseen import Foreseen, words_of
from pitreckon.text.said import capital, instant, joined, said
from pitreckon.units import format_duration, format_percent

ACT_WORDS = {
    "put on": "put on",
    "wrap": "wrapped",
    "unwrap": "unwrapped",
    "sauce": "sauced",
    "put back": "moved",
    "take off": "took off",
    "hold": "hold",
    **DONE_AS,
}
"""What an act that is to come is called in the ledger once it was done."""
SAFETY_AHEAD_S = 3600.0
"""A core that may miss its official minimum is told this long before the meat is called ready [s]."""
SURE_ENOUGH = 0.95


def due(
    outlook: Outlook | None,
    ledger: Ledger,
    settings: AlertSettings,
    now: datetime,
    sent: Collection[str],
    foreseen: Sequence[Foreseen] = (),
) -> list[Alert]:
    """The alerts to send now, the most pressing first.

    outlook: the latest there is; None: only the readings are looked at
    foreseen: safety rules that may be missed, as ``safety.forecast.foresee`` has them
    sent: keys that were told or acknowledged; add each alert's ``keys`` to it when it was sent

    An alert that comes in the quiet hours, and is not one that may wake the cook, is due when they are over, if there
    is still reason for it.
    """
    every = list(instrument_alerts(ledger, settings, now))
    if outlook is not None:
        every += _be_back(outlook, ledger, settings, now)
        for item in outlook.items:
            every += _safety(item, settings, now)
            every += _windows(item, outlook, ledger, settings, now)
    every += [_rule(each, settings, now) for each in foreseen]
    fresh = [alert for alert in every if any(key not in sent for key in alert.keys)]
    local = now.astimezone(settings.cook.zone_info).time()
    if settings.quiet is not None and settings.quiet.holds(local):
        fresh = [alert for alert in fresh if alert.kind in settings.wake]
    return sorted(fresh, key=lambda alert: _PRESSING.index(alert.kind))


_PRESSING = (
    "safety",
    "fire running hot",
    "fire sinking",
    "be back",
    "no word from the pit",
    "probe fell out",
    "window",
)


def _occasion(kind: str, item: str, act: str, ledger: Ledger) -> str:
    """Names an act that is to come: how often it was done before tells the second sauce from the first."""
    done = sum(each.act == ACT_WORDS.get(act) for each in ledger.acts(item))
    return f"{kind}|{item}|{act}|{done}"


def _windows(
    item: ItemOutlook, outlook: Outlook, ledger: Ledger, settings: AlertSettings, now: datetime
) -> Iterator[Alert]:
    """The next act of an item whose window is about to open, at the time that the day's timetable has for it."""
    window = next(iter(item.windows), None)
    if window is None or not window.opens_s.known:
        return
    told = (trip.at_utc for trip in outlook.trips for task in trip.tasks if _is_of(task, item, window))
    opens = next(told, item.instant(window.opens_s.p50))
    if opens - now > timedelta(seconds=settings.ahead_s):
        return
    clock = settings.clock(now)
    what = in_wrap(DOING[window.act], window.wrap)
    until = waiting_words(window.until, window.until_core_c, settings.scale)
    doing = capital(said("{doing} when {what}", doing=what, what=until) if until else what)

    def at(moment: datetime) -> str:
        return instant(moment, clock(moment))

    if opens <= now:
        title = said("{item}: {doing} now", item=item.label, doing=what)
        text = said("{doing}; {chance} likely already.", doing=doing, chance=format_percent(window.open_now))
    else:
        span = format_duration((opens - now).total_seconds())
        title = said("{item}: {doing} in about {span}", item=item.label, doing=what, span=span)
        early, late = item.instant(window.opens_s.p05), window.opens_s.p95
        times = {"doing": doing, "at": at(opens), "early": at(early)}
        if late < float("inf") and at(early) == at(opens) == at(item.instant(late)):
            text = said("{doing}, about {at}.", doing=doing, at=at(opens))  # it waits for the clock alone
        elif late < float("inf"):
            text = said("{doing}, about {at}; from {early} to {late}.", **times, late=at(item.instant(late)))
        else:
            text = said("{doing}, about {at}; from {early} on.", **times)
    if window.closes_by and window.closes_s.known:
        closes = at(item.instant(window.closes_s.p50))
        text = joined(" ", [text, said("Too late about {at}: {why}.", at=closes, why=said(window.closes_by))])
    yield Alert("window", item.label, title, text, opens, (_occasion("window", item.label, window.act, ledger),))


def _is_of(task: Task, item: ItemOutlook, window: Window) -> bool:
    """Is it the task of this window, with a time in the plan?"""
    return task.planned_utc is not None and (task.item, task.act) == (item.label, window.act)


def _be_back(outlook: Outlook, ledger: Ledger, settings: AlertSettings, now: datetime) -> Iterator[Alert]:
    """The next trip, when it is time to set out for it."""
    if not outlook.trips:
        return
    trip = outlook.trips[0]
    if trip.by_utc - now > timedelta(seconds=settings.back_s):
        return
    clock = settings.clock(now)
    late = trip.by_utc <= now
    by = whole_minute(trip.by_utc)
    title = said("Be back at the pit now") if late else said("Be back at the pit by {at}", at=instant(by, clock(by)))
    several = len({task.pit for task in trip.tasks if task.pit}) > 1
    text = joined(
        ". ",
        (
            capital(task_words(task, clock, settings.scale, several_pits=several, coming_next=True))
            for task in trip.tasks
        ),
    )
    items = {task.item for task in trip.tasks}
    keys = tuple(_occasion("be back", task.item, task.act, ledger) for task in trip.tasks)
    yield Alert("be back", items.pop() if len(items) == 1 else "", title, joined("", [text, "."]), trip.by_utc, keys)


CORE_SHORT = "Its core may not reach the official minimum before it is called ready"


def _safety(item: ItemOutlook, settings: AlertSettings, now: datetime) -> Iterator[Alert]:
    """A core that may not reach its official minimum by the time that the meat is called ready."""
    ready = item.marks.get("ready")
    if item.least_core >= SURE_ENOUGH or ready is None or not ready.known or item.put_on_planned:
        return
    at = item.instant(ready.p50)
    if at - now > timedelta(seconds=SAFETY_AHEAD_S):
        return
    notes = [note for note in item.notes if "official minimum" in note]
    note = capital(notes[0]) if notes else said(CORE_SHORT)
    text = joined(". ", [note, said(CAUTION)])
    title = said("{item}: check the core", item=item.label)
    yield Alert("safety", item.label, title, text, at, (f"safety|{item.label}|least core",))


RULE_MAY_BE = "{item}: a safety rule may be missed"


def _rule(each: Foreseen, settings: AlertSettings, now: datetime) -> Alert:
    """A safety rule that may be missed."""
    what, do = words_of(each, settings.clock(now), settings.scale)
    title = said("{item}: a safety rule is missed" if each.already else RULE_MAY_BE, item=each.label)
    at = now if each.at_utc is None else each.at_utc
    keys = (f"safety|{each.label}|{each.rule.key}{'|missed' if each.already else ''}",)
    return Alert("safety", each.label, title, joined(" ", [what, do]), at, keys)
