"""Answers about the catalog: cuts, pits, wraps, foods."""

from pydantic import Field

from pitreckon.cli.schema.part import Part


class StageAnswer(Part):
    """One stage of a cut's usual course, in the words of a cook file."""

    do: str
    until: str
    wrap: str = Field(description='key of the wrap, "" for none')


class CutAnswer(Part):
    """One cut."""

    key: str
    name: str
    animal: str
    kind: str
    mass_kg: float = Field(description="of one piece as it usually comes [kg]")
    done_by: str = Field(description="tender: the probe decides; core: a core temperature does")
    done_core_c: float = Field(description="usual core temperature at the finish [°C]")
    course: list[StageAnswer]


class CutsAnswer(Part):
    """``pitreckon cuts``."""

    cuts: list[CutAnswer]


class PitAnswer(Part):
    """One kind of pit."""

    key: str
    name: str
    fuel: str
    fan: bool
    swing_k: float = Field(description="half of the wander of its air, top to trough [K]")
    lid_dip_k: float = Field(description="what an open lid costs [K]")


class PitsAnswer(Part):
    """``pitreckon pits``."""

    pits: list[PitAnswer]


class WrapAnswer(Part):
    """One wrap."""

    key: str
    name: str
    also: list[str] = Field(description="other spellings that are understood")
    holds_liquid: bool
    vapour_permeance_kg_m2_s_pa: float = Field(description="through the sheet [kg/(m2 s Pa)]")
    leak_kg_m2_s_pa: float = Field(description="past its folds [kg/(m2 s Pa)]")
    cover_top: float = Field(description="covered share of the top [-]")
    cover_side: float
    cover_under: float


class WrapsAnswer(Part):
    """``pitreckon wraps``."""

    wraps: list[WrapAnswer]


class FoodAnswer(Part):
    """One food that a mix file may name."""

    key: str
    name: str
    also: list[str] = Field(description="other spellings that are understood")
    density_kg_m3: float | None = Field(description="as it fills a spoon [kg/m3]")


class FoodsAnswer(Part):
    """``pitreckon mix --foods``."""

    foods: list[FoodAnswer]
