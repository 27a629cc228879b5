"""What differs from member to member of an ensemble, as named rows of one array."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from pitreckon.arrays import Floats

PARAMETERS: dict[str, str] = {
    "scale": "[-] linear size of the piece over the size of its section",
    "start_c": "[degC] temperature of the meat at put-on",
    "water": "[kg/kg] raw water per fat-free dry matter",
    "dry_density": "[kg/m3] fat-free dry matter per volume of meat",
    "dry_cp": "[J/kg K] heat capacity of dry matter and fat per kg of fat-free dry matter",
    "k_base": "[W/m K] conductivity of dry meat at 0 degC",
    "k_temp": "[W/m K2] its rise with temperature",
    "k_water": "[W/m K] its rise per kg/kg of water",
    "bone_k": "[W/m K] conductivity of bone",
    "bone_capacity": "[J/m3 K] heat capacity of bone",
    "transport": "[m2/s] transport of water above the holding capacity, at 70 degC",
    "diffusion": "[m2/s] diffusion of water below the holding capacity, at 40 degC",
    "hold_shift": "[K] shift of the holding capacity's sigmoid",
    "hold_drop": "[-] share of the raw holding capacity lost when hot",
    "drip": "[m/s] run-off of water above the holding capacity from the surface",
    "drink": "[m/s] the way back below it, from liquid that stands at the surface",
    "skin_b": "[kg/kg] water content at which the surface's activity is one half",
    "skin_r": "[m2 s/kg] resistance of the dried skin to vapour, when it is whole",
    "skin_e": "[kg/m2] vapour given off by which it is half of that",
    "skin_n": "[-] how steeply it grows with what was given off",
    "gelatin_rate": "[1/s] collagen to gelatin at 90 degC",
    "gelatin_ea_over_r": "[K] its activation temperature",
    "colour_rate": "[1/s] colour of a dry surface at 90 degC; 1 is a set colour",
    "colour_ea_over_r": "[K] its activation temperature",
    "colour_floor": "[-] speed at which a wet surface colours, a dry one's is 1",
    "tender_at": "[-] gelatin share at the core at which a probe slides in",
    "soft_at": "[-] gelatin share at the core past which the piece is past its best",
    "dark_at": "[-] colour past which the piece is past its best",
    "core_done_c": "[degC] core temperature at which the cut is usually done",
    "glaze_set_at": "[kg/kg] glaze water per solids at which the glaze is set",
    "pressure_pa": "[Pa] local air pressure",
    "boil_c": "[degC] boiling point at that pressure",
}

ROW = {name: i for i, name in enumerate(PARAMETERS)}


@dataclass(frozen=True)
class Members:
    """Parameters of an ensemble: ``values[ROW[name], member]``."""

    values: Floats

    @classmethod
    def of(cls, n: int, parameters: Mapping[str, ArrayLike]) -> Members:
        """Build from one number or one array a parameter; every parameter must be given.

        Raises KeyError: a name is unknown or missing
        """
        if set(parameters) != set(PARAMETERS):
            odd = sorted(set(parameters) ^ set(PARAMETERS))
            raise KeyError(f"parameters missing or unknown: {', '.join(odd)}")
        values = np.empty((len(PARAMETERS), n))
        for name, row in ROW.items():
            values[row] = parameters[name]
        return cls(values)

    @property
    def size(self) -> int:
        """Number of members."""
        return int(self.values.shape[1])

    def __getitem__(self, name: str) -> Floats:
        row: Floats = self.values[ROW[name]]
        return row

    def changed(self, **parameters: ArrayLike) -> Members:
        """The same members with some parameters replaced."""
        values = self.values.copy()
        for name, value in parameters.items():
            values[ROW[name]] = value
        return Members(values)

    def take(self, index: NDArray[np.int64]) -> Members:
        """Some of the members, in the order of ``index``."""
        return Members(np.ascontiguousarray(self.values[:, index]))
