"""Ordinal scales in plain words for what a cook sees and feels.

Levels are ours: 1.0 is the model's mark (the set colour; the probe slides in), 0 the raw piece. The spacing
of the steps between is a judgement (common practice, no source); whoever weighs a look allows for that.
"""

from __future__ import annotations

from typing import Final

from pitreckon.text.words import known_word

# Colour of the outside. A cook stops the smoke at "mahogany".
COLOUR: Final = {"raw": 0.0, "tan": 0.3, "amber": 0.55, "red-brown": 0.8, "mahogany": 1.0, "too dark": 1.3}

# What the hand feels when a thin probe is pushed in. Done at "slides in".
PROBE_FEEL: Final = {"hard": 0.0, "firm": 0.4, "some drag": 0.75, "slides in": 1.0, "falls apart": 1.3}

# What a rack does when it is lifted at one end with the tongs.
BEND: Final = {"stiff": 0.0, "sags": 0.5, "bends": 0.8, "cracks": 1.0, "breaks": 1.3}

SCALES: Final = {"colour": COLOUR, "probe feel": PROBE_FEEL, "bend": BEND}


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
    steps = SCALES[scale]
    return min(steps, key=lambda step: abs(steps[step] - level))
