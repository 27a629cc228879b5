"""What ``pitreckon lessons`` does: reads and keeps the file, learns, forgets, and says what it comes to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import typer

from pitreckon.cli.earlier import cook_and_log
from pitreckon.errors import InputError, Place
from pitreckon.lessons.house.beliefs import (
    beliefs_of,
    change_line,
    doubts_of,
    rests_on,
    strays_words,
    wants_a_thermometer,
)
from pitreckon.lessons.house.form import lessons_of_text, text_of_lessons
from pitreckon.lessons.house.hands import HandBelief, hands_known
from pitreckon.lessons.house.said import another_thermometer
from pitreckon.reckon.hands import THERMOMETER
from pitreckon.reckon.learned import Lessons
from pitreckon.sheets.writers.write import write_whole
from pitreckon.text.file import read_text
from pitreckon.text.said import in_units
from pitreckon.units import Scale

CAUTION: Final = "What was learned narrows a forecast; it is no thermometer, and no promise of safety."


def read_lessons(file: Path) -> Lessons:
    """The lessons of a file.

    Raises InputError: it is not there, cannot be read, or is no such file
    """
    return lessons_of_text(read_text(file), str(file))


@dataclass(frozen=True)
class House:
    """What the house of a ledger has learned. names: of its cooks, by their ids"""

    lessons: Lessons
    names: dict[str, str]


def kept_in(ledger: str) -> House:
    """What the page has learned from the cooks of a ledger, those that are left out apart.

    Raises StoreError: it cannot be opened
    """
    from pitreckon.ledger.store import Store  # noqa: PLC0415  not everybody keeps a ledger
    from pitreckon.ledger.store.house import house_rows  # noqa: PLC0415
    from pitreckon.web.live.house import lessons_in  # noqa: PLC0415

    with Store.open(ledger) as store:
        return House(lessons_in(house_rows(store)), {row.id: row.name for row in store.cooks()})


def by_name(house: House) -> Lessons:
    """The same with cooks called as people call them."""
    named = (replace(each, cook=house.names.get(each.cook, each.cook)) for each in house.lessons.lessons)
    return house.lessons.of(tuple(named))


def write_lessons(lessons: Lessons, file: Path) -> None:
    """Keep them, whole or not at all."""
    write_whole(text_of_lessons(lessons).encode(), file, "the lessons")


def change(
    lessons: Lessons,
    learn: Sequence[str],
    leave_out: Sequence[str],
    anew: Sequence[str] = (),
    same: Sequence[str] = (),
    thermometers: Sequence[str] = (),
) -> Lessons:
    """With more cooks, without some, with pits that are others since a day or the same up to one.

    thermometers: of whom, and since when they are others

    Where nothing changes it is the same object.

    Raises InputError: a cook, a log, a name or a day that cannot be read
    """
    for each in thermometers:
        whose, _, day = each.rpartition("=")
        said = another_thermometer(f"another {each}", whose, _day(day, THERMOMETERS))
        if said not in lessons.thermometers:
            lessons = replace(lessons, thermometers=(*lessons.thermometers, said))
    for each in anew:
        label, _, day = each.rpartition("=")
        lessons = replace(lessons, anew={**lessons.anew, _pit(label, each, ANEW): _day(day, ANEW)})
    for each in same:
        label, _, day = each.rpartition("=")
        pit = _pit(label, each, SAME)
        lessons = replace(lessons, same={**lessons.same, pit: _day(day, SAME) + timedelta(days=1)})
    for name in leave_out:
        rest = lessons.without(name)
        if len(rest.lessons) == len(lessons.lessons):
            known = ", ".join(sorted({one.cook for one in lessons.lessons}))
            remedy = f"Name one of: {known}" if known else "Leave --leave-out out: nothing is learned yet"
            raise InputError(f"there is no cook '{name}' among the lessons", remedy, OUT)
        lessons = rest
    for each in learn:
        named = cook_and_log(each)
        if named is None:
            raise InputError(f"'{each}' names no log", "Give COOK.toml=LOG.csv", LEARN)
        cook, ledger = named
        from pitreckon.reckon.learning import learn as learned_from  # noqa: PLC0415  (compiles the kernel)

        name = Path(each.partition("=")[0]).stem
        told = learned_from(cook, ledger, name)
        if not any(each.value.size or each.hands for each in told):
            typer.echo(f"{name} teaches nothing: no look and no probe says how its pieces were.", err=True)
        lessons = lessons.plus(told)
    return lessons


LEARN, OUT, ANEW, SAME, THERMOMETERS = (
    Place(field=name) for name in ("--learn", "--leave-out", "--anew", "--same", "--another-thermometer")
)


def _pit(label: str, said: str, at: Place) -> str:
    if not label:
        raise InputError(f"'{said}' is not a pit and a day", "Give PIT=DATE, for example 'barn pit=2026-10-03'", at)
    return label


def _day(text: str, at: Place) -> datetime:
    try:
        return datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError:
        raise InputError(f"'{text}' is not a day", "Give it as 2026-10-03", at) from None


def show(lessons: Lessons, degrees: Scale) -> None:
    """What was learned, what is doubted, and what it rests on."""
    if not lessons.lessons and not lessons.thermometers:
        typer.echo("Nothing is learned yet. Give a cook and its log with --learn.")
        return
    told = beliefs_of(lessons, degrees)
    for belief in told:
        typer.echo(belief.line)
    for pit in dict.fromkeys(each.pit for each in lessons.used if each.pit):
        if wants_a_thermometer(each for each in told if each.kind and each.key == pit):
            typer.echo(f"{pit}: a thermometer laid on its grate, and noted, would tell more of this than many cooks")
    last = max([each.at_utc for each in lessons.lessons] + [each.at_utc for each in lessons.thermometers])
    hands = hands_known(lessons, last)
    for hand in hands:
        typer.echo(_of_hand(hand, degrees))
    if strays := strays_words(lessons):
        typer.echo(strays)
    if not told and not hands:
        typer.echo("Too little for a sentence yet; what there is counts in the forecast.")
    for doubt in doubts_of(lessons):
        typer.echo(doubt.line)
    for change in lessons.changes:
        typer.echo(
            f"{change_line(change)}; if so, say --anew '{change.pit}={change.since:%Y-%m-%d}', else --same "
            f"'{change.pit}={last:%Y-%m-%d}'"
        )
    for label, since in sorted(lessons.anew.items()):
        typer.echo(f"{label}: another one since {since:%Y-%m-%d}")
    for label, until in sorted(lessons.same.items()):
        typer.echo(f"{label}: the same up to {until - timedelta(days=1):%Y-%m-%d}, as was said")
    for said in lessons.thermometers:
        if said.told is None:
            whose = f"{said.whose}: " if said.whose else ""
            typer.echo(f"{whose}another thermometer since {said.at_utc:%Y-%m-%d}")
    typer.echo("\nRests on:")
    for each in rests_on(lessons):
        if each.was_said:
            typer.echo(f"  {each.at_utc:%Y-%m-%d}  what {each.hand or 'somebody'} said of {each.pit}")
        else:
            typer.echo(f"  {each.at_utc:%Y-%m-%d}  {each.cook}: {each.item}, {each.seen} entries, on {each.pit}")
        for line in each.not_believed:
            typer.echo(f"              not believed: {in_units(line, degrees)}")
    typer.echo(CAUTION)


def _of_hand(hand: HandBelief, degrees: Scale) -> str:
    """Of a person's eye or finger, or of their thermometer."""
    words = in_units(hand.words, degrees)
    between = ": " if hand.kind == THERMOMETER else " "
    head = f"{hand.by}{between}{words}" if hand.by else words
    rests = [f"from {len(hand.cooks)} cook{'s' if len(hand.cooks) > 1 else ''}"] if hand.cooks else []
    rests += [f"as {hand.by or 'somebody'} said"] if hand.said else []
    return f"{head}, {' and '.join(rests)}"
