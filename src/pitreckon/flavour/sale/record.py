"""What the ledger keeps of a batch, and the recall: which jars hold a lot, which lots went into a jar."""

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from pitreckon.errors import InputError
from pitreckon.flavour.sale.batch import Sale
from pitreckon.flavour.sale.document import lot_document
from pitreckon.flavour.sale.lots import Lot, jar_code
from pitreckon.ledger.store.records import BatchRow
from pitreckon.units import shown

FORM: Final = "pitreckon batch 1"
_JAR: Final = re.compile(r"(.+)/0*(\d{1,6})")


@dataclass(frozen=True, slots=True)
class Made:
    """One record of a batch. jars: filled; lots: what went in; holds: it is the latest of its lot"""

    lot: str
    mix: str
    made: date
    jars: int
    net: str
    best_before: date | None
    lots: tuple[Lot, ...]
    unlotted: tuple[str, ...]
    seq: int
    by: str
    link: str
    holds: bool

    @property
    def jar_words(self) -> str:
        """``OR-261130/001 to OR-261130/200``."""
        first, last = (jar_code(self.lot, number, self.jars) for number in (1, self.jars))
        return f"{first} to {last}" if self.jars > 1 else first


@dataclass(frozen=True, slots=True)
class Recalled:
    """What a recall found.

    asked: as it was typed; jar: the number of the jar that was asked for, None: a lot was
    of: the batches that are that lot themselves, or the jar's; into: batches that have it in them, and those that have
    one of these in them; records: how many batches were looked through
    """

    asked: str
    jar: int | None
    of: tuple[Made, ...]
    into: tuple[Made, ...]
    records: int

    @property
    def found(self) -> bool:
        """Is anything of it recorded?"""
        return bool(self.of or self.into)


def record_text(sale: Sale, filled: int | None = None) -> str:
    """The record of a batch, as JSON. filled: jars that were filled; None: as many as were asked for

    Raises InputError: more jars than the batch's weight can fill.
    """
    jars = sale.asked.jars if filled is None else filled
    most = int(sale.mass_kg / (sale.fill.nominal_kg - sale.fill.short_kg))
    if not 1 <= jars <= most:
        raise InputError(f"{jars} jars cannot be filled from this batch", f"Write a number from 1 to {most}")
    lotted = {each.food for each in sale.lots}
    document = {
        "form": FORM,
        "lot": sale.lot,
        "mix": sale.batch.mix.name,
        "made": sale.asked.made.isoformat(),
        "jars": jars,
        "net": sale.net,
        "market": sale.asked.market,
        "mass_g": round(1000.0 * sale.mass_kg, 3),
        "weigh": [[each.name, round(1000.0 * each.shown_kg, 3)] for each in sale.weights.weighed],
        "rounds": sale.weights.rounds,
        "best_before": None if sale.date.day is None else sale.date.day.isoformat(),
        "contains": list(sale.contains),
        "lots": [lot_document(each) for each in sale.lots],
        "unlotted": [part.name for part in sale.parts if part.name not in lotted],
    }
    return json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def made_of(rows: Sequence[BatchRow]) -> tuple[Made, ...]:
    """The records, read. Raises InputError: one is of a newer Pitreckon, or is none."""
    latest = {row.lot: row.seq for row in rows}
    return tuple(_made(row, holds=latest[row.lot] == row.seq) for row in rows)


def recall(asked: str, made: Sequence[Made]) -> Recalled:
    """Look for a lot of an ingredient, a lot of a batch, or a jar (``OR-261130/007``), however it is spaced or spelt in
    capitals.

    Records that a later one replaced count as well: what once was said to be in a jar is looked for.

    Raises InputError: a jar of a number that its batch does not have.
    """
    jar = _JAR.fullmatch(asked.strip())
    jars_batch = () if jar is None else tuple(each for each in made if _plain(each.lot) == _plain(jar[1]))
    number = int(jar[2]) if jar is not None and jars_batch else None
    if number is not None and not 1 <= number <= max(each.jars for each in jars_batch):
        most = max(each.jars for each in jars_batch)
        raise InputError(f"batch '{jars_batch[-1].lot}' has no jar {number}", f"Its jars go from 1 to {most}")
    of = jars_batch or tuple(each for each in made if _plain(each.lot) == _plain(asked))
    wanted, into = {_plain(asked)}, dict[int, Made]()
    grown = number is None
    while grown:
        more = [each for each in made if each.seq not in into and wanted & {_plain(lot.lot) for lot in each.lots}]
        into |= {each.seq: each for each in more}
        wanted |= {_plain(each.lot) for each in more}
        grown = bool(more)
    return Recalled(asked.strip(), number, of, tuple(into[seq] for seq in sorted(into)), len({x.lot for x in made}))


def lots_inside(of: Iterable[Made], made: Sequence[Made]) -> tuple[tuple[Made, Lot], ...]:
    """Every lot that went into these batches, with the batch; a lot that is itself a batch brings its own behind it."""
    found: list[tuple[Made, Lot]] = []
    seen: set[int] = set()
    waiting = list(of)
    while waiting:
        batch = waiting.pop(0)
        if batch.seq in seen:
            continue
        seen.add(batch.seq)
        found += [(batch, lot) for lot in batch.lots]
        inside = {_plain(lot.lot) for lot in batch.lots}
        waiting += [each for each in made if _plain(each.lot) in inside]
    return tuple(found)


def _made(row: BatchRow, *, holds: bool) -> Made:
    try:
        said: dict[str, Any] = json.loads(row.content)
        if said["form"] != FORM:
            raise InputError(f"record {row.seq} of batches is of form {shown(said['form'])}", "Update Pitreckon")
        day = said["best_before"]
        return Made(
            lot=said["lot"],
            mix=said["mix"],
            made=date.fromisoformat(said["made"]),
            jars=said["jars"],
            net=said["net"],
            best_before=None if day is None else date.fromisoformat(day),
            lots=tuple(_lot(each) for each in said["lots"]),
            unlotted=tuple(said["unlotted"]),
            seq=row.seq,
            by=row.by,
            link=row.link,
            holds=holds,
        )
    except (KeyError, TypeError, ValueError) as fault:
        raise InputError(f"record {row.seq} of batches cannot be read", "Look the ledger over") from fault


def _lot(said: dict[str, Any]) -> Lot:
    day = said["best_before"]
    return Lot(said["food"], said["lot"], None if day is None else date.fromisoformat(day), said["supplier"])


def _plain(lot: str) -> str:
    return "".join(lot.casefold().split())
