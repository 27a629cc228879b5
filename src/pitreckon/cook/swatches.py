"""How each step of the colour scale is drawn: what a cook holds a piece against, and a photo is read by."""

from typing import Final

SWATCHES: Final = {
    "raw": "#d98f88",
    "tan": "#d9b184",
    "amber": "#c4803b",
    "red-brown": "#96472a",
    "mahogany": "#5d2417",
    "too dark": "#1c1311",
}
"""By the word of the scale, in sRGB."""
