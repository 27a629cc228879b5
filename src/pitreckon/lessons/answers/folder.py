"""Answers out of a folder, or of what was sent to the page: those that can be, and why the others cannot."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pitreckon.errors import InputError, Place
from pitreckon.lessons.answers.answer import HEAD, Answer, Block, answer_of, blocks_of
from pitreckon.lessons.answers.code import card_part
from pitreckon.lessons.answers.kept import KeptCard
from pitreckon.text.file import decode
from pitreckon.units import format_duration, format_temperature

ENDING: Final = ".txt"
MOST_FILES, MOST_ANSWERS = 5000, 2000
MOST_BYTES, MOST_BYTES_ALL = 200_000, 20_000_000
FARTHEST_K: Final = 45.0
"""A pit set farther than this from the card's is another dish (common practice, no source)."""
SOONEST, LATEST = 0.3, 3.0
"""A line that ended sooner or later than so many times what the card's readers take did not go on as it says."""


@dataclass(frozen=True, slots=True)
class Refused:
    """What was thrown out. file; line: of it; None: all of it; why: what is wrong with it, and the remedy"""

    file: str
    line: int | None
    why: str

    @classmethod
    def of(cls, error: InputError, file: str) -> Refused:
        """As an error says."""
        field = f"'{error.place.field}': " if error.place.field else ""
        return cls(file, error.place.line, f"{field}{error.trouble}. {error.remedy}")


@dataclass(frozen=True)
class TakenIn:
    """Answers, the files that they stood in, and what was thrown out."""

    answers: tuple[Answer, ...]
    files: int
    refused: tuple[Refused, ...]


def files_in(folder: Path) -> list[Path]:
    """The texts in a folder. Raises InputError: it is none, cannot be read, holds no text or too many."""
    if not folder.is_dir():
        raise InputError("there is no such folder", "Name the folder with the answers in it", Place(str(folder)))
    try:
        found = sorted(each for each in folder.iterdir() if each.suffix.lower() == ENDING and each.is_file())
    except OSError as error:
        reason = error.strerror or error
        raise InputError(
            f"the folder cannot be read ({reason})", "Check that it may be read", Place(str(folder))
        ) from None
    if not found:
        remedy = f"Put the answers there, each as a text whose name ends in {ENDING}"
        raise InputError("there are no answers in the folder", remedy, Place(str(folder)))
    if len(found) > MOST_FILES:
        trouble = f"there are {len(found)} texts in the folder"
        raise InputError(trouble, f"Take in up to {MOST_FILES} at a time", Place(str(folder)))
    return found


def take_in(files: Iterable[tuple[str, bytes]], card: KeptCard) -> TakenIn:
    """Read answers to a card. files: (name, content) each; their order makes no difference to the answers'.

    Raises InputError: all of them are too much.
    """
    found: list[tuple[tuple[object, ...], str, Answer]] = []
    refused: list[Refused] = []
    count = total = 0
    seen: dict[Answer, str] = {}
    for name, raw in files:
        count += 1
        total += len(raw)
        if total > MOST_BYTES_ALL:
            trouble = f"these are more than {MOST_BYTES_ALL // 1_000_000} MB"
            raise InputError(trouble, "Take in fewer at a time", Place(name))
        try:
            blocks = _blocks(name, raw)
        except InputError as error:
            refused.append(Refused.of(error, name))
            continue
        for block in blocks:
            try:
                answer = answer_of(block, name)
                _fits(answer, card, name, block.line)
                _new(answer, seen, name, block.line)
            except InputError as error:
                refused.append(Refused.of(error, name))
                continue
            found.append((_key(answer), name, answer))
    if len(found) > MOST_ANSWERS:
        raise InputError(f"these are {len(found)} answers", f"Take in up to {MOST_ANSWERS} at a time")
    answers = tuple(answer for _, _, answer in sorted(found, key=lambda each: each[:2]))
    return TakenIn(answers, count, tuple(refused))


def _blocks(name: str, raw: bytes) -> Sequence[Block]:
    if len(raw) > MOST_BYTES:
        trouble = f"the file has {len(raw):,} bytes"
        raise InputError(trouble, f"An answer has a few hundred; a text of many has up to {MOST_BYTES:,}", Place(name))
    blocks = list(blocks_of(decode(raw, name)))
    if not blocks:
        raise InputError("there is no answer in it", f"An answer begins with the line '{HEAD}'", Place(name))
    return blocks


def _fits(answer: Answer, card: KeptCard, name: str, line: int) -> None:
    """Raises InputError: it is of another card or version, or nobody can have cooked so by this one."""
    if answer.code != card.code:
        trouble = f"it answers another card, {answer.code}"
        if card_part(answer.code) == card_part(card.code):
            trouble = f"it answers another version of this card, {answer.code}"
        raise InputError(trouble, f"Take it in with the card {answer.code}", Place(name, line, "card"))
    set_c = card.script.set_c
    if abs(answer.set_c - set_c) > FARTHEST_K:
        trouble = f"a pit at {format_temperature(answer.set_c)}, where the card has {format_temperature(set_c)}"
        raise InputError(trouble, "That is another way to cook it: leave the answer out", Place(name, line, "set"))
    on_pit = card.on_pit
    if len(answer.ended_s) > len(on_pit):
        trouble = f"line {len(answer.ended_s)} is answered, and the card has {len(on_pit)} on the pit"
        raise InputError(trouble, "Count the lines of the card on the pit, from 1", Place(name, line))
    soonest = latest = 0.0
    for n, at in enumerate(answer.ended_s):
        each = card.script.lines[on_pit[n]]
        soonest, latest = soonest + (each.from_s or each.clock_s), latest + (each.to_s or each.clock_s)
        if at is not None and not SOONEST * soonest <= at <= LATEST * latest:
            trouble = f"line {n + 1} ended {format_duration(at)} after the meat went on"
            remedy = f"By the card that takes {format_duration(soonest)} to {format_duration(latest)}: look for a slip"
            raise InputError(trouble, remedy, Place(name, line, f"line {n + 1}"))


def _new(answer: Answer, seen: dict[Answer, str], name: str, line: int) -> None:
    """Raises InputError: the same was taken in already. Two who told neither a time nor a note may be alike."""
    if not answer.note and not any(answer.ended_s):
        return
    if answer in seen:
        raise InputError(f"it is the same answer as in {seen[answer]}", "One of the two counts", Place(name, line))
    seen[answer] = name


def _key(answer: Answer) -> tuple[object, ...]:
    """Answers in an order of their own, so that the same ones come to the same."""
    ended = tuple(-1.0 if at is None else at for at in answer.ended_s)
    return (answer.pit, answer.set_c, answer.altitude_m, answer.thickness, ended, answer.came_out, answer.note)
