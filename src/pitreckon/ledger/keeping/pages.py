"""Rows out of the pages of an SQLite file that SQLite itself cannot read any more.

Written after the description of the file format that SQLite publishes (sections 1.3 to 2.3 and 4.1). Nothing is asked
of the
tree: each page is looked at by itself, so that it does not matter which others are torn. Rows of entries never change,
so an old copy of one, in a page that was let go, is as good as the one in use.
"""

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

_MAGIC: Final = b"SQLite format 3\0"
_SIZES: Final = (4096, 1024, 8192, 2048, 16384, 32768, 65536, 512)
_TABLE_LEAF: Final = 0x0D
_INDEX_LEAF: Final = 0x0A
_INDEX_INNER: Final = 0x02
_AS_GOOD: Final = 0.9
_HEADER: Final = 100
_FRAME: Final = 24
_LOG_HEADER: Final = 32
_MOST_PAYLOAD: Final = 4_000_000
_INTEGERS: Final = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}

Values = tuple[Any, ...]


def rows_in(file: Path) -> Iterator[Values]:
    """The values of every row that can be made out in a file, and in the log beside it; many come more than once."""
    whole = file.read_bytes() if file.is_file() else b""
    log_file = file.with_name(file.name + "-wal")
    log = log_file.read_bytes() if log_file.is_file() else b""
    size = _page_size(whole, log)
    pages = {n + 1: whole[n * size : (n + 1) * size] for n in range((len(whole) + size - 1) // size)}
    for number, page in pages.items():
        yield from _of_page(page, _HEADER if number == 1 else 0, size, pages)
    for at in range(_LOG_HEADER, len(log) - _FRAME, _FRAME + size):
        number = int.from_bytes(log[at : at + 4], "big")
        page = log[at + _FRAME : at + _FRAME + size]
        yield from _of_page(page, _HEADER if number == 1 else 0, size, pages)


def _page_size(whole: bytes, log: bytes) -> int:
    """As the headers say; where they are gone, the size at which most pages begin as pages do."""
    if whole.startswith(_MAGIC):
        said = int.from_bytes(whole[16:18], "big")
        size = 65536 if said == 1 else said
        if size in _SIZES:
            return size
    if len(log) > _LOG_HEADER and int.from_bytes(log[8:12], "big") in _SIZES:
        return int.from_bytes(log[8:12], "big")

    def share(size: int) -> float:
        starts = range(size, len(whole), size)
        fit = sum(whole[at] in {_TABLE_LEAF, _INDEX_LEAF, _INDEX_INNER, 0x05} for at in starts)
        return fit / max(len(starts), 1)

    shares = {size: share(size) for size in _SIZES}
    # Of twice the size every second page is looked at, and may by chance do as well: the smallest that does is it.
    return min(size for size, each in shares.items() if each >= _AS_GOOD * max(shares.values()))


def _of_page(page: bytes, head: int, size: int, pages: dict[int, bytes]) -> Iterator[Values]:
    kind = page[head] if len(page) > head + 8 else 0
    if kind not in {_TABLE_LEAF, _INDEX_LEAF, _INDEX_INNER}:
        return
    cells = int.from_bytes(page[head + 3 : head + 5], "big")
    pointers = head + (12 if kind == _INDEX_INNER else 8)
    for n in range(min(cells, size // 4)):
        at = int.from_bytes(page[pointers + 2 * n : pointers + 2 * n + 2], "big")
        try:
            yield _record(_payload(page, at, kind, size, pages))
        except (IndexError, ValueError, struct.error, UnicodeDecodeError, OverflowError):
            continue  # a torn cell; the next one may be whole


def _payload(page: bytes, at: int, kind: int, size: int, pages: dict[int, bytes]) -> bytes:
    """What a cell holds, with what has run over into other pages."""
    if at < 8:
        raise ValueError(at)
    at += 4 if kind == _INDEX_INNER else 0
    length, at = _varint(page, at)
    if kind == _TABLE_LEAF:
        _, at = _varint(page, at)
    if not 2 <= length <= _MOST_PAYLOAD:
        raise ValueError(length)
    most = size - 35 if kind == _TABLE_LEAF else (size - 12) * 64 // 255 - 23
    if length <= most:
        return _piece(page, at, length)
    least = (size - 12) * 32 // 255 - 23
    here = least + (length - least) % (size - 4)
    here = here if here <= most else least
    out = _piece(page, at, here)
    following = int.from_bytes(_piece(page, at + here, 4), "big")
    while len(out) < length:
        more = pages.get(following, b"")
        if not more:
            raise ValueError(following)
        following = int.from_bytes(more[:4], "big")
        out += more[4 : 4 + min(size - 4, length - len(out))]
    return out


def _record(payload: bytes) -> Values:
    """The values of a record."""
    end, at = _varint(payload, 0)
    if not 1 <= end <= len(payload):
        raise ValueError(end)
    kinds = []
    while at < end:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    values: list[Any] = []
    for kind in kinds:
        value, at = _value(payload, at, kind)
        values.append(value)
    if at != len(payload):
        raise ValueError(at)
    return tuple(values)


def _value(payload: bytes, at: int, kind: int) -> tuple[Any, int]:
    if kind in {0, 8, 9}:
        return (None if kind == 0 else kind - 8), at
    if kind in _INTEGERS:
        size = _INTEGERS[kind]
        return int.from_bytes(_piece(payload, at, size), "big", signed=True), at + size
    if kind == 7:
        return struct.unpack(">d", _piece(payload, at, 8))[0], at + 8
    if kind < 12:
        raise ValueError(kind)
    size = (kind - 12) // 2
    content = _piece(payload, at, size)
    return (content.decode("utf-8") if kind % 2 else content), at + size


def _piece(content: bytes, at: int, size: int) -> bytes:
    if at + size > len(content):
        raise IndexError(at)
    return content[at : at + size]


def _varint(content: bytes, at: int) -> tuple[int, int]:
    """A number of one to nine bytes, and the place behind it."""
    value = 0
    for n in range(8):
        byte = content[at + n]
        value = (value << 7) | (byte & 0x7F)
        if byte < 0x80:
            return value, at + n + 1
    return (value << 8) | content[at + 8], at + 9
