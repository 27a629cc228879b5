"""What planning asks of the catalog besides cuts and pits: how a cut is bought, what people eat, what is done first."""
# ruff: noqa: RUF009  number(...) and its like are dataclasses.field with the form written into it

from dataclasses import dataclass
from typing import ClassVar

from pitreckon.catalog.figure import Figure
from pitreckon.catalog.form import number, optional_text, text, texts


@dataclass(frozen=True, slots=True)
class Buying:
    """How a cut is bought and what of it is eaten. `key` is the cut's; "other" is for cuts without a file.

    piece_low_kg, piece_high_kg: the usual range of one piece as bought [kg]; trim_share: cut off before the fire,
    of the weight as bought [-]; not_eaten_share: bone and gristle that are left, of the raw piece's mass [-];
    beyond_water_share: what scales and yield tables find beyond the model's water, rendered fat and drip, of the raw
    piece's mass [-]; water_share: what the section model loses in the cut's usual course, where no run is at hand, as
    ``scripts/make_losses.py`` writes it [-];
    pack_kg: what is frozen in one block, at least one piece [kg]; trim_s, rub_s: hands' time for one piece [s].
    """

    folder: ClassVar[str] = "buying"

    key: str = text()
    name: str = text()
    ask_for: str = text()
    piece_low_kg: Figure = number(0.02, 60.0)
    piece_high_kg: Figure = number(0.02, 60.0)
    trim_share: Figure = number(0.0, 0.6, sd=True)
    not_eaten_share: Figure = number(0.0, 0.7, sd=True)
    beyond_water_share: Figure = number(0.0, 0.4, sd=True)
    water_share: Figure = number(0.02, 0.7, sd=True)
    pack_kg: Figure = number(0.02, 60.0)
    trim_s: Figure = number(0.0, 1800.0)
    rub_s: Figure = number(5.0, 1800.0)
    also: tuple[str, ...] = texts()
    note: str = optional_text()


@dataclass(frozen=True, slots=True)
class Portions:
    """How much cooked meat people eat.

    adult_kg: what an adult eats, with sides [kg]; child_factor, hungry_factor: of that [-]; head_sd: spread of ln
    from head to head [-]; crowd_sd: spread of ln of a whole crowd about the norm [-]; taste_sd: spread of ln of how
    a crowd takes to one item beside the others [-]; bare_factor, many_factor: without sides or other courses, and
    with many [-].
    """

    folder: ClassVar[str] = "portions"

    key: str = text()
    name: str = text()
    adult_kg: Figure = number(0.02, 1.0)
    child_factor: Figure = number(0.1, 1.0)
    hungry_factor: Figure = number(1.0, 4.0)
    head_sd: Figure = number(0.01, 1.0)
    crowd_sd: Figure = number(0.0, 0.5)
    taste_sd: Figure = number(0.0, 0.8)
    bare_factor: Figure = number(1.0, 2.0)
    many_factor: Figure = number(0.3, 1.0)
    also: tuple[str, ...] = texts()
    note: str = optional_text()


@dataclass(frozen=True, slots=True)
class BeforeFire:
    """What holds in the kitchen before the fire is lit.

    fridge_c, water_c: refrigerator, cold water for thawing [C]; freezer_c: the freezer [C]; fridge_w_m2k,
    water_w_m2k: heat to wrapped meat in them [W/m2K]; fridge_s_per_kg, water_s_per_kg: the official rules [s/kg];
    change_s: between changes of the water [s]; change_hands_s: hands' time of one [s]; out_s, out_hot_s: longest
    that raw meat may be out of the refrigerator, below and above hot_air_c [s, C]; salt_g_per_kg: usual dry salting;
    rub_g_per_kg: usual rub without its salt [g/kg]; brine_kg_m3: strength above which salt draws water out of meat
    [kg/m3]; thin_ratio: overnight's reach over half the thickness from which a piece counts as thin [-];
    overnight_s, hour_s: the two usual times [s]; keep_poultry_s, keep_meat_s: thawed meat keeps [s];
    roll_m: width of a roll of foil or paper [m]; fold_m: for the folds of one sheet [m]; layers: sheets on another
    [-].
    """

    folder: ClassVar[str] = "before-fire"

    key: str = text()
    name: str = text()
    fridge_c: Figure = number(0.5, 5.0)
    water_c: Figure = number(2.0, 21.1)
    freezer_c: Figure = number(-39.0, -5.0)
    fridge_w_m2k: Figure = number(1.0, 60.0)
    water_w_m2k: Figure = number(20.0, 2000.0)
    fridge_s_per_kg: Figure = number(3600.0, 200000.0)
    water_s_per_kg: Figure = number(600.0, 20000.0)
    change_s: Figure = number(300.0, 3600.0)
    change_hands_s: Figure = number(10.0, 900.0)
    out_s: Figure = number(3600.0, 7200.0)
    out_hot_s: Figure = number(3600.0, 3600.0)
    hot_air_c: Figure = number(20.0, 32.3)
    salt_g_per_kg: Figure = number(0.0, 60.0)
    rub_g_per_kg: Figure = number(0.0, 200.0)
    brine_kg_m3: Figure = number(50.0, 350.0)
    thin_ratio: Figure = number(0.05, 2.0)
    overnight_s: Figure = number(4 * 3600.0, 48 * 3600.0)
    hour_s: Figure = number(600.0, 4 * 3600.0)
    keep_poultry_s: Figure = number(43200.0, 3 * 86400.0)
    keep_meat_s: Figure = number(43200.0, 6 * 86400.0)
    roll_m: Figure = number(0.1, 2.0)
    fold_m: Figure = number(0.0, 1.0)
    layers: Figure = number(1.0, 6.0)
    also: tuple[str, ...] = texts()
    note: str = optional_text()
