"""Words as people write them, compared: capitals, accents, hyphens and stops do not count."""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, Protocol, TypeVar

from pitreckon.errors import InputError
from pitreckon.units import shown

T = TypeVar("T")


class Named(Protocol):
    """What has a key, a name and other spellings."""

    @property
    def key(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def also(self) -> tuple[str, ...]: ...


def plain(text: str) -> str:
    """A word as it is compared.

    >>> plain("St. Louis  Ribs"), plain("red-brown"), plain("Jalapeño_powder")
    ('st louis ribs', 'red brown', 'jalapeno powder')
    """
    if not text.isascii():
        text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[\W_]+", " ", text.casefold().replace("'", "")).split())


def spellings(entries: Iterable[Named]) -> dict[str, str]:
    """The key of every spelling. Keys win over names and names over other spellings: no addition can hide a key."""
    listed = list(entries)
    found = {also: entry.key for entry in listed for also in entry.also}
    found |= {entry.name: entry.key for entry in listed}
    return found | {entry.key: entry.key for entry in listed}


def meanings(known: Iterable[str] | Mapping[str, T]) -> dict[str, Any]:
    """What each word stands for; in a plain list, itself."""
    return dict(known) if isinstance(known, Mapping) else {each: each for each in known}


def known_word(text: str, known: Iterable[str] | Mapping[str, T], what: str) -> Any:
    """What a word out of a short list stands for. what: what any other text is. Raises InputError: it is none."""
    found = {plain(each): value for each, value in meanings(known).items()}
    if plain(text) not in found:
        raise InputError(f"{shown(text)} is {what}", f"Write one of: {', '.join(known)}")
    return found[plain(text)]


def near(word: str, known: Iterable[str], *, most: int, like: float = 0.5) -> list[str]:
    """The known words most like a mistyped one, the likest first. like: at least so much, of 1."""
    import difflib  # noqa: PLC0415  only a fault needs it

    return difflib.get_close_matches(word, list(known), n=most, cutoff=like)


def did_you_mean(word: str, known: Sequence[str], otherwise: str = "Write one of") -> str:
    """The remedy for a word that is none of the known ones."""
    by_plain = {plain(each): each for each in known}
    close = near(plain(word), by_plain, most=1, like=0.65)  # a far guess hides the list of those that there are
    return f"Did you mean '{by_plain[close[0]]}'" if close else f"{otherwise}: {', '.join(known)}"


MOST_NEAR: Final = 6
"""Names that a remedy offers: as many as there are kinds of ribs."""


def resolve(text: str, known: Mapping[str, T], what: str, *, listing: str = "", otherwise: str = "") -> T:
    """What a name stands for, however it is written.

    known: what each spelling stands for; what: what it is called where it is none of them
    listing: what the remedy adds behind the nearest names: where all are listed
    otherwise: the remedy where no name is near, instead of all of them

    Raises InputError: it stands for nothing.
    """
    if text in known:
        return known[text]
    by_plain = {plain(spelling): each for spelling, each in known.items()}
    wanted = plain(text)
    if wanted in by_plain:
        return by_plain[wanted]
    like = 0.5 if listing else 0.6  # where the remedy is all there is to see, a far guess is worse than the whole list
    looks, said = near(wanted, by_plain, most=6, like=like), wanted.split()
    if near(wanted, by_plain, most=1, like=0.8):  # a slip of the finger
        sharing = [each for each in by_plain if {*said} & {*each.split()}]
        likely, most = [*looks, *sharing], 4
    else:  # a word of it says more than how the whole looks: whoever writes "ribs" is offered ribs
        sharing = [each for each in by_plain if any(near(word, each.split(), most=1, like=0.75) for word in said)]
        likely, most = [*sharing, *looks], MOST_NEAR
    close = list(dict.fromkeys(by_plain[each] for each in likely))[:most]
    words = [str(each) for each in close or dict.fromkeys(known.values())]
    remedy = f"Write {' or '.join(words)}{listing}" if close else otherwise or f"Write one of: {', '.join(words)}"
    raise InputError(f"{shown(text)} is no {what} that we know", remedy)
