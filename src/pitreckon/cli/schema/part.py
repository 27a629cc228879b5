"""What the forms of all answers are built on."""

from datetime import datetime
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field


class Part(BaseModel):
    """An object with the keys that it has here and no others."""

    model_config = ConfigDict(extra="forbid", frozen=True)


Instant = Annotated[datetime, Field(description="an instant, ISO 8601")]


class Spread(Part):
    """Quantiles of a number; null where it is not reached."""

    p05: float | None
    p50: float | None
    p95: float | None


class Moments(Part):
    """Quantiles of an instant; null where it is not reached."""

    p05: datetime | None
    p50: datetime | None
    p95: datetime | None
    reached: float = Field(description="chance that it comes at all")


class Between(Part):
    """The least and the most that it can be; null: no end to it, or not known."""

    low: float | None
    high: float | None
