"""Alerts by the readings alone: a pit that is too cool or too hot, an instrument that says nothing more."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from pitreckon.alerts.alert import Alert
from pitreckon.alerts.settings import AlertSettings
from pitreckon.ledger import Ledger, Reading
from pitreckon.text.said import difference, instant, said, temperature
from pitreckon.units import format_difference, format_duration

ABOVE = "{pit}: {value}, {off} above its setting"
SINKING = "It is set to {set}, and out of bounds since {at}. Look at the fire and the fuel."
RUNNING_HOT = "It is set to {set}, and out of bounds since {at}. Look for a flare-up; close the air."
_OFF = ("took off", "rest", "hold", "served")


def instrument_alerts(ledger: Ledger, settings: AlertSettings, now: datetime) -> Iterator[Alert]:
    """What the readings up to now give reason to tell, whether or not it was told.

    Only what is in use counts: a pit with meat on it, a probe in meat on a pit.
    """
    ledger = ledger.until(now)
    where = {item.label: pit_of(ledger, item.label, item.pit) for item in settings.cook.items}
    for pit in settings.cook.pits:
        if pit.label not in where.values():
            continue
        readings = ledger.readings("pit air", pit.label)
        if not readings:
            continue
        silent = _silence(readings[-1], settings, now)
        if silent is not None:
            yield silent
        else:
            yield from _out_of_bounds(readings, setting_of(ledger, pit.label, pit.set_c), pit.label, settings, now)
    for item in settings.cook.items:
        if where[item.label] is None:
            continue
        probes = ledger.readings("probe", item.label)
        for piece in sorted({reading.piece for reading in probes}, key=lambda n: n or 0):
            last = next(reading for reading in reversed(probes) if reading.piece == piece)
            lost = _silence(last, settings, now)
            if lost is not None:
                yield lost


def pit_of(ledger: Ledger, label: str, planned: str) -> str | None:
    """The pit that an item is on; None: it is not on, or off again."""
    pit: str | None = None
    for act in ledger.acts(label):
        if act.act == "put on":
            pit = planned
        elif act.act == "moved" and act.piece is None and act.detail:
            pit = planned = act.detail
        elif act.act in _OFF and act.piece is None:
            pit = None
    return pit


def setting_of(ledger: Ledger, label: str, planned_c: float) -> tuple[float, datetime | None]:
    """What a pit is set to now [°C], and since when; None: from the beginning."""
    for act in reversed(ledger.acts(label)):
        if act.act == "set pit" and act.air_c is not None:
            return act.air_c, act.at_utc
    return planned_c, None


def _silence(last: Reading, settings: AlertSettings, now: datetime) -> Alert | None:
    silent = now - last.at_utc
    if silent < timedelta(seconds=settings.silent_s):
        return None
    clock = settings.clock(now)
    value = temperature(last.value_c, scale=settings.scale)
    took, at = format_duration(silent.total_seconds()), instant(last.at_utc, clock(last.at_utc))
    if last.channel == "pit air":
        kind, title = "no word from the pit", said("{pit}: no reading for {span}", pit=last.on, span=took)
        text = said("The last was {value} at {at}. Look at the fire, then at the instrument.", value=value, at=at)
    else:
        where = last.on if last.piece is None else f"{last.on} {last.piece}"
        kind, title = "probe fell out", said("{item}: the probe says nothing for {span}", item=where, span=took)
        text = said(
            "The last that could be used was {value} at {at}. Look at its plug and its cable.", value=value, at=at
        )
    key = f"{kind}|{last.on}|{last.piece or ''}|{last.at_utc.isoformat(timespec='seconds')}"
    return Alert(kind, last.on, title, text, last.at_utc, (key,))


def _out_of_bounds(
    readings: tuple[Reading, ...],
    aim: tuple[float, datetime | None],
    label: str,
    settings: AlertSettings,
    now: datetime,
) -> Iterator[Alert]:
    set_c, since = aim
    after = [each for each in readings if since is None or each.at_utc >= since]
    for kind, sign, bound_k in (("fire sinking", -1.0, settings.below_k), ("fire running hot", 1.0, settings.above_k)):
        begun = _excursion(after, set_c, sign, bound_k)
        if begun is None or now - begun < timedelta(seconds=settings.lasting_s):
            continue
        last = after[-1]
        off_k = abs(last.value_c - set_c)
        title = "{pit}: {value}, {off} below its setting" if sign < 0.0 else ABOVE
        yield Alert(
            kind,
            label,
            said(
                title,
                pit=label,
                value=temperature(last.value_c, scale=settings.scale),
                off=difference(off_k, format_difference(off_k, settings.scale).lstrip("+")),
            ),
            said(
                SINKING if sign < 0.0 else RUNNING_HOT,
                set=temperature(set_c, scale=settings.scale),
                at=instant(begun, settings.clock(now)(begun)),
            ),
            begun,
            (f"{kind}|{label}|{begun.isoformat(timespec='seconds')}",),
        )


def _excursion(readings: list[Reading], set_c: float, sign: float, bound_k: float) -> datetime | None:
    """Since when a pit is out of bounds on one side; None: it is not, or it has not been on the good side yet.

    It is over when the pit has come half the way back, so that a reading at the very bound tells nothing twice.
    """
    begun: datetime | None = None
    came = False  # a pit that heats up, or cools to a new setting, is on its way
    for reading in readings:
        off_k = sign * (reading.value_c - set_c)
        if off_k <= bound_k:
            came = True
        if came and begun is None and off_k > bound_k:
            begun = reading.at_utc
        elif begun is not None and off_k <= 0.5 * bound_k:
            begun = None
    if begun is None or sign * (readings[-1].value_c - set_c) <= bound_k:
        return None
    return begun
