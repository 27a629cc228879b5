"""What readings in ice water and in boiling water tell of a thermometer: how far it is off where meat is judged."""

from collections.abc import Iterable
from typing import Final

import numpy as np

from pitreckon.ledger import Ledger
from pitreckon.physics.vapour import boiling_point, pressure_isa
from pitreckon.reckon.hands import THERMOMETER, Bias, Hands, HandTold

ICE_C: Final = 0.0
BETWEEN_C: Final = 50.0
"""What reads less was in ice water, what reads more in boiling water [degC]."""
MEAT_C: Final = 75.0
"""Where temperatures of meat are taken, about [degC]."""
ONE_BATH_SD_K, TWO_BATHS_SD_K = 0.6, 0.4
"""Standard error of what one bath, and both, say of it there: the tip's depth, the weather's pressure, the last digit
(common practice, no source) [K]."""
ELSEWHERE: Final = 0.2
"""One that is far off in one bath may be off by so much of that more or less at another temperature: a judgement."""


def off_by(reads_c: Iterable[float], altitude_m: float) -> Bias | None:
    """How far a thermometer reads over the truth at meat's temperatures [K]; None: it was not in a bath.

    reads_c: in ice or boiling water, any number of each [degC]; altitude_m: above the sea, for the boiling point [m]
    """
    reads = list(reads_c)
    if not reads:
        return None
    baths = (
        (ICE_C, [each for each in reads if each < BETWEEN_C]),
        (boiling_point(pressure_isa(altitude_m)), [each for each in reads if each >= BETWEEN_C]),
    )
    found = [(true_c, float(np.mean(mine)) - true_c, 0.5 * (max(mine) - min(mine))) for true_c, mine in baths if mine]
    apart = max(spread for _, _, spread in found)
    if len(found) == 1:
        (_, off_k, _) = found[0]
        return Bias(off_k, float(np.sqrt(ONE_BATH_SD_K**2 + (ELSEWHERE * off_k) ** 2 + apart**2)))
    (ice_c, at_ice_k, _), (boil_c, at_boil_k, _) = found
    off_k = at_ice_k + (MEAT_C - ice_c) / (boil_c - ice_c) * (at_boil_k - at_ice_k)
    return Bias(float(off_k), float(np.hypot(TWO_BATHS_SD_K, apart)))


def in_hand(ledger: Ledger, altitude_m: float) -> Hands:
    """Of the thermometers that spot temperatures are taken with, by whose they are."""
    reads: dict[str, list[float]] = {}
    for look in ledger.looks():
        if look.kind == "spot check":
            reads.setdefault(look.by, []).append(look.value)
    found = {by: off_by(mine, altitude_m) for by, mine in reads.items()}
    return {(by, THERMOMETER): bias for by, bias in found.items() if bias is not None}


def told_by_baths(ledger: Ledger, altitude_m: float) -> tuple[HandTold, ...]:
    """The same as what a cook tells of those who looked in it."""
    checks = [look.by for look in ledger.looks() if look.kind == "spot check"]
    return tuple(
        HandTold(by, kind, bias.mean, bias.sd, checks.count(by))
        for (by, kind), bias in sorted(in_hand(ledger, altitude_m).items())
    )


def of_probe(ledger: Ledger, label: str, pieces: set[int | None], altitude_m: float) -> Bias | None:
    """Of the probe that is left in some pieces of an item, as it was read in a bath in the same cook."""
    checks = [look for look in ledger.looks(label) if look.kind == "probe check" and look.piece in pieces]
    return off_by([look.value for look in checks], altitude_m)
