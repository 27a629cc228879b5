"""What a card's answers come to, as a sheet: who got the plate, the line that fails and for whom, the card anew."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any, Final

from pitreckon import catalog
from pitreckon.lessons.answers.averaging import Range
from pitreckon.lessons.answers.folder import TakenIn
from pitreckon.lessons.answers.kept import KeptCard, document_of
from pitreckon.lessons.answers.outcome import HIGH_M, LOW_M, Outcome, Whom
from pitreckon.lessons.card.script import Line, Script
from pitreckon.lessons.card.words import do_words, look_words, range_words
from pitreckon.sheets.documents.cautions import FOOT, fire_caution, food_caution
from pitreckon.sheets.model import Block, Heading, KeyFigure, KeyFigures, Sheet, Table, Text
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import said
from pitreckon.units import format_length, round_half_up

MOST_NOTES, MOST_REFUSED = 30, 60
THICKNESS: Final = {
    "thinner": said("a thinner piece"),
    "usual": said("a piece as the card has it"),
    "thicker": said("a thicker piece"),
}


def answer_sheet(outcome: Outcome, *, reader: Reader, made_utc: datetime | None = None) -> Sheet:
    """The report. reader: how it is read; made_utc: None: now"""
    card, taken = outcome.card, outcome.taken
    blocks: list[Block] = [_figures(outcome), *_weak(outcome, reader), *_whom(outcome, reader)]
    blocks += _again(outcome, reader)
    blocks += _notes(taken)
    blocks += _refused(taken)
    blocks += [food_caution(reader), fire_caution()]
    blocks.append(Text(_HOW, "fine"))
    return Sheet(
        title=card.title,
        subtitle=said(
            "What readers answer. Card {code}, {answers} answers of {files} files",
            code=card.code,
            answers=len(taken.answers),
            files=taken.files,
        ),
        blocks=tuple(blocks),
        reader=reader,
        name=f"{card.title}, answers to the card",
        made_utc=(made_utc or datetime.now(UTC)).astimezone(UTC),
        foot=FOOT,
    )


_HOW: Final = said(
    "Simulated readers with the pit, the altitude, the setting and the thickness of each answer cook by the card; how "
    "well they fit what was written tells how eyes, hands, clocks and pits of all readers are off. Ranges hold nine "
    "times in ten if the model holds. Who answers may not be like who does not."
)


def _figures(outcome: Outcome) -> KeyFigures:
    learned, card = outcome.learned, outcome.card
    n = len(outcome.taken.answers)
    got = sum(not each.came_out for each in outcome.taken.answers)
    return KeyFigures(
        (
            KeyFigure(
                said("the card promised"), _percent(card.promised), said("of {count} simulated", count=card.promised_of)
            ),
            KeyFigure(
                said("of the answers got it"),
                f"{_percent(learned.got.middle)}",
                said("{got} of {answers}; {range}", got=got, answers=n, range=_between(learned.got)),
            ),
            KeyFigure(said("of all its readers"), _percent(learned.share.middle), _between(learned.share)),
            KeyFigure(said("with the card as changed"), _percent(outcome.again.card.promised), outcome.again.card.code),
        )
    )


def _weak(outcome: Outcome, reader: Reader) -> Iterator[Block]:
    yield Heading(said("The line that fails"))
    costs, weak = outcome.learned.costs, outcome.weak
    if weak is None:
        yield Text(said("No line of the card costs many readers the plate."), "lead")
    else:
        cost = costs[weak]
        yield Text(
            said(
                "Line {line} costs most: {share} of those who answered would have got the plate, and did not, because "
                "they ended it too soon or too late ({range}).",
                line=weak + 1,
                share=_percent(cost.middle),
                range=_between(cost),
            ),
            "lead",
        )
    lines = outcome.card.script.lines
    rows = tuple(
        (
            f"{n + 1}",
            do_words(lines[n], lines[n - 1] if n else None, reader.masses),
            _percent(cost.middle),
            _between(cost),
        )
        for n, cost in costs.items()
    )
    if len(rows) > 1:
        yield Table(
            (said("line"), said("what it says"), said("costs"), said("nine times in ten")),
            rows,
            ("right", "left", "right", "left"),
        )


def whom_words(each: Whom, reader: Reader) -> str:
    """Who they are, in words."""
    if each.what == "pit":
        return catalog.pits()[each.key].name
    if each.what == "thickness":
        return THICKNESS[each.key]
    low, high = (format_length(metres, "ft" if reader.degrees == "F" else "m") for metres in (LOW_M, HIGH_M))
    if each.key == "middle":
        return said("living between {low} and {high}", low=low, high=high)
    return (
        said("living below {height}", height=low) if each.key == "low" else said("living above {height}", height=high)
    )


def _whom(outcome: Outcome, reader: Reader) -> Iterator[Block]:
    if not outcome.whom:
        return
    yield Heading(said("For whom"))
    rows = tuple(
        (
            whom_words(each, reader),
            said("{got} of {answers}", got=each.got, answers=each.answers),
            f"{_percent(each.share.middle)} ({_between(each.share)})",
            "" if each.cost is None else f"{_percent(each.cost.middle)} ({_between(each.cost)})",
        )
        for each in outcome.whom
    )
    head = (said("readers with"), said("got it"), said("such readers get it"), said("that line costs them"))
    yield Table(head, rows, ("left", "right", "left", "left"))


def _again(outcome: Outcome, reader: Reader) -> Iterator[Block]:
    again, before = outcome.again, outcome.card
    yield Heading(said("The card as changed, {code}", code=again.card.code))
    if again.change is None:
        yield Text(said("No line, written otherwise, helps many more of them; the times are written for them."), "lead")
    else:
        change = again.change
        yield Text(
            said(
                "{change}. It takes the share of such readers from {before} to {after}.",
                change=reader.told(change.words),
                before=_percent(outcome.learned.share.middle),
                after=_percent(again.card.promised),
            ),
            "lead",
        )
    yield Table(
        (said("line"), said("what to do"), said("until"), said("takes"), said("on the card before")),
        tuple(
            (
                f"{n + 1}",
                do_words(line, again.card.script.lines[n - 1] if n else None, reader.masses),
                _until(line, reader),
                range_words(line),
                range_words(before.script.lines[n]) if n < len(before.script.lines) else "",
            )
            for n, line in enumerate(again.card.script.lines)
        ),
        ("right", "left", "left", "left", "left"),
    )
    yield Text(said("Set the pit to {set}.", set=reader.temperature(again.card.script.set_c)))
    if again.by_pit:
        yield Text(said("Its times by kind of pit:"))
        on_pit = again.card.on_pit
        yield Table(
            (said("pit"), *(said("line {line}", line=n + 1) for n in on_pit)),
            tuple(
                (catalog.pits()[key].name, *(range_words(script.lines[n]) for n in on_pit))
                for key, script in again.by_pit
            ),
        )
    if again.others:
        rows = tuple((reader.told(each.words), _percent(each.gain)) for each in again.others)
        yield Table((said("what would help too, alone"), said("gains")), rows, ("left", "right"))


def _until(line: Line, reader: Reader) -> str:
    return said("by the clock") if line.by_clock or line.look is None else look_words(line.look, reader.degrees)


def _notes(taken: TakenIn) -> Iterator[Block]:
    notes = list(dict.fromkeys(each.note for each in taken.answers if each.note))
    if notes:
        yield Heading(said("What they write"))
        yield Table((said("note"),), tuple((note,) for note in notes[:MOST_NOTES]))
        if len(notes) > MOST_NOTES:
            yield Text(said("{count} more notes stand in the files.", count=len(notes) - MOST_NOTES), "fine")


def _refused(taken: TakenIn) -> Iterator[Block]:
    if taken.refused:
        yield Heading(said("Thrown out"))
        rows = tuple((each.file, f"{each.line or ''}", each.why) for each in taken.refused[:MOST_REFUSED])
        yield Table((said("file"), said("line"), said("why")), rows, ("left", "right", "left"))
        if len(taken.refused) > MOST_REFUSED:
            yield Text(said("{count} more were thrown out.", count=len(taken.refused) - MOST_REFUSED), "fine")


def _percent(share: float) -> str:
    return f"{round_half_up(100.0 * share):.0f} %"


def _between(found: Range) -> str:
    return said("{low} to {high}", low=_percent(found.low), high=_percent(found.high))


# --- as JSON


def answers_document(outcome: Outcome) -> dict[str, Any]:
    """Every number of it: shares, seconds, degrees Celsius."""
    learned, again = outcome.learned, outcome.again
    return {
        "code": outcome.card.code,
        "title": outcome.card.title,
        "files": outcome.taken.files,
        "answers": len(outcome.taken.answers),
        "refused": [{"file": each.file, "line": each.line, "why": each.why} for each in outcome.taken.refused],
        "promised": outcome.card.promised,
        "got": _range(learned.got),
        "share": _range(learned.share),
        "weak_line": None if outcome.weak is None else outcome.weak + 1,
        "costs": [{"line": n + 1, **_range(cost)} for n, cost in learned.costs.items()],
        "whom": [
            {
                "what": each.what,
                "key": each.key,
                "answers": each.answers,
                "got": each.got,
                "share": _range(each.share),
                "cost": None if each.cost is None else _range(each.cost),
            }
            for each in outcome.whom
        ],
        "change": None if again.change is None else again.change.words,
        "others": [each.words for each in again.others],
        "card": document_of(again.card),
        "by_pit": {key: _times(script) for key, script in again.by_pit},
        "notes": [each.note for each in outcome.taken.answers if each.note],
        "seed": outcome.seed,
    }


def _range(found: Range) -> dict[str, float]:
    return {"middle": round(found.middle, 4), "low": round(found.low, 4), "high": round(found.high, 4)}


def _times(script: Script) -> list[dict[str, float]]:
    return [{"from_s": line.from_s, "middle_s": line.middle_s, "to_s": line.to_s} for line in script.lines]


def refused_lines(card: KeptCard, taken: TakenIn) -> list[str]:
    """What was thrown out, a line each, for a screen."""
    del card
    return [f"{each.file}{f', line {each.line}' if each.line else ''}: {each.why}" for each in taken.refused]
