"""Readings from an MQTT broker, each acknowledged only after the store has it."""

import asyncio
import logging
import ssl
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

import aiomqtt

from pitreckon.errors import InputError, PitreckonError
from pitreckon.intake.mqtt.input import Arrival, ArrivalNotes, digest_of
from pitreckon.intake.mqtt.topics import Delivery, MqttConfig, entries_of
from pitreckon.intake.plug import Append
from pitreckon.ledger.store.records import Entry
from pitreckon.text.file import read_text

FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.5, 30.0
STORE_PAUSE_S = 2.0
ANSWER_S = 10.0
"""How long a broker may take to answer [s]."""
KEEPALIVE_S = 20
MOST_AT_ONCE: Final = 500
log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class _Message:
    topic: str
    payload: bytes
    qos: int
    retained: bool
    number: int
    again: bool


class _Client(aiomqtt.Client):
    """An aiomqtt client that leaves acknowledging to us.

    The library acknowledges as soon as a message is in its queue, and drops the mark of a second delivery. What is
    used of its inside for that is here and nowhere else.
    """

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._client.manual_ack_set(True)

    def _on_message(self, client: Any, userdata: Any, message: Any) -> None:
        taken = _Message(
            message.topic, bytes(message.payload), message.qos, message.retain, message.mid, bool(message.dup)
        )
        self._queue.put_nowait(taken)  # type: ignore[arg-type]  # it holds ours only

    def acknowledge(self, message: _Message) -> None:
        """Let the broker forget the message."""
        self._client.ack(message.number, message.qos)

    async def some(self) -> list[_Message]:
        """At least one message, and whatever else has come. Raises MqttError: the connection is gone."""
        first: Any = await anext(self.messages)
        taken = [first]
        while len(self.messages) and len(taken) < MOST_AT_ONCE:
            taken.append(await anext(self.messages))
        return taken


async def run_mqtt(
    config: MqttConfig,
    append: Append,
    closing: asyncio.Event,
    *,
    report: Callable[[str], None] = log.warning,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
) -> None:
    """Take readings from a broker until ``closing`` is set; whatever happens to the broker, come back to it.

    append: takes entries and returns when they are durable; an InputError of it means that they never will be, any
        other error that they are to be sent again
    report: told in words when the connection changes and when a message cannot be read

    A message is acknowledged when all of it is taken in, or cannot ever be. The session is kept by the broker while
    we are away; what it keeps is delivered when we are back, and what we had already is known by its id.

    Raises InputError: the password or the notes cannot be read.
    """
    notes = ArrivalNotes(config.notes)
    options = _options(config)
    pause_s = FIRST_PAUSE_S
    while not closing.is_set():
        try:
            async with _Client(config.host, config.port, **options) as client:
                for topic in config.filters:
                    await client.subscribe(topic, qos=1)
                report(f"connected to the broker at {config.host}:{config.port}")
                pause_s = FIRST_PAUSE_S
                await _take(client, config, notes, append, report, now, closing)
        except (aiomqtt.MqttError, OSError) as error:
            report(f"no connection to the broker at {config.host}:{config.port} ({error}); trying again")
        except PitreckonError as error:
            report(f"the messages of the broker cannot be kept now ({error}); trying again")
            pause_s = max(pause_s, STORE_PAUSE_S)
        await _pause(closing, pause_s)
        pause_s = min(2.0 * pause_s, LONGEST_PAUSE_S)


def _options(config: MqttConfig) -> dict[str, Any]:
    password = None if config.password_file is None else read_text(config.password_file).strip()
    return {
        "identifier": config.client,
        "clean_session": False,
        "username": config.user,
        "password": password,
        "keepalive": KEEPALIVE_S,
        "timeout": ANSWER_S,
        "tls_context": ssl.create_default_context() if config.tls else None,
    }


async def _next(client: _Client, closing: asyncio.Event) -> list[_Message]:
    """The messages that have come, at least one; none when ``closing`` is set first."""
    coming = asyncio.ensure_future(client.some())
    waiting = asyncio.ensure_future(closing.wait())
    try:
        await asyncio.wait({coming, waiting}, return_when=asyncio.FIRST_COMPLETED)
        return [] if closing.is_set() else await coming  # what has come and was not taken is delivered again
    finally:
        for task in (coming, waiting):
            task.cancel()
        await asyncio.gather(coming, waiting, return_exceptions=True)


async def _pause(closing: asyncio.Event, seconds: float) -> None:
    try:
        async with asyncio.timeout(seconds):
            await closing.wait()
    except TimeoutError:
        return


async def _take(
    client: _Client,
    config: MqttConfig,
    notes: ArrivalNotes,
    append: Append,
    report: Callable[[str], None],
    now: Callable[[], datetime],
    closing: asyncio.Event,
) -> None:
    while messages := await _next(client, closing):
        read = []
        for message, delivery in zip(messages, _deliveries(messages, notes, now()), strict=True):
            entries, faults = entries_of(delivery, config)
            for fault in faults:
                report(f"a message of the broker is left out: {fault}")
            read.append((message, entries))
        try:
            every = [entry for _, entries in read for entry in entries]
            if every:
                await append(every)
        except InputError:
            await _one_by_one(read, append, report)
        for message, _ in read:
            client.acknowledge(message)


async def _one_by_one(
    read: Sequence[tuple[_Message, Sequence[Entry]]], append: Append, report: Callable[[str], None]
) -> None:
    """The store refuses one of them for good: the others are kept."""
    for _, entries in read:
        for entry in entries:
            try:
                await append([entry])
            except InputError as fault:
                report(f"a message of the broker is left out: {fault}")


def _deliveries(messages: Sequence[_Message], notes: ArrivalNotes, now_utc: datetime) -> list[Delivery]:
    # Only what is acknowledged can be delivered again; a message without that has no number.
    numbered = [message for message in messages if message.qos]
    arrivals = [Arrival(m.number, digest_of(m.topic, m.payload), m.again) for m in numbered]
    first = dict(zip(map(id, numbered), notes.first_arrivals(arrivals, now_utc), strict=True))
    return [
        Delivery(m.topic, m.payload, came, mark, m.retained)
        for m in messages
        for mark, came in [first.get(id(m)) or (uuid.uuid4().hex, now_utc)]
    ]
