"""Heat properties of food from what it is made of."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from math import fsum
from typing import Final, Literal, get_args

from pitreckon.errors import RangeError
from pitreckon.physics._ranges import within

Component = Literal["water", "protein", "fat", "carbohydrate", "fibre", "ash", "ice"]

COLDEST_C: Final = -40.0
HOTTEST_C: Final = 150.0
SUM_TOLERANCE: Final = 0.02

Polynomial = tuple[float, float, float]

_CONDUCTIVITY: Final[dict[Component, Polynomial]] = {
    "water": (0.57109, 1.7625e-3, -6.7036e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),
    "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
    "fibre": (0.18331, 1.2497e-3, -3.1683e-6),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
    "ice": (2.2196, -6.2489e-3, 1.0154e-4),
}
_HEAT_CAPACITY: Final[dict[Component, Polynomial]] = {
    "water": (4176.2, -9.0864e-2, 5.4731e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
    "ice": (2062.3, 6.0769, 0.0),
}
_SUPERCOOLED_WATER: Final[Polynomial] = (4081.7, -5.3062, 0.99516)
_DENSITY: Final[dict[Component, Polynomial]] = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.51840, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fibre": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
    "ice": (916.89, -0.13071, 0.0),
}


@dataclass(frozen=True)
class Composition:
    """Mass fractions of a food; they add up to 1 within 2 %, the closure of the food tables [kg/kg].

    Raises RangeError when a fraction is outside 0 to 1 or the sum is too far from 1.

    Source: [usda_sr]_ for the closure of the tables.

    >>> Composition(water=0.6175, protein=0.1842, fat=0.1906, ash=0.0088).fat_free_dry
    0.1930
    """

    water: float
    protein: float
    fat: float
    carbohydrate: float = 0.0
    fibre: float = 0.0
    ash: float = 0.0

    def __post_init__(self) -> None:
        for field in fields(self):
            within(field.name, getattr(self, field.name), 0.0, 1.0, "kg/kg")
        within("sum of mass fractions", self.total, 1.0 - SUM_TOLERANCE, 1.0 + SUM_TOLERANCE, "kg/kg")

    @property
    def total(self) -> float:
        """Sum of the mass fractions as given [kg/kg]."""
        return fsum(getattr(self, field.name) for field in fields(self))

    @property
    def fat_free_dry(self) -> float:
        """Dry matter without fat: protein, carbohydrate, fibre and ash [kg/kg]."""
        return self.protein + self.carbohydrate + self.fibre + self.ash

    @property
    def water_per_dry(self) -> float:
        """Water per fat-free dry matter [kg/kg]."""
        if self.fat_free_dry <= 0.0:
            raise RangeError("fat_free_dry = 0 kg/kg: water per dry matter has no meaning")
        return self.water / self.fat_free_dry

    def parts(self) -> dict[Component, float]:
        """The fractions that are not zero, scaled to add up to exactly 1 [kg/kg]."""
        total = self.total
        return {
            component: getattr(self, component) / total
            for component in get_args(Component)
            if component != "ice" and getattr(self, component) > 0.0
        }


def _polynomial(table: Mapping[Component, Polynomial], component: Component, temp_c: float) -> float:
    within("temp_c", temp_c, COLDEST_C, HOTTEST_C, "degC")
    if component not in table:
        raise RangeError(f"component = {component!r} is not one of {', '.join(table)}")
    a, b, c = table[component]
    return a + temp_c * (b + temp_c * c)


def conductivity_choi_okos(component: Component, temp_c: float) -> float:
    """Thermal conductivity of one component of food [W/(m K)].

    Equation, with a, b, c of the component::

        conductivity = a + b * temp_c + c * temp_c**2

    Numbers::

        component     a        b           c
        water         0.57109  1.7625e-3   -6.7036e-6
        protein       0.17881  1.1958e-3   -2.7178e-6
        fat           0.18071  -2.7604e-4  -1.7749e-7
        carbohydrate  0.20141  1.3874e-3   -4.3312e-6
        fibre         0.18331  1.2497e-3   -3.1683e-6
        ash           0.32962  1.4011e-3   -2.9069e-6
        ice           2.2196   -6.2489e-3  1.0154e-4

    Parameters
    ----------
    component: water, protein, fat, carbohydrate, fibre, ash or ice
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range, unknown component

    Notes: one public package prints 0.457109 for the first constant of water; 0.57109 is right.

    Source: [choi_okos_1986]_ as tabulated in [ashrae_refrigeration_2006]_; the value is computed here.

    >>> round(conductivity_choi_okos("water", 20.0), 4)
    0.6037
    """
    return _polynomial(_CONDUCTIVITY, component, temp_c)


def heat_capacity_choi_okos(component: Component, temp_c: float) -> float:
    """Specific heat of one component of food [J/(kg K)].

    Equation, with a, b, c of the component::

        heat_capacity = a + b * temp_c + c * temp_c**2

    Numbers::

        component     a       b           c
        water         4176.2  -9.0864e-2  5.4731e-3
        protein       2008.2  1.2089      -1.3129e-3
        fat           1984.2  1.4733      -4.8008e-3
        carbohydrate  1548.8  1.9625      -5.9399e-3
        fibre         1845.9  1.8306      -4.6509e-3
        ash           1092.6  1.8896      -3.6817e-3
        ice           2062.3  6.0769      0.0
        water<0       4081.7  -5.3062     0.99516

    Parameters
    ----------
    component: water, protein, fat, carbohydrate, fibre, ash or ice
    temp_c: -40 to 150; water below 0 means supercooled water [degC]

    Raises
    ------
    RangeError: temperature outside the range, unknown component

    Notes: transcriptions differ in the constant of water, 4.1762 or 4.1289 kJ/(kg K). The first agrees with
    water at 20 degC (4.18) and is used; below 0 degC 4.0817 is used, of 4.0817 and 4.1289.

    Source: [choi_okos_1986]_ as tabulated in [ashrae_refrigeration_2006]_; the value is computed here.

    >>> round(heat_capacity_choi_okos("protein", 60.0))
    2076
    """
    if component == "water" and temp_c < 0.0:
        return _polynomial({"water": _SUPERCOOLED_WATER}, component, temp_c)
    return _polynomial(_HEAT_CAPACITY, component, temp_c)


def density_choi_okos(component: Component, temp_c: float) -> float:
    """Density of one component of food [kg/m3].

    Equation, with a, b, c of the component::

        density = a + b * temp_c + c * temp_c**2

    Numbers::

        component     a       b          c
        water         997.18  3.1439e-3  -3.7574e-3
        protein       1329.9  -0.51840   0.0
        fat           925.59  -0.41757   0.0
        carbohydrate  1599.1  -0.31046   0.0
        fibre         1311.5  -0.36589   0.0
        ash           2423.8  -0.28063   0.0
        ice           916.89  -0.13071   0.0

    Parameters
    ----------
    component: water, protein, fat, carbohydrate, fibre, ash or ice
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range, unknown component

    Source: [choi_okos_1986]_ as tabulated in [ashrae_refrigeration_2006]_; a public table gives 1319.53 for
    protein at 20 degC.

    >>> round(density_choi_okos("protein", 20.0), 2)
    1319.53
    """
    return _polynomial(_DENSITY, component, temp_c)


def density(composition: Composition, temp_c: float) -> float:
    """Density of a food without pores [kg/m3].

    Equation, with parts: mass fractions x of components i::

        density = 1 / sum(x / density_choi_okos(i, temp_c) for i, x in parts)

    Parameters
    ----------
    composition: mass fractions
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [ashrae_refrigeration_2006]_, 1/rho = sum of x/rho; pork back ribs at 20 degC computed here.

    >>> round(density(Composition(0.6347, 0.1907, 0.1633, ash=0.0103), 20.0), 1)
    1036.1
    """
    return 1.0 / fsum(part / density_choi_okos(name, temp_c) for name, part in composition.parts().items())


def heat_capacity(composition: Composition, temp_c: float) -> float:
    """Specific heat of an unfrozen food [J/(kg K)].

    Equation, with parts: mass fractions x of components i::

        heat_capacity = sum(x * heat_capacity_choi_okos(i, temp_c) for i, x in parts)

    Parameters
    ----------
    composition: mass fractions
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [ashrae_refrigeration_2006]_, the sum of x cp; pork back ribs at 20 degC computed here.

    >>> round(heat_capacity(Composition(0.6347, 0.1907, 0.1633, ash=0.0103), 20.0) / 1000, 3)
    3.382
    """
    parts = composition.parts()
    return fsum(part * heat_capacity_choi_okos(name, temp_c) for name, part in parts.items())


def volume_fractions(composition: Composition, temp_c: float) -> dict[Component, float]:
    """Share of each component in the volume [m3/m3].

    Equation, with parts: mass fractions x of components i::

        share = {i: x * density(composition, temp_c) / density_choi_okos(i, temp_c) for i, x in parts}

    Parameters
    ----------
    composition: mass fractions
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Source: [ashrae_refrigeration_2006]_

    >>> sum(volume_fractions(Composition(0.6347, 0.1907, 0.1633, ash=0.0103), 20.0).values())
    1.0
    """
    whole = density(composition, temp_c)
    return {name: part * whole / density_choi_okos(name, temp_c) for name, part in composition.parts().items()}


def conductivity_maxwell_eucken(continuous: float, dispersed: float, dispersed_share: float) -> float:
    """Conductivity of a continuous phase with a second phase dispersed in it [W/(m K)].

    Equation::

        base, step = 2 * continuous + dispersed, dispersed_share * (continuous - dispersed)
        conductivity = continuous * (base - 2 * step) / (base + step)

    Parameters
    ----------
    continuous, dispersed: conductivities of the two phases, above 0 to 10 [W/(m K)]
    dispersed_share: volume fraction of the dispersed phase, 0 to 1 [m3/m3]

    Raises
    ------
    RangeError: an argument outside its range

    Source: [ashrae_refrigeration_2006]_, after Maxwell and Eucken; of two equal phases nothing changes.

    >>> conductivity_maxwell_eucken(0.5, 0.5, 0.3)
    0.5
    """
    within("continuous", continuous, 1e-3, 10.0, "W/(m K)")
    within("dispersed", dispersed, 1e-3, 10.0, "W/(m K)")
    within("dispersed_share", dispersed_share, 0.0, 1.0, "m3/m3")
    base = 2.0 * continuous + dispersed
    step = dispersed_share * (continuous - dispersed)
    return continuous * (base - 2.0 * step) / (base + step)


def conductivity(composition: Composition, temp_c: float) -> float:
    """Conductivity of meat: fat dispersed in a parallel mean of everything else [W/(m K)].

    Equation::

        v = volume_fractions(composition, temp_c)
        parallel = sum(v[i] * conductivity_choi_okos(i, temp_c) for i in v if i != "fat") / (1 - v["fat"])
        conductivity = conductivity_maxwell_eucken(parallel, conductivity_choi_okos("fat", temp_c), v["fat"])

    Parameters
    ----------
    composition: mass fractions
    temp_c: -40 to 150 [degC]

    Raises
    ------
    RangeError: temperature outside the range

    Notes: turkey measured 0.464 W/(m K) over 0-80 degC by line probe [chang_1998]_.

    Source: [choi_okos_1986]_ and [ashrae_refrigeration_2006]_; pork back ribs at 20 degC computed here.

    >>> round(conductivity(Composition(0.6347, 0.1907, 0.1633, ash=0.0103), 20.0), 4)
    0.4487
    """
    shares = volume_fractions(composition, temp_c)
    fat_share = shares.pop("fat", 0.0)
    fat_conductivity = conductivity_choi_okos("fat", temp_c)
    if not shares:
        return fat_conductivity
    rest = fsum(share * conductivity_choi_okos(name, temp_c) for name, share in shares.items())
    return conductivity_maxwell_eucken(rest / fsum(shares.values()), fat_conductivity, min(1.0, fat_share))
