"""What a cut looks like: the plain bodies that stand in for real pieces.

Lengths are those of one piece of `mass_kg`; a piece of another mass has the same proportions, so its
lengths go with the cube root of the mass. `scale_sd` is how much the thickness of one piece differs from the next,
as a share of it [-].
"""
# ruff: noqa: RUF009  number(...) is dataclasses.field with the form written into it

import math
from dataclasses import dataclass
from typing import ClassVar, TypeAlias

from pitreckon.catalog.figure import Figure
from pitreckon.catalog.form import number

DENSITY_KG_M3 = 1050.0  # raw meat, bone included: from memory; only ties a cut's lengths to its mass
MASS_TOLERANCE = 0.12

_MASS_KG = (0.01, 60.0)
_LENGTH_M = (0.005, 1.5)
_SCALE_SD = (0.0, 0.5)


@dataclass(frozen=True, slots=True)
class _Straight:
    """What has a thickness, a width and a length."""

    mass_kg: Figure = number(*_MASS_KG)
    thickness_m: Figure = number(*_LENGTH_M)
    width_m: Figure = number(*_LENGTH_M)
    length_m: Figure = number(*_LENGTH_M)

    @property
    def volume_m3(self) -> float:
        """Volume of the body, bones included [m3]."""
        return self.thickness_m.value * self.width_m.value * self.length_m.value


@dataclass(frozen=True, slots=True)
class Slab(_Straight):
    """A thin piece, both faces open: heat comes through its thickness only."""

    kind: ClassVar[str] = "slab"
    scale_sd: Figure = number(*_SCALE_SD)


@dataclass(frozen=True, slots=True)
class Ball:
    """A round piece."""

    kind: ClassVar[str] = "ball"
    mass_kg: Figure = number(*_MASS_KG)
    diameter_m: Figure = number(*_LENGTH_M)
    scale_sd: Figure = number(*_SCALE_SD)

    @property
    def volume_m3(self) -> float:
        """Volume of the body [m3]."""
        return math.pi / 6 * self.diameter_m.value**3


@dataclass(frozen=True, slots=True)
class Block(_Straight):
    """A long piece with a section of thickness x width; heat along its length is left out."""

    kind: ClassVar[str] = "block"
    scale_sd: Figure = number(*_SCALE_SD)


@dataclass(frozen=True, slots=True)
class Drum:
    """A round piece with flat ends: a squat one stands on one of them, a long one lies on its side."""

    kind: ClassVar[str] = "drum"
    mass_kg: Figure = number(*_MASS_KG)
    height_m: Figure = number(*_LENGTH_M)
    diameter_m: Figure = number(*_LENGTH_M)
    scale_sd: Figure = number(*_SCALE_SD)

    @property
    def volume_m3(self) -> float:
        """Volume of the body [m3]."""
        return math.pi / 4 * self.diameter_m.value**2 * self.height_m.value

    @property
    def long(self) -> bool:
        """Is it longer than it is thick, as a link or a leg: then its thickness is the diameter."""
        return self.height_m.value > self.diameter_m.value


@dataclass(frozen=True, slots=True)
class Rack(_Straight):
    """A row of ribs. The bones are ellipses across the row, near the under (bone) face.

    width_m: along the bones; length_m: along the row; bone_spacing_m: from one bone's centre to the next;
    bone_half_width_m (along the row) and bone_half_height_m: semi-axes; bone_depth_m: bone centre above the
    bone face.
    """

    kind: ClassVar[str] = "rack"
    bone_spacing_m: Figure = number(0.008, 0.12)
    bone_half_width_m: Figure = number(0.001, 0.05)
    bone_half_height_m: Figure = number(0.001, 0.05)
    bone_depth_m: Figure = number(0.001, 0.1)
    scale_sd: Figure = number(*_SCALE_SD)


@dataclass(frozen=True, slots=True)
class Bird:
    """A whole bird: a hollow round body on its back, open at its ends.

    length_m: along the back; diameter_m: over the breast; cavity_m: the cavity's diameter; cavity_share: what reaches
    the cavity's wall of the exchange that the skin has, for its own air is nearly still and seldom changed [-].
    """

    kind: ClassVar[str] = "bird"
    mass_kg: Figure = number(*_MASS_KG)
    length_m: Figure = number(*_LENGTH_M)
    diameter_m: Figure = number(*_LENGTH_M)
    cavity_m: Figure = number(*_LENGTH_M)
    cavity_share: Figure = number(0.0, 1.0)
    scale_sd: Figure = number(*_SCALE_SD)

    @property
    def volume_m3(self) -> float:
        """Volume of the body without its cavity [m3]."""
        return math.pi / 4 * (self.diameter_m.value**2 - self.cavity_m.value**2) * self.length_m.value


Shape: TypeAlias = Slab | Ball | Block | Drum | Rack | Bird


def thickness_of(shape: Shape) -> Figure:
    """What a cook measures as a piece's thickness: the figure that a thickness told, or a factor on it, goes by."""
    match shape:
        case Ball() | Bird():
            return shape.diameter_m
        case Drum():
            return shape.diameter_m if shape.long else shape.height_m
        case _:
            return shape.thickness_m


def plan_area_m2(shape: Shape, thickness_factor: float = 1.0) -> float:
    """What the piece covers of the grate [m2]; a drum stands on its flat face, a bird lies on its back.

    thickness_factor: thickness over the usual one; of a ball, a bird or a long drum it is the diameter's.
    """
    match shape:
        case Ball():
            return math.pi / 4 * (shape.diameter_m.value * thickness_factor) ** 2
        case Drum():
            return math.pi / 4 * (shape.diameter_m.value * (thickness_factor if shape.long else 1.0)) ** 2
        case Bird():
            return shape.diameter_m.value * thickness_factor * shape.length_m.value
        case _:
            return shape.width_m.value * shape.length_m.value


def shape_fault(shape: Shape) -> tuple[str, str, str] | None:
    """What makes a shape impossible: the field, the trouble and the remedy; None if it is sound."""
    by_volume = shape.volume_m3 * DENSITY_KG_M3
    mass = shape.mass_kg.value
    if abs(by_volume / mass - 1) > MASS_TOLERANCE:
        return (
            "mass_kg",
            f"the lengths make a piece of {by_volume:.3g} kg, mass_kg says {mass:.3g} kg",
            f"Make them agree within {MASS_TOLERANCE:.0%} at {DENSITY_KG_M3:g} kg/m3; lengths are in metres",
        )
    if isinstance(shape, Bird) and shape.cavity_m.value >= 0.9 * shape.diameter_m.value:
        return "cavity_m", "the cavity leaves no meat", "Keep it below 0.9 of diameter_m"
    if not isinstance(shape, Rack):
        return None
    depth, half_height = shape.bone_depth_m.value, shape.bone_half_height_m.value
    if 2 * shape.bone_half_width_m.value >= shape.bone_spacing_m.value:
        return "bone_half_width_m", "the bones overlap", "Keep it below half of bone_spacing_m"
    if depth - half_height <= 0 or depth + half_height >= shape.thickness_m.value:
        return (
            "bone_depth_m",
            "the bone sticks out of the rack",
            "Keep it above bone_half_height_m and bone_half_height_m below the thickness",
        )
    if shape.length_m.value < shape.bone_spacing_m.value:
        return "bone_spacing_m", "the rack is shorter than one bone's room", "Keep it below length_m"
    return None
