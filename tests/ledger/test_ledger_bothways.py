"""Taps and photos of one colour at about one time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from pitreckon.ledger import Ledger, Look
from pitreckon.ledger.bothways import tapped_and_measured

NOON = datetime(2026, 10, 17, 17, 0, tzinfo=UTC)


def tap(minutes: float, level: float, piece: int | None = 1, by: str = "Ann") -> Look:
    return Look(NOON + timedelta(minutes=minutes), "racks", piece, "colour", level, "word", by=by)


def photo(minutes: float, level: float, piece: int | None = 1, why: str | None = None) -> Look:
    text = f"{level} ± 0.09"
    return Look(NOON + timedelta(minutes=minutes), "racks", piece, "colour in a photo", level, text, why)


def test_a_tap_is_held_against_the_nearest_photo_of_the_same_piece() -> None:
    ledger = Ledger.of(
        [
            tap(0, 0.55), photo(4, 0.7), photo(-8, 0.5),  # the nearer one of two
            tap(30, 0.8), photo(41, 0.9),  # too late: the colour goes on
            tap(60, 1.0, piece=None), photo(61, 0.9),  # of which piece?
            tap(90, 1.0, piece=2), photo(91, 1.1, piece=2, why="not used"),
            Look(NOON, "racks", 1, "probe feel", 1.0), tap(120, 1.3, by="Ben"), photo(115, 1.2),
        ]
    )  # fmt: skip
    found = tapped_and_measured(ledger)
    assert [(each.tapped, each.measured, each.tap.by) for each in found] == [(0.55, 0.7, "Ann"), (1.3, 1.2, "Ben")]
    assert {each.sd for each in found} == {0.09}
    assert found[1].apart == timedelta(minutes=-5)
