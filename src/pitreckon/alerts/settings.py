"""What the cook wants to be told, and when not to be woken: the ``[alerts]`` of a settings file."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, time
from functools import partial
from pathlib import Path
from typing import Final

from pitreckon.alerts.alert import KINDS
from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.forms.keys import Key, Keys, name, several, text
from pitreckon.intake.settings import top_of
from pitreckon.text.file import read_text
from pitreckon.units import Scale, format_clock, parse_clock, parse_difference, parse_duration, shown

WAKING: Final = ("be back", "fire sinking", "fire running hot", "no word from the pit", "safety")
_QUIET: Final = re.compile(r"(.+?)\s+to\s+(.+)")


@dataclass(frozen=True, slots=True)
class Quiet:
    """Hours of the night, by the cook's clock; over midnight when they begin later than they end."""

    begins: time
    ends: time

    def holds(self, clock: time) -> bool:
        """Whether a clock time is in them; the end is not."""
        if self.begins <= self.ends:
            return self.begins <= clock < self.ends
        return clock >= self.begins or clock < self.ends


@dataclass(frozen=True, slots=True)
class AlertSettings:
    """What to tell of one cook, and how. Left out, these are common practice, no source.

    ahead_s: a window is told so long before it opens; back_s: and the time to be back so long before it [s]
    below_k, above_k: how far a pit may be from where it is set [K]; lasting_s: for how long [s]
    silent_s: for how long an instrument may say nothing [s]
    wake: kinds that are told in the quiet hours too; the others wait till those are over
    urls: where messages go, as Apprise writes addresses; they hold secrets, so they are not shown
    """

    cook: Cook
    ahead_s: float = 1200.0
    back_s: float = 600.0
    below_k: float = 15.0
    above_k: float = 20.0
    lasting_s: float = 600.0
    silent_s: float = 600.0
    quiet: Quiet | None = None
    wake: tuple[str, ...] = WAKING
    scale: Scale = "F"
    twelve_hour: bool = False
    urls: tuple[str, ...] = field(default=(), repr=False)

    def clock(self, now: datetime) -> Callable[[datetime], str]:
        """Says an instant by the cook's clock, with the weekday when it is not today."""
        return partial(format_clock, zone=self.cook.zone_info, seen_from=now, twelve_hour=self.twelve_hour)


def read_alert_settings(path: Path, cook: Cook) -> AlertSettings:
    """What the ``[alerts]`` of a settings file say; what it leaves out is as usual.

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return alert_settings(read_text(path), str(path), cook)


def alert_settings(text: str, file: str, cook: Cook) -> AlertSettings:
    """The same from the text of a settings file; ``file`` is its name for messages."""
    fields = top_of(text, file).table("alerts")
    return AlertSettings(cook) if fields is None else ALERTS.read(fields, cook=cook)


def _degrees(text: str) -> float:
    size = parse_difference(text)
    if not 0.0 < size <= 200.0:
        raise InputError(f"{shown(text)} is no distance that a pit can keep", "Write it as in 25 F deg")
    return size


def _quiet(text: str) -> Quiet:
    found = _QUIET.fullmatch(text.strip())
    if found is None:
        raise InputError(f"{shown(text)} are no hours", "Write them as in 23:00 to 06:00")
    return Quiet(parse_clock(found[1]), parse_clock(found[2]))


def _address(text: str) -> str:
    if not text.strip():
        raise InputError("there is a blank text", "Write an address, or leave it out")
    return text.strip()


_SPAN, _DEGREES = text(parse_duration), text(_degrees)
ALERTS = Keys(
    AlertSettings,
    Key("urls", several(text(_address), lone=False), '["mailto://..."]'),
    Key("ahead", _SPAN, '"20 min"', "ahead_s"),
    Key("back", _SPAN, '"10 min"', "back_s"),
    Key("below", _DEGREES, '"25 F deg"', "below_k"),
    Key("above", _DEGREES, '"25 F deg"', "above_k"),
    Key("lasting", _SPAN, '"10 min"', "lasting_s"),
    Key("silent", _SPAN, '"10 min"', "silent_s"),
    Key("quiet", text(_quiet), '"23:00 to 06:00"'),
    Key("wake", several(name(KINDS, "kind of alert"), lone=False), '["fire sinking", "be back"]'),
)
