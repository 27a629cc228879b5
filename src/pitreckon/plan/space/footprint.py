"""How much of a grate one piece of meat takes, with the air that it needs round it."""

import math
from dataclasses import dataclass
from typing import Final

from pitreckon import catalog
from pitreckon.catalog import Ball, Bird, Cut, Drum, Rack
from pitreckon.cook import ItemPlan
from pitreckon.errors import InputError, Place
from pitreckon.plan.wishes import ItemWish

GAP_M: Final = 0.02
"""Air between two pieces, half of it belonging to each [m]: common practice, no source."""
HOLDER_SPACING_M: Final = 0.025
"""Air between two racks of ribs that stand in a holder [m]: common practice, no source."""
HOLDER_LIFT_M: Final = 0.02
"""What a holder lifts the racks off the grate [m]: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Pieces:
    """Pieces of one item that are to lie on a pit.

    label: the item's; cut: catalog key or name; count: 1 or more, above what any pit takes on purpose allowed
    mass_kg: [kg] of one; thickness_factor: [-] as in ItemPlan
    done: nearly done, so that it belongs in a cool place
    """

    label: str
    cut: str
    count: int
    mass_kg: float
    thickness_factor: float = 1.0
    done: bool = False

    def __post_init__(self) -> None:
        if self.count < 1:
            raise InputError(
                f"'{self.label}' has {self.count} pieces", "Write how many there are, 1 or more", Place(field="pieces")
            )
        if not (math.isfinite(self.mass_kg) and 0.005 <= self.mass_kg <= 150.0):
            raise InputError(
                f"a piece of '{self.label}' weighs {self.mass_kg:g} kg", "Write 5 g to 150 kg", Place(field="weight")
            )


@dataclass(frozen=True, slots=True)
class Footprint:
    """What one piece takes: length_m x width_m of the grate, gaps included, and height_m above it."""

    length_m: float
    width_m: float
    height_m: float

    @property
    def area_m2(self) -> float:
        """Area with its gaps [m2]."""
        return self.length_m * self.width_m


def footprint(cut: Cut, mass_kg: float, *, thickness_factor: float = 1.0, holder: bool = False) -> Footprint:
    """The footprint of one piece, from the cut's shape at this mass and half of ``GAP_M`` on every side.

    A round piece takes the square round it; one that is longer than it is thick lies on its side. Where the cut's file
    says how a whole piece lies, that counts. ``holder``: a rack of ribs stands on its long edge in a holder, bones
    up, and takes its thickness and ``HOLDER_SPACING_M``; any other shape lies as it would without.
    thickness_factor [-] changes the height alone, as in the section model.

    >>> lies = footprint(catalog.cut("st-louis-ribs"), 1.22)
    >>> round(lies.length_m, 3), round(lies.width_m, 3)
    (0.325, 0.150)
    """
    scale = cut.scale(mass_kg)
    shape = cut.shape
    if isinstance(shape, Ball):
        across = scale * shape.diameter_m.value
        return Footprint(across + GAP_M, across + GAP_M, across * thickness_factor)
    if isinstance(shape, Drum):
        across, height = scale * shape.diameter_m.value, scale * shape.height_m.value
        if height > across:
            return Footprint(height + GAP_M, across + GAP_M, across * thickness_factor)
        return Footprint(across + GAP_M, across + GAP_M, height * thickness_factor)
    if isinstance(shape, Bird):
        across = scale * shape.diameter_m.value * thickness_factor
        return Footprint(scale * shape.length_m.value + GAP_M, across + GAP_M, across)
    whole = cut.lies or shape
    length, width = scale * whole.length_m.value, scale * whole.width_m.value
    thick = scale * shape.thickness_m.value * thickness_factor
    if holder and isinstance(shape, Rack):
        return Footprint(length + GAP_M, thick + HOLDER_SPACING_M, width + HOLDER_LIFT_M)
    return Footprint(max(length, width) + GAP_M, min(length, width) + GAP_M, thick)


def pieces_of(item: Pieces | ItemPlan | ItemWish, count: int | None = None, mass_kg: float | None = None) -> Pieces:
    """The pieces of an item; ``count`` and ``mass_kg`` [kg] stand in where a wish leaves them open.

    A wish without a weight takes the cut's usual piece. Raises InputError where the count is not known or the cut
    is not in the catalog.
    """
    if isinstance(item, Pieces):
        return item
    cut = catalog.cut(item.cut)
    found = count if count is not None else item.pieces
    if found is None:
        raise InputError(
            f"it is not said how many '{item.label}' are", "Reckon the amounts first", Place(field="pieces")
        )
    weight = mass_kg if mass_kg is not None else item.mass_kg
    return Pieces(
        item.label, cut.key, found, cut.shape.mass_kg.value if weight is None else weight, item.thickness_factor
    )
