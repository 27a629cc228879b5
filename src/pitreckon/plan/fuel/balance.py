"""The heat balance of a pit over a plan of set temperatures, for every member of an ensemble.

What the balance asks for and what cooks really burn differ by a factor of two and more, because fire burns badly when
it is starved of air, and lids leak. So the balance is anchored: each member takes the share of the fuel's heat that the
balance accounts for from what such a pit usually burns (``PitFire.usual_kg_h``), and the balance says how that goes
with weather, temperature and meat.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Pit, PitFire
from pitreckon.errors import InputError, Place
from pitreckon.physics.air import humidity_ratio_from_relative_humidity
from pitreckon.physics.constants import DRY_AIR_HEAT_CAPACITY, SEA_LEVEL_PA
from pitreckon.physics.fuel import outer_film, wind_conductance
from pitreckon.physics.vapour import latent_heat_linear
from pitreckon.plan.fuel.meat import MeatLoad
from pitreckon.reckon.draws import hypercube, lognormal, stream
from pitreckon.reckon.waterpan import ABOVE, has_pan, pan_evaporation

REFERENCE_C: Final = 107.2
"""225 F, at which what a pit usually burns is said [degC]."""
REFERENCE_AIR_C: Final = 20.0
REFERENCE_WIND_M_S: Final = 1.0
"""The mild day and the light wind of ``PitFire.usual_kg_h``: its definition."""
WALL_C: Final = 60.0
"""Outside of a hot pit's wall, for its films [degC]: computed, 20 + half of 87 K less what the inside film takes."""
MOST_OUTER_SHARE: Final = 0.8
"""Most of a wall's resistance that is taken to lie in its outer film [-]: a wall has an inside, too."""
PAN_C: Final = 110.0
"""Air at which ``pan_evaporation_kg_s`` is said, and above ``PAN_START_C`` it goes with the air [degC]."""
PAN_START_C: Final = 40.0
PAN_RH: Final = 0.5
"""Humidity of the weather at which a pan that is set in is reckoned [-]."""
AIR_SD_K: Final = 2.0
"""Spread of the outside air about a forecast [K]: common practice, no source."""
FREE_SHARE, FREE_SHARE_SD = 0.95, 0.04
"""Share of electric heat that arrives in the chamber: from memory."""
LIGHTING_SHARE: Final = 0.6
"""Least share of the fuel's heat that warms the pit while it heats up with open vents [-]: from memory."""
LEAST_SHARE, MOST_SHARE = 0.02, 0.98
"""Bounds of the accounted share where fuel burns: no fire gives more than its heating value."""


@dataclass(frozen=True, slots=True)
class Weather:
    """Outside: air_c [degC], -40 to 50; wind_m_s at the pit [m/s], 0 to 30; air_sd_k: how sure the air is [K]."""

    air_c: float = REFERENCE_AIR_C
    wind_m_s: float = REFERENCE_WIND_M_S
    air_sd_k: float = AIR_SD_K

    def __post_init__(self) -> None:
        if not -40.0 <= self.air_c <= 50.0:
            raise InputError(f"the outside air is {self.air_c:g} C", "Give -40 to 50 C", Place(field="air"))
        if not 0.0 <= self.wind_m_s <= 30.0:
            raise InputError(f"the wind is {self.wind_m_s:g} m/s", "Give 0 to 30 m/s", Place(field="wind"))
        if not 0.0 <= self.air_sd_k <= 15.0:
            raise InputError(f"the spread of the air is {self.air_sd_k:g} K", "Give 0 to 15 K", Place(field="air"))


@dataclass(frozen=True, slots=True)
class Stretch:
    """A segment in seconds since the fire was lit: begin_s to end_s [s] at set_c [degC] with loads of meat.

    water_pan: whether water stands in a pan in it; None: as such a pit is usually run.
    """

    begin_s: float
    end_s: float
    set_c: float
    loads: tuple[MeatLoad, ...] = ()
    water_pan: bool | None = None


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat by where it goes [J], shapes (stretches, members). ``body`` is below 0 where the pit cools."""

    walls: Floats
    exhaust: Floats
    body: Floats
    meat: Floats
    pan: Floats


@dataclass(frozen=True, slots=True)
class PitMembers:
    """A pit as each member has it: heat_loss_w_k, air_flow_kg_s, body_j_k, the share of the fuel's heat that its
    balance accounts for [-], what it burns over that [-], and the air outside [degC]; shapes (members,).
    """

    heat_loss_w_k: Floats
    air_flow_kg_s: Floats
    body_j_k: Floats
    share: Floats
    factor: Floats
    air_c: Floats


def fire_of(pit: Pit) -> PitFire:
    """The pit's fire. Raises InputError where its file does not have one."""
    if pit.fire is None:
        raise InputError(
            f"the catalog does not say what the fire of '{pit.key}' takes",
            "Add a [fire] to its file, as the pits that come with Pitreckon have",
            Place(field="kind"),
        )
    return pit.fire


def wind_factor(pit: Pit, wind_m_s: float) -> float:
    """Heat through the walls in a wind [m/s] over that in calm air [-], by the outer film alone.

    >>> kettle = catalog.pit("kettle")
    >>> round(wind_factor(kettle, 0.0), 2), round(wind_factor(kettle, 5.0), 2)
    (1.0, 1.28)
    """
    fire = fire_of(pit)
    calm = outer_film(fire.across_m.value, 0.0, WALL_C, REFERENCE_AIR_C)
    windy = outer_film(fire.across_m.value, wind_m_s, WALL_C, REFERENCE_AIR_C)
    through = min(pit.exchange.heat_loss_w_per_k.value / fire.wall_m2.value, MOST_OUTER_SHARE * calm)
    return wind_conductance(through, calm, windy) / through


def draw_members(
    pit: Pit, label: str, weather: Weather, n: int, seed: int, learned: tuple[float, float] | None = None
) -> PitMembers:
    """``n`` members of a pit, its walls and draught anchored at what such a pit usually burns.

    learned: mean and sd of the logarithm of this very pit's use over the usual [-]: stands in the place of what
    pits of its kind differ by.
    """
    z = hypercube(stream(seed, f"fuel of {label}"), ("loss", "flow", "body", "usual", "air"), n)
    air_c = weather.air_c + weather.air_sd_k * z["air"]
    if learned is not None:
        factor = np.exp(learned[0] + learned[1] * z["usual"])
        return _anchored(pit, {name: np.zeros(n) for name in z}, factor, air_c)
    return _anchored(pit, z, np.ones(n), air_c)


def middle_member(pit: Pit, weather: Weather) -> PitMembers:
    """The pit as the catalog has it, one member with no spread."""
    z = {name: np.zeros(1) for name in ("loss", "flow", "body", "usual")}
    return _anchored(pit, z, np.ones(1), np.full(1, weather.air_c))


def _anchored(pit: Pit, z: Mapping[str, Floats], factor: Floats, air_c: Floats) -> PitMembers:
    fire, fuel = fire_of(pit), catalog.fuel(pit.fuel)
    loss = lognormal(pit.exchange.heat_loss_w_per_k, z["loss"])
    flow = lognormal(pit.exchange.air_flow_kg_s, z["flow"])
    body = lognormal(fire.body_j_per_k, z["body"])
    if fuel.burns:
        usual_w = lognormal(fire.usual_kg_h, z["usual"]) / 3600.0 * fuel.lower_heating_j_kg.value
        walls_w_k = loss * wind_factor(pit, REFERENCE_WIND_M_S)
        rise_k = REFERENCE_C - REFERENCE_AIR_C
        needs_w = (walls_w_k + flow * DRY_AIR_HEAT_CAPACITY) * rise_k + _pan_kg_s(pit, REFERENCE_C) * _latent()
        share = np.clip(needs_w / usual_w, LEAST_SHARE, MOST_SHARE)
    else:
        share = np.clip(FREE_SHARE + FREE_SHARE_SD * z["usual"], 0.5, 1.0)
    return PitMembers(loss, flow, body, share, factor, air_c)


def heat_of(
    pit: Pit, members: PitMembers, stretches: Sequence[Stretch], weather: Weather, start_c: float | None = None
) -> Heat:
    """Where the heat goes in each stretch.

    start_c: the pit before the first [degC]; None: as cold as the air outside. Between two stretches with a gap the
    fire is out and the pit cools. Nothing is lost to air hotter than the pit.
    """
    walls_w_k = members.heat_loss_w_k * wind_factor(pit, weather.wind_m_s)
    exhaust_w_k = members.air_flow_kg_s * DRY_AIR_HEAT_CAPACITY
    one = np.ones(members.air_c.size)
    before = members.air_c if start_c is None else start_c * one
    at_s = stretches[0].begin_s
    rows: list[tuple[Floats, ...]] = []
    for stretch in stretches:
        cooling = np.exp(-(stretch.begin_s - at_s) * (walls_w_k + exhaust_w_k) / members.body_j_k)
        before = members.air_c + (before - members.air_c) * cooling
        lasts_s = stretch.end_s - stretch.begin_s
        over_k = np.maximum(stretch.set_c - members.air_c, 0.0)
        # heat that the pit gives back as it cools spares fuel
        body = members.body_j_k * (stretch.set_c - before)
        meat = sum(load.heat_j for load in stretch.loads) * one
        pan = _pan_kg_s(pit, stretch.set_c, stretch.water_pan) * _latent() * lasts_s * one
        rows.append((walls_w_k * over_k * lasts_s, exhaust_w_k * over_k * lasts_s, body, meat, pan))
        before, at_s = stretch.set_c * one, stretch.end_s
    return Heat(*(np.array(column) for column in zip(*rows, strict=True)))


def burnt_j(heat: Heat, members: PitMembers, *, keeping: bool = False) -> Floats:
    """Heat that fuel or wire has to give [J], what goes unaccounted included; shape (stretches, members).

    A pit that cools spares fuel, to nothing at most. keeping: without what the pit itself takes up.
    """
    steady = (heat.walls + heat.exhaust + heat.meat + heat.pan) / members.share
    # a fire that heats a pit up has its air; one that is throttled burns badly
    brisk = np.maximum(members.share, LIGHTING_SHARE)
    body = 0.0 if keeping else np.where(heat.body > 0.0, heat.body / brisk, heat.body / members.share)
    return np.asarray(np.maximum(steady + body, 0.0) * members.factor)


def steady_kg_h(pit: Pit, set_c: float, weather: Weather) -> float:
    """What the pit of the catalog burns an hour once it is hot [kg/h], no meat on it; 0 where nothing burns.

    >>> round(steady_kg_h(catalog.pit("pellet-cooker"), REFERENCE_C, Weather()), 2)
    0.6
    """
    fuel = catalog.fuel(pit.fuel)
    if not fuel.burns:
        return 0.0
    member = middle_member(pit, weather)
    heat = heat_of(pit, member, [Stretch(0.0, 3600.0, set_c)], weather, set_c)
    return float(burnt_j(heat, member).sum()) / fuel.lower_heating_j_kg.value


def _pan_kg_s(pit: Pit, set_c: float, water_pan: bool | None = None) -> float:
    """Vapour from a pan over the fire that belongs to the pit, or from one that was set in, in the middle pit."""
    if not has_pan(pit, water_pan):
        return 0.0
    own = pit.exchange.pan_evaporation_kg_s.value
    if own > 0.0:
        return own * max(set_c - PAN_START_C, 0.0) / (PAN_C - PAN_START_C)
    if set_c <= PAN_START_C:
        return 0.0
    surface = pit.surface
    speed, walls = np.full(1, surface.air_speed_m_s.value), np.full(1, surface.wall_offset_k.value)
    flow = np.full(1, pit.exchange.air_flow_kg_s.value * (set_c - REFERENCE_AIR_C) / ABOVE)
    ratio = np.full(1, humidity_ratio_from_relative_humidity(REFERENCE_AIR_C, PAN_RH, SEA_LEVEL_PA))
    return float(pan_evaporation(pit, speed, set_c, walls, ratio, flow, SEA_LEVEL_PA)[0])


def _latent() -> float:
    return latent_heat_linear(90.0)
