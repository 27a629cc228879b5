"""Top round to 66 degC in an oven at 149 degC, open and in foil [young_1972]_.

Compared: total loss is the lowest open, what evaporates the highest open, drip in foil more than four times
that open; the core rises by 3 K more after the oven open and by 5 K out of foil (each within 1.5 K).
Assumed: 2 kg of lean beef as a block of 90 x 120 x 180 mm; a kitchen oven without fan; the roast stands in
its foil, or bare, at 21 degC.
"""

from __future__ import annotations

from functools import cache

from pitreckon import catalog
from validation.check import Check, Group, at_least
from validation.lab import ROOM, Cooked, block, cook, core, lean_beef, minutes, oven


@cache
def cooked(in_foil: bool) -> Cooked:
    """One roast and its rest."""
    wrap = catalog.wrap("foil") if in_foil else None
    roast = lean_beef(block(0.09, 0.12, 0.18))
    return cook(roast, oven(149.0), core(66.0, wrap), minutes(60.0, wrap, ROOM), hours=10.0)


def share(channel: str, in_foil: bool) -> float:
    """Evaporated or dripped when out of the oven, as a share of the raw piece."""
    return cooked(in_foil).at(channel, cooked(in_foil).end_s())


def loss(in_foil: bool) -> float:
    """All that is lost when out of the oven, in points."""
    return 100.0 * cooked(in_foil).loss(cooked(in_foil).end_s())


GROUP = Group(
    "Top round, open and in foil",
    "young_1972",
    "test",
    (
        at_least(
            "loss",
            "foil less open: total loss",
            "points",
            0.0,
            lambda: loss(True) - loss(False),
            "in the assumed oven the open roast loses more even with nothing evaporating, by 1.5 points, as its skin "
            "comes to boiling; and what then evaporates comes on top",
        ),
        at_least(
            "evaporated",
            "open over foil: evaporated",
            "-",
            1.0,
            lambda: share("evaporated", False) / share("evaporated", True),
        ),
        at_least(
            "drip",
            "foil over open: drip",
            "-",
            4.0,
            lambda: share("dripped", True) / share("dripped", False),
            "once its skin holds back vapour, juice runs off the open roast as well, more of it than off theirs",
        ),
        Check("rise_open", "rise of the core after the oven, open", "K", 1.5, 4.5, lambda: cooked(False).rise_after(0)),
        Check(
            "rise_foil",
            "rise of the core after the oven, in foil",
            "K",
            3.5,
            6.5,
            lambda: cooked(True).rise_after(0),
            "foil passes more heat since its gap was fitted on the wraps of practice, so the skin comes out hotter and "
            "gives more on to the core",
        ),
        at_least(
            "rise", "foil less open: rise", "K", 0.5, lambda: cooked(True).rise_after(0) - cooked(False).rise_after(0)
        ),
    ),
)
