"""The safety record as a record: what is in it, as JSON, and held against the ledger that it rests on."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime
from typing import Any, Final

from pitreckon import __version__
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.ledger.chain import (
    ALGORITHM,
    Chain,
    Difference,
    Link,
    canonical,
    chain_of,
    chain_over,
    differences,
    digest,
)
from pitreckon.ledger.store.documents import write_utc
from pitreckon.safety.cautions import CAUTIONS
from pitreckon.safety.foreseen import Foreseen
from pitreckon.safety.record.advice import PieceAdvice, advice_in, document_of_advice
from pitreckon.safety.record.kept import LEDGER, LOG, Kept, ToldLine, entry_order, steps_of
from pitreckon.safety.record.sign import ALGORITHM as SIGNED_BY
from pitreckon.safety.record.sign import holds, public_of, short_of, sign
from pitreckon.safety.wording import Scale, rule_text, told

KIND: Final = "pitreckon safety record"
VERSION: Final = 3
"""2: with ``rules`` and ``degrees``; 3: with what was kept, the settings and a signature, all of it in the chain.

Records of versions 1 and 2 are checked as they always were.
"""
KNOWN_VERSIONS: Final = (1, 2, 3)


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
    advice: what models say of each piece; no rule asks them
    entries: how many it rests on; settings: what it was made with; source, plan_version, told: see
    ``safety.record.kept``
    house: public key of the house, "" where none signs. Its other texts carry their temperatures as marks until
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
    entries: int = 0
    settings: Mapping[str, Any] = field(default_factory=dict)
    source: str = LOG
    plan_version: int = 1
    told: tuple[ToldLine, ...] = ()
    house: str = ""


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
    kept = tuple(replace(each, words=told(each.words, degrees)) for each in record.told)
    advice = tuple(advice_in(each, degrees) for each in record.advice)
    return replace(record, pieces=tuple(pieces), told=kept, advice=advice)


def document_of_record(record: SafetyRecord, degrees: Scale = "F", key: str = "") -> dict[str, Any]:
    """The record as one JSON object, its texts in a reader's unit, with its chain and a seal over all the rest.

    key: private, of the house; "": nobody signs it
    """
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
        "kept": {
            "source": record.source,
            "plan_version": record.plan_version,
            "told": [_told_document(line) for line in record.told],
        },
        "settings": dict(record.settings),
        "house": {"algorithm": SIGNED_BY, "public_key": public_of(key)} if key else None,
        "signed_by": record.signed_by,
        "cautions": list(CAUTIONS),
        "chain": {
            "algorithm": ALGORITHM,
            "plan": record.chain.plan,
            "entries": [asdict(link) for link in record.chain.links],
            "head": record.chain.head,
        },
    }
    seal = digest(canonical(body))
    return body | {"seal": seal} | ({"signature": sign(key, seal)} if key else {})


def _told_document(line: ToldLine) -> dict[str, Any]:
    recorded = None if line.recorded_utc is None else write_utc(line.recorded_utc)
    said = {"kind": line.kind, "at": write_utc(line.at_utc), "words": line.words}
    return {**said, "by": line.by, "recorded": recorded, "why": line.why}


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    return round(value, 6) if isinstance(value, float) else value


def record_from_text(text: str, file: str) -> object:
    """What a record's file has, for ``check_record``. Raises InputError: it is no JSON, or nested without end."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError) as fault:
        raise InputError(
            "it is no JSON", "Name the .json file that pitreckon record has written", Place(file)
        ) from fault


def check_record(
    document: object, plan: str, ledger: Ledger, kept: Kept | None = None, house: str = ""
) -> tuple[Difference, ...]:
    """Hold a record against the plan and the ledger that it was made of; nothing when all is as it was.

    document: as ``document_of_record`` made it, read from its file
    plan: text of the cook file; ledger: all of it, as it is now
    kept: what the ledger keeps beside, for a record that was made of one; None: a log file
    house: public key that has to have signed it, whole or as ``sign.short_of`` has it; "": any, or none

    Raises InputError: it is no record of this kind; one of a ledger is held against a log
    """
    if not isinstance(document, dict) or document.get("kind") != KIND:
        raise InputError("it is no safety record", "Name the .json file that pitreckon record has written")
    if document.get("version") not in KNOWN_VERSIONS:
        known = " and ".join(str(each) for each in KNOWN_VERSIONS)
        raise InputError(f"it is of version {document.get('version')}", f"Only versions {known} are known here")
    body = {key: value for key, value in document.items() if key not in {"seal", "signature"}}
    out = []
    try:
        sealed = digest(canonical(body)) == document.get("seal")
        given = document["chain"]
        links = tuple(Link(str(e["words"]), str(e["digest"]), str(e["link"])) for e in given["entries"])
        chain = Chain(str(given["plan"]), links)
        head = given["head"]
    except (KeyError, TypeError, ValueError, RecursionError) as fault:
        raise InputError("the record lacks its chain of entries", "Name the file as it was written") from fault
    if not sealed or head != chain.head:
        out.append(Difference("the record itself was changed after it was made"))
    out += _signature_faults(document, house)
    if document["version"] < 3:
        return (*out, *differences(chain, chain_of(plan, entry_order(ledger))))
    return (*out, *_against(document, chain, plan, ledger, kept or Kept()))


def signer_of(document: object) -> str:
    """The public key that a record names as its house's; "": none."""
    house = document.get("house") if isinstance(document, dict) else None
    public = house.get("public_key") if isinstance(house, dict) else None
    return public if isinstance(public, str) else ""


def _signature_faults(document: dict[str, Any], house: str) -> list[Difference]:
    public, signature = signer_of(document), document.get("signature")
    out = []
    if public and not holds(public, str(signature), str(document.get("seal"))):
        out.append(Difference("the signature is not that of the house's key"))
    elif house and not public:
        out.append(Difference("no key of a house has signed it"))
    wanted = house.replace(" ", "").casefold()
    if wanted and public and wanted not in {public, short_of(public).replace(" ", "")}:
        out.append(Difference(f"another house has signed it: its key is {short_of(public)}"))
    return out


def _against(document: dict[str, Any], chain: Chain, plan: str, ledger: Ledger, kept: Kept) -> tuple[Difference, ...]:
    """Hold a chain of version 3 against what is there now: later plans and what was said later are no fault."""
    try:
        source, version = str(document["kept"]["source"]), int(document["kept"]["plan_version"])
        settings = dict(document["settings"])
    except (KeyError, TypeError, ValueError, OverflowError) as fault:
        raise InputError("the record lacks what was kept", "Name the file as it was written") from fault
    if source != kept.source:
        there = {LEDGER: "an export of the ledger, as 'pitreckon export' prints it", LOG: "the cook file and its log"}
        raise InputError(f"the record was made of a {source}", f"Hold it against {there.get(source, 'that')}")
    texts = {each.plan_version: each.plan_toml for each in kept.plans} | {kept.plan_version: plan}
    out = []
    if kept.plan_version > version:
        out.append(Difference("the plan was replaced after the record was made", fault=False))
    then = replace(
        kept,
        plans=tuple(each for each in kept.plans if each.plan_version < version),
        meat=kept.meat[: sum(link.words.startswith("meat of ") for link in chain.links)],
    )
    found = chain_over(digest(texts.get(version, "").encode()), steps_of(then, ledger, settings))
    return (*out, *differences(chain, found, 1 + len(then.plans) + len(then.meat)))
