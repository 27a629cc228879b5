"""How fast microbes grow where food is neither hot nor cold, and how late they start."""

from math import expm1, log
from typing import Final, Literal

from pitreckon.errors import RangeError
from pitreckon.physics._ranges import above_zero, within

Cooked = Literal["beef", "chicken", "pork"]

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 250.0
HOUR_S: Final = 3600.0
LN10: Final = log(10.0)

JUNEJA_2011: Final[dict[str, tuple[float, float, float, float, float]]] = {
    # slope [1/(K sqrt h)], least [degC], closing [1/K], most [degC], readiness [-]
    "beef": (0.050, 10.15, 0.238, 53.0, 0.0699),
    "chicken": (0.048, 9.74, 0.208, 52.1, 0.0105),
    "pork": (0.047, 10.69, 0.252, 52.8, 0.0137),
}
"""C. perfringens in cooked uncured meat; rates in powers of ten an hour, which is inferred: see the function."""


def growth_rate_ratkowsky(temp_c: float, slope: float, least_c: float, closing_per_k: float, most_c: float) -> float:
    """Growth rate over the whole range of temperatures, by the square-root law [1/s if slope is 1/(K sqrt(s))].

    Equation, between least_c and most_c; else 0::

        rate = (slope * (temp_c - least_c))**2 * (1 - exp(closing_per_k * (temp_c - most_c)))

    Parameters
    ----------
    temp_c: -40 to 250 [degC]
    slope: above 0 to 10 [1/(K sqrt(s))]
    least_c: below it nothing grows, -10 to 30 [degC]
    closing_per_k: how sharply growth ends towards ``most_c``, above 0 to 5 [1/K]
    most_c: above it nothing grows, 30 to 90 [degC]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ratkowsky_1983]_ in the form of [juneja_2011]_; the value is that of beef at 45 degC, in powers of ten
    an hour, computed here.

    >>> round(growth_rate_ratkowsky(45.0, 0.050, 10.15, 0.238, 53.0), 3)
    2.584
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    above_zero("slope", slope, 10.0, "1/(K sqrt(s))")
    within("least_c", least_c, -10.0, 30.0, "degC")
    above_zero("closing_per_k", closing_per_k, 5.0, "1/K")
    within("most_c", most_c, 30.0, 90.0, "degC")
    if not least_c < temp_c < most_c:
        return 0.0
    return (slope * (temp_c - least_c)) ** 2 * -expm1(closing_per_k * (temp_c - most_c))


def growth_rate_rosso(temp_c: float, best_per_s: float, least_c: float, best_c: float, most_c: float) -> float:
    """Growth rate from the three cardinal temperatures of a microbe [1/s].

    Equation, between least_c and most_c; else 0::

        low, high = best_c - least_c, best_c - most_c
        below = low * (temp_c - best_c) - high * (best_c + least_c - 2 * temp_c)
        rate = best_per_s * (temp_c - most_c) * (temp_c - least_c)**2 / (low * below)

    Parameters
    ----------
    temp_c: -40 to 250 [degC]
    best_per_s: growth rate at ``best_c``, above 0 to 1 [1/s]
    least_c, most_c: outside them nothing grows, -10 to 30 and 30 to 90 [degC]
    best_c: where it grows fastest, above the middle of the two others [degC]

    Raises
    ------
    RangeError: an argument outside its range, or cardinal temperatures out of order

    Source: [rosso_1995]_; at its best temperature the rate is the best rate by construction.

    >>> round(3600.0 * growth_rate_rosso(40.6, 1.97 / 3600.0, 7.7, 40.6, 46.7), 2)
    1.97
    """
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    above_zero("best_per_s", best_per_s, 1.0, "1/s")
    within("least_c", least_c, -10.0, 30.0, "degC")
    within("most_c", most_c, 30.0, 90.0, "degC")
    within("best_c", best_c, 0.5 * (least_c + most_c), most_c, "degC")
    if not least_c < temp_c < most_c:
        return 0.0
    span = best_c - least_c
    below = span * (temp_c - best_c) - (best_c - most_c) * (best_c + least_c - 2.0 * temp_c)
    return best_per_s * (temp_c - most_c) * (temp_c - least_c) ** 2 / (span * below)


def growth_rate_perfringens_juneja(temp_c: float, meat: Cooked) -> float:
    """Growth rate of Clostridium perfringens in cooked uncured meat [1/s].

    Natural logarithms. The coefficients were read from a database's export that gives no unit. Powers of ten an hour
    are our inference: they make the rate at 45 degC 5.95 an hour for beef, beside 5.64 and 6.06 of two other studies,
    and growth in a published cooling 1.3, beside 1.1 predicted and 0.4 to 0.9 seen.

    Equation, with slope, least_c, closing_per_k, most_c of the meat::

        rate = log(10) / 3600 * growth_rate_ratkowsky(temp_c, slope, least_c, closing_per_k, most_c)

    Numbers::

        meat     slope  least_c  closing_per_k  most_c
        beef     0.05   10.15    0.238          53.0
        chicken  0.048  9.74     0.208          52.1
        pork     0.047  10.69    0.252          52.8

    Parameters
    ----------
    temp_c: -40 to 250, the model being made for 10 to 51 [degC]
    meat: beef, chicken or pork

    Raises
    ------
    RangeError: temperature outside the range, another meat

    Source: [juneja_2011]_, coefficients second-hand.

    >>> [round(3600.0 * growth_rate_perfringens_juneja(45.0, meat), 2) for meat in ("beef", "chicken", "pork")]
    [5.95, 5.09, 5.15]
    """
    slope, least_c, closing_per_k, most_c, _ = _juneja(meat)
    return LN10 / HOUR_S * growth_rate_ratkowsky(temp_c, slope, least_c, closing_per_k, most_c)


def readiness_perfringens_juneja(meat: Cooked) -> float:
    """How ready Clostridium perfringens is to grow when cooked meat begins to cool [-].

    Equation, with q of the meat, fitted::

        readiness = q

    Numbers::

        meat     q
        beef     0.0699
        chicken  0.0105
        pork     0.0137

    Parameters
    ----------
    meat: beef, chicken or pork

    Raises
    ------
    RangeError: another meat

    Source: [juneja_2011]_, second-hand; ln(1 + 1/q) is the work to be done before growth, here of beef.

    >>> from math import log1p
    >>> round(log1p(1.0 / readiness_perfringens_juneja("beef")), 3)
    2.728
    """
    return _juneja(meat)[4]


def _juneja(meat: str) -> tuple[float, float, float, float, float]:
    if meat not in JUNEJA_2011:
        raise RangeError(f"meat = {meat!r}: the model knows {', '.join(JUNEJA_2011)}")
    return JUNEJA_2011[meat]


def growth_rate_staphylococcus_medvedova(temp_c: float) -> float:
    """Growth rate of Staphylococcus aureus at a water activity of 0.994 [1/s].

    Natural logarithms; of one strain in broth and milk: meat was not tried.

    Equation::

        rate = growth_rate_rosso(temp_c, 1.97 / 3600, 7.7, 40.6, 46.7)

    Parameters
    ----------
    temp_c: -40 to 250, the model being made for 8 to 50 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [medvedova_2019]_ by the law of [rosso_1995]_; the value an hour at 25 degC is computed here.

    >>> round(3600.0 * growth_rate_staphylococcus_medvedova(25.0), 3)
    0.743
    """
    return growth_rate_rosso(temp_c, 1.97 / HOUR_S, 7.7, 40.6, 46.7)
