"""What a message of a broker means: topics to channels, plain numbers and JSON to entries."""

import math
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from pydantic_core import from_json

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError
from pitreckon.intake.reading import hashed_id, instant_of, measured, reading_id
from pitreckon.ledger.events import Reading
from pitreckon.ledger.store.records import Entry
from pitreckon.units import Scale, shown

MOST_BYTES: Final = 65_536
_NUMBER: Final = re.compile(r"[+-]?[0-9]{1,9}(?:\.[0-9]{0,20})?")


@dataclass(frozen=True, slots=True)
class TopicMap:
    """What the messages of a topic hold; several may be of the same topic.

    topic: topic filter, with ``+`` and ``#``
    channel, on, piece: whose reading it is, as in :class:`pitreckon.ledger.Reading`
    unit: the scale of its numbers
    value: the way to the number inside JSON, steps with points between (``probes.0.temperature``); None: the message
        is the number
    at: the way to its time, ISO or since 1970; None: when it came
    """

    topic: str
    channel: str
    on: str
    piece: int | None
    unit: Scale
    value: str | None = None
    at: str | None = None


@dataclass(frozen=True, slots=True)
class MqttConfig:
    """A broker, and what its topics mean in one cook.

    client: the name that the broker keeps messages under while we are away; also who its entries are by
    password_file: holds the password; None: none
    notes: file in which it is noted when an undated message came, so that a second delivery is known; None: kept in
        memory, and known until the program ends
    """

    host: str
    cook: Cook
    topics: tuple[TopicMap, ...]
    port: int = 1883
    client: str = "pitreckon"
    user: str | None = None
    password_file: Path | None = None
    tls: bool = False
    notes: Path | None = None

    @property
    def filters(self) -> tuple[str, ...]:
        """Each topic filter once, in order."""
        return tuple(dict.fromkeys(each.topic for each in self.topics))


def check_filter(text: str) -> str:
    """A topic filter. Raises InputError: blank, too long, or a wildcard in the wrong place."""
    steps = text.split("/")
    if not text or len(text) > 512 or not text.isprintable():
        raise InputError("the topic is blank or no plain text", "Write it as in barn/pit/temperature")
    for n, step in enumerate(steps):
        alone = step in {"+", "#"}
        if ("+" in step or "#" in step) and not alone:
            raise InputError(f"{shown(text)} has a wildcard inside a step", "Let + and # stand alone between slashes")
        if step == "#" and n != len(steps) - 1:
            raise InputError(f"{shown(text)} goes on after #", "Let # be the last step")
    return text


def matches(topic_filter: str, topic: str) -> bool:
    """Whether a topic is one of a filter's: ``+`` is any one step, ``#`` any steps; neither sees a first ``$``."""
    want, have = topic_filter.split("/"), topic.split("/")
    if topic.startswith("$") and want[0] in {"+", "#"}:
        return False
    for n, step in enumerate(want):
        if step == "#":
            return True
        if n >= len(have) or step not in {"+", have[n]}:
            return False
    return len(want) == len(have)


@dataclass(frozen=True, slots=True)
class Delivery:
    """One message as the broker handed it over.

    came_utc: when it came the first time
    mark: what tells it from every other one of that time; the same when it is delivered again
    """

    topic: str
    payload: bytes
    came_utc: datetime
    mark: str
    retained: bool = False


def entries_of(delivery: Delivery, config: MqttConfig) -> tuple[list[Entry], list[InputError]]:
    """The entries of a message, and what of it could not be read: each part that is meant counts by itself.

    A retained message without a time of its own is old by an unknown time: it gives nothing.
    """
    entries, faults = [], []
    for each in config.topics:
        if matches(each.topic, delivery.topic):
            try:
                entry = _entry(delivery, each, config)
            except InputError as fault:
                faults.append(fault.at(field="".join(c if c.isprintable() else "?" for c in delivery.topic[:80])))
                continue
            if entry is not None:
                entries.append(entry)
    return entries, faults


def _entry(delivery: Delivery, each: TopicMap, config: MqttConfig) -> Entry | None:
    if len(delivery.payload) > MOST_BYTES:
        raise InputError(f"the message is longer than {MOST_BYTES} bytes", "Send readings, not files")
    dated = each.at is not None
    if delivery.retained and not dated:
        return None
    raw: Any = None
    if each.value is not None or dated:
        try:
            raw = from_json(delivery.payload, allow_inf_nan=False)
        except ValueError as error:
            raise InputError(f"the message is not JSON: {str(error)[:80]}", "Send one JSON object") from None
    number = _plain_number(delivery.payload) if each.value is None else _number(raw, each.value)
    value_c, rejected = measured(each.channel, number, each.unit)
    at_utc = delivery.came_utc
    if each.at is not None:
        at = _at(raw, each.at)
        if isinstance(at, bool) or not isinstance(at, str | int | float):
            raise InputError(f"{shown(each.at)} holds no time", "Send an ISO time or seconds since 1970")
        at_utc = instant_of(at if isinstance(at, str) else _float(at), config.cook, delivery.came_utc)
    reading = Reading(at_utc, each.channel, each.on, each.piece, value_c, rejected)
    if dated:
        return Entry(reading_id(config.client, reading), reading, config.client)
    series = (each.channel, each.on, str(each.piece or ""))
    return Entry(hashed_id(config.client, delivery.mark, *series), reading, config.client)


def _plain_number(payload: bytes) -> float | None:
    text = payload.decode("utf-8", "replace").strip()
    if text.casefold() in {"", "nan", "null", "none", "unavailable", "unknown"}:
        return None
    if not _NUMBER.fullmatch(text):
        raise InputError(f"{shown(text)} is not a number", "Send a plain number, or give the way to it in value")
    return float(text)


def _number(raw: Any, way: str) -> float | None:
    found = _at(raw, way)
    if found is None:
        return None
    if isinstance(found, str) and _NUMBER.fullmatch(found.strip()):
        return float(found)
    if isinstance(found, bool) or not isinstance(found, int | float):
        raise InputError(f"{shown(way)} holds no number", "Correct value in the settings, or what is sent")
    return _float(found)


def _float(number: float) -> float:
    try:
        return float(number)
    except OverflowError:  # a whole number of hundreds of digits
        return math.inf


def _at(raw: Any, way: str) -> Any:
    for step in way.split("."):
        if isinstance(raw, dict) and step in raw:
            raw = raw[step]
        elif isinstance(raw, list) and step.isascii() and step.isdigit() and len(step) < 6 and int(step) < len(raw):
            raw = raw[int(step)]
        else:
            raise InputError(f"the message has no {shown(way)}", "Correct it in the settings, or what is sent")
    return raw
