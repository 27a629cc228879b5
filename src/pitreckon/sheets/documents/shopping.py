"""The shopping list: what to buy, how much and why, and what to do before the fire."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime

from pitreckon.cook import Cook
from pitreckon.plan.wishes import Wishes
from pitreckon.sheets.model import Block, Caution, Checklist, Heading, KeyFigure, KeyFigures, Line, Sheet, Text
from pitreckon.sheets.reader import Reader

# Common practice, no source.
COLD_HOME = Caution(
    "On the way home",
    (
        "Meat last into the cart and first into the refrigerator, in a bag of its own, so that it drips on nothing.",
        "More than an hour on the road, or a hot day: take a cold box with ice.",
    ),
)


def shopping_sheet(
    cook: Cook | Wishes,
    lines: Mapping[str, Sequence[Line]],
    *,
    reader: Reader,
    figures: Sequence[KeyFigure] = (),
    notes: Sequence[str] = (),
    made_utc: datetime | None = None,
) -> Sheet:
    """The shopping list of a cook, or of a day that is still to be planned.

    lines: what to buy, under the name of where it is bought or what it is for, in that order
    figures: such as what it costs in all; notes: in plain sentences
    """
    blocks: list[Block] = []
    if figures:
        blocks.append(KeyFigures(tuple(figures)))
    for part, of_part in lines.items():
        if of_part:
            blocks += [Heading(part), Checklist(tuple(of_part))]
    blocks += [Text(note) for note in notes]
    blocks.append(COLD_HOME)
    when = cook.serve_utc if isinstance(cook, Wishes) else cook.serve_utc or cook.start_utc
    return Sheet(
        title=cook.name,
        subtitle=f"Shopping list for {reader.day(when)}",
        blocks=tuple(blocks),
        reader=reader,
        name=f"{cook.name}, shopping",
        made_utc=made_utc or datetime.now(UTC),
        foot="Follow your local food code and health department.",
    )
