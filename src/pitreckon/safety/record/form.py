"""The safety record as a record: what is in it, as JSON, and held against the ledger that it rests on."""

from __future__ import annotations

from dataclasses import asdict, dataclass
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
from pitreckon.safety.record.advice import PieceAdvice, document_of_advice

KIND: Final = "pitreckon safety record"
VERSION: Final = 1


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

    signed_by: who signed, "" for nobody yet; chain: of the entries that it rests on
    advice: what models say of each piece; no rule asks them
    """

    name: str
    zone: str
    at_utc: datetime
    pieces: tuple[PieceRecord, ...]
    foreseen: tuple[Foreseen, ...]
    chain: Chain
    signed_by: str = ""
    advice: tuple[PieceAdvice, ...] = ()


def entries_of(ledger: Ledger) -> list[Event]:
    """Every entry of a ledger, those not used included, in the order of their times; one order for one ledger."""
    every: list[Event] = [*ledger.all_readings, *ledger.all_looks, *ledger.all_acts]
    return sorted(every, key=lambda event: (event.at_utc, canonical(document_of(event))))


def document_of_record(record: SafetyRecord) -> dict[str, Any]:
    """The record as one JSON object, with its chain and a seal over all the rest."""
    body: dict[str, Any] = {
        "kind": KIND,
        "version": VERSION,
        "made_with": f"pitreckon {__version__}",
        "cook": record.name,
        "zone": record.zone,
        "at": write_utc(record.at_utc),
        "pieces": [_plain(asdict(piece)) for piece in record.pieces],
        "may_be_missed": [
            {
                "piece": each.label,
                "rule": each.rule.key,
                "chance": round(each.chance, 4),
                "at": None if each.at_utc is None else write_utc(each.at_utc),
                "do": list(each.do),
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

    Parameters
    ----------
    document: as ``document_of_record`` made it, read from its file
    plan: text of the cook file; ledger: all of it, as it is now

    Raises
    ------
    InputError: it is no record of this kind
    """
    if not isinstance(document, dict) or document.get("kind") != KIND:
        raise InputError("it is no safety record", "Name the .json file that pitreckon record has written")
    if document.get("version") != VERSION:
        raise InputError(f"it is of version {document.get('version')}", f"Only version {VERSION} is known here")
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
