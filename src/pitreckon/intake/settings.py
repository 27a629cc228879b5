"""A settings file (TOML): the broker and its topics, and the scales of devices; ``docs/reference/settings-file.md``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.text import read_text
from pitreckon.forms.toml_lines import Lines, parse_toml
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap, check_filter
from pitreckon.intake.reading import Places, Scale
from pitreckon.units import shown

T = TypeVar("T")
_MOST_CHARACTERS = 200


@dataclass(frozen=True, slots=True)
class IntakeSettings:
    """What a settings file says about what comes in.

    mqtt: None: no broker
    units: scale of a device's numbers by its label
    """

    mqtt: MqttConfig | None
    units: Mapping[str, Scale]


def read_settings(path: Path, cook: Cook) -> IntakeSettings:
    """What a settings file says about what comes in to a cook. Files in it are taken from the folder that it is in.

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return settings_from_text(read_text(path), str(path), cook)


def settings_from_text(text: str, file: str, cook: Cook) -> IntakeSettings:
    """The same from its text; ``file`` is its name for messages."""
    top = top_of(text, file)
    units: dict[str, Scale] = {}
    for fields in top.tables("device", "device"):
        fields.only("name", "unit")
        units[fields.need("name", _text)] = fields.need("unit", _scale)
    return IntakeSettings(_mqtt(top, cook) if "mqtt" in top.raw else None, units)


def top_of(text: str, file: str) -> Fields:
    """The whole of a settings file, its sections checked by name.

    Raises InputError: it is not TOML, or has a section that we do not know.
    """
    top = Fields(parse_toml(text, file), (), "file", file, Lines(text))
    top.only("mqtt", "device", "alerts")
    return top


def section(top: Fields, key: str) -> Fields:
    """One table of it. Raises InputError: it is no table."""
    raw = top.raw.get(key, {})
    if not isinstance(raw, dict):
        raise top.fault(key, f"{key} is not one table", f"Head it with [{key}]")
    return Fields(raw, (key,), key, top.file, top.lines)


def _mqtt(top: Fields, cook: Cook) -> MqttConfig:
    fields = section(top, "mqtt")
    fields.only("host", "port", "client", "user", "password_file", "tls", "notes", "topic")
    maps = tuple(_topic(each, Places.of(cook)) for each in fields.tables("topic", "mqtt topic"))
    if not maps:
        raise fields.fault("topic", "there is no topic", "Head each one with [[mqtt.topic]]")
    tls = fields.raw.get("tls", False)
    if not isinstance(tls, bool):
        raise fields.fault("tls", "tls is not true or false", "Write tls = true or leave it out")
    port = fields.raw.get("port", 8883 if tls else 1883)
    if isinstance(port, bool) or not isinstance(port, int) or not 1 <= port <= 65535:
        raise fields.fault("port", "port is not a whole number from 1 to 65535", "Write it as in port = 1883")
    folder = Path(top.file).parent
    password, notes = fields.maybe("password_file", _text), fields.maybe("notes", _text)
    if password is not None and "user" not in fields.raw:
        raise fields.fault("user", "there is a password and no user", "Write whose password it is")
    return MqttConfig(
        host=fields.need("host", _text),
        cook=cook,
        topics=maps,
        port=port,
        client=fields.maybe("client", _text) or "pitreckon",
        user=fields.maybe("user", _text),
        password_file=None if password is None else folder / password,
        tls=tls,
        notes=None if notes is None else folder / notes,
    )


def _topic(fields: Fields, places: Places) -> TopicMap:
    fields.only("topic", "channel", "on", "piece", "unit", "value", "at")
    on = fields.maybe("on", _text)
    channel = _placed(fields, "channel", lambda: places.channel(fields.maybe("channel", _text), on))
    label = _placed(fields, "on", lambda: places.label(channel, on))
    piece = fields.raw.get("piece")
    if piece is not None and (isinstance(piece, bool) or not isinstance(piece, int)):
        raise fields.fault("piece", "piece is not a whole number", "Write it as in piece = 1, without quotes")
    return TopicMap(
        topic=fields.need("topic", check_filter),
        channel=channel,
        on=label,
        piece=_placed(fields, "piece", lambda: places.piece(channel, label, piece)),
        unit=fields.need("unit", _scale),
        value=fields.maybe("value", _text),
        at=fields.maybe("at", _text),
    )


def _placed(fields: Fields, key: str, work: Callable[[], T]) -> T:
    try:
        return work()
    except InputError as fault:
        place = fault.place if fault.place.file else fields.place(fault.place.field or key)
        raise InputError(fault.trouble, fault.remedy, place) from None


def _scale(text: str) -> Scale:
    if text.strip().upper() not in {"F", "C"}:
        raise InputError(f"{shown(text)} is no scale", 'Write "F" or "C"')
    return "F" if text.strip().upper() == "F" else "C"


def _text(text: str) -> str:
    if not text.strip() or not text.isprintable() or len(text) > _MOST_CHARACTERS:
        raise InputError("it is blank, too long or no plain text", "Write it on one line")
    return text.strip()
