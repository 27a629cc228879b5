"""Every form that a file or a message can have, read as it is and a little otherwise, for as long as asked.

An input may be read or refused by an InputError; whatever else comes of it, or takes long, is a fault, and is kept in
``corpus``, made as small as it gets, so that it is tried again for ever.
"""

from __future__ import annotations

import io
import json
import random
import re
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import Any

from benchmarks.soak.edits import drawn, edited, smaller
from pitreckon.alerts.settings import alert_settings
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError, PitreckonError
from pitreckon.flavour.read import mix_from_text
from pitreckon.intake.http import parse_readings
from pitreckon.intake.mqtt.topics import Delivery, MqttConfig
from pitreckon.intake.mqtt.topics import entries_of as message_entries
from pitreckon.intake.reading import Device
from pitreckon.intake.settings import settings_from_text
from pitreckon.intake.table.read import guess_map, table_entries
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.log.write import log_text
from pitreckon.ledger.store import Correction, MeatSaid, ReplacedPlan, StoredEntry
from pitreckon.ledger.store.lines import end_line, entry_line, head_line, meat_line, plan_line, read_lines
from pitreckon.ledger.store.records import CookRow
from pitreckon.lessons.diagnosis.report import report_from_text
from pitreckon.photo.child import made
from pitreckon.photo.decode import LONGEST_SIDE, MOST_PIXELS, QUALITY
from pitreckon.plan.read import wishes_from_text
from pitreckon.safety.record.form import check_record, record_from_text
from pitreckon.text.table import decode_table
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
"""An input of some thousand characters that takes longer of a core is a fault [s]."""
LONGEST, MOST_POOL, MOST_KEPT = 2000, 500, 60
"""What is changed further: bytes of an input, inputs of a form; how many of those are kept."""
_OWN = re.compile(r"[0-9]+|\"[^\"]*\"|'[^']*'|“[^”]*”")
"""What a refusal repeats of its input."""
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
[[mqtt.topic]]
topic = "barn/pit"
on = "barn pit"
unit = "F"
[[device]]
name = "barn sensor"
unit = "F"
[alerts]
urls = ["json://127.0.0.1:8000"]
ahead = "20 min"
below = "27 F deg"
quiet = "23:00 to 06:00"
wake = ["be back", "fire sinking"]
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
    """As of an instrument that sends JSON, and as of one that sends a number; refused if it is neither."""
    found = [message_entries(Delivery(topic, content, NOW, "m"), _broker()) for topic in ("barn/a/probes", "barn/pit")]
    entries, faults = ([each for one in found for each in one[n]] for n in (0, 1))
    if not entries:
        raise faults[-1]
    return entries


@cache
def _broker() -> MqttConfig:
    (_, config), *_ = settings_from_text(SETTINGS, "settings.toml", a_cook()).inputs
    return config


def _read_record(content: bytes) -> object:
    return check_record(record_from_text(_text(content), "record.json"), PLAN, Ledger())


def _read_photo(content: bytes) -> object:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library grumbles about what it puts up with
        try:  # what the child does, without a program for each of a million inputs
            return made(content, {"side": LONGEST_SIDE, "quality": QUALITY, "pixels": MOST_PIXELS})
        except SystemExit as reason:
            raise InputError(str(reason), "Send a photo") from None


@cache
def _photos() -> tuple[bytes, ...]:
    """Small ones of three kinds, one held sideways and with words about its camera."""
    from PIL import Image  # noqa: PLC0415  an extra

    image = Image.new("RGB", (24, 18))
    image.putdata([(9 * x % 256, 13 * y % 256, 5 * (x + y) % 256) for y in range(18) for x in range(24)])
    said = Image.Exif()
    said[0x0112], said[0x010F] = 6, "a camera"
    out = []
    for kind, more in (("JPEG", {"exif": said}), ("PNG", {}), ("WEBP", {"exif": said})):
        file = io.BytesIO()
        image.save(file, kind, **more)
        out.append(file.getvalue())
    return tuple(out)


def _read_values(content: bytes) -> object:
    """Each text as whatever it may be; refused if it is nothing."""
    out: list[object] = []
    for text in _text(content).split("|")[:20]:
        refused: list[PitreckonError] = []
        for parse in PARSERS:
            try:
                out.append(parse(text))
            except PitreckonError as fault:
                refused.append(fault)
        if len(refused) == len(PARSERS):
            raise refused[-1]
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
        "photo": Form(_read_photo, _photos()),
        "values": Form(_read_values, (VALUES.encode(),)),
    }


# --- trying them


class FaultError(AssertionError):
    """An input that was neither read nor refused, or took long."""


def outcome(form: Form, content: bytes) -> str:
    """What it was refused with, without its own words; "": it was read. Raises FaultError."""
    words, took_s = _read(form, content)
    if took_s > SLOW_S and len(content) < 20_000:
        _, again_s = _read(form, content)  # the first time something may have been loaded for it, or collected
        if again_s > SLOW_S:
            raise FaultError(f"it took {again_s:.1f} s for {len(content)} bytes")
    return words


def _read(form: Form, content: bytes) -> tuple[str, float]:
    """What it was refused with, and how long that took of a core [s]."""
    begun = time.thread_time()
    try:
        form.read(content)
        words = ""
    except PitreckonError as refused:
        words = _OWN.sub("", str(refused)) or "refused"
    except Exception as fault:
        raise FaultError(f"{type(fault).__name__}: {fault}") from fault
    return words, time.thread_time() - begun


def try_one(form: Form, content: bytes) -> bool:
    """Whether it was read. Raises FaultError."""
    return not outcome(form, content)


def faults_kept(name: str) -> tuple[bytes, ...]:
    """Inputs of a form that once found a fault."""
    return tuple(path.read_bytes() for path in sorted(CORPUS.glob(f"{_file(name)}-*.bin")))


def kept(name: str) -> tuple[bytes, ...]:
    """Those, and inputs that were each refused in words of their own: where the next run goes on from."""
    path = CORPUS / f"{_file(name)}.json"
    known = json.loads(path.read_text("utf-8")) if path.exists() else []
    return (*faults_kept(name), *(each.encode("latin-1") for each in known))


def run(name: str, count: int, begin: int, *, keep: bool = False) -> dict[str, Any]:
    """Try so many inputs of a form; a row for the table. begin: of the chances; keep: in ``corpus``, what is new in it

    An input that is refused in words not seen before is changed further, as those to begin with are: so the edits
    reach what stands behind the first refusals. It ends at the first fault.
    """
    form, chance = forms()[name], random.Random(f"{name} {begin}")
    pool, read, fault = [*form.seeds, *kept(name)], 0, ""
    seen = {outcome(form, each) for each in pool}
    known, tried = len(pool), 0
    while tried < count:
        content = chance.choice(pool if chance.random() < 0.4 else form.seeds)
        edits, tried = drawn(chance, pool), tried + 1
        changed = edited(content, edits)
        try:
            words = outcome(form, changed)
        except FaultError as found:
            fault = str(found)
            found_by = smaller(content, edits, partial(_is_bad, form, like=fault))
            (CORPUS / f"{_file(name)}-{begin}.bin").write_bytes(found_by)
            break
        read += not words
        if words not in seen:
            seen.add(words)
            if len(changed) <= LONGEST and len(pool) < MOST_POOL:
                pool.append(changed)
    if keep and len(pool) > known:
        worth = [each.decode("latin-1") for each in pool[len(form.seeds) + len(faults_kept(name)) :]]
        (CORPUS / f"{_file(name)}.json").write_text(json.dumps(worth[:MOST_KEPT], indent=0) + "\n", "utf-8")
    return {"form": name, "inputs": tried, "read": read, "ways": len(seen), "faults": int(bool(fault)), "what": fault}


def _is_bad(form: Form, content: bytes, like: str) -> bool:
    """Whether an input finds a fault of that kind."""
    try:
        outcome(form, content)
    except FaultError as found:
        return str(found).split(" ", 1)[0] == like.split(" ", 1)[0]
    return False


def _file(name: str) -> str:
    return name.replace(" ", "-")


def forms_rows(
    count: int, begin: int = 1, at_once: int = 5000, told: Callable[[list[dict[str, Any]]], None] = lambda rows: None
) -> list[dict[str, Any]]:
    """Try so many inputs, shared by all forms in turns; a row for each.

    told: is told the rows after each turn, so that a run that is stopped has counted what it tried
    """
    each, turn = max(-(-count // len(forms())), 1), 0
    start = {"inputs": 0, "read": 0, "ways": 0, "faults": 0, "what": "", "took_s": 0.0}
    rows: dict[str, dict[str, Any]] = {name: {"form": name} | start for name in forms()}
    while left := [row for row in rows.values() if row["inputs"] < each and not row["faults"]]:
        for row in left:
            begun = time.thread_time()
            got = run(row["form"], min(at_once, each - row["inputs"]), begin + turn, keep=True)
            row.update({key: row[key] + got[key] for key in ("inputs", "read", "faults")}, what=got["what"])
            row.update(ways=max(row["ways"], got["ways"]), took_s=row["took_s"] + time.thread_time() - begun)
        turn += 1
        told(list(rows.values()))
    return list(rows.values())


if __name__ == "__main__":
    import sys

    for line in forms_rows(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1):
        print(line)
