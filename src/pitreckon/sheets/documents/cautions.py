"""The usual cautions of food and fire, for every sheet that somebody cooks by. None of them is a promise."""

from typing import Final

from pitreckon.sheets.model import Caution
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import said

FOOT: Final = (
    "A forecast, no promise of safety. Check the thickest part with a thermometer; follow your local food code and "
    "health department."
)
SERVE_HOT: Final = (
    "Serve it hot or keep it at {hot} or above. Between {cold} and {hot} no longer than 2 hours in all, 1 hour when it "
    "is over {warm} outside; then into the cold in shallow trays."
)
HOT_C: Final = 60.0
"""140 F. Source: USDA release on hot holding for consumers, May 2016; cold and hours: its releases of 2015 and 2016."""
COLD_C: Final = (40.0 - 32.0) / 1.8
WARM_DAY_C: Final = (90.0 - 32.0) / 1.8


def food_caution(reader: Reader) -> Caution:
    """Thermometer, hands, hot and cold: the federal advice to consumers."""
    hot, cold, warm = (reader.temperature(at_c) for at_c in (HOT_C, COLD_C, WARM_DAY_C))
    return Caution(
        said("Food"),
        (
            said(
                "Times are a forecast; a thermometer in the thickest part of every piece, clear of any bone, decides."
            ),
            said("Keep raw meat, its board, its knife and its tray away from what is done. Wash hands in between."),
            said(SERVE_HOT, hot=hot, cold=cold, warm=warm),
            said("Your local food code and health department have the last word."),
        ),
    )


def fire_caution() -> Caution:
    """Carbon monoxide, hot grease, steam, ashes. Common practice, no source; fire rules are local."""
    return Caution(
        said("Fire"),
        (
            said(
                "Burning fuel gives off carbon monoxide, which nobody can smell: outdoors only. Never in a house, a "
                "tent, a shed or a garage, shut or open, not even while the fire dies."
            ),
            said(
                "Clear of walls, eaves and dry leaves; children and dogs away; never left alone while it flames. An "
                "extinguisher or a hose within reach. No water on burning grease: lid and vents shut."
            ),
            said("Foil, lids and pans let out steam and hot grease: open them away from your face, with dry gloves."),
            said("Ashes stay hot for days: into a metal bin with a lid, out of doors. Follow your local fire rules."),
        ),
    )
