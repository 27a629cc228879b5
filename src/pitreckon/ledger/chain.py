"""A chain of hashes over a ledger's entries: what rests on them can be held against them later.

An entry's digest is SHA-256 (FIPS 180-4) of its canonical JSON: keys sorted, no spaces, UTF-8. Each link is SHA-256 of
the link before it and that digest, in hex; before the first stands the digest of the plan. So an entry that is changed,
left out, put in or moved changes every link after it.
"""

import difflib
import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from pitreckon.ledger.events import Event
from pitreckon.ledger.store.documents import document_of

ALGORITHM: Final = "SHA-256"


@dataclass(frozen=True, slots=True)
class Link:
    """One entry of a chain. words: what it is, for people; digest: of itself; link: of it and all before it; hex."""

    words: str
    digest: str
    link: str


@dataclass(frozen=True, slots=True)
class Chain:
    """plan: digest of the plan; links: of every entry, in their order."""

    plan: str
    links: tuple[Link, ...]

    @property
    def head(self) -> str:
        """The last link, which stands for all."""
        return self.links[-1].link if self.links else self.plan


def canonical(document: Any) -> bytes:
    """JSON with one form for one value.

    >>> canonical({"b": 1, "a": [2.5, "é"]})
    b'{"a":[2.5,"\\xc3\\xa9"],"b":1}'
    """
    return json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()


def digest(content: bytes) -> str:
    """SHA-256 in hex."""
    return hashlib.sha256(content).hexdigest()


def chain_of(plan: str, events: Iterable[Event]) -> Chain:
    """The chain over entries in the order in which they are given; ``plan``: the text of the cook file."""
    documents = map(document_of, events)
    return chain_over(digest(plan.encode()), ((_words(document), document) for document in documents))


def chain_over(start: str, steps: Iterable[tuple[str, dict[str, Any]]]) -> Chain:
    """The chain over documents, each with its words, in the order in which they are given. start: digest of the plan"""
    before, links = start, []
    for words, document in steps:
        own = digest(canonical(document))
        before = digest((before + own).encode())
        links.append(Link(words, own, before))
    return Chain(start, tuple(links))


def _words(document: dict[str, Any]) -> str:
    what = document.get("what") or document.get("channel") or ""
    return f"{document['kind']} {document['at']} {document.get('on', '')}: {what}"


@dataclass(frozen=True, slots=True)
class Difference:
    """What is otherwise than it was. fault: it speaks against the record; else entries that came later."""

    words: str
    fault: bool = True


def differences(kept: Chain, found: Chain, before: int = 0) -> tuple[Difference, ...]:
    """Where a chain differs from the one that was kept, each entry named; nothing when all is as it was.

    before: so many links at its head are of no entry, and are named as steps
    """
    out = []
    if kept.plan != found.plan:
        out.append(Difference("the plan is another than the record was made of"))
    if not _is_whole(kept):
        out.append(Difference("the record's own chain does not hold: one of its links was changed"))
    old, new = [link.digest for link in kept.links], [link.digest for link in found.links]
    if new[: len(old)] == old:
        if len(new) > len(old):
            out.append(Difference(f"{_entries(len(new) - len(old))} came after the record was made", fault=False))
        return tuple(out)
    out += _between(kept.links, found.links, old, new, before)
    return tuple(out)


def _between(was: Sequence[Link], now: Sequence[Link], old: list[str], new: list[str], before: int) -> list[Difference]:
    def name(k: int) -> str:
        return f"step {k + 1}" if k < before else f"entry {k + 1 - before}"

    out = []
    gone, come = set(old) - set(new), set(new) - set(old)
    for how, a, b, c, d in difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if how == "equal":
            continue
        pairs = min(b - a, d - c) if how == "replace" else 0
        for k in range(pairs):
            one, other = was[a + k], now[c + k]
            if one.digest in gone and other.digest in come:
                out.append(Difference(f"{name(a + k)} was changed: {one.words}; now it is {other.words}"))
            else:
                out.append(Difference(f"{name(a + k)} is not where it was: {one.words}"))
        for k in range(a + pairs, b):
            words = "is missing" if was[k].digest in gone else "is not where it was"
            out.append(Difference(f"{name(k)} {words}: {was[k].words}"))
        late = b == len(old) and d == len(new)
        for k in range(c + pairs, d):
            if now[k].digest in come:
                words = "came after the record was made" if late and not pairs and a == b else "was put in"
                out.append(Difference(f"an entry {words}: {now[k].words}", fault=words == "was put in"))
    return out


def _is_whole(chain: Chain) -> bool:
    """Is each link what the one before it and its entry's digest make?"""
    before = chain.plan
    for link in chain.links:
        before = digest((before + link.digest).encode())
        if before != link.link:
            return False
    return True


def _entries(count: int) -> str:
    return "1 entry" if count == 1 else f"{count} entries"
