"""What a reader's photo says of each member's plate: too dark against pale, a burnt glaze against bark."""

from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.cook.scales import COLOUR
from pitreckon.lessons.diagnosis.run import BITTER, Plates

PLATE_SD: Final = 0.1
"""How far the colour of the tapped places lies from that of a whole plate: it has cooled, it was turned, one end was
nearer the fire. With ``STRAY`` it was chosen on readers of the stream "fit" (``validation/photos``)."""
STRAY: Final = 0.05
"""Share of photos that show something else: a sauce, another piece, a lamp that was no lamp."""
STRAYS_OVER: Final = 1.4
"""The whole scale: such a photo has any level of it."""


def seen_level(plates: Plates) -> Floats:
    """The step of the colour scale that a plate shows, shape (members,).

    Sugar that has browned lies over the meat: at its onset it looks amber, and where it is bitter too dark (from
    memory); whichever is darker is seen.
    """
    dose = np.maximum(plates.dose, 1e-6)
    at = np.log([1.0, BITTER])
    sugar = np.interp(np.log(dose), at, [COLOUR["amber"], COLOUR["too dark"]], left=0.0)
    return np.maximum(plates.level, sugar)


def photo_likelihood(plates: Plates, level: float, sd: float) -> Floats:
    """Density of a measured colour under each member, shape (members,). level, sd: as it was measured [-]"""
    width = float(np.hypot(sd, PLATE_SD))
    off = (level - seen_level(plates)) / width
    near = np.exp(-0.5 * off * off) / (width * np.sqrt(2.0 * np.pi))
    return np.asarray((1.0 - STRAY) * near + STRAY / STRAYS_OVER)
