"""What ``pitreckon against`` says: two finished cooks beside each other, in words, as JSON and as a picture."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan
from typing import Any, Final

from rich.console import Console

from pitreckon.cli.answers import reader_of
from pitreckon.cli.earlier import cook_and_log
from pitreckon.cook import Cook
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.lessons.card.finished import FinishedItem, finished_item
from pitreckon.lessons.lasttime.lines import headline, worth_lines
from pitreckon.lessons.lasttime.picture import Words, picture
from pitreckon.lessons.lasttime.run import Run, run_of
from pitreckon.lessons.lasttime.worth import Against, Worth, against
from pitreckon.reckon.words import STANDING
from pitreckon.units import Scale, format_about

CAUTION: Final = "What the model says of two cooks is no proof, and no promise of safety: a thermometer decides."


def compared(this: str, last: str, item: str | None, last_item: str | None, seed: int) -> Against:
    """Both runs from ``COOK.toml=LOG.csv``, held against each other.

    Raises InputError: a file cannot be read, an item is not there or not done, or the cuts are not the same
    """
    mine = run_of(*_named(this, "the first"), item)
    cook, ledger = _named(last, "the second")
    if last_item is None:
        same = [each.label for each in cook.items if each.cut == mine.finished.item.cut]
        last_item = same[0] if len(same) == 1 else None
    return against(mine, run_of(cook, ledger, last_item), seed=seed)


def _named(said: str, which: str) -> tuple[Cook, Ledger]:
    named = cook_and_log(said)
    if named is None:
        raise InputError(f"'{said}' names no log", "Give COOK.toml=LOG.csv", Place(field=which))
    return named


def finished_before(done: FinishedItem, said: Sequence[str]) -> list[FinishedItem]:
    """The items of the same cut in earlier cooks, from ``COOK.toml=LOG.csv`` each.

    Raises InputError: a file cannot be read, or such an item is not off the pit
    """
    found = []
    for each in said:
        cook, ledger = _named(each, "--before")
        labels = [item.label for item in cook.items if item.cut == done.item.cut]
        if not labels:
            raise InputError(
                f"'{each}' has no {done.cut.name.lower()}", "Give a cook of the same cut", Place(field="--before")
            )
        found += [finished_item(cook, ledger, label) for label in labels]
    return found


def print_against(console: Console, found: Against, degrees: Scale) -> None:
    """In words: how long each took, stage by stage, and what the differences were worth."""
    reader = reader_of(found.this.finished.cook.zone, degrees)
    console.print(reader.told(headline(found)))
    for words, run in (("This time", found.this), ("Last time", found.last)):
        parts = [
            f"{_stage(each.record.plan.kind, each.record.plan.wrap)} {format_about(each.record.took_s)}"
            for each in run.stretches
        ]
        day = reader.day(run.finished.put_on_utc)
        console.print(f"  {words}, {day}: {', '.join(parts)}.", soft_wrap=True)
    console.print()
    console.print("What was otherwise, and what it was worth by itself:")
    for line in worth_lines(found):
        console.print(f"  {reader.told(line)}", soft_wrap=True)
    console.print(CAUTION)


def _stage(kind: str, wrap: str | None) -> str:
    return f"in {wrap}" if kind == "wrapped" and wrap else STANDING[kind]


def document_of(found: Against) -> dict[str, Any]:
    """As JSON: minutes throughout; null where it is not known."""
    return {
        "this": _run(found.this),
        "last": _run(found.last),
        "longer_min": round(found.longer, 1),
        "differences": [_worth(each) for each in found.worths],
        "together": None if found.together is None else _worth(found.together),
        "rest_min": round(found.rest, 1),
        "caution": CAUTION,
    }


def _run(run: Run) -> dict[str, Any]:
    done = run.finished
    return {
        "cook": run.name,
        "item": done.item.label,
        "cut": done.item.cut,
        "put_on": done.put_on_utc.isoformat(),
        "on_the_pit_min": round(run.off_s / 60.0, 1),
        "pit_c": round(done.set_c, 1),
        "stages": [
            {
                "do": each.record.plan.kind,
                "from_min": round(each.from_s / 60.0, 1),
                "until_min": round(each.until_s / 60.0, 1),
            }
            for each in run.stretches
        ],
    }


def _worth(worth: Worth) -> dict[str, Any]:
    numbers = {"minutes": worth.minutes, "p05": worth.low, "p95": worth.high}
    told = {name: None if isnan(value) else round(value, 1) for name, value in numbers.items()}
    return {"key": worth.key, "what": str(worth.words), **told}


def picture_of(found: Against, degrees: Scale) -> str:
    """The picture, as a file of its own."""
    words = Words("this time", "last time", headline(found), _stage, degrees)
    return picture(found.this, found.last, words, alone=True)
