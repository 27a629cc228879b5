"""Batches that were made for sale: each a record that is never changed, linked to all before it.

A batch that is recorded anew has a second record under its lot; the latest holds, and the earlier one stays.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import Connection, insert, select, text

from pitreckon.forms.checks import fault, is_label
from pitreckon.ledger.store.documents import check_long_text, check_text
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.records import BatchRow
from pitreckon.ledger.store.schema import batches, settings, us_of, utc_of
from pitreckon.ledger.store.store import Store

HEAD: Final = "batches head"
"""The setting that keeps number and link of the latest record: so a record that went from the end is missed."""
MOST_BATCHES: Final = 100_000
_LONGEST_CONTENT: Final = 200_000
_FIRST: Final = hashlib.sha256(b"pitreckon batches").hexdigest()


def all_batches(store: Store) -> tuple[BatchRow, ...]:
    """Every record, in its order."""
    return store.read(lambda connection: tuple(map(_row_of, _rows(connection))))


def add_batch(store: Store, lot: str, content: str, by: str, now: datetime, *, again: bool = False) -> BatchRow:
    """Record a batch. content: JSON text; again: its lot may have been recorded before

    Raises InputError: the lot was recorded and ``again`` was not said, or it was not and it was; a bad lot or name.
    """
    is_label("lot", lot)
    check_text("by", by)
    check_long_text("content", content, _LONGEST_CONTENT)

    def work(connection: Connection) -> BatchRow:
        if connection.dialect.name == "postgresql":  # SQLite has one writer anyway
            connection.execute(text("LOCK TABLE batches IN SHARE ROW EXCLUSIVE MODE"))
        there = connection.execute(select(batches.c.seq).where(batches.c.lot == lot)).first() is not None
        if there and not again:
            raise fault("lot", f"batch '{lot}' is recorded already", "Give another lot, or record it again")
        if again and not there:
            raise fault("lot", f"no batch '{lot}' is recorded yet", "Record it for the first time")
        last = connection.execute(select(batches).order_by(batches.c.seq.desc()).limit(1)).mappings().first()
        if last is not None and last["seq"] >= MOST_BATCHES:
            raise fault("lot", f"there are {MOST_BATCHES} records", "Begin another ledger")
        row = {"lot": lot, "content": content, "recorded_us": us_of(now), "by_whom": by}
        return _row_of(_append(connection, None if last is None else dict(last), row))

    return store.write(work)


def batch_faults(connection: Connection) -> list[str]:
    """What is wrong with the records: otherwise than they were taken in, missing, put in. Nothing when all is well."""
    before, count = _FIRST, 0
    for row in _rows(connection):
        count += 1
        if row["seq"] != count:
            return [f"batches: record {count} is missing"]
        if row["link"] != _link(before, row):
            return [f"batches: record {count} ({row['lot']}) is otherwise than it was taken in"]
        before = row["link"]
    kept: Any = connection.execute(select(settings.c.content).where(settings.c.name == HEAD)).scalar()
    head = json.loads(kept) if kept else {"seq": 0, "link": _FIRST}
    if (head["seq"], head["link"]) != (count, before):
        return [f"batches: there are {count} records, and the last number is {head['seq']}"]
    return []


def add_anew(connection: Connection, rows: Iterable[Mapping[str, Any]], heads: Sequence[str] = ()) -> bool:
    """Link records of a damaged ledger anew; False: not all are there, or not as they were taken in.

    heads: what its setting said of the latest record, if that could be read
    """
    before, whole, last = _FIRST, True, None
    for n, row in enumerate(sorted(rows, key=lambda each: each["seq"]), start=1):
        whole = whole and row["seq"] == n and row["link"] == _link(before, row)
        last = _append(connection, last, row)
        before = row["link"]
    return whole and all(json.loads(head)["link"] == before for head in heads)


def _append(connection: Connection, last: Mapping[str, Any] | None, row: Mapping[str, Any]) -> dict[str, Any]:
    """Put a record behind the last one."""
    kept = {name: row[name] for name in ("lot", "content", "recorded_us", "by_whom")}
    made: dict[str, Any] = {"seq": 1 if last is None else last["seq"] + 1, **kept}
    made["link"] = _link(_FIRST if last is None else last["link"], made)
    connection.execute(insert(batches), made)
    put(connection, settings, {"name": HEAD, "content": json.dumps({"seq": made["seq"], "link": made["link"]})})
    return made


def _link(before: str, row: Mapping[str, Any]) -> str:
    """SHA-256 (FIPS 180-4) of the link before and the record, as ``ledger.store.links`` has it of entries."""
    values = [row[name] for name in ("seq", "lot", "content", "recorded_us", "by_whom")]
    written = json.dumps(values, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256((before + written).encode()).hexdigest()


def _rows(connection: Connection) -> Iterable[Mapping[str, Any]]:
    return [dict(row) for row in connection.execute(select(batches).order_by(batches.c.seq)).mappings()]


def _row_of(row: Mapping[str, Any]) -> BatchRow:
    return BatchRow(row["seq"], row["lot"], row["content"], utc_of(row["recorded_us"]), row["by_whom"], row["link"])
