"""``pitreckon batch`` and the ledger: a batch recorded, a recall, all that is recorded."""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pitreckon.cli.answers import paper_of, put_sheet, reader_of
from pitreckon.cli.envelope import print_json
from pitreckon.cli.screen import Screen
from pitreckon.flavour.sale.batch import Sale
from pitreckon.flavour.sale.document import lot_document
from pitreckon.flavour.sale.lots import jar_code
from pitreckon.flavour.sale.record import Made, Recalled, lots_inside, made_of, recall, record_text
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.batches import add_batch, all_batches
from pitreckon.sheets.documents.recallsheet import recall_sheet, recorded_sheet
from pitreckon.sheets.writers.html import Paper
from pitreckon.sheets.writers.text import print_sheet
from pitreckon.units import Scale


def keep_record(sale: Sale, ledger: str | None, filled: int | None, by: str, now: datetime, *, again: bool) -> str:
    """Record a batch; the link of its record. Raises InputError: it cannot be recorded so."""
    content = record_text(sale, filled)
    with Store.open(ledger) as store:
        return add_batch(store, sale.lot, content, by, now, again=again).link


def answer_recall(
    asked: str | None,
    ledger: str | None,
    output: Path | None,
    ending: str | None,
    paper: Paper | None,
    degrees: Scale,
    *,
    as_json: bool,
) -> int:
    """Answer ``--recall`` (asked) or ``--recorded`` (None); the exit code: 1 where a recall found nothing."""
    with Store.open(ledger) as store:
        made = made_of(all_batches(store))
    how: dict[str, Any] = {"reader": reader_of("UTC", degrees), "made_utc": datetime.now(UTC)}
    if asked is None:
        document: dict[str, Any] = {"records": [made_document(each) for each in made]}
        sheet, found = recorded_sheet(made, **how), True
    else:
        recalled = recall(asked, made)
        document, found = recall_document(recalled, made), recalled.found
        sheet = recall_sheet(recalled, made, **how)
    if output is not None and ending is not None:
        put_sheet(sheet, output, ending, paper_of(degrees, paper))
    if as_json:
        print_json("batch", document)
    elif output is None:
        print_sheet(Screen(degrees), sheet)
    return 0 if found else 1


def made_document(each: Made) -> dict[str, Any]:
    """One record as plain values."""
    return {
        "lot": each.lot,
        "mix": each.mix,
        "made": each.made.isoformat(),
        "jars": each.jars,
        "first_jar": jar_code(each.lot, 1, each.jars),
        "last_jar": jar_code(each.lot, each.jars, each.jars),
        "net": each.net,
        "best_before": None if each.best_before is None else each.best_before.isoformat(),
        "lots": [lot_document(lot) for lot in each.lots],
        "without_lot": list(each.unlotted),
        "record": each.seq,
        "signed": each.by,
        "link": each.link,
        "holds": each.holds,
    }


def recall_document(found: Recalled, made: tuple[Made, ...]) -> dict[str, Any]:
    """A recall as plain values."""
    return {
        "asked": found.asked,
        "found": found.found,
        "jar": found.jar,
        "batches_of_it": [made_document(each) for each in found.of],
        "batches_with_it": [made_document(each) for each in found.into],
        "lots_inside": [{**lot_document(lot), "batch": batch.lot} for batch, lot in lots_inside(found.of, made)],
        "batches_recorded": found.records,
        "batches_without_lots": [each.lot for each in made if each.holds and each.unlotted],
    }
