"""Every form that a file or a message can have, read as it is and a little otherwise, for as long as asked.

An input may be read or refused by an InputError; whatever else comes of it, or takes long, is a fault, and is kept in
``corpus`` so that it is tried again for ever. The edits are hypothesis's, which makes what fails as small as it can.
"""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from pitreckon.alerts.settings import alert_settings
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import PitreckonError
from pitreckon.flavour.read import mix_from_text
from pitreckon.intake.http import parse_readings
from pitreckon.intake.mqtt.topics import Delivery
from pitreckon.intake.mqtt.topics import entries_of as message_entries
from pitreckon.intake.reading import Device
from pitreckon.intake.settings import settings_from_text
from pitreckon.intake.table.read import guess_map, table_entries
from pitreckon.intake.table.shape import decode_table
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.log.write import log_text
from pitreckon.ledger.store import Correction, MeatSaid, ReplacedPlan, StoredEntry
from pitreckon.ledger.store.lines import end_line, entry_line, head_line, meat_line, plan_line, read_lines
from pitreckon.ledger.store.records import CookRow
from pitreckon.lessons.diagnosis.report import report_from_text
from pitreckon.plan.read import wishes_from_text
from pitreckon.safety.record.form import check_record
from pitreckon.text.toml import parse_toml
from pitreckon.units import (
    parse_altitude,
    parse_area,
    parse_clock,
    parse_difference,
    parse_duration,
    parse_length,
    parse_mass,
    parse_price,
    parse_share,
    parse_temperature,
)

ROOT = Path(__file__).parents[2]
CORPUS = Path(__file__).parent / "corpus"
SLOW_S = 2.0
"""An input of some thousand characters that takes longer is a fault [s]."""
NOW = datetime(2026, 10, 17, 21, tzinfo=UTC)
PLAN = """[cook]
name = "harvest table"
zone = "America/Chicago"
serve = "2026-10-17 18:00"
[[pit]]
name = "barn pit"
kind = "pellet-cooker"
set = "275 F"
[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 4
weight = "2 lb 10 oz"
put_on = "2026-10-17 13:00"
"""


@cache
def a_cook() -> Cook:
    """The cook that logs, tables and messages are of."""
    return cook_from_text(PLAN, "cook.toml")


EVENTS = (
    Act(NOW, "racks", "put on"),
    Reading(NOW, "pit air", "barn pit", None, 121.0),
    Reading(NOW, "probe", "racks", 1, 60.5),
    Look(NOW, "racks", 2, "colour", 1.0, "mahogany", note="=near the wall"),
    Act(NOW, "barn pit", "lid open", duration_s=120.0),
)
SETTINGS = """[mqtt]
host = "broker.home"
[[mqtt.topic]]
topic = "barn/+/probes"
channel = "probe"
on = "racks"
piece = 1
unit = "C"
value = "probes.0.temperature"
at = "time"
[[device]]
name = "barn sensor"
unit = "F"
[alerts]
urls = ["json://127.0.0.1:8000"]
ahead = "20 min"
below = "27 F deg"
quiet = "23:00 to 06:00"
wake = ["be back", "pit low"]
"""
TABLE = "Date,Time,Pit (F),Probe 1\n10/17/2026,13:05,250.5,41\n10/17/2026,13:06,251,42.1\n10/17/2026,13:07,,43\n"
MESSAGE = {"readings": [{"at": NOW.isoformat(), "on": "barn pit", "value": 250, "unit": "F", "id": "a"}]}
VALUES = "250 F|121 C|2 lb 10 oz|1.2 kg|1/4 in|3 mm|2 h 10 min|18:05|6:05 pm|900 ft|25 F deg|30 %|$4.99/lb|3 sq ft"


def _export() -> str:
    row = CookRow("supper", "supper", PLAN, 2, NOW, len(EVENTS) + 1)
    stored = [StoredEntry(n, f"e{n}", event, "Ann", NOW) for n, event in enumerate(EVENTS, start=1)]
    stored.append(StoredEntry(len(EVENTS) + 1, "c", Correction("e1", None, "a slip"), "Ben", NOW))
    lines = [head_line(row, form=2), plan_line(ReplacedPlan("supper", 1, PLAN, NOW, "Ann"))]
    lines += [meat_line(MeatSaid("racks", 1, "intact", NOW, "Ann")), *map(entry_line, stored), end_line(len(stored))]
    return "".join(lines)


def _record() -> str:
    empty = "0" * 64
    chain = {"algorithm": "SHA-256", "plan": empty, "head": empty}
    entries = [{"words": "settings", "digest": empty, "link": empty}]
    house = {"algorithm": "Ed25519", "public_key": "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"}
    kept = {"source": "log", "plan_version": 1, "told": []}
    body = {"kind": "pitreckon safety record", "version": 3, "chain": chain | {"entries": entries}, "settings": {}}
    return json.dumps({**body, "kept": kept, "house": house, "seal": empty, "signature": "00" * 64})


def _read_table(content: bytes) -> object:
    text = decode_table(content, "table.csv")
    columns = guess_map(text, "table.csv", a_cook())
    return list(table_entries(text, "table.csv", columns, a_cook(), "logger"))


def _read_message(content: bytes) -> object:
    (_, config), *_ = settings_from_text(SETTINGS, "settings.toml", a_cook()).inputs
    return message_entries(Delivery("barn/a/probes", content, NOW, "m"), config)


def _read_record(content: bytes) -> object:
    try:
        document = json.loads(content)
    except (ValueError, RecursionError):
        return None  # said to be no JSON, before
    return check_record(document, PLAN, Ledger())


def _read_values(content: bytes) -> object:
    out: list[object] = []
    for text in _text(content).split("|")[:20]:
        for parse in PARSERS:
            try:
                out.append(parse(text))
            except PitreckonError as refused:
                out.append(str(refused))
    return out


PARSERS: tuple[Callable[[str], Any], ...] = (
    *(parse_altitude, parse_area, parse_clock, parse_difference, parse_duration, parse_length, parse_mass),
    *(parse_price, parse_share, parse_temperature),
)


def _text(content: bytes) -> str:
    return content.decode("utf-8", "replace")


@dataclass(frozen=True)
class Form:
    """read: raises PitreckonError for what it refuses; seeds: good ones to begin with"""

    read: Callable[[bytes], object]
    seeds: tuple[bytes, ...]


def _files(*patterns: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for each in patterns for path in sorted((ROOT / "examples").glob(each)))


@cache
def forms() -> dict[str, Form]:
    """Each form by its name."""
    plans = _files(*(f"{name}/{name}.toml" for name in ("harvest-table", "overnight-butt", "sunday-racks")))
    days = _files(*(f"{name}/{name}.toml" for name in ("turkey-dinner", "two-pits-for-forty")))
    log = log_text(Ledger.of(EVENTS), a_cook()).encode()
    message = json.dumps(MESSAGE).encode()
    sensor = json.dumps({"time": NOW.timestamp(), "probes": [{"temperature": 61.5}]}).encode()
    return {
        "cook file": Form(lambda c: cook_from_text(_text(c), "f"), (PLAN.encode(), *plans)),
        "wishes": Form(lambda c: wishes_from_text(_text(c), "f"), days),
        "mix file": Form(lambda c: mix_from_text(_text(c), "f"), _files("*/*rub*.toml", "*/*glaze*.toml")),
        "report": Form(lambda c: report_from_text(_text(c), "f"), _files("*/report.toml")),
        "settings": Form(lambda c: settings_from_text(_text(c), "f", a_cook()), (SETTINGS.encode(),)),
        "alerts": Form(lambda c: alert_settings(_text(c), "f", a_cook()), (SETTINGS.encode(),)),
        "any TOML": Form(lambda c: parse_toml(_text(c), "f"), (PLAN.encode(), SETTINGS.encode())),
        "log": Form(lambda c: log_from_text(_text(c), "f", a_cook(), set_aside=bool(len(c) % 2)), (log,)),
        "export": Form(lambda c: read_lines(_text(c).splitlines(keepends=True), "f"), (_export().encode(),)),
        "record": Form(_read_record, (_record().encode(),)),
        "table": Form(_read_table, (TABLE.encode(), TABLE.replace(",", ";").encode("utf-16"))),
        "readings": Form(
            lambda c: parse_readings(c, "application/json", a_cook(), Device("box", None), now_utc=NOW), (message,)
        ),
        "message": Form(_read_message, (sensor, b"61.5")),
        "values": Form(_read_values, (VALUES.encode(),)),
    }


# --- edits

TOKENS = (
    *("=", '"', "'", '"""', "[", "]", "[[", "]]", "{", "}", ",", ";", "\n", "\r\n", "\t", "\0", "\ufeff", "#", "."),
    *(
        ":",
        "-",
        "0",
        "-1",
        "1e999",
        "nan",
        "inf",
        "9" * 40,
        "1/0",
        "true",
        "null",
        "NaN",
        "-0",
        "½",
        "\u0663",
        "\u202e",
    ),
    *("\ud7ff", "\U0001f525", "2026-02-30", "0000-00-00 00:00", "9999-12-31 23:59", "24:00", "01:30"),
    *("2026-11-01 01:30", "-400 F", "10000 C", "a.b.c.d.e.f.g.h.i = 1", "[cook]", "[[item]]", "name = ", "\\u0000"),
    *("\\ud800", "1 lb 99 oz", "0 lb", "=1+1", "'=1", "275 F", "2026-10-17 13:00", "boston-butt", "racks", "barn pit"),
)
_VALUE = re.compile(rb'"[^"\n]*"|-?[0-9][0-9.]*')
place = st.floats(0.0, 1.0, width=32)
edit = st.one_of(
    st.tuples(st.just("cut"), place, st.integers(1, 40), st.just("")),
    st.tuples(st.just("twice"), place, st.integers(1, 200), st.just("")),
    st.tuples(st.just("put"), place, st.just(0), st.sampled_from(TOKENS) | st.text(max_size=6)),
    st.tuples(st.just("over"), place, st.integers(1, 12), st.sampled_from(TOKENS) | st.text(max_size=6)),
    st.tuples(st.just("byte"), place, st.integers(0, 255), st.just("")),
    st.tuples(st.just("value"), place, st.just(0), st.sampled_from(TOKENS) | st.text(max_size=20)),
    st.tuples(st.just("line"), place, st.integers(0, 2), st.just("")),
    st.tuples(st.just("many"), place, st.integers(2, 400), st.sampled_from(TOKENS)),
)


def edited(content: bytes, edits: list[tuple[str, float, int, str]]) -> bytes:
    """An input with some changes."""
    for kind, where, size, text in edits:
        at = int(where * len(content))
        piece = text.encode("utf-8", "surrogatepass")
        if kind == "cut":
            content = content[:at] + content[at + size :]
        elif kind == "twice":
            content = content[: at + size] + content[at:]
        elif kind == "value":  # in the place of one that is there, so that what follows is still read
            there = list(_VALUE.finditer(content))
            if there:
                one = there[min(int(where * len(there)), len(there) - 1)]
                quote = b'"' if one[0].startswith(b'"') else b""
                content = content[: one.start()] + quote + piece + quote + content[one.end() :]
        elif kind == "line":
            lines = content.splitlines(keepends=True)
            if lines:
                n = min(int(where * len(lines)), len(lines) - 1)
                content = b"".join([*lines[:n], *([lines[n]] * size), *lines[n + 1 :]])
        elif kind == "byte":
            content = content[:at] + bytes([size]) + content[at + 1 :]
        else:
            content = content[:at] + piece * (size if kind == "many" else 1) + content[at + size * (kind == "over") :]
    return content


class FaultError(AssertionError):
    """An input that was neither read nor refused, or took long."""


def try_one(form: Form, content: bytes) -> bool:
    """Whether it was read. Raises FaultError."""
    begun = time.perf_counter()
    try:
        form.read(content)
        read = True
    except PitreckonError:
        read = False
    except Exception as fault:
        raise FaultError(f"{type(fault).__name__}: {fault}") from fault
    if time.perf_counter() - begun > SLOW_S and len(content) < 20_000:
        raise FaultError(f"it took {time.perf_counter() - begun:.1f} s for {len(content)} bytes")
    return read


def kept(name: str) -> tuple[bytes, ...]:
    """Inputs of a form that once found a fault."""
    return tuple(path.read_bytes() for path in sorted(CORPUS.glob(f"{name.replace(' ', '-')}-*")))


def run(name: str, count: int, begin: int) -> dict[str, Any]:
    """Try so many inputs of a form; a row for the table. begin: seed of the chances"""
    form = forms()[name]
    seeds = (*form.seeds, *kept(name))
    tally = {"inputs": 0, "read": 0}
    found: list[bytes] = []

    @seed(begin)
    @settings(
        max_examples=count,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
        phases=(Phase.generate, Phase.shrink),
    )
    @given(st.sampled_from(seeds), st.lists(edit, max_size=6))
    def holds(content: bytes, edits: list[tuple[str, float, int, str]]) -> None:
        changed = edited(content, edits)
        tally["inputs"] += 1
        found[:] = [changed]
        tally["read"] += try_one(form, changed)

    fault = ""
    for each in seeds:
        try_one(form, each)
    try:
        holds()
    except FaultError as error:
        fault = str(error)
        (CORPUS / f"{name.replace(' ', '-')}-{begin}").write_bytes(found[0])
    return {"form": name, **tally, "faults": int(bool(fault)), "what": fault}


def forms_rows(count: int, begin: int = 1, at_once: int = 5000) -> list[dict[str, Any]]:
    """Try so many inputs, shared by all forms; a row for each."""
    each = max(count // len(forms()), 1)
    rows = []
    for name in forms():
        row: dict[str, Any] = {"form": name, "inputs": 0, "read": 0, "faults": 0, "what": ""}
        begun = time.perf_counter()
        round_ = 0
        while row["inputs"] < each and not row["faults"]:
            got = run(name, min(at_once, each - row["inputs"]), begin + round_)
            row |= {key: row[key] + got[key] for key in ("inputs", "read", "faults")} | {"what": got["what"]}
            round_ += 1
        rows.append(row | {"took_s": time.perf_counter() - begun})
    return rows


if __name__ == "__main__":
    import sys

    for line in forms_rows(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1):
        print(line)
