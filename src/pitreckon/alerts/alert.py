"""One message to the cook."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final, Self

from pitreckon.text.said import in_units
from pitreckon.units import Scale

KINDS: Final = (
    "window",
    "be back",
    "fire sinking",
    "fire running hot",
    "no word from the pit",
    "probe fell out",
    "safety",
)


@dataclass(frozen=True, slots=True)
class Alert:
    """Something that the cook should know now.

    kind: one of ``KINDS``; on: the item or the pit it is about, "" for several
    title, text: in the cook's words, the title on one line of a phone
    at_utc: the moment that it is about: the opening of a window, the time to be back, the last reading
    keys: one for each occasion that it tells of; an occasion that was told is not told again
    """

    kind: str
    on: str
    title: str
    text: str
    at_utc: datetime
    keys: tuple[str, ...]

    def written(self, scale: Scale) -> Self:
        """In English with the degrees and weights of a scale, as it goes out."""
        return replace(self, title=in_units(self.title, scale), text=in_units(self.text, scale))

    @property
    def key(self) -> str:
        """The key that stands for it, to be acknowledged by."""
        return self.keys[0]
