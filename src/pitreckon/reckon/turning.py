"""How a pit is made hotter or cooler, by what burns in it: common practice, no source."""

from typing import Final

from pitreckon.catalog import Pit

BY_DIAL: Final = frozenset({"pellets", "gas", "electric"})
_SPLITS: Final = {
    "hotter": "the next split sooner, or two small ones, and the firebox vent a little further open; it shows in about "
    "15 min",
    "cooler": "let the fire burn down by a split, and the firebox vent closed by a quarter; the stack stays open",
}
_COALS: Final = {
    "hotter": "the lower vents open by a quarter more, and lit coals added where the bed is low; it shows in about "
    "15 min",
    "cooler": "the lower vents closed by a quarter, and the lid left shut; it takes about half an hour",
}


def turning_words(pit: Pit, word: str) -> str:
    """What to do at a pit. word: hotter or cooler"""
    if pit.fan or pit.fuel in BY_DIAL:
        return f"turn its setting {'up' if word == 'hotter' else 'down'}; it is there in about 10 min"
    return (_SPLITS if pit.fuel == "split-hardwood" else _COALS)[word]
