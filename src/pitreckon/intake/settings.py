"""A settings file (TOML): the broker and its topics, and the scales of devices; ``docs/reference/settings-file.md``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import FLAG, WHOLE, Key, Keys, text, word
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap, check_filter
from pitreckon.intake.reading import Places
from pitreckon.text.file import read_text
from pitreckon.units import Scale

T = TypeVar("T")
_MOST_CHARACTERS = 200


def _text(text: str) -> str:
    if not text.strip() or not text.isprintable() or len(text) > _MOST_CHARACTERS:
        raise InputError("it is blank, too long or no plain text", "Write it on one line")
    return text.strip()


_TEXT, _SCALE = text(_text), word(("F", "C"), "no scale")
DEVICE = Keys(
    lambda name, unit: (name, unit), Key("name", _TEXT, '"shed"', needed=True), Key("unit", _SCALE, '"F"', needed=True)
)
MQTT = Keys(
    MqttConfig,
    Key("host", _TEXT, '"broker.home"', needed=True),
    Key("port", WHOLE, "1883"),
    Key("client", _TEXT, '"pitreckon-barn"'),
    Key("user", _TEXT, '"barn"'),
    Key("password_file", _TEXT, '"broker-password.txt"'),
    Key("tls", FLAG, "true"),
    Key("notes", _TEXT, '"broker-notes.jsonl"'),
    inside=("topic",),
)
TOPIC = Keys(
    TopicMap,
    Key("topic", text(check_filter), '"barn/pit/temperature"', needed=True),
    Key("channel", _TEXT, '"pit air"'),
    Key("on", _TEXT, '"big box"'),
    Key("piece", WHOLE, "1"),
    Key("unit", _SCALE, '"F"', needed=True),
    Key("value", _TEXT, '"probes.0.temperature"'),
    Key("at", _TEXT, '"time"'),
)


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
    units = dict(DEVICE.read(fields) for fields in top.tables("device"))
    return IntakeSettings(_mqtt(top, cook) if "mqtt" in top.raw else None, units)


def top_of(text: str, file: str) -> Fields:
    """The whole of a settings file, its sections checked by name.

    Raises InputError: it is not TOML, or has a section that we do not know.
    """
    top = Fields.of_text(text, file)
    top.only("mqtt", "device", "alerts")
    return top


def _mqtt(top: Fields, cook: Cook) -> MqttConfig | None:
    fields = top.table("mqtt")
    if fields is None:
        return None
    said = MQTT.said(fields)
    maps = tuple(_topic(each, Places.of(cook)) for each in fields.tables("topic", "mqtt topic"))
    if not maps:
        raise fields.fault("topic", "there is no topic", "Head each one with [[mqtt.topic]]")
    said |= {key: Path(top.file).parent / said[key] for key in ("password_file", "notes") if key in said}
    said.setdefault("port", 8883 if said.get("tls") else 1883)
    if not 1 <= said["port"] <= 65535:
        raise fields.fault("port", "port is not a whole number from 1 to 65535", "Write it as in port = 1883")
    if "password_file" in said and "user" not in said:
        raise fields.fault("user", "there is a password and no user", "Write whose password it is")
    return MqttConfig(**said, cook=cook, topics=maps)


def _topic(fields: Fields, places: Places) -> TopicMap:
    said = TOPIC.said(fields)
    on = said.get("on")
    channel = _placed(fields, "channel", lambda: places.channel(said.get("channel"), on))
    of_pit = channel == "pit air"
    label = _placed(fields, "on", lambda: places.label(on, of_pit=of_pit))
    piece = _placed(fields, "piece", lambda: places.piece(said.get("piece"), label, of_pit=of_pit))
    return TopicMap(**said | {"channel": channel, "on": label, "piece": piece})


def _placed(fields: Fields, key: str, work: Callable[[], T]) -> T:
    try:
        return work()
    except InputError as fault:
        raise fault.put(fields.place(fault.place.field or key)) from None
