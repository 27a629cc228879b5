"""The scales in plain words of what a cook sees and feels, by the records of :mod:`pitreckon.cook.looks`."""

from typing import Final

from pitreckon.cook.looks import LOOK_KINDS, SCALES
from pitreckon.text.words import known_word

__all__ = ["COLOUR", "PROBE_FEEL", "SCALES", "level_of", "word_for"]

COLOUR: Final = SCALES["colour"]
PROBE_FEEL: Final = SCALES["probe feel"]


def level_of(scale: str, word: str) -> float:
    """The level [-] of a word on a scale.

    >>> level_of("colour", "Red brown"), level_of("probe feel", "slides in")
    (0.8, 1.0)

    Raises InputError: not a word of the scale.
    """
    return float(known_word(word, SCALES[scale], f"no {scale} that we know"))


def word_for(scale: str, level: float) -> str:
    """The word of a scale nearest to a level [-].

    >>> word_for("colour", 0.95)
    'mahogany'
    """
    return LOOK_KINDS[scale].word(level)
