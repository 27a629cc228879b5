"""The safety record as a sheet: a page for each cook, what was measured and what was reckoned marked apart."""

import re
from typing import Final

from pitreckon.safety.cautions import CAUTIONS, MEMORY
from pitreckon.safety.foreseen import words_of
from pitreckon.safety.microbes.advice import OVERRULES_NOTHING
from pitreckon.safety.record.advice import SPAN, PieceAdvice
from pitreckon.safety.record.form import PieceRecord, RuleLine, SafetyRecord, read_in
from pitreckon.safety.record.kept import LOG, ToldLine
from pitreckon.safety.record.sign import short_of
from pitreckon.sheets.documents.cautions import fire_caution
from pitreckon.sheets.model import Blank, Block, Caution, Heading, KeyFigure, KeyFigures, Sheet, Table, Text
from pitreckon.sheets.reader import Reader
from pitreckon.units import format_duration, format_percent

BASIS: Final = {"measured": "MEASURED", "reckoned": "reckoned", "clock": "by the clock"}
SAID: Final = re.compile(
    r"^(met|not met|missed|cannot tell|not yet), "
    r"(measured|by the clock|reckoned: [^(,;%]*% of the members meet it|reckoned)"
)
"""What stands in columns of its own already."""
MOST_TOLD: Final = 40
"""Lines of what was taken back and the like, on paper."""
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
                KeyFigure("entries", str(record.entries)),
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
    blocks += _told(record, reader)
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
        Text(_settings(record), "fine"),
        *(
            [Text(f"Signed by the house whose key is {short_of(record.house)}: the JSON carries it.")]
            * bool(record.house)
        ),
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


def _told(record: SafetyRecord, reader: Reader) -> list[Block]:
    """What a reader has to know of how the ledger came to be."""
    blocks: list[Block] = [Heading("Taken back, typed in, written later")]
    if record.told:
        lines = record.told[:MOST_TOLD]
        blocks.append(
            Table(("when", "what", "by", "written"), tuple(_told_row(line, record, reader) for line in lines))
        )
        left = len(record.told) - len(lines)
        if left:
            blocks.append(Text(f"And {left} more, which are in the JSON.", "fine"))
    else:
        blocks.append(Text("Nothing was."))
    if record.source == LOG:
        blocks.append(
            Text(
                "Made of a log file: it does not say who wrote a line and when, and keeps nothing that was taken "
                "back. A record of the live page's ledger, or of its export, does.",
                "fine",
            )
        )
    return blocks


def _told_row(line: ToldLine, record: SafetyRecord, reader: Reader) -> tuple[str, str, str, str]:
    what = f"{line.kind}: {line.words}" + (f" ({line.why})" if line.why else "")
    written = ""
    if line.recorded_utc is not None:
        late_s = (line.recorded_utc - line.at_utc).total_seconds()
        days, whole = int(late_s // 86400.0), 60.0 * (late_s // 60.0)
        written = (
            f"{days} days later" if days >= 2 else f"{format_duration(whole)} later" if late_s >= 60.0 else "at once"
        )
    return (reader.clock(line.at_utc, record.at_utc), what, line.by or "not known", written)


def _settings(record: SafetyRecord) -> str:
    said = record.settings
    return (
        f"Made with {said.get('made_with', '')}: {said.get('members', '')} members, seed {said.get('seed', '')}, plan "
        f"{record.plan_version}. These, earlier plans and what is told above are in the chain too."
    )


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
