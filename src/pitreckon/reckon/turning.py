"""How a pit is made hotter or cooler, by what burns in it: common practice, no source."""

from typing import Final

from pitreckon.catalog import Pit
from pitreckon.text.said import said

BY_DIAL: Final = frozenset({"pellets", "gas", "electric"})
BY_TURNING: Final = {
    "hotter": "turn its setting up; it is there in about 10 min",
    "cooler": "turn its setting down; it is there in about 10 min",
}
SPLITS: Final = {
    "hotter": "the next split sooner, or two small ones, and the firebox vent a little further open; it shows in about "
    "15 min",
    "cooler": "let the fire burn down by a split, and the firebox vent closed by a quarter; the stack stays open",
}
COALS: Final = {
    "hotter": "the lower vents open by a quarter more, and lit coals added where the bed is low; it shows in about "
    "15 min",
    "cooler": "the lower vents closed by a quarter, and the lid left shut; it takes about half an hour",
}


def turning_words(pit: Pit, word: str) -> str:
    """What to do at a pit. word: hotter or cooler"""
    if pit.fan or pit.fuel in BY_DIAL:
        return said(BY_TURNING[word])
    return said((SPLITS if pit.fuel == "split-hardwood" else COALS)[word])
