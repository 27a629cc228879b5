"""The safety record as a record: what is in it, as JSON, and held against the ledger that it rests on."""

from dataclasses import asdict, dataclass, replace
from datetime import datetime
from typing import Any, Final

from pitreckon import __version__
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.ledger.chain import ALGORITHM, Chain, Difference, Link, canonical, chain_of, differences, digest
from pitreckon.ledger.events import Event
from pitreckon.ledger.store.documents import document_of, write_utc
from pitreckon.safety.cautions import CAUTIONS
from pitreckon.safety.foreseen import Foreseen
from pitreckon.safety.record.advice import PieceAdvice, advice_in, document_of_advice
from pitreckon.safety.wording import Scale, rule_text, told

KIND: Final = "pitreckon safety record"
VERSION: Final = 2
"""2: with ``rules`` and ``degrees``. Records of version 1 are checked as they always were."""
KNOWN_VERSIONS: Final = (1, 2)


@dataclass(frozen=True, slots=True)
class RuleLine:
    """One rule of a piece. what: its verdict; basis: measured, reckoned or clock; words: all of it in a sentence."""

    rule: str
    name: str
    group: str
    governs: bool
    what: str
    basis: str
    probability: float | None
    words: str
    source: str
    status: str
    standing: str


@dataclass(frozen=True, slots=True)
class PieceRecord:
    """One piece. readings, rejected: of its probe; gaps: in words; done_to_it: as it was said, or that nobody said."""

    label: str
    lines: tuple[RuleLine, ...]
    readings: int
    rejected: int
    gaps: tuple[str, ...]
    done_to_it: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class SafetyRecord:
    """A cook's record.

    signed_by: who signed, "" for nobody yet; chain: of the entries that it rests on; rules: whose they are
    advice: what models say of each piece; no rule asks them. Its other texts carry their temperatures as marks until
        ``read_in`` writes them out
    """

    name: str
    zone: str
    at_utc: datetime
    pieces: tuple[PieceRecord, ...]
    foreseen: tuple[Foreseen, ...]
    chain: Chain
    signed_by: str = ""
    advice: tuple[PieceAdvice, ...] = ()
    rules: str = "us"


def entries_of(ledger: Ledger) -> list[Event]:
    """Every entry of a ledger, those not used included, in the order of their times; one order for one ledger."""
    every: list[Event] = [*ledger.all_readings, *ledger.all_looks, *ledger.all_acts]
    return sorted(every, key=lambda event: (event.at_utc, canonical(document_of(event))))


def read_in(record: SafetyRecord, degrees: Scale) -> SafetyRecord:
    """The record with every text in a reader's unit."""
    pieces = []
    for piece in record.pieces:
        lines = tuple(
            replace(
                line,
                name=rule_text(line.name, degrees),
                words=told(line.words, degrees).replace(line.name, rule_text(line.name, degrees), 1),
                source=rule_text(line.source, degrees),
            )
            for line in piece.lines
        )
        notes, gaps = (tuple(told(text, degrees) for text in texts) for texts in (piece.notes, piece.gaps))
        pieces.append(replace(piece, lines=lines, notes=notes, gaps=gaps))
    return replace(record, pieces=tuple(pieces), advice=tuple(advice_in(each, degrees) for each in record.advice))


def document_of_record(record: SafetyRecord, degrees: Scale = "F") -> dict[str, Any]:
    """The record as one JSON object, its texts in a reader's unit, with its chain and a seal over all the rest."""
    record = read_in(record, degrees)
    body: dict[str, Any] = {
        "kind": KIND,
        "version": VERSION,
        "made_with": f"pitreckon {__version__}",
        "cook": record.name,
        "zone": record.zone,
        "rules": record.rules,
        "degrees": degrees,
        "at": write_utc(record.at_utc),
        "pieces": [_plain(asdict(piece)) for piece in record.pieces],
        "may_be_missed": [
            {
                "piece": each.label,
                "rule": each.rule.key,
                "chance": round(each.chance, 4),
                "at": None if each.at_utc is None else write_utc(each.at_utc),
                "do": [told(do, degrees) for do in each.do],
            }
            for each in record.foreseen
        ],
        "advice": document_of_advice(record.advice),
        "signed_by": record.signed_by,
        "cautions": list(CAUTIONS),
        "chain": {
            "algorithm": ALGORITHM,
            "plan": record.chain.plan,
            "entries": [asdict(link) for link in record.chain.links],
            "head": record.chain.head,
        },
    }
    return body | {"seal": digest(canonical(body))}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    return round(value, 6) if isinstance(value, float) else value


def check_record(document: object, plan: str, ledger: Ledger) -> tuple[Difference, ...]:
    """Hold a record against the plan and the ledger that it was made of; nothing when all is as it was.

    document: as ``document_of_record`` made it, read from its file
    plan: text of the cook file; ledger: all of it, as it is now

    Raises InputError: it is no record of this kind
    """
    if not isinstance(document, dict) or document.get("kind") != KIND:
        raise InputError("it is no safety record", "Name the .json file that pitreckon record has written")
    if document.get("version") not in KNOWN_VERSIONS:
        known = " and ".join(str(each) for each in KNOWN_VERSIONS)
        raise InputError(f"it is of version {document.get('version')}", f"Only versions {known} are known here")
    body = {key: value for key, value in document.items() if key != "seal"}
    out = []
    try:
        sealed = digest(canonical(body)) == document.get("seal")
        kept = document["chain"]
        links = tuple(Link(str(e["words"]), str(e["digest"]), str(e["link"])) for e in kept["entries"])
        chain = Chain(str(kept["plan"]), links)
        head = kept["head"]
    except (KeyError, TypeError, ValueError) as fault:
        raise InputError("the record lacks its chain of entries", "Name the file as it was written") from fault
    if not sealed or head != chain.head:
        out.append(Difference("the record itself was changed after it was made"))
    return (*out, *differences(chain, chain_of(plan, entries_of(ledger))))
