"""What is wrong with a folder of answers to a card, and with the card beside it."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.docs.remedies.tried import tried

from pitreckon.cli.answered import MOST_CARD_BYTES, card_in, check_changed, check_page

CARD = Path(__file__).parents[3] / "examples" / "sunday-racks" / "answers" / "card.json"
REMEDY = "Give the .json that 'pitreckon card -o CARD.json' wrote"


def page(name: str) -> None:
    check_page(Path(name))


def changed(name: str) -> None:
    check_changed(Path(name))


def beside(said: tuple[int, str | None]) -> object:
    """How many cards lie in the folder, and what was named."""
    folder = Path("answers")
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for n in range(said[0]):
        shutil.copy(CARD, folder / f"card-{n}.json")
    for name, text in {"text": "Dear cook", "other": '{"cook": "x"}', "large": "x" * (MOST_CARD_BYTES + 1)}.items():
        Path(f"{name}.json").write_text(text)
    shutil.copy(CARD, "card.json")
    return card_in(folder, None if said[1] is None else Path(said[1]))


REPLIES = [
    tried("the readers' page is one of HTML", "End its name in .html", page, "page.txt", "page.html"),
    tried("a card is kept as JSON", "End its name in .json", changed, "card.txt", "card.json"),
    tried(
        "there is more than one card in the folder: 4U79-QAVM, 4U79-QAVM",
        "Name one with --card",
        beside,
        (2, None),
        (2, "card.json"),
    ),
    tried(
        "no card is in the folder",
        "Put the .json there that 'pitreckon card -o CARD.json' wrote, or name it with --card",
        beside,
        (0, None),
        (1, None),
        (0, "card.json"),
    ),
    tried("it is too large for a card", REMEDY, beside, (0, "large.json"), (0, "card.json")),
    tried("it is no JSON", REMEDY, beside, (0, "text.json"), (0, "card.json")),
    tried("it holds no card that answers can be taken in with", REMEDY, beside, (0, "other.json"), (0, "card.json")),
]
