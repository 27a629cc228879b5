"""One message to the cook."""

from dataclasses import dataclass
from datetime import datetime
from typing import Final

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

    @property
    def key(self) -> str:
        """The key that stands for it, to be acknowledged by."""
        return self.keys[0]
