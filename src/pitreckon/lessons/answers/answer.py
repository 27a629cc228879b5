"""What a reader of a card answers: five questions, as a short text that a person can read and write.

The text holds what the reader typed and nothing else: no name, no time of sending, no number of the sheet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from pitreckon.errors import InputError, Place
from pitreckon.forms.checks import fault, within
from pitreckon.forms.names import KnownNames
from pitreckon.lessons.answers.code import parse_code
from pitreckon.lessons.card.cooked import NOT_KEPT
from pitreckon.lessons.marks import RAW
from pitreckon.units import (
    Scale,
    format_duration,
    format_length,
    format_temperature,
    parse_altitude,
    parse_duration,
    parse_temperature,
    shown,
)

HEAD: Final = "pitreckon answer 1"
END: Final = "end"
FAULTS: Final = ("too dark", "too pale", "tough", "mushy", "dry", RAW, "bitter", NOT_KEPT)
"""What can be wrong with a plate."""
NOT_BOTH: Final = (("too dark", "too pale"), ("tough", "mushy"))
AS_IT_SHOULD: Final = "as it should be"
THICKNESSES: Final = ("thinner", "usual", "thicker")
LONGEST_NOTE, LONGEST_LINE, MOST_LINES = 300, 400, 40
MOST_STAGES: Final = 12
LONGEST_S: Final = 40 * 3600.0
_LINE: Final = re.compile(r"line ([0-9]{1,2})")
_QUOTED: Final = re.compile(r"^[>\s]+")
"""What mail puts before the lines of a letter that is answered."""
_HEAD: Final = re.compile(r"pitreckon answer\b(.*)")


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer.

    code: of the card; pit: catalog key of its kind; set_c: what the pit was set to [degC]; altitude_m: where they live
    thickness: of a piece against the card's: thinner | usual | thicker
    ended_s: from put-on to the end of each line on the pit [s], None: not told
    came_out: what was wrong, of ``FAULTS``; none: as it should be; note: in the reader's words

    Raises InputError, naming its field: it cannot have been so.
    """

    code: str
    pit: str
    set_c: float
    altitude_m: float
    thickness: str = "usual"
    ended_s: tuple[float | None, ...] = ()
    came_out: tuple[str, ...] = ()
    note: str = ""

    def __post_init__(self) -> None:
        within("set", self.set_c, 60.0, 260.0, format_temperature)
        within("altitude", self.altitude_m, -430.0, 5000.0, lambda metres: format_length(metres, "m"))
        before = 0.0
        for n, at in enumerate(self.ended_s, 1):
            if at is None:
                continue
            within(f"line {n}", at, 60.0, LONGEST_S, format_duration)
            if at <= before:
                trouble = f"line {n} ended {format_duration(at)} after the meat went on, and the line before it later"
                raise fault(f"line {n}", trouble, "Count every time from when the meat went on")
            before = at
        for one, other in NOT_BOTH:
            if one in self.came_out and other in self.came_out:
                raise fault("came out", f"it was {one} and {other}", "Say which of the two")


@cache
def _names() -> KnownNames:
    return KnownNames.from_catalog()


def forget_names() -> None:
    """The catalog has changed."""
    _names.cache_clear()


def text_of(answer: Answer, scale: Scale = "F") -> str:
    """The answer as the reader's page writes it."""
    lines = [HEAD, f"card: {answer.code}", f"pit: {answer.pit}", f"set: {format_temperature(answer.set_c, scale)}"]
    high = format_length(answer.altitude_m, "ft" if scale == "F" else "m")
    lines += [f"altitude: {high}", f"thickness: {answer.thickness}"]
    lines += [f"line {n}: {format_duration(at)}" for n, at in enumerate(answer.ended_s, 1) if at is not None]
    lines.append(f"came out: {', '.join(answer.came_out) or AS_IT_SHOULD}")
    if answer.note:
        lines.append(f"note: {answer.note}")
    return "\n".join([*lines, END, ""])


@dataclass(frozen=True, slots=True)
class Block:
    """Lines of a text that may be an answer: their numbers and what stands there. line: of its head"""

    line: int
    lines: tuple[tuple[int, str], ...]


def blocks_of(text: str) -> Iterator[Block]:
    """Where answers begin in a text; what stands before, between and behind them (a letter, a signature) is passed."""
    head, found = 0, list[tuple[int, str]]()
    for n, raw in enumerate(text.splitlines(), 1):
        line = _QUOTED.sub("", raw.replace("\u00a0", " ")).strip()
        if _HEAD.match(line.casefold()):
            if head:
                yield Block(head, tuple(found))
            head, found = n, [(n, line)]
        elif head and line.casefold() == END:
            yield Block(head, tuple(found))
            head, found = 0, []
        elif head and line:
            found.append((n, line))
    if head:
        yield Block(head, tuple(found))


def answer_of(block: Block, file: str) -> Answer:
    """The answer in a block. Raises InputError (file, line and field): it is none."""
    first, head = block.lines[0]
    said = _HEAD.match(head.casefold())
    if said is not None and said[1].strip() != "1":
        trouble = f"this is an answer of another form: {shown(head)}"
        raise InputError(trouble, f"It begins with '{HEAD}'", Place(file, first))
    if len(block.lines) > MOST_LINES:
        raise InputError(
            f"an answer of {len(block.lines)} lines",
            f"It has up to {MOST_LINES}, and 'end' behind them",
            Place(file, first),
        )
    told: dict[str, tuple[int, str]] = {}
    for n, line in block.lines[1:]:
        key, colon, value = line.partition(":")
        key = " ".join(key.casefold().split())
        if not colon or not (key in _KEYS or _LINE.fullmatch(key)):
            remedy = f"Begin it with {', '.join(_KEYS)} or line 1, and a colon"
            raise InputError(f"{shown(line)} is no line of an answer", remedy, Place(file, n))
        if len(line) > LONGEST_LINE or not line.isprintable():
            trouble = "a line is too long, or has signs that cannot be printed"
            raise InputError(trouble, f"Write up to {LONGEST_LINE} plain signs", Place(file, n, key))
        if key in told:
            raise InputError(f"'{key}' is answered twice", "Keep one of the two", Place(file, n, key))
        told[key] = (n, value.strip())
    return _read(told, file, first)


_KEYS: Final = ("card", "pit", "set", "altitude", "thickness", "came out", "note")
_NEEDED: Final = {
    "card": "Copy the code from the head of the card, as in 'card: ABCD-EFGH'",
    "pit": "Say the kind of pit, as in 'pit: kettle'",
    "set": "Say what it was set to, as in 'set: 265 F'",
    "came out": f"Write '{AS_IT_SHOULD}', or what was wrong: {', '.join(FAULTS)}",
}


def _read(told: Mapping[str, tuple[int, str]], file: str, first: int) -> Answer:
    for key, remedy in _NEEDED.items():
        if not told.get(key, (0, ""))[1]:
            raise InputError(f"'{key}' is not answered", remedy, Place(file, told.get(key, (first, ""))[0], key))
    values: dict[str, object] = {}
    readers = {
        "card": parse_code,
        "pit": lambda text: _names().pit(text),
        "set": parse_temperature,
        "altitude": lambda text: parse_altitude(text) if text else 0.0,
        "thickness": _thickness,
        "came out": _came_out,
        "note": _note,
    }
    times: dict[int, float] = {}
    for key, (line, text) in told.items():
        try:
            number = _LINE.fullmatch(key)
            if number is None:
                values[key] = readers[key](text)
            elif text:
                times[_place(number[1])] = parse_duration(text)
        except InputError as error:
            raise error.at(file=file, line=line, field=key) from None
    ended = tuple(times.get(n) for n in range(1, max(times, default=0) + 1))
    try:
        return Answer(
            code=str(values["card"]),
            pit=str(values["pit"]),
            set_c=float(values["set"]),  # type: ignore[arg-type]
            altitude_m=float(values.get("altitude", 0.0)),  # type: ignore[arg-type]
            thickness=str(values.get("thickness", "usual")),
            ended_s=ended,
            came_out=values["came out"],  # type: ignore[arg-type]
            note=str(values.get("note", "")),
        )
    except InputError as error:
        raise error.at(file=file, line=told.get(error.place.field or "", (first, ""))[0]) from None


def _place(text: str) -> int:
    if not 1 <= int(text) <= MOST_STAGES:
        raise InputError(f"there is no line {text}", "Count the lines of the card on the pit, from 1")
    return int(text)


def _thickness(text: str) -> str:
    word = text.casefold() or "usual"
    if word not in THICKNESSES:
        raise InputError(f"{shown(text)} is no thickness", f"Write one of: {', '.join(THICKNESSES)}")
    return word


def _came_out(text: str) -> tuple[str, ...]:
    words = tuple(dict.fromkeys(" ".join(part.casefold().split()) for part in text.split(",") if part.strip()))
    if words == (AS_IT_SHOULD,):
        return ()
    for word in words:
        if word not in FAULTS:
            trouble = f"{shown(word)} is nothing that can be wrong with a plate"
            if word == AS_IT_SHOULD:
                trouble = f"it was {AS_IT_SHOULD}, and yet something was wrong"
            raise InputError(trouble, f"Write '{AS_IT_SHOULD}' alone, or some of: {', '.join(FAULTS)}")
    return words


def _note(text: str) -> str:
    if len(text) > LONGEST_NOTE:
        raise InputError(f"a note of {len(text)} signs", f"Write up to {LONGEST_NOTE}")
    return text
