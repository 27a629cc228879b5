"""The broker as an input: its tables in the settings file, and their keys."""

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import Final, TypeVar

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import FLAG, WHOLE, Key, Keys, text
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap, check_filter
from pitreckon.intake.plug import SCALE, TEXT, Append, Input, Now, Told
from pitreckon.intake.reading import Places

T = TypeVar("T")
KEYS: Final = Keys(
    MqttConfig,
    Key("host", TEXT, '"broker.home"', needed=True),
    Key("port", WHOLE, "1883"),
    Key("client", TEXT, '"pitreckon-barn"'),
    Key("user", TEXT, '"barn"'),
    Key("password_file", TEXT, '"broker-password.txt"'),
    Key("tls", FLAG, "true"),
    Key("notes", TEXT, '"broker-notes.jsonl"'),
    inside=("topic",),
)
TOPIC: Final = Keys(
    TopicMap,
    Key("topic", text(check_filter), '"barn/pit/temperature"', needed=True),
    Key("channel", TEXT, '"pit air"'),
    Key("on", TEXT, '"big box"'),
    Key("piece", WHOLE, "1"),
    Key("unit", SCALE, '"F"', needed=True),
    Key("value", TEXT, '"probes.0.temperature"'),
    Key("at", TEXT, '"time"'),
)
TOLD: Final = (
    Told(
        "mqtt",
        "A broker that instruments publish to.",
        (
            ("host, port", "the broker", "needed; 1883, with `tls` 8883"),
            (
                "client",
                "by which the broker keeps messages for us, and by which they are recorded; each Pitreckon its own",
                "`pitreckon`",
            ),
            ("user, password_file", "who we are; the file holds nothing but the password", "nobody"),
            ("tls", "`true`: encrypted, the broker's certificate is checked", "`false`"),
            (
                "notes",
                "file in which the first arrival of an undated message is noted",
                "in memory: a message that was recorded and not acknowledged when the program died is recorded twice",
            ),
        ),
    ),
    Told(
        "mqtt.topic",
        "One for each pit or probe; several may be of one topic.",
        (
            ("topic", "topic or filter: `+` is any one step, `#` any steps at the end", "needed"),
            ("on", "the pit or the item", "where there is only one"),
            ("channel", "`pit air` or `probe`", "follows from `on`"),
            ("piece", "which piece, from 1", "not said"),
            ("unit", "`F` or `C`", "needed"),
            (
                "value",
                "the way to the number inside JSON, with points between; a number is a place in a list, from 0",
                "the message is the number",
            ),
            ("at", "the way to the time inside JSON: ISO, or seconds or milliseconds since 1970", "when it came"),
        ),
    ),
)


def _read(fields: Fields, cook: Cook) -> MqttConfig:
    said = KEYS.said(fields)
    maps = tuple(_topic(each, Places.of(cook)) for each in fields.tables("topic", "mqtt topic"))
    if not maps:
        raise fields.fault("topic", "there is no topic", "Head each one with [[mqtt.topic]]")
    said |= {key: Path(fields.file).parent / said[key] for key in ("password_file", "notes") if key in said}
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


async def _run(config: MqttConfig, append: Append, closing: asyncio.Event, now: Now) -> None:
    from pitreckon.intake.mqtt.client import run_mqtt  # noqa: PLC0415  loads the client, which few need

    await run_mqtt(config, append, closing, now=now)


MQTT: Final = Input("mqtt", _read, _run, TOLD)
