"""The safety record as a sheet: a page for each cook, what was measured and what was reckoned marked apart."""

import re
from typing import Final

from pitreckon.safety.cautions import CAUTIONS, MEMORY
from pitreckon.safety.foreseen import words_of
from pitreckon.safety.microbes.advice import OVERRULES_NOTHING
from pitreckon.safety.record.advice import SPAN, PieceAdvice
from pitreckon.safety.record.form import PieceRecord, RuleLine, SafetyRecord, read_in
from pitreckon.sheets.documents.cautions import fire_caution
from pitreckon.sheets.model import Blank, Block, Caution, Heading, KeyFigure, KeyFigures, Sheet, Table, Text
from pitreckon.sheets.reader import Reader
from pitreckon.units import format_percent

BASIS: Final = {"measured": "MEASURED", "reckoned": "reckoned", "clock": "by the clock"}
SAID: Final = re.compile(
    r"^(met|not met|missed|cannot tell|not yet), "
    r"(measured|by the clock|reckoned: [^(,;%]*% of the members meet it|reckoned)"
)
"""What stands in columns of its own already."""
SET_NAMES: Final = {"us": "United States", "canada": "Canada", "uk": "United Kingdom"}
FOOT: Final = (
    "Rules held against temperatures; no promise of safety. Follow your local code and your health department; where "
    "they and this differ, they are right."
)


def safety_sheet(record: SafetyRecord, *, reader: Reader | None = None) -> Sheet:
    """The record on paper. reader: how it is read; None: the cook's zone, °F and pounds."""
    reader = reader or Reader(record.zone)
    record = read_in(record, reader.degrees)
    blocks: list[Block] = [
        KeyFigures(
            (
                KeyFigure("as of", reader.clock(record.at_utc), reader.day(record.at_utc)),
                KeyFigure("entries", str(len(record.chain.links))),
                KeyFigure("rules of", SET_NAMES[record.rules]),
                KeyFigure("signed by", record.signed_by or "nobody yet"),
            )
        )
    ]
    for each in record.foreseen:
        said, do = words_of(each, lambda at: reader.clock(at, record.at_utc), reader.degrees)
        blocks.append(Caution(each.label, (said, do)))
    for piece in record.pieces:
        blocks += _piece(piece)
    blocks += _advice(record.advice)
    blocks += [
        Text(
            "MEASURED: by a probe or a thermometer in this piece. reckoned: by the model, in so many of its members.",
            "fine",
        ),
        Caution("Rules and thermometers", CAUTIONS),
        fire_caution(),
        Heading("What it rests on"),
        Text(
            "The entries of the ledger, chained by SHA-256. Whoever has the ledger and the record's JSON can "
            "check that none was changed, left out or put in since. The last link of the chain:"
        ),
        Text(" ".join(record.chain.head[k : k + 8] for k in range(0, 64, 8))),
        Blank("Signed", ("name", "date", "signature"), 2),
    ]
    return Sheet(
        title=record.name,
        subtitle=f"Safety record of {reader.day(record.at_utc)}",
        blocks=tuple(blocks),
        reader=reader,
        name=f"{record.name}, safety record",
        made_utc=record.at_utc,
        foot=FOOT,
    )


def _piece(piece: PieceRecord) -> list[Block]:
    rows = [_row(line) for line in piece.lines if line.governs]
    head = ("rule", "stands", "by", "found")
    blocks: list[Block] = [Heading(piece.label), Text(f"Done to the meat: {piece.done_to_it}.", "fine")]
    blocks.append(Table(head, tuple(rows)) if rows else Text("No rule applies so far."))
    beside = [line for line in piece.lines if not line.governs]
    if beside:
        told = "; ".join(f"{line.name}: {line.what}, {_by(line)}" for line in beside)
        blocks.append(Text(f"Beside these, and deciding nothing (all of it is in the JSON): {told}.", "fine"))
    blocks.append(
        Text(f"Readings that count: {piece.readings}; rejected: {piece.rejected}. {' '.join(piece.gaps)}", "fine")
    )
    blocks += [Text(note, "fine") for note in piece.notes]
    return blocks


def _advice(advice: tuple[PieceAdvice, ...]) -> list[Block]:
    """What models say, under a heading of its own, so that nobody takes it for a rule."""
    if not advice:
        return []
    blocks: list[Block] = [Heading("Beside the rules: what models say"), Text(f"{OVERRULES_NOTHING} {SPAN}")]
    for piece in advice:
        said = " ".join((*(line.words for line in piece.lines), *piece.notes))
        blocks.append(Text(f"{piece.label}: {said}", "fine"))
    return blocks


def _row(line: RuleLine) -> tuple[str, str, str, str]:
    name = f"{line.name} ({line.source.partition(',')[0].partition(' (')[0]}"
    name += f", {MEMORY})" if line.status == "memory" else ")"
    rest = SAID.sub("", line.words.partition(": ")[2]).strip(" ,;.")
    found = rest.replace("(", "", 1).replace(")", "", 1) if rest.startswith("(") else rest
    return (name, line.what.upper() if line.what in {"missed", "not met"} else line.what, _by(line), found)


def _by(line: RuleLine) -> str:
    """Measured or reckoned, and then by how many of the members."""
    if line.basis != "reckoned" or line.probability is None:
        return BASIS[line.basis]
    more = " or more" if line.probability > 0.99 else ""
    return f"{BASIS[line.basis]}, {format_percent(min(line.probability, 0.99))}{more}"
