"""Clock times, local times with their zone, and instants.

Arithmetic happens in UTC only. Adding a timedelta to a local time moves the hands of the clock, not time:
across a change of the clocks it is an hour wrong. So a local time becomes a UTC instant at once
(:func:`parse_instant`), and an instant becomes a local time only to be shown (:func:`format_clock`,
:func:`format_local`).
"""

import difflib
import re
from datetime import UTC, datetime, time, timedelta, timezone
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError, available_timezones

from pitreckon.errors import InputError
from pitreckon.units._text import shown

_CLOCK = re.compile(
    r"([0-9]{1,2})(?::([0-9]{2})(?::([0-9]{2})(?:\.([0-9]{1,6}))?)?|(?=\s*[ap]))\s*([ap]\.?m\.?)?", re.IGNORECASE
)
_MOMENT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:T|\s+)"
    r"([0-9]{1,2}(?::[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?|(?=\s*[ap]\.?m\b))(?:\s*[ap]\.?m\.?)?)"
    r"\s*(Z|[+-][0-9]{2}(?::?[0-9]{2})?|[A-Z]{3,5})?",
    re.IGNORECASE,
)
_OFFSET = re.compile(r"([+-])([0-9]{2}):?([0-9]{2})?")
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_EXAMPLE = "2026-10-10 18:00 (the cook's local time) or 2026-10-10T18:00:00-05:00"
_LONGEST_ZONE = 60
_FIRST_YEAR, _LAST_YEAR = 1971, 2199  # well inside what every zone file and datetime can hold


def find_zone(name: str) -> ZoneInfo:
    """The time zone of an IANA name such as ``America/Chicago``.

    Raises InputError: no such zone, with the nearest names.
    """
    try:
        # The library looks for each step of a name inside the one before: a long one fills the stack.
        return ZoneInfo(name if len(name) <= _LONGEST_ZONE else "")
    except (
        ZoneInfoNotFoundError,
        ValueError,
        OSError,
    ):  # a folder of zones or an odd name gives the latter two
        hint = " or ".join(_zones_like(name[:_LONGEST_ZONE]) or ("America/Chicago", "Europe/Berlin"))
        raise InputError(f"{shown(name)} is not a time zone", f"Write its IANA name, such as {hint}") from None


def _zones_like(text: str) -> list[str]:
    """Zones of a city that is written nearly so. CST is as near to UCT, which is another time: that is not offered."""

    def plain(name: str) -> str:
        return name.casefold().replace("_", " ")

    zones = sorted(each for each in available_timezones() if "/" in each and not each.startswith("Etc/"))
    cities = {plain(each.rpartition("/")[2]): each for each in reversed(zones)}
    return [cities[each] for each in difflib.get_close_matches(plain(text.rpartition("/")[2]), cities, n=3, cutoff=0.7)]


def is_clock(text: str) -> bool:
    """Is it written as a clock time, whatever its hour?"""
    return _CLOCK.fullmatch(text.strip()) is not None


def parse_clock(text: str) -> time:
    """The clock time in ``14:05``, ``2:05 pm``, ``2pm`` or ``14:05:30`` (no day, no zone).

    >>> parse_clock("2:05 pm"), parse_clock("2pm"), parse_clock("00:30")
    (datetime.time(14, 5), datetime.time(14, 0), datetime.time(0, 30))

    Raises InputError: not a clock time.
    """
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        raise InputError(f"{shown(text)} is not a clock time", "Write it as in 14:05 or 2:05 pm")
    hour, minute, second = int(found[1]), int(found[2] or 0), int(found[3] or 0)
    half = (found[5] or "").lower()[:1]
    if half:
        if not 1 <= hour <= 12:
            raise InputError(f"{shown(text)} has an hour that am and pm do not have", "Write it as in 14:05 or 2:05 pm")
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 23 or minute > 59 or second > 59:
        raise InputError(f"{shown(text)} is not a time of the day", "Write it between 00:00 and 23:59")
    return time(hour, minute, second, int((found[4] or "").ljust(6, "0")))


def possible_instants(local: datetime, zone: ZoneInfo) -> tuple[datetime, ...]:
    """Every UTC instant at which clocks in the zone read this naive local time, earliest first.

    None when the clocks skip it (spring), two when they read it twice (autumn), otherwise one.
    """
    found: list[datetime] = []
    for fold in (0, 1):
        instant = local.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        if instant not in found and instant.astimezone(zone).replace(tzinfo=None) == local.replace(fold=0):
            found.append(instant)
    return tuple(sorted(found))


def instants_reading(text: str, zone: ZoneInfo) -> tuple[datetime, ...]:
    """Every UTC instant that a written date and time can mean: one, or two in the hour that autumn repeats.

    Accepts ``2026-10-10 13:15``, with seconds, with am/pm (``2026-10-10 6 pm`` too), with an offset (``Z``,
    ``-05:00``) or with the zone's own abbreviation (``CDT``), which tells the two passes of a repeated hour apart.

    Raises InputError: no such date or time, out of 1971-2199, or an hour that spring skips.
    """
    found = _MOMENT.fullmatch(text.strip())
    if found is None:
        raise InputError(f"{shown(text)} is not a date and time", f"Write it as in {_EXAMPLE}")
    try:
        day = datetime.strptime(found[1], "%Y-%m-%d").date()  # noqa: DTZ007  only its date is used
    except ValueError:
        raise InputError(f"{shown(text)} has a day that does not exist", f"Write it as in {_EXAMPLE}") from None
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise InputError(f"{shown(text)} is not in our times", f"Write a year from {_FIRST_YEAR} to {_LAST_YEAR}")
    local = datetime.combine(day, parse_clock(found[2]))
    suffix = found[3] or ""
    if suffix in {"Z", "z"} or suffix[:1] in {"+", "-"}:
        return (local.replace(tzinfo=_fixed_offset(suffix, text)).astimezone(UTC),)
    possible = possible_instants(local, zone)
    if not possible:
        later = local.replace(tzinfo=zone, fold=0).astimezone(UTC).astimezone(zone)
        raise InputError(
            f"{shown(text)} does not exist in {zone.key}: the clocks are put forward over it",
            f"Write {later:%H:%M} if the clock showed that, or give an offset as in {later.isoformat()}",
        )
    if suffix:
        named = tuple(instant for instant in possible if instant.astimezone(zone).tzname() == suffix.upper())
        if not named:
            right = " or ".join(str(instant.astimezone(zone).tzname()) for instant in possible)
            raise InputError(f"{shown(text)} is not on {suffix} in {zone.key}", f"Leave it out or write {right}")
        return named
    return possible


def parse_instant(text: str, zone: ZoneInfo) -> datetime:
    """The UTC instant of a written date and time; in the hour that autumn repeats, its first pass.

    >>> parse_instant("2026-10-10 18:00", ZoneInfo("America/Chicago")).isoformat()
    '2026-10-10T23:00:00+00:00'
    >>> parse_instant("2026-11-01 01:30", ZoneInfo("America/Chicago")).isoformat()  # fold 0: summer time
    '2026-11-01T06:30:00+00:00'

    Raises InputError: as :func:`instants_reading`.
    """
    return instants_reading(text, zone)[0]


def _fixed_offset(suffix: str, text: str) -> timezone:
    found = _OFFSET.fullmatch(suffix)
    if found is None:
        return UTC
    hours, minutes = int(found[2]), int(found[3] or 0)
    if hours > 15 or minutes > 59:
        raise InputError(f"{shown(text)} has an offset that no place has", f"Write it as in {_EXAMPLE}")
    size = timedelta(hours=hours, minutes=minutes)
    return timezone(-size if found[1] == "-" else size)


def instant_after(start_utc: datetime, seconds: float) -> datetime:
    """The UTC instant [s] after another; negative is before.

    Raises ValueError: the start has no zone.
    """
    if start_utc.tzinfo is None:
        raise ValueError("an instant needs its zone")
    return start_utc.astimezone(UTC) + timedelta(seconds=seconds)


def seconds_between(start_utc: datetime, end_utc: datetime) -> float:
    """Elapsed time [s] from one instant to another, whatever the clocks did between.

    Raises ValueError: one of them has no zone.
    """
    if start_utc.tzinfo is None or end_utc.tzinfo is None:
        raise ValueError("an instant needs its zone")
    # Two aware datetimes of the same zone are subtracted as wall clocks, so both go to UTC first.
    return (end_utc.astimezone(UTC) - start_utc.astimezone(UTC)).total_seconds()


def next_clock(after_utc: datetime, clock: time, zone: ZoneInfo) -> datetime:
    """The first UTC instant later than another at which clocks in the zone read this time.

    A time that the clocks skip that day is looked for on the next.
    """
    day = after_utc.astimezone(zone).date()
    for ahead in range(-1, 4):
        for instant in possible_instants(datetime.combine(day + timedelta(days=ahead), clock), zone):
            if instant > after_utc:
                return instant
    raise InputError(f"clocks in {zone.key} never read {clock}", "Write the date and an offset too")


def _to_the_minute(at_utc: datetime) -> datetime:
    whole = at_utc.astimezone(UTC) + timedelta(seconds=30)
    return whole.replace(second=0, microsecond=0)


def _repeated_hour_mark(at_utc: datetime, zone: ZoneInfo) -> str:
    local = at_utc.astimezone(zone)
    twice = len(possible_instants(local.replace(tzinfo=None, fold=0), zone)) > 1
    return f" {local.tzname()}" if twice else ""


def format_clock(
    at_utc: datetime, zone: ZoneInfo, *, seen_from: datetime | None = None, twelve_hour: bool = False
) -> str:
    """``14:05`` or ``2:05 pm``, to the minute; with the weekday when the day is not that of ``seen_from``.

    A week or more away the date is given too; in the hour that autumn repeats, the zone's abbreviation.

    >>> chicago = ZoneInfo("America/Chicago")
    >>> put_on = parse_instant("2026-10-10 19:05", chicago)
    >>> format_clock(put_on, chicago)
    '19:05'
    >>> format_clock(instant_after(put_on, 6 * 3600), chicago, seen_from=put_on)
    'Sun 01:05'
    """
    at = _to_the_minute(at_utc)
    local = at.astimezone(zone)
    hand = (
        f"{local.hour % 12 or 12}:{local:%M} {'pm' if local.hour >= 12 else 'am'}" if twelve_hour else f"{local:%H:%M}"
    )
    hand += _repeated_hour_mark(at, zone)
    if seen_from is None:
        return hand
    away = (local.date() - seen_from.astimezone(zone).date()).days
    if away == 0:
        return hand
    weekday = _WEEKDAYS[local.weekday()]
    return f"{weekday} {hand}" if abs(away) < 7 else f"{weekday} {local:%Y-%m-%d} {hand}"


def format_local(at_utc: datetime, zone: ZoneInfo) -> str:
    """``2026-10-10 18:00`` (with seconds when there are any), which :func:`parse_instant` reads back."""
    local = at_utc.astimezone(zone).replace(microsecond=0)
    text = f"{local:%Y-%m-%d %H:%M:%S}" if local.second else f"{local:%Y-%m-%d %H:%M}"
    return text + _repeated_hour_mark(at_utc.replace(microsecond=0), zone)
