"""One table of a cook file: its values read by key, its faults placed on their lines."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from typing import Any, TypeVar

from pitreckon.errors import InputError, Place
from pitreckon.forms.names import nearest
from pitreckon.forms.toml_lines import Lines, Path

T = TypeVar("T")

# How each key is written, for the remedy when it is missing or of the wrong kind.
EXAMPLES: Mapping[str, str] = {
    "name": '"harvest supper"',
    "zone": '"America/Chicago"',
    "serve": '"2026-10-10 18:00"',
    "altitude": '"800 ft"',
    "air": '"54 F"',
    "humidity": '"60 %"',
    "kind": '"pellet-cooker"',
    "set": '"275 F"',
    "cut": '"st-louis-ribs"',
    "pieces": "3",
    "weight": '"2 lb 12 oz"',
    "pit": '"big box"',
    "put_on": '"2026-10-10 13:00"',
    "start": '"40 F"',
    "thickness": '"1 1/4 in"',
    "thinner": '"1/3"',
    "sugar": '"some"',
    "salt": '"15 g/kg"',
    "do": '"open"',
    "until": '"colour"',
    "wrap": '"foil"',
    "liquid": '"60 g"',
    "glaze": '"40 g"',
    "walk": '"15 min"',
    "lid": '"5 min"',
    "late": '"90 s"',
    "too_late": '"5 min"',
    # a cook file whose day is to be planned
    "earliest": '"2026-10-10 05:00"',
    "planned": '"2026-10-09 20:00"',
    "chance": '"95 %"',
    "hold_places": "8",
    "currency": '"USD"',
    "adults": "12",
    "children": "4",
    "hungry": "2",
    "leftovers": '"10 %"',
    "sure": '"90 %"',
    "cooks": "1",
    "away": '[{ from = "13:00", until = "15:00" }]',
    "from": '"13:00"',
    "grates": "2",
    "grate_area": '"400 sq in"',
    "lighting": '"45 min"',
    "pits": '["big box"]',
    "share": "1.5",
    "wrapping": '"either"',
    "state": '"chilled"',
    "trimmed": "true",
    "handled": "true",
    "shortest_hold": '"30 min"',
    "longest_hold": '"4h"',
    "hold_at": '"150 F"',
    "price": '"4.99 / lb"',
    # a settings file
    "host": '"broker.home"',
    "port": "1883",
    "client": '"pitreckon-barn"',
    "user": '"barn"',
    "password_file": '"broker-password.txt"',
    "tls": "true",
    "notes": '"broker-notes.jsonl"',
    "topic": '"barn/pit/temperature"',
    "channel": '"pit air"',
    "on": '"big box"',
    "piece": "1",
    "unit": '"F"',
    "value": '"probes.0.temperature"',
    "at": '"time"',
    "urls": '["mailto://..."]',
    "ahead": '"20 min"',
    "back": '"10 min"',
    "below": '"25 F deg"',
    "above": '"25 F deg"',
    "lasting": '"10 min"',
    "silent": '"10 min"',
    "quiet": '"23:00 to 06:00"',
    "wake": '["pit low", "be back"]',
    # a mix file
    "use": '"rub"',
    "part": '"1 tbsp"',
    "body": '"syrup"',
    "covers": '["2 racks", "2.5 kg"]',
    "food": '"brown sugar"',
    "mix": '"pepper-base.toml"',
    "amount": '"2 tbsp"',
    "serving": '"2 tbsp"',
    "serving_weight": '"34 g"',
    "calories": "60",
    "fat": '"0 g"',
    "saturated_fat": '"0 g"',
    "carbohydrate": '"15 g"',
    "fibre": '"0 g"',
    "sugars": '"13 g"',
    "added_sugars": '"12 g"',
    "protein": '"0 g"',
    "cholesterol": '"0 mg"',
    "sodium": '"290 mg"',
    "water": '"20 g"',
    "pungency": '"1000 to 2500 SHU"',
    "acid": '"5 %"',
    "contains": '["soy", "wheat"]',
    "measured": "true",
    "meat": '"spareribs"',
    "raw": '"6 kg"',
    "serves": "12",
    "yield": '"70 %"',
    "stays": '"90 %"',
    # a report of what went wrong
    "came_out": '["tough", "too pale"]',
    "wrapped_after": '"2h"',
    "sauced_for": '"15 min"',
    "rest": '"15 min"',
    "thermometer": '"none"',
    "pulled_at": '"195 F"',
}


class Fields:
    """A table of a parsed cook file.

    raw: what the table holds
    path: where it is in the file
    title: what it is called in messages: ``item 2``
    """

    def __init__(self, raw: Mapping[str, Any], path: Path, title: str, file: str, lines: Lines) -> None:
        self.raw = raw
        self.path = path
        self.title = title
        self.file = file
        self.lines = lines

    def place(self, key: str) -> Place:
        """File, line and field of a key of this table."""
        return Place(self.file, self.lines.of((*self.path, key)), f"{self.title}: {key}")

    def fault(self, key: str, trouble: str, remedy: str) -> InputError:
        """An InputError placed at a key."""
        return InputError(trouble, remedy, self.place(key))

    def only(self, *known: str) -> None:
        """Refuse every key that is not known, with the nearest that is."""
        for key in self.raw:
            if key not in known:
                near = nearest(key, known)
                remedy = f"Did you mean '{near}'" if near else f"Write any of: {', '.join(known)}"
                raise self.fault(key, f"'{key[:40]}' is no key of {self.title.split(' ')[0]}", remedy)

    def text(self, key: str) -> str | None:
        """The text of a key as written, a number or a date as its text; None when it is left out."""
        value = self.raw.get(key)
        if value is None or isinstance(value, str):
            return value
        if isinstance(value, bool) or not isinstance(value, int | float | datetime | date | time):
            raise self.fault(key, f"{key} is not a text", f"Write it as in {key} = {EXAMPLES[key]}")
        try:
            return value.isoformat() if isinstance(value, date | time) else str(value)
        except ValueError:  # an integer of thousands of digits
            raise self.fault(key, f"{key} is a huge number", f"Write it as in {key} = {EXAMPLES[key]}") from None

    def maybe(self, key: str, parse: Callable[[str], T]) -> T | None:
        """The parsed value of a key, or None when it is left out."""
        text = self.text(key)
        if text is None:
            return None
        try:
            return parse(text)
        except InputError as error:
            raise InputError(error.trouble, error.remedy, self.place(key)) from None

    def need(self, key: str, parse: Callable[[str], T]) -> T:
        """The parsed value of a key that must be there."""
        value = self.maybe(key, parse)
        if value is None:
            raise self.fault(key, f"{key} is missing", f"Write it as in {key} = {EXAMPLES[key]}")
        return value

    def build(self, make: Callable[[], T]) -> T:
        """Make a record; its own complaint about a field is placed on that field's line."""
        try:
            return make()
        except InputError as error:
            if error.place.file is not None:  # a value inside it is at fault, and already placed
                raise
            key = error.place.field or "name"
            raise InputError(error.trouble, error.remedy, self.place(key)) from None

    def tables(self, key: str, title: str) -> list[Fields]:
        """The entries of an array of tables, none when it is left out."""
        raw = self.raw.get(key, [])
        if not isinstance(raw, list) or not all(isinstance(entry, dict) for entry in raw):
            header = ".".join([*(str(step) for step in self.path if isinstance(step, str)), key])
            raise self.fault(key, f"'{key}' is not a list of tables", f"Head each one with [[{header}]]")
        return [
            Fields(entry, (*self.path, key, n), f"{title} {n + 1}", self.file, self.lines)
            for n, entry in enumerate(raw)
        ]
