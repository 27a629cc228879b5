"""JSON messages of devices: every form that is taken, and one clear error with index and field for all else."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.day import COOK, SMALL, after

from pitreckon.errors import InputError
from pitreckon.intake.http import MOST_BYTES, MOST_READINGS, parse_readings
from pitreckon.intake.reading import Device
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry

DEVICE = Device("barn sensor")
NOW = after(3600)
GOOD = {"at": "2026-10-10T18:05:00Z", "on": "big box", "value": 268, "unit": "F"}


def parse(body: Any, **options: Any) -> list[Entry]:
    raw = body if isinstance(body, bytes) else json.dumps(body).encode()
    options = {"content_type": "application/json", "cook": COOK, "device": DEVICE, "now_utc": NOW} | options
    return parse_readings(raw, **options)


def reading_of(entry: Entry) -> Reading:
    assert isinstance(entry.event, Reading)
    return entry.event


def fault_of(body: Any, **options: Any) -> InputError:
    with pytest.raises(InputError) as caught:
        parse(body, **options)
    return caught.value


def test_one_reading() -> None:
    (entry,) = parse(GOOD)
    assert entry.by == "barn sensor"
    assert reading_of(entry) == Reading(after(300), "pit air", "big box", None, pytest.approx(131.111, abs=1e-3))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "wrap", [lambda r: r, lambda r: [r], lambda r: {"readings": [r]}], ids=["one", "list", "object"]
)
def test_the_three_forms_say_the_same(wrap: Callable[[Any], Any]) -> None:
    assert parse(wrap(GOOD)) == parse(GOOD)


@pytest.mark.parametrize(
    "content", ["application/json; charset=utf-8", "Application/JSON", "application/vnd.barn+json"]
)
def test_json_by_any_of_its_names(content: str) -> None:
    assert parse(GOOD, content_type=content)


@pytest.mark.parametrize(
    "at", [1791655500, 1791655500.0, 1791655500000, "2026-10-10T13:05:00-05:00", "2026-10-10 13:05"]
)
def test_ways_to_write_a_time(at: Any) -> None:
    assert reading_of(parse(GOOD | {"at": at})[0]).at_utc == after(300)


def test_the_unit_of_the_device() -> None:
    bare = {key: value for key, value in GOOD.items() if key != "unit"}
    assert fault_of(bare).place.field == "readings[0].unit"
    assert reading_of(parse(bare, device=Device("x", "C"))[0]).value_c == 268.0
    assert reading_of(parse(GOOD, device=Device("x", "C"))[0]).value_c == pytest.approx(131.111, abs=1e-3)


def test_the_only_pit_need_not_be_named() -> None:
    body = {"at": "2026-10-10T18:05:00Z", "channel": "pit-air", "value": 120, "unit": "C"}
    assert reading_of(parse(body, cook=SMALL)[0]).on == "big box"
    assert fault_of(body).place.field == "readings[0].on"


def test_a_fault_code_and_null_are_kept_unused() -> None:
    for value in (None, 999, 9999.0):
        reading = reading_of(parse(GOOD | {"value": value})[0])
        assert math.isnan(reading.value_c)
        assert reading.rejected
    assert "outside" in str(reading_of(parse(GOOD | {"value": 900})[0]).rejected)


def test_an_id_of_its_own() -> None:
    assert parse(GOOD | {"id": "a-1"})[0].id == "a-1"
    for bad in ("", "a b", "x" * 65, "naïve", "a\nb"):
        assert fault_of(GOOD | {"id": bad}).place.field == "readings[0].id"


def test_without_an_id_the_same_reading_has_the_same_id() -> None:
    one, again, other = parse(GOOD)[0], parse(GOOD)[0], parse(GOOD | {"value": 269})[0]
    assert one.id == again.id != other.id
    assert parse(GOOD, device=Device("other"))[0].id != one.id
    assert parse([GOOD, GOOD]) == [one]


def test_two_of_one_id_that_differ() -> None:
    fault = fault_of([GOOD | {"id": "a"}, GOOD | {"id": "b"}, GOOD | {"id": "a", "value": 1}])
    assert fault.place.field == "readings[2].id"


def test_without_a_time_a_retry_keeps_its_first() -> None:
    bare = {"on": "racks", "value": 60, "unit": "C", "id": "n-1"}
    assert reading_of(parse(bare)[0]).at_utc == NOW
    earlier = NOW - timedelta(minutes=3)
    assert reading_of(parse(bare, recorded_at={"n-1": earlier}.get)[0]).at_utc == earlier
    assert fault_of({k: v for k, v in bare.items() if k != "id"}).place.field == "readings[0].at"
    assert fault_of(bare, now_utc=None).place.field == "readings[0].at"


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"value": "268 F"}, "value"),
        ({"value": True}, "value"),
        ({"value": 1e300}, "value"),
        ({"value": -500}, "value"),
        ({"unit": "K"}, "unit"),
        ({"unit": None}, "unit"),
        ({"at": "yesterday"}, "at"),
        ({"at": "9999-12-31T00:00:00Z"}, "at"),
        ({"at": "2027-10-10T18:00:00Z"}, "at"),
        ({"at": "1970-01-01T00:00:00Z"}, "at"),
        ({"at": 12}, "at"),
        ({"at": 1e18}, "at"),
        ({"at": True}, "at"),
        ({"at": {}}, "at"),
        ({"on": "bigbox"}, "on"),
        ({"on": "bigbox", "channel": "pit air"}, "on"),
        ({"on": "racks", "channel": "pit air"}, "on"),
        ({"on": 3}, "on"),
        ({"channel": "humidity"}, "channel"),
        ({"piece": 1}, "piece"),
        ({"on": "racks", "piece": 5}, "piece"),
        ({"on": "racks", "piece": 0}, "piece"),
        ({"on": "racks", "piece": 1.5}, "piece"),
        ({"on": "racks", "piece": 10**30}, "piece"),
        ({"probe": 1}, "probe"),
    ],
    ids=str,
)
def test_the_index_and_the_field_are_named(change: dict[str, Any], field: str) -> None:
    fault = fault_of([GOOD, GOOD | change])
    assert fault.place.field == f"readings[1].{field}"
    assert fault.remedy


def test_a_missing_value() -> None:
    assert fault_of({"on": "racks"}).place.field == "readings[0].value"


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"nonsense",
        b'{"value": NaN}',
        b'[{"value": Infinity}]',
        b"\xff\xfe{}",
        b"[" * 100_000,
        b'{"a":' * 5000 + b"1" + b"}" * 5000,
        b"3",
        b'"text"',
        b"null",
        b"[]",
        b"[1]",
        b"[[]]",
        b"[null]",
        b'{"readings": {}}',
        b'{"readings": [], "more": 1}',
        b'{"readings": [{"value": 1, "\\ud800": 2}]}',
        b'{"readings": [{"value": 1' + b"0" * 5000 + b"}]}",
        b'{"at": 1' + b"0" * 400 + b', "value": 1}',
        b" " * (MOST_BYTES + 1),
    ],
    ids=lambda body: str(body[:24]),
)
def test_what_is_no_message_is_refused(body: bytes) -> None:
    fault = fault_of(body)
    assert len(str(fault)) < 500


@pytest.mark.parametrize("content", [None, "", "text/plain", "text/csv", "multipart/form-data", "application/xml"])
def test_other_types_are_refused(content: str | None) -> None:
    assert "application/json" in fault_of(GOOD, content_type=content).remedy


def test_a_thousand_at_most_and_all_or_none() -> None:
    many = [GOOD | {"value": 200 + n / 100} for n in range(MOST_READINGS)]
    assert len(parse(many)) == MOST_READINGS
    assert fault_of([*many, GOOD]).place.field == "readings"
    assert fault_of([*many[:-1], {"value": 1}]).place.field == f"readings[{MOST_READINGS - 1}].channel"


SCALARS = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
JSON = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
)
KEYS = ("value", "unit", "at", "on", "channel", "piece", "id", "readings", "more")
READING = st.dictionaries(
    st.sampled_from(KEYS), JSON | st.sampled_from(["big box", "racks", "F", "2026-10-10T18:05:00Z", 70, 2]), max_size=8
)


def harmless(body: bytes) -> None:
    """A message is read or refused with one clear error; nothing else may come of it."""
    try:
        entries = parse_readings(body, "application/json", COOK, Device("fuzz", "F"), now_utc=NOW)
    except InputError as fault:
        told = str(fault.place)
        if "\n" not in told:
            return
        raise
    assert entries
    for entry in entries:
        assert 1 <= len(entry.id) <= 64
        reading = reading_of(entry)
        assert datetime(1971, 1, 1, tzinfo=UTC) <= reading.at_utc <= NOW + timedelta(days=1)
        assert reading.rejected or math.isfinite(reading.value_c)


@given(st.binary(max_size=200))
def test_any_bytes_are_harmless(body: bytes) -> None:
    harmless(body)


@given(JSON)
def test_any_json_is_harmless(body: Any) -> None:
    harmless(json.dumps(body).encode("utf-8", "surrogatepass"))


@given(st.lists(READING, min_size=1, max_size=5))
def test_anything_like_a_reading_is_harmless(body: Any) -> None:
    harmless(json.dumps({"readings": body}).encode("utf-8", "surrogatepass"))


@given(st.text(max_size=40) | st.floats() | st.integers())
def test_any_time_is_harmless(at: Any) -> None:
    harmless(json.dumps(GOOD | {"at": at}).encode("utf-8", "surrogatepass"))
