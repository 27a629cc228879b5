"""Answers about a batch that is sold."""

from pydantic import Field

from pitreckon.cli.schema.part import Part


class JarsAnswer(Part):
    """How many jars a batch fills: in 95, 50 and 5 of 100."""

    low: int
    middle: int
    high: int


class WeighAnswer(Part):
    """One thing on the scale, for one round."""

    name: str
    exact_g: float
    scale_g: float


class PremixAnswer(Part):
    """What is too little for the scale, spread in more."""

    of: str
    into: str
    own_g: float
    carrier_g: float
    taken_g: float = Field(description="of it for each round")
    left_g: float


class BuyAnswer(Part):
    """One food to buy."""

    name: str
    need_g: float
    pack_g: float | None
    packs: int | None
    left_g: float
    used: float | None = Field(description="price of what goes in")
    paid: float | None = Field(description="price of whole packs")


class LotAnswer(Part):
    """One lot of what goes in."""

    food: str
    lot: str
    best_before: str | None
    supplier: str


class DeclaredAnswer(Part):
    """A line of the nutrition declaration."""

    name: str
    declared: str | None = Field(description="in 100 g; null: too little is known")


class BatchAnswer(Part):
    """``pitreckon batch``."""

    name: str
    use: str
    lot: str
    made: str
    market: str
    jars_wanted: int
    jars: JarsAnswer
    fill_g: float
    fill_to_g: float
    fill_spread_g: float
    shortage_allowed_g: float
    mass_g: float
    loss: float
    loss_is_usual: bool
    rounds: int
    scale_step_g: float
    weigh: list[WeighAnswer]
    premixes: list[PremixAnswer]
    too_little: list[str]
    order: list[str]
    buy: list[BuyAnswer]
    cost: float | None
    paid: float | None
    cost_of_jar: float | None
    cost_of_jar_if_rest_is_wasted: float | None
    price_of_jar: float | None
    currency: str
    lots: list[LotAnswer]
    best_before: str | None = Field(description="null: none is promised")
    best_before_by: str
    undated: list[str]
    net: str
    ingredients: list[str]
    contains: list[str]
    may_contain: list[str]
    in_100_g: list[DeclaredAnswer] = Field(description="for eu and uk; empty for us")
    recorded: str | None = Field(description="link of its record; null: it was not recorded")
    written: str | None


class MadeAnswer(Part):
    """One record of a batch."""

    lot: str
    mix: str
    made: str
    jars: int
    first_jar: str
    last_jar: str
    net: str
    best_before: str | None
    lots: list[LotAnswer]
    without_lot: list[str]
    record: int
    signed: str
    link: str
    holds: bool = Field(description="false: a later record of the lot replaced it")


class LotInsideAnswer(LotAnswer):
    """A lot with the batch that it went into."""

    batch: str


class RecallAnswer(Part):
    """``pitreckon batch --recall LOT``: which jars hold it, which lots went in."""

    asked: str
    found: bool
    jar: int | None
    batches_of_it: list[MadeAnswer]
    batches_with_it: list[MadeAnswer]
    lots_inside: list[LotInsideAnswer]
    batches_recorded: int
    batches_without_lots: list[str]


class RecordedAnswer(Part):
    """``pitreckon batch --recorded``: each record with its link, to be kept or checked elsewhere."""

    records: list[MadeAnswer]
