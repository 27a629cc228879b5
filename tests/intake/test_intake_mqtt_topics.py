"""Topics and payloads to entries, the notes of first arrivals, and the settings file that says what they mean."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.day import COOK, START, after

from pitreckon.errors import InputError
from pitreckon.intake.mqtt.input import MOST_LINES, Arrival, ArrivalNotes, digest_of
from pitreckon.intake.mqtt.topics import Delivery, MqttConfig, TopicMap, check_filter, entries_of, matches
from pitreckon.intake.settings import IntakeSettings, settings_from_text
from pitreckon.ledger import Reading

PLAIN = TopicMap("barn/pit", "pit air", "big box", None, "F")
NESTED = TopicMap("barn/pit", "probe", "racks", 2, "C", "probes.1.t")
DATED = TopicMap("barn/pit", "probe", "butt", None, "C", "t", "at")


def read(
    payload: bytes, *maps: TopicMap, retained: bool = False, mark: str = "m"
) -> tuple[list[Reading], list[InputError]]:
    config = MqttConfig("broker", COOK, maps, client="barn")
    entries, faults = entries_of(Delivery("barn/pit", payload, after(3600), mark, retained), config)
    return [entry.event for entry in entries if isinstance(entry.event, Reading)], faults


@pytest.mark.parametrize(
    ("want", "topic", "is_one"),
    [
        ("barn/pit", "barn/pit", True),
        ("barn/pit", "barn/pit/x", False),
        ("barn/+", "barn/pit", True),
        ("barn/+", "barn", False),
        ("barn/+/t", "barn/pit/t", True),
        ("barn/#", "barn/pit/t", True),
        ("barn/#", "barn", True),
        ("#", "barn/pit", True),
        ("#", "$SYS/load", False),
        ("+/load", "$SYS/load", False),
        ("+", "/x", False),
        ("+/+", "/x", True),
    ],
)
def test_filters(want: str, topic: str, is_one: bool) -> None:
    assert matches(want, topic) is is_one


@pytest.mark.parametrize("bad", ["", "barn/p+", "barn/#/x", "a#", "x" * 600, "a\nb"])
def test_bad_filters(bad: str) -> None:
    with pytest.raises(InputError):
        check_filter(bad)


def test_numbers() -> None:
    assert read(b"212", PLAIN)[0][0].value_c == pytest.approx(100.0)
    assert read(b" -4.5 ", PLAIN)[0][0].value_c == pytest.approx(-20.278, abs=1e-3)
    assert read(b'{"probes": [{}, {"t": 61.5}]}', NESTED)[0][0] == Reading(after(3600), "probe", "racks", 2, 61.5)
    assert read(b'{"probes": [{}, {"t": "61.5"}]}', NESTED)[0][0].value_c == 61.5


@pytest.mark.parametrize("payload", [b"", b"nan", b"unavailable", b"999"])
def test_no_value_is_kept_unused(payload: bytes) -> None:
    (reading,), _ = read(payload, PLAIN)
    assert math.isnan(reading.value_c)
    assert reading.rejected


@pytest.mark.parametrize(
    ("payload", "each"),
    [
        (b"hot", PLAIN),
        (b"1e5", PLAIN),
        (b"\xff\xfe", PLAIN),
        (b"{", NESTED),
        (b"[" * 5000, NESTED),
        (b"{}", NESTED),
        (b'{"probes": [1]}', NESTED),
        (b'{"probes": [0, {"t": true}]}', NESTED),
        (b'{"probes": [0, {"t": [1]}]}', NESTED),
        (b'{"probes": [0, {"t": NaN}]}', NESTED),
        (b'{"probes": [0, {"t": 1' + b"0" * 400 + b"}]}", NESTED),
        (b'{"t": 50}', DATED),
        (b'{"t": 50, "at": true}', DATED),
        (b'{"t": 50, "at": "soon"}', DATED),
        (b'{"t": 50, "at": 1' + b"0" * 400 + b"}", DATED),
        (b'{"t": 50, "at": "9999-01-01T00:00:00Z"}', DATED),
        (b"1" * 70_000, PLAIN),
    ],
    ids=lambda value: str(value)[:30],
)
def test_what_cannot_be_read(payload: bytes, each: TopicMap) -> None:
    readings, (fault,) = read(payload, each)
    assert not readings
    assert fault.place.field == "barn/pit"
    assert len(str(fault)) < 400


def test_one_message_may_hold_several_and_one_of_them_be_bad() -> None:
    readings, faults = read(b'{"t": 50, "at": "2026-10-10T18:30:00Z"}', NESTED, DATED)
    assert [(each.on, each.at_utc) for each in readings] == [("butt", after(1800))]
    assert len(faults) == 1


def test_ids() -> None:
    """Dated: by what it says. Undated: by its delivery. Never the same for two series of one message."""
    config = MqttConfig("broker", COOK, (PLAIN, TopicMap("barn/pit", "probe", "racks", 1, "F")), client="barn")
    ids = [e.id for mark in "ab" for e in entries_of(Delivery("barn/pit", b"212", START, mark), config)[0]]
    assert len(set(ids)) == 4
    dated = MqttConfig("broker", COOK, (DATED,), client="barn")
    body = b'{"t": 50, "at": "2026-10-10T18:30:00Z"}'
    same = {entries_of(Delivery("barn/pit", body, START, mark), dated)[0][0].id for mark in "ab"}
    assert len(same) == 1


def test_an_old_retained_number_gives_nothing() -> None:
    assert read(b"212", PLAIN, retained=True) == ([], [])
    assert read(b'{"t": 50, "at": "2026-10-10T18:30:00Z"}', DATED, retained=True)[0]


LEAVES = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=6)
KEYS = st.sampled_from(["t", "at", "probes"])
JSON = st.recursive(LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3))


@given(st.binary(max_size=100) | JSON.map(lambda value: json.dumps(value).encode("utf-8", "surrogatepass")))
def test_any_payload_is_harmless(payload: bytes) -> None:
    read(payload, PLAIN, NESTED, DATED)


# --- notes


def test_notes_tell_a_second_delivery_from_another_message(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "notes.jsonl"
    notes = ArrivalNotes(path)
    a, b = digest_of("t", b"1"), digest_of("t", b"2")
    (first,) = notes.first_arrivals([Arrival(1, a, False)], after(0))
    assert first[1] == after(0)
    assert notes.first_arrivals([Arrival(1, a, True)], after(60)) == [first]
    assert ArrivalNotes(path).first_arrivals([Arrival(1, a, True)], after(90)) == [first]
    other = ArrivalNotes(path).first_arrivals([Arrival(1, a, False)], after(120))
    assert other != [first]  # the number is used again, for a message that says the same
    assert ArrivalNotes(path).first_arrivals([Arrival(1, b, True)], after(150))[0][1] == after(150)


def test_half_written_notes_are_read_as_far_as_they_go(tmp_path: Path) -> None:
    path = tmp_path / "notes.jsonl"
    notes = ArrivalNotes(path)
    firsts = notes.first_arrivals([Arrival(n, f"d{n}", False) for n in range(3)], after(0))
    path.write_bytes(path.read_bytes()[:-10] + b"\n{}\nnull\n[1]\n")
    again = ArrivalNotes(path).first_arrivals([Arrival(n, f"d{n}", True) for n in range(3)], after(60))
    assert again[:2] == firsts[:2]
    assert again[2] != firsts[2]


def test_notes_do_not_grow_for_ever(tmp_path: Path) -> None:
    path = tmp_path / "notes.jsonl"
    notes = ArrivalNotes(path)
    for start in range(0, 4 * MOST_LINES, 500):
        notes.first_arrivals([Arrival(n % 20, f"{start + n}", False) for n in range(500)], after(0))
    assert len(path.read_text().splitlines()) <= MOST_LINES + 520


def test_notes_that_cannot_be_kept(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot be kept"):
        ArrivalNotes(tmp_path / "file" / "notes.jsonl")


# --- settings

GOOD = """\
[mqtt]
host = "broker.home"
user = "barn"
password_file = "secret.txt"
notes = "notes.jsonl"

[[mqtt.topic]]
topic = "barn/pit/temperature"
on = "big box"
unit = "F"

[[mqtt.topic]]
topic = "barn/+/probes"
channel = "probe"
on = "Racks"
piece = 2
unit = "c"
value = "probes.0.t"
at = "time"

[[device]]
name = "barn sensor"
unit = "F"
"""


def settings(text: str) -> IntakeSettings:
    return settings_from_text(text, "barn/settings.toml", COOK)


def test_a_settings_file() -> None:
    read_back = settings(GOOD)
    assert read_back.units == {"barn sensor": "F"}
    mqtt = read_back.of("mqtt")
    assert mqtt is not None
    assert (mqtt.host, mqtt.port, mqtt.tls, mqtt.client) == ("broker.home", 1883, False, "pitreckon")
    assert mqtt.password_file == Path("barn/secret.txt")
    assert mqtt.notes == Path("barn/notes.jsonl")
    assert mqtt.topics[0] == TopicMap("barn/pit/temperature", "pit air", "big box", None, "F")
    assert mqtt.topics[1] == TopicMap("barn/+/probes", "probe", "racks", 2, "C", "probes.0.t", "time")
    assert settings("[alerts]\n").of("mqtt") is None
    assert settings("").units == {}


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('host = "broker.home"', 'hots = "x"', 2, "no key"),
        ('host = "broker.home"\n', "", 1, "host is missing"),
        ('user = "barn"\n', "", 1, "no user"),
        ('on = "big box"', 'on = "bigbox"', 9, "no pit or item"),
        ('channel = "probe"', 'channel = "smoke"', 14, "no channel"),
        ("piece = 2", "piece = 9", 16, "no piece"),
        ("piece = 2", 'piece = "2"', 16, "whole number"),
        ('unit = "c"', 'unit = "K"', 17, "no scale"),
        ('topic = "barn/+/probes"', 'topic = "barn/#/probes"', 13, "goes on after"),
        ('user = "barn"', "port = 70000", 3, "whole number"),
        ('user = "barn"', 'user = "barn"\ntls = "yes"', 4, "neither true nor false"),
        ("[[device]]", "[[devices]]", None, "no key"),
        ("[mqtt]", "[mqtt", None, "not TOML"),
    ],
)
def test_a_slip_is_named_by_line_and_field(old: str, new: str, line: int | None, words: str) -> None:
    assert old in GOOD
    with pytest.raises(InputError, match=words) as caught:
        settings(GOOD.replace(old, new))
    assert caught.value.place.file == "barn/settings.toml"
    if line is not None:
        near: Any = caught.value.place.line
        assert abs(near - line) <= 1


def test_no_topic() -> None:
    with pytest.raises(InputError, match="no topic"):
        settings('[mqtt]\nhost = "x"\n')
