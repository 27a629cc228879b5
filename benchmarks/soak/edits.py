"""Changes to an input, drawn by chance: small ones, after which most of it is read on, and what makes a fault small."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator, Sequence

Edit = tuple[str, float, int, str]
"""kind, where as a share of the whole, size, text"""

TOKENS = (
    *("=", '"', "'", '"""', "[", "]", "[[", "]]", "{", "}", ",", ";", "\n", "\r\n", "\t", "\0", "\ufeff", "#", "."),
    *(
        ":",
        "-",
        "0",
        "-1",
        "1e999",
        "nan",
        "inf",
        "9" * 40,
        "1/0",
        "true",
        "null",
        "NaN",
        "-0",
        "½",
        "\u0663",
        "\u202e",
    ),
    *("\ud7ff", "\U0001f525", "2026-02-30", "0000-00-00 00:00", "9999-12-31 23:59", "24:00", "01:30"),
    *("2026-11-01 01:30", "-400 F", "10000 C", "a.b.c.d.e.f.g.h.i = 1", "[cook]", "[[item]]", "name = ", "\\u0000"),
    *("\\ud800", "1 lb 99 oz", "0 lb", "=1+1", "'=1", "275 F", "2026-10-17 13:00", "boston-butt", "racks", "barn pit"),
    *("0.5", "3", "-7", "1e5", "100", "2", "250", "1.5 kg", "2 h", "30 min", "12 F deg", "put on", "wrapped", "colour"),
)
KINDS = ("value", "value", "value", "put", "over", "cut", "twice", "byte", "line", "many", "swap")
SIZES = {"cut": (1, 40), "twice": (1, 200), "over": (1, 12), "byte": (0, 255), "line": (0, 2), "many": (2, 400)}
MOST = 6
_VALUE = re.compile(rb'"[^"\n]*"|-?[0-9][0-9.]*')
_ODD = "".join(map(chr, (*range(32, 127), *range(160, 560), 0x2028, 0x3000, 0x1F356, 0, 27)))


def drawn(chance: random.Random, known: Sequence[bytes]) -> list[Edit]:
    """Edits: mostly one or two. known: other inputs of the form, whose values are put in here"""
    edits = []
    while not edits or (len(edits) < MOST and chance.random() < 0.35):
        kind = chance.choice(KINDS)
        size = chance.randint(*SIZES.get(kind, (0, 0)))
        edits.append(
            (kind, chance.random(), size, _text(chance, known) if kind not in {"cut", "twice", "byte"} else "")
        )
    return edits


def _text(chance: random.Random, known: Sequence[bytes]) -> str:
    how = chance.random()
    if how < 0.4:
        return chance.choice(TOKENS)
    if how < 0.85:
        found = _VALUE.findall(chance.choice(known))
        if found:
            return chance.choice(found).decode("utf-8", "replace").strip('"')
    return "".join(chance.choices(_ODD, k=chance.randint(0, 12)))


def edited(content: bytes, edits: Sequence[Edit]) -> bytes:
    """An input with some changes."""
    for kind, where, size, text in edits:
        content = _EDITS[kind](content, where, size, text.encode("utf-8", "surrogatepass"))
    return content


def _value(content: bytes, where: float, size: int, piece: bytes) -> bytes:
    """In the place of one that is there, so that what follows is still read."""
    there = list(_VALUE.finditer(content))
    if not there:
        return content
    one = there[min(int(where * len(there)), len(there) - 1)]
    quote = b'"' if one[0].startswith(b'"') else b""
    return content[: one.start()] + quote + piece + quote + content[one.end() :]


def _line(content: bytes, where: float, size: int, piece: bytes) -> bytes:
    """A line left out, or twice."""
    lines = content.splitlines(keepends=True)
    if not lines:
        return content
    n = min(int(where * len(lines)), len(lines) - 1)
    return b"".join([*lines[:n], *([lines[n]] * size), *lines[n + 1 :]])


def _swap(content: bytes, where: float, size: int, piece: bytes) -> bytes:
    """A line and the next change places."""
    lines = content.splitlines(keepends=True)
    n = int(where * (len(lines) - 1))
    if len(lines) > 1:
        lines[n : n + 2] = lines[n + 1], lines[n]
    return b"".join(lines)


def _put(content: bytes, where: float, size: int, piece: bytes) -> bytes:
    at = int(where * len(content))
    return content[:at] + piece + content[at:]


_EDITS: dict[str, Callable[[bytes, float, int, bytes], bytes]] = {
    "value": _value,
    "line": _line,
    "swap": _swap,
    "put": _put,
    "cut": lambda c, w, size, _: c[: int(w * len(c))] + c[int(w * len(c)) + size :],
    "twice": lambda c, w, size, _: c[: int(w * len(c)) + size] + c[int(w * len(c)) :],
    "over": lambda c, w, size, piece: c[: int(w * len(c))] + piece + c[int(w * len(c)) + size :],
    "byte": lambda c, w, size, _: c[: int(w * len(c))] + bytes([size]) + c[int(w * len(c)) + 1 :],
    "many": lambda c, w, size, piece: _put(c, w, 0, piece * size),
}


def smaller(content: bytes, edits: Sequence[Edit], bad: Callable[[bytes], bool], most: int = 1500) -> bytes:
    """An input as small as some tries make it that is as bad. bad: whether one is"""
    kept = list(edits)
    for one in list(kept):
        without = [each for each in kept if each is not one]
        if bad(edited(content, without)):
            kept = without
    found, tries = edited(content, kept), 0
    size = max(len(found) // 2, 1)
    while size and tries < most:
        for cut in _without(found, size):
            tries += 1
            if bad(cut):
                found = cut
                break
        else:
            size //= 2
    return found


def _without(content: bytes, size: int) -> Iterator[bytes]:
    for at in range(0, len(content), size):
        yield content[:at] + content[at + size :]
