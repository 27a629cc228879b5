"""The story of a finished cook as a sheet: pictures with captions for people who learn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import UTC, datetime
from functools import partial
from typing import Final

from pitreckon.lessons.explain import lines
from pitreckon.lessons.explain.story import Story
from pitreckon.reckon.words import STANDING
from pitreckon.sheets.documents.cautions import FOOT, fire_caution, food_caution
from pitreckon.sheets.model import Block, Heading, Picture, Sheet, Table, Text, told_to
from pitreckon.sheets.pictures import curves
from pitreckon.sheets.pictures.otherwise import otherwise
from pitreckon.sheets.pictures.sections import A_PICTURE, sections
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import capital, joined, said

SIMULATED = (
    "Every number here is from a simulation that fits this cook. It is no measurement, and no promise of safety: a "
    "thermometer in the thickest part decides."
)


def story_sheet(story: Story, reader: Reader, made_utc: datetime | None = None, *, drawn: bool = True) -> Sheet:
    """The story, told to its reader: pictures and words in their language and degrees.

    made_utc: None: now; drawn: False: the words alone

    Raises MissingExtraError: Matplotlib is not installed
    """
    done = story.done
    told = lines.done_and_seen(story)
    numbers = _marked(told)
    words = _words(reader)

    def picture(draw: Callable[[str], str], shown: list[str]) -> list[Block]:
        name = reader.told(joined(" ", shown))
        svg = draw(name) if drawn else ""
        return [Picture(svg, name)] if svg else []

    def curve(draw: Draws) -> Callable[[str], str]:
        return lambda name: draw(story, numbers, words, name)

    heat, water, colour = (list(make(story)) for make in (lines.heat_lines, lines.water_lines, lines.colour_lines))
    inside, ways = list(lines.section_lines(story)), [lines.otherwise_line(each) for each in story.otherwise]
    names = [reader.told(capital(lines.moment_words(story, n))) for n in range(len(story.insides))]
    blocks: list[Block] = [Text(lines.opening(story), "lead")]
    blocks += [
        Text(joined(" ", [*lines.whose(story), *lines.how_to_read()])),
        Heading(said("Heat")),
        *picture(curve(curves.heat), heat),
        *_texts(heat),
    ]
    blocks += [Heading(said("Water")), *picture(curve(curves.water), water), *_texts(water)]
    blocks += [Heading(said("Colour and tenderness")), *picture(curve(curves.colour), colour), *_texts(colour)]
    blocks += [Heading(said("What was done and seen")), _acts(told, story, reader)]
    blocks += [Heading(said("Inside the piece")), *_texts(inside[:1])]
    for first in range(0, len(names), A_PICTURE):
        moments = inside[:1] if not first else names[first : first + A_PICTURE]
        blocks += picture(partial(sections, story, names, words, first=first), moments)
    blocks += [*_texts(inside[1:])]
    blocks += [Text(capital(lines.moment_line(story, n))) for n in range(len(story.insides))]
    blocks += [Heading(said("What if it had been otherwise")), *_texts(lines.otherwise_opening())]
    labels = [reader.told(capital(each.words)) for each in story.otherwise]
    blocks += picture(lambda name: otherwise(story, labels, words, name), ways)
    blocks += [Text(capital(each)) for each in ways]
    blocks += [Heading(said("Mind")), Text(said(SIMULATED)), food_caution(reader), fire_caution()]
    day = reader.day(done.put_on_utc)
    return told_to(
        Sheet(
            title=said("The story of a cook: {item}", item=done.item.label),
            subtitle=f"{done.cook.name}, {day}",
            blocks=tuple(blocks),
            reader=reader,
            name=f"{done.cook.name} {done.item.label} story",
            made_utc=(made_utc or datetime.now(UTC)).astimezone(UTC),
            foot=said(FOOT),
        )
    )


MOST_MARKED: Final = 14
"""More circles have no room over a picture; the table has all."""
FIRE: Final = {"fed the fire", "set pit"}


def _marked(told: Sequence[tuple[float, str, str]]) -> list[tuple[int, float]]:
    """Number and time of what is marked in the pictures: of too many those of the meat, of these what changed."""
    every = list(enumerate(told, 1))
    if len(every) > MOST_MARKED:
        every = [(n, each) for n, each in every if str(each[1]) not in FIRE]
    if len(every) > MOST_MARKED:
        first: dict[tuple[str, str], tuple[int, tuple[float, str, str]]] = {}
        for n, each in every:
            first.setdefault((str(each[1]), str(each[2])), (n, each))
        every = list(first.values())
    return [(n, at_s) for n, (at_s, _, _) in every[-MOST_MARKED:]]


Draws = Callable[[Story, Sequence[tuple[int, float]], curves.CurveWords, str], str]
"""A picture of curves."""


def _words(reader: Reader) -> curves.CurveWords:
    def say(message: str) -> str:
        return reader.told(said(message))

    def stage(kind: str, wrap: str | None) -> str:
        return say(wrap) if kind == "wrapped" and wrap else say(STANDING[kind])

    return curves.CurveWords(say, stage, reader.degrees)


def _texts(found: Iterable[str]) -> list[Block]:
    return [Text(each) for each in found]


def _acts(told: list[tuple[float, str, str]], story: Story, reader: Reader) -> Table:
    zero = story.done.put_on_utc.timestamp()
    rows = []
    for n, (at_s, what, seen) in enumerate(told, 1):
        at = datetime.fromtimestamp(zero + at_s, UTC)
        rows.append((f"{n}  {reader.clock(at, seen_from=story.done.put_on_utc)}", capital(what), seen))
    return Table((said("when"), said("what"), said("what it was")), tuple(rows), ("right", "left", "left"))
