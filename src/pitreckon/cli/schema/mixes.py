"""Answers about mixes."""

from typing import Any

from pydantic import Field

from pitreckon.cli.schema.part import Between, Part


class IngredientAnswer(Part):
    """One ingredient."""

    name: str
    mass_g: float
    volume_ml: float | None
    spoons: str | None
    cost: float | None


class TasteAnswer(Between):
    """One taste, in 100 g of it."""

    name: str
    unit: str
    not_known: list[str] = Field(description="ingredients of which it is not known")


class LabelLineAnswer(Between):
    """One line of a label, in a serving."""

    name: str
    unit: str
    declared: float | None
    percent_daily_value: float | None
    at_least: bool


class LabelAnswer(Part):
    """An estimated nutrition label."""

    name: str
    standing: str
    serving: str
    serving_g: float
    servings: float
    lines: list[LabelLineAnswer]
    contains: list[str]
    may_contain: list[str]
    cost: float | None
    currency: str
    notes: list[str]


class OneMixAnswer(Part):
    """A mix."""

    name: str
    use: str
    batches: float = Field(description="how many of the file's batch it is")
    mass_g: float
    volume_ml: float | None
    ingredients: list[IngredientAnswer]
    tastes: list[TasteAnswer]
    scoville_by_dry_mass: Between
    contents: dict[str, Between] = Field(description="nutrients by name, in all of it")
    cost: float | None
    currency: str


class MixAnswer(OneMixAnswer):
    """``pitreckon mix``; a key is there where its option is."""

    label: LabelAnswer | None = Field(default=None, description="with --label")
    against: OneMixAnswer | None = Field(default=None, description="with --against")
    before: OneMixAnswer | None = Field(default=None, description="with --want: as the file has it")
    on_the_meat: dict[str, Any] | None = Field(
        default=None, description="with --heat: what heat does to it, by the kind of mix"
    )
