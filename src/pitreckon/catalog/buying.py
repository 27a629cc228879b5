"""Loaders of what planning asks of the catalog: buying, portions, and what is done before the fire.

>>> buying("st-louis-ribs").trim_share.source
'common practice, no source'
>>> round(portions().adult_kg.value, 3)
0.151
"""

from pathlib import Path

from pitreckon.catalog.buyforms import BeforeFire, Buying, Portions
from pitreckon.catalog.form import Document
from pitreckon.catalog.shelf import Every

__all__ = ["BeforeFire", "Buying", "Portions", "all_buying", "before_fire", "buying", "portions"]

USUAL = "usual"
OTHER = "other"


def buying(cut_key: str, extra_dir: Path | None = None) -> Buying:
    """How a cut is bought; where it has no file of its own, what is usual for large boneless pieces."""
    shelf = all_buying(extra_dir)
    return shelf.get(cut_key, shelf[OTHER])


def portions(extra_dir: Path | None = None) -> Portions:
    """How much people eat. A file portions/usual.toml of the user's replaces the shipped one."""
    return _portions(extra_dir)[USUAL]


def before_fire(extra_dir: Path | None = None) -> BeforeFire:
    """What holds in the kitchen. A file before-fire/usual.toml of the user's replaces the shipped one."""
    return _before_fire(extra_dir)[USUAL]


def _check_buying(each: Buying, document: Document, _place: Path | None) -> None:
    if each.piece_high_kg.value <= each.piece_low_kg.value:
        raise document.refuse("piece_high_kg", "it is not above piece_low_kg", "Give the heavier end of the range")
    gone = each.not_eaten_share.value + each.beyond_water_share.value + each.water_share.value
    if gone > 0.9:
        raise document.refuse(
            "water_share", f"{gone:.0%} of the piece is lost or left", "Leave at least a tenth to eat"
        )


all_buying = Every(Buying, _check_buying)
_portions, _before_fire = Every(Portions), Every(BeforeFire)
