"""A recipe card is made once in a process: what becomes of it in one file or another is tried on the same."""

from __future__ import annotations

from typing import Any

import pytest

from pitreckon.lessons.card import card as module
from pitreckon.lessons.card.card import Card
from pitreckon.lessons.card.finished import FinishedItem

_MADE: dict[tuple[object, ...], Card] = {}


def made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a card that was made before, of the same item for the same readers, taken again."""
    real = module.card_of

    def card_of(done: FinishedItem, **asked: Any) -> Card:
        key = (done.cook, done.item, done.stages, *sorted(asked.items()))
        if key not in _MADE:
            _MADE[key] = real(done, **asked)
        return _MADE[key]

    monkeypatch.setattr(module, "card_of", card_of)
