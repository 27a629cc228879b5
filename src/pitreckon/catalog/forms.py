"""What the catalog holds: animals, cuts, pits, wraps and fuels."""
# ruff: noqa: RUF009  number(...) and its like are dataclasses.field with the form written into it

from dataclasses import dataclass
from typing import ClassVar

from pitreckon.catalog.figure import Figure
from pitreckon.catalog.form import (
    flag,
    kinds,
    number,
    optional_number,
    optional_table,
    optional_tables,
    optional_text,
    source,
    table,
    tables,
    text,
    texts,
)
from pitreckon.catalog.shapes import Ball, Bird, Block, Drum, Rack, Shape, Slab

CUT_KINDS = ("intact", "poultry", "non-intact", "ground")
STAGE_KINDS = ("open", "wrapped", "sauced", "rest", "hold")


@dataclass(frozen=True, slots=True)
class Animal:
    """What all the cuts of one animal share; a cut names it by its key.

    family: whose official rules hold; killed_as: whose model says how heat kills microbes in it ("none": nobody's);
    grows_as: whose model says how Clostridium perfringens grows in it; usual_set_c: what a pit is usually set to [C].
    """

    folder: ClassVar[str] = "animals"

    key: str = text()
    name: str = text()
    family: str = text("meat", "poultry", "fish")
    killed_as: str = text("meat", "chicken", "turkey", "fish", "none")
    grows_as: str = text("beef", "pork", "chicken")
    usual_set_c: Figure = number(60.0, 260.0)
    also: tuple[str, ...] = texts()
    note: str = optional_text()


@dataclass(frozen=True, slots=True)
class Composition:
    """Raw edible part, mass fractions [-], and the share of the whole piece's mass that is bone [-]."""

    water: Figure = number(0.05, 0.9)
    protein: Figure = number(0.02, 0.4)
    fat: Figure = number(0.0, 0.9)
    ash: Figure = number(0.0, 0.1)
    bone_fraction: Figure = number(0.0, 0.7)


@dataclass(frozen=True, slots=True)
class CutLies:
    """length_m, width_m: what a whole piece of the shape's mass takes of a grate, where its shape is that of its
    thickest part alone and so is shorter and narrower [m].
    """

    length_m: Figure = number(0.02, 1.5)
    width_m: Figure = number(0.02, 1.5)


@dataclass(frozen=True, slots=True)
class CutSurface:
    """open_fraction: share of the surface that is lean and dries freely; fat, skin, membrane hinder [-]."""

    open_fraction: Figure = number(0.0, 1.0, sd=True)


@dataclass(frozen=True, slots=True)
class Texture:
    """How the cut gets tender and when it is done.

    collagen_rate: rate of collagen to gelatin, pork spareribs = 1 [-]
    tender_conversion: converted share of the collagen at which a probe slides in [-]
    past_conversion: converted share at which it falls apart [-]
    done_by: "tender" (the probe decides) or "core" (a core temperature decides)
    done_core_c: usual core temperature at the finish [C]
    least_core_c, least_rest_s: the official minimum core temperature [C] and the rest that goes with it [s]
    """

    collagen_rate: Figure = number(0.02, 20.0, sd=True)
    tender_conversion: Figure = number(0.05, 0.99)
    past_conversion: Figure = number(0.05, 1.0)
    done_by: str = text("tender", "core")
    done_core_c: Figure = number(45.0, 105.0)
    least_core_c: Figure = number(45.0, 100.0)
    least_rest_s: Figure = number(0.0, 3600.0)


@dataclass(frozen=True, slots=True)
class Colour:
    """rate_factor: browning rate, pork ribs = 1; set_level, dark_level: colour that is set, too dark [-]."""

    rate_factor: Figure = number(0.05, 10.0)
    set_level: Figure = number(0.1, 5.0)
    dark_level: Figure = number(0.1, 200.0)


@dataclass(frozen=True, slots=True)
class CourseStage:
    """One stage of the usual course, in the words of a cook file.

    do: what surrounds the meat; until: what ends the stage ("colour", "tender", "glaze", "203 F", "20 min");
    wrap: key of the wrap, "" for none.
    """

    do: str = text(*STAGE_KINDS)
    until: str = text()
    wrap: str = optional_text()


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut of meat. `animal` is the key of an animal; `kind` with the animal's family decides which rules hold."""

    folder: ClassVar[str] = "cuts"

    key: str = text()
    name: str = text()
    animal: str = text()
    kind: str = text(*CUT_KINDS)
    course_source: str = source()
    composition: Composition = table(Composition)
    shape: Shape = kinds(slab=Slab, ball=Ball, block=Block, drum=Drum, rack=Rack, bird=Bird)
    surface: CutSurface = table(CutSurface)
    texture: Texture = table(Texture)
    colour: Colour = table(Colour)
    course: tuple[CourseStage, ...] = tables(CourseStage)
    lies: CutLies | None = optional_table(CutLies)
    also: tuple[str, ...] = texts()
    note: str = optional_text()

    @property
    def has_bone(self) -> bool:
        """Is there a bone that a thermometer has to keep clear of."""
        return self.composition.bone_fraction.value > 0.0

    def scale(self, mass_kg: float) -> float:
        """Factor [-] on every length for one piece of `mass_kg` [kg]: the cube root of the mass ratio."""
        return float((mass_kg / self.shape.mass_kg.value) ** (1 / 3))


@dataclass(frozen=True, slots=True)
class PitAir:
    """How the air at the grate behaves.

    offset_k: air at the grate less the pit's own readout [K]; swing_k: half of the wander from top to trough
    [K], over swing_period_s [s]; lid_dip_k: fall of the grate air when the lid is open 15-30 s [K];
    lid_recovery_s: time constant of the way back [s].
    """

    offset_k: Figure = number(-60.0, 60.0, sd=True)
    swing_k: Figure = number(0.0, 60.0)
    swing_period_s: Figure = number(30.0, 14400.0)
    lid_dip_k: Figure = number(0.0, 150.0, sd=True)
    lid_recovery_s: Figure = number(10.0, 7200.0, sd=True)


@dataclass(frozen=True, slots=True)
class PitExchange:
    """What the pit trades with the world around it.

    heat_loss_w_per_k: heat through the walls per kelvin of air over ambient [W/K]; wall_share: the part of
    all heat that leaves through the walls, the rest goes out with the air [-]; air_flow_kg_s: air through
    the chamber at about 110 C [kg/s]; pan_evaporation_kg_s: from a water pan that belongs to the pit and hangs over its
    fire, at about 110 C [kg/s]; pan_m2: water face of a pan that a cook
    sets in, where it is not 0.06 [m2].
    """

    heat_loss_w_per_k: Figure = number(0.2, 300.0, sd=True)
    wall_share: Figure = number(0.02, 0.99)
    air_flow_kg_s: Figure = number(1e-5, 1.0, sd=True)
    pan_evaporation_kg_s: Figure = number(0.0, 0.01)
    pan_m2: Figure | None = optional_number(0.001, 1.0)


@dataclass(frozen=True, slots=True)
class PitSurface:
    """air_speed_m_s: of a steady stream that does as much as the draught at the meat with its gusts, from which and the
    piece's own size convection follows [m/s]; wall_offset_k: the walls' radiant temperature as the meat sees it less
    the air's [K].
    """

    air_speed_m_s: Figure = number(0.01, 30.0, sd=True)
    wall_offset_k: Figure = number(-80.0, 150.0, sd=True)


@dataclass(frozen=True, slots=True)
class PitRoom:
    """Where meat can lie.

    grates: how many levels [-]; grate_m2: area of one [m2]; usable_share: the part of a grate that meat with its
    gaps can take, the rest is rim, corners and what lies over the fire [-]; across_m: longest straight way over a
    grate [m]; clear_m: free height above one, under a lid that of its middle [m]; places_along: "grate" where the
    places below are parts of every grate, "levels" where they are whole grates, from the top down.
    """

    grates: Figure = number(1, 40)
    grate_m2: Figure = number(0.02, 10.0)
    usable_share: Figure = number(0.1, 1.0)
    across_m: Figure = number(0.1, 6.0)
    clear_m: Figure = number(0.02, 2.0)
    places_along: str = text("grate", "levels")


@dataclass(frozen=True, slots=True)
class PitPlace:
    """A hot or a cool place. share: of the usable area [-]; offset_k: its air less the mean of the grates [K]."""

    name: str = text()
    share: Figure = number(0.01, 1.0)
    offset_k: Figure = number(-60.0, 80.0)


@dataclass(frozen=True, slots=True)
class PitFire:
    """What keeping the fire takes.

    usual_kg_h: fuel an hour at 107 C (225 F) with air of 20 C outside, light wind and little meat, 0 where nothing
    burns [kg/h]; holds_kg: fuel that hopper, basket or fire bed takes at once, 0 where nothing is filled in [kg];
    lit_s: from lighting to steady heat [s]; body_j_per_k: heat that the pit itself takes up per kelvin of its
    air [J/K]; wall_m2: outside of the chamber [m2]; across_m: its breadth to the wind [m]; electric_w: what a fan,
    an auger and the like draw by wire besides any heat [W].
    """

    usual_kg_h: Figure = number(0.0, 60.0)
    holds_kg: Figure = number(0.0, 200.0)
    lit_s: Figure = number(60.0, 21600.0, sd=True)
    body_j_per_k: Figure = number(100.0, 5e6, sd=True)
    wall_m2: Figure = number(0.1, 60.0)
    across_m: Figure = number(0.1, 1.0)
    electric_w: Figure = number(0.0, 3000.0)


@dataclass(frozen=True, slots=True)
class Pit:
    """One kind of cooker. `fuel` is the key of a fuel; `fan`: a fan moves the air. `room`, `place` and `fire` may be
    left out: then what a plan needs of them has to be asked for.
    """

    folder: ClassVar[str] = "pits"

    key: str = text()
    name: str = text()
    fuel: str = text()
    fan: bool = flag()
    air: PitAir = table(PitAir)
    exchange: PitExchange = table(PitExchange)
    surface: PitSurface = table(PitSurface)
    room: PitRoom | None = optional_table(PitRoom)
    place: tuple[PitPlace, ...] = optional_tables(PitPlace)
    fire: PitFire | None = optional_table(PitFire)
    also: tuple[str, ...] = texts()
    note: str = optional_text()


@dataclass(frozen=True, slots=True)
class Wrap:
    """What goes round the meat.

    vapour_permeance_kg_m2_s_pa: through the sheet; leak_kg_m2_s_pa: past its folds, per m2 of sheet
    [kg/(m2 s Pa)]; emissivity of the outside [-]; gap_conductance_w_m2k: from sheet to meat [W/m2K];
    cover_top, cover_under, cover_side: covered share of each face [-]; holds_liquid: drip stays inside.
    """

    folder: ClassVar[str] = "wraps"

    key: str = text()
    name: str = text()
    holds_liquid: bool = flag()
    vapour_permeance_kg_m2_s_pa: Figure = number(0.0, 1e-6)
    leak_kg_m2_s_pa: Figure = number(0.0, 1e-6)
    emissivity: Figure = number(0.0, 1.0)
    gap_conductance_w_m2k: Figure = number(0.05, 1000.0, sd=True)
    cover_top: Figure = number(0.0, 1.0)
    cover_under: Figure = number(0.0, 1.0)
    cover_side: Figure = number(0.0, 1.0)
    also: tuple[str, ...] = texts()
    note: str = optional_text()


@dataclass(frozen=True, slots=True)
class Fuel:
    """What burns, if anything does.

    higher_heating_dry_j_kg: per kg of dry fuel, water condensed [J/kg]; lower_heating_j_kg: per kg as fired,
    water as vapour [J/kg]; moisture: kg water per kg as fired [-]; hydrogen, ash: kg per kg dry [-];
    density_kg_m3: of the fuel as heaped or stacked [kg/m3]; piece_kg: of one split or briquette, where it is
    counted [kg]. All 0 where nothing burns.
    """

    folder: ClassVar[str] = "fuels"

    key: str = text()
    name: str = text()
    higher_heating_dry_j_kg: Figure = number(0.0, 150e6)
    lower_heating_j_kg: Figure = number(0.0, 130e6)
    moisture: Figure = number(0.0, 0.6)
    hydrogen: Figure = number(0.0, 1.0)
    ash: Figure = number(0.0, 0.6)
    density_kg_m3: Figure = number(0.0, 2000.0)
    piece_kg: Figure | None = optional_number(0.001, 20.0)
    also: tuple[str, ...] = texts()
    note: str = optional_text()

    @property
    def burns(self) -> bool:
        """Whether the fuel burns in the chamber and so brings water and air with it."""
        return self.lower_heating_j_kg.value > 0
