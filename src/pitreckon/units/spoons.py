"""Kitchen volumes: spoons, cups and the like to m3, and back to the nearest that a cook can measure.

US customary: a teaspoon is 4.928 921 59 ml, a sixth of a fluid ounce; NIST Special Publication 811, appendix B
(named from memory; the composition tables use the same, rounded).
"""

from fractions import Fraction

from pitreckon.units._text import round_half_up
from pitreckon.units.amounts import _sum_of_parts, _Table

TEASPOON_M3 = 4.92892159375e-6
TABLESPOON_M3 = 3.0 * TEASPOON_M3
FLUID_OUNCE_M3 = 6.0 * TEASPOON_M3
CUP_M3 = 48.0 * TEASPOON_M3

_VOLUME: _Table = {
    **dict.fromkeys(("gal", "gallon", "gallons"), (16.0 * CUP_M3, "cup")),
    **dict.fromkeys(("qt", "quart", "quarts"), (4.0 * CUP_M3, "cup")),
    **dict.fromkeys(("pt", "pint", "pints"), (2.0 * CUP_M3, "cup")),
    **dict.fromkeys(("cup", "cups"), (CUP_M3, "cup")),
    **dict.fromkeys(("floz",), (FLUID_OUNCE_M3, "cup")),
    **dict.fromkeys(("tbsp", "tablespoon", "tablespoons"), (TABLESPOON_M3, "cup")),
    **dict.fromkeys(("tsp", "teaspoon", "teaspoons"), (TEASPOON_M3, "cup")),
    **dict.fromkeys(("l", "litre", "litres", "liter", "liters"), (1e-3, "l")),
    "dl": (1e-4, "l"),
    "ml": (1e-6, "l"),
}
VOLUME_WORDS = frozenset(_VOLUME)

_CUPS = tuple(Fraction(n, d) for n, d in ((0, 1), (1, 4), (1, 3), (1, 2), (2, 3), (3, 4)))
# up to how many teaspoons, to which fraction of one a cook measures (a quarter cup is 12)
_STEPS = ((Fraction(3), Fraction(1, 8)), (Fraction(12), Fraction(1, 2)))
_SMALLEST = Fraction(1, 8)


def parse_volume(text: str) -> float:
    """Volume [m3] from ``1 tbsp``, ``1 1/2 cups``, ``1 tbsp 2 tsp``, ``4 fl oz``, ``250 ml``.

    >>> round(parse_volume("1 cup") * 1e6, 2), round(parse_volume("1 tbsp 1 1/2 tsp") * 1e6, 2)
    (236.59, 22.18)

    Raises InputError: no unit, negative, mixed units, or not a volume.
    """
    joined = text.replace("fl. oz", "floz").replace("fl oz", "floz")
    return _sum_of_parts(joined, _VOLUME, "volume", "1 1/2 tbsp, 1/4 cup or 250 ml")


def nearest_spoons(volume_m3: float) -> Fraction:
    """Teaspoons that a cook can measure nearest to a volume [m3]; 0 when it is under half of the smallest spoon.

    To an eighth of a teaspoon below a tablespoon, to a half below a quarter cup; from there on quarters and thirds
    of a cup, with tablespoons.

    >>> nearest_spoons(2.4 * TEASPOON_M3), nearest_spoons(5.4 * TABLESPOON_M3)
    (Fraction(19, 8), Fraction(16, 1))
    """
    teaspoons = volume_m3 / TEASPOON_M3
    for up_to, step in _STEPS:
        if teaspoons < up_to:
            return int(round_half_up(teaspoons / float(step))) * step
    return sum(_in_cups(teaspoons), Fraction(0))


def _in_cups(teaspoons: float) -> tuple[Fraction, Fraction]:
    """Cups with their fraction, and whole tablespoons, both in teaspoons; the nearest, with the fewest of them."""
    whole = int(teaspoons // 48)
    cups = [(whole + part) * 48 for part in (*_CUPS, Fraction(1))]
    most = 3 if teaspoons < 4 * 48 else 0  # past a quart nobody adds a spoon
    fits = [
        (c, Fraction(3 * spoons))
        for c in cups
        for spoons in {min(most, max(0, int(round_half_up((teaspoons - float(c)) / 3.0))))}
    ]
    near = 0.02 * teaspoons  # nobody measures closer than that: as near, the one with fewer spoons
    return min(fits, key=lambda fit: (int(abs(float(sum(fit)) - teaspoons) / near), fit[1]))


def format_spoons(volume_m3: float) -> str:
    """A volume [m3] as a cook measures it: ``2 1/2 tsp``, ``1 tbsp 1 tsp``, ``1/3 cup``, ``1 1/3 cups 1 tbsp``.

    >>> [format_spoons(n * TEASPOON_M3) for n in (0.05, 0.26, 2.5, 4.0, 16.1, 66.0)]
    ['a pinch', '1/4 tsp', '2 1/2 tsp', '1 tbsp 1 tsp', '1/3 cup', '1 1/3 cups 1 tbsp']
    """
    if volume_m3 <= 0.0:
        return "none"
    teaspoons = nearest_spoons(volume_m3)
    if teaspoons < _SMALLEST:
        return "a pinch"
    if teaspoons < 3:
        return f"{_mixed(teaspoons)} tsp"
    if teaspoons < 12:
        spoons, rest = divmod(teaspoons, 3)
        if rest == Fraction(3, 2):
            return f"{_mixed(spoons + Fraction(1, 2))} tbsp"
        return f"{spoons} tbsp" + (f" {_mixed(rest)} tsp" if rest else "")
    cups, rest = _in_cups(volume_m3 / TEASPOON_M3)
    parts = []
    if cups:
        parts.append(f"{_mixed(cups / 48)} {'cups' if cups > 48 else 'cup'}")
    if rest:
        parts.append(f"{rest / 3} tbsp")
    return " ".join(parts)


def _mixed(value: Fraction | int) -> str:
    whole, rest = divmod(Fraction(value), 1)
    parts = ([str(whole)] if whole or not rest else []) + ([str(rest)] if rest else [])
    return " ".join(parts)
