"""The broker as an input: its tables in the settings file, and their keys."""

import asyncio
import hashlib
import json
import os
import uuid
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, NamedTuple, TypeVar

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError, Place
from pitreckon.extras import loading
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import FLAG, WHOLE, Key, Keys, text
from pitreckon.intake.mqtt.topics import MqttConfig, TopicMap, check_filter
from pitreckon.intake.plug import SCALE, TEXT, Append, Input, Now, Told
from pitreckon.intake.reading import Places

MOST_LINES: Final = 5000


class Arrival(NamedTuple):
    """A message as it came: the broker's number of it, a digest of what it says, and whether it is marked as again."""

    number: int
    digest: str
    again: bool


def digest_of(topic: str, payload: bytes) -> str:
    """What tells a message from another."""
    return hashlib.sha256(topic.encode("utf-8", "replace") + b"\0" + payload).hexdigest()[:32]


class ArrivalNotes:
    """The first arrival of each number that may still be delivered again.

    path: where they are kept over a restart; None: in memory only

    Raises InputError: the file cannot be written.
    """

    def __init__(self, path: Path | None) -> None:
        self.path = path
        self._first: dict[int, tuple[str, str, datetime]] = {}
        self._lines = 0
        if path is not None:
            self._read(path)
            self._write_anew(path)

    def first_arrivals(self, arrivals: Iterable[Arrival], now_utc: datetime) -> list[tuple[str, datetime]]:
        """A mark of each message and when it came first; on disk before this returns."""
        found, fresh = [], []
        for arrival in arrivals:
            known = self._first.get(arrival.number)
            if known is None or known[0] != arrival.digest or not arrival.again:
                known = (arrival.digest, uuid.uuid4().hex, now_utc)
                self._first[arrival.number] = known
                fresh.append(arrival.number)
            found.append((known[1], known[2]))
        if fresh and self.path is not None:
            if self._lines + len(fresh) > MOST_LINES + len(self._first):
                self._write_anew(self.path)
            else:
                self._append(self.path, fresh)
        return found

    def _read(self, path: Path) -> None:
        try:
            lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
        except FileNotFoundError:
            return
        except OSError as error:
            raise _no_notes(path, error) from None
        for line in lines:
            try:
                number, digest, mark, at = json.loads(line)
                self._first[int(number)] = (str(digest), str(mark), datetime.fromtimestamp(float(at), UTC))
            except (ValueError, TypeError, OverflowError, OSError, RecursionError):
                continue  # a line that was half written when the power went: its message was not taken in either

    def _line(self, number: int) -> str:
        digest, mark, at_utc = self._first[number]
        return json.dumps((number, digest, mark, at_utc.timestamp())) + "\n"

    def _append(self, path: Path, numbers: list[int]) -> None:
        try:
            with path.open("a", encoding="utf-8") as out:
                out.writelines(self._line(number) for number in numbers)
                out.flush()
                os.fsync(out.fileno())
        except OSError as error:
            raise _no_notes(path, error) from None
        self._lines += len(numbers)

    def _write_anew(self, path: Path) -> None:
        beside = path.with_name(path.name + ".new")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            with beside.open("w", encoding="utf-8") as out:
                out.writelines(self._line(number) for number in self._first)
                out.flush()
                os.fsync(out.fileno())
            beside.replace(path)
        except OSError as error:
            raise _no_notes(path, error) from None
        self._lines = len(self._first)


def _no_notes(path: Path, error: OSError) -> InputError:
    return InputError(
        f"the notes of the broker's messages cannot be kept ({error.strerror or error})",
        "Give a file in a folder that may be written, in notes",
        Place(str(path)),
    )


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
    with loading("aiomqtt", "a broker"):
        from pitreckon.intake.mqtt.client import run_mqtt  # noqa: PLC0415  loads the client, which few need

    await run_mqtt(config, append, closing, now=now)


MQTT: Final = Input("mqtt", _read, _run, TOLD, "aiomqtt")
