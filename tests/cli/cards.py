"""Recipe cards, and what readers' answers come to, are made once in a process, for all tests of what becomes of them.

``tests/lessons`` tries the making.
"""

from __future__ import annotations

from typing import Any

import pytest

from pitreckon.lessons.answers import outcome
from pitreckon.lessons.answers.folder import TakenIn
from pitreckon.lessons.answers.kept import KeptCard
from pitreckon.lessons.answers.outcome import Outcome
from pitreckon.lessons.card import card
from pitreckon.lessons.card.card import Card
from pitreckon.lessons.card.finished import FinishedItem

_CARDS: dict[tuple[object, ...], Card] = {}
_OUTCOMES: dict[tuple[object, ...], Outcome] = {}


def made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have a card of the same item for the same readers, and an outcome of the same answers, taken again."""
    make, reckon = card.card_of, outcome.outcome_of

    def card_of(done: FinishedItem, **asked: Any) -> Card:
        key = (done.cook, done.item, done.stages, *sorted(asked.items()))
        if key not in _CARDS:
            _CARDS[key] = make(done, **asked)
        return _CARDS[key]

    def outcome_of(kept: KeptCard, taken: TakenIn, seed: int = 1, **more: Any) -> Outcome:
        key = (kept.code, repr(taken), seed)
        if key not in _OUTCOMES:
            _OUTCOMES[key] = reckon(kept, taken, seed, **more)
        return _OUTCOMES[key]

    monkeypatch.setattr(card, "card_of", card_of)
    monkeypatch.setattr(outcome, "outcome_of", outcome_of)
