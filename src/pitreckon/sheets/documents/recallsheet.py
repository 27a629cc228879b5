"""The sheet of a recall: which jars hold a lot, which lots went into a jar; and the list of all recorded batches."""

from collections.abc import Sequence
from datetime import datetime

from pitreckon.flavour.sale.record import Made, Recalled, lots_inside
from pitreckon.sheets.documents.batchsheet import FOOT, day_words
from pitreckon.sheets.model import Block, Caution, Heading, Sheet, Table, Text
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import joined, said


def recall_sheet(found: Recalled, made: Sequence[Made], *, reader: Reader, made_utc: datetime) -> Sheet:
    """What a recall found, in both directions."""
    blocks: list[Block] = []
    if not found.found:
        words = said("None of {n} recorded batches is it, or has it in it.", n=found.records)
        blocks.append(Text(words, "lead"))
    if found.into:
        blocks += [Heading(said("Jars that hold it")), _batches(found.into)]
    if found.of:
        head = said("Jars of this batch") if found.jar is None else said("The jar's batch")
        blocks += [Heading(head), _batches(found.of)]
        blocks += _inside(found, made)
    blocks.append(
        Caution(
            said("A recall"),
            (
                said(
                    "Only what was recorded can be found. A batch without a lot for one of its foods may hold it too: "
                    "look at the list of what has none."
                ),
                said("Whether to take jars back, and whom to tell, your local authority says: ask it at once."),
            ),
        )
    )
    return Sheet(
        title=said("Recall"),
        subtitle=found.asked,
        blocks=tuple(blocks) + tuple(_unlotted(made)),
        reader=reader,
        name=found.asked,
        made_utc=made_utc,
        foot=FOOT,
    )


def recorded_sheet(made: Sequence[Made], *, reader: Reader, made_utc: datetime) -> Sheet:
    """All recorded batches."""
    blocks: list[Block] = [_batches(made)] if made else [Text(said("None so far."))]
    return Sheet(
        title=said("Recorded batches"),
        subtitle=said("{n} records", n=len(made)),
        blocks=tuple(blocks),
        reader=reader,
        name="recorded batches",
        made_utc=made_utc,
        foot=FOOT,
    )


def _batches(made: Sequence[Made]) -> Table:
    head = (said("batch"), said("of"), said("made"), said("jars"), said("best before"), said("record"))
    rows = tuple(
        (
            each.lot,
            each.mix,
            day_words(each.made),
            f"{each.jars}: {each.jar_words}",
            "–" if each.best_before is None else day_words(each.best_before),
            str(each.seq) if each.holds else said("{n}, replaced", n=each.seq),
        )
        for each in made
    )
    return Table(head, rows)


def _inside(found: Recalled, made: Sequence[Made]) -> list[Block]:
    rows = tuple(
        (
            lot.food,
            lot.lot,
            "–" if lot.best_before is None else day_words(lot.best_before),
            lot.supplier or "–",
            batch.lot if batch.holds else said("{n}, replaced", n=batch.lot),
        )
        for batch, lot in lots_inside(found.of, made)
    )
    if not rows:
        return [Text(said("No lots were recorded with it."), "lead")]
    head = (said("of"), said("lot"), said("best before"), said("from"), said("in batch"))
    return [Heading(said("Lots that went in")), Table(head, rows)]


def _unlotted(made: Sequence[Made]) -> list[Block]:
    """Batches of which a food has no lot: they may hold anything."""
    open_ = [each for each in made if each.holds and each.unlotted]
    if not open_:
        return []
    rows = tuple((each.lot, each.mix, joined("; ", each.unlotted)) for each in open_)
    head = (said("batch"), said("of"), said("without a lot"))
    return [Heading(said("Batches that may hold it unrecorded"), 3), Table(head, rows)]
