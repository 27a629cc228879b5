"""Animals, cuts, pits, wraps and fuels: data files with a source on every number, and their loaders.

Each loader reads the shipped files and then the user's own, which add to them or replace them by key:
`extra_dir`, else the directory that $PITRECKON_CATALOG names, else `pitreckon/catalog` in the configuration
directory. What was read stays in memory for the life of the process.

>>> st_louis = cut("St. Louis ribs")
>>> st_louis.composition.water.value, st_louis.composition.water.source
(0.5975, 'USDA SR28 NDB 10088')
>>> pit("pellet cooker").fan
True
"""

from pitreckon.catalog.checks import check_cut, check_pit
from pitreckon.catalog.figure import Figure, figures
from pitreckon.catalog.forms import (
    Animal,
    Colour,
    Composition,
    CourseStage,
    Cut,
    CutLies,
    CutSurface,
    Fuel,
    Pit,
    PitAir,
    PitExchange,
    PitFire,
    PitPlace,
    PitRoom,
    PitSurface,
    Texture,
    Wrap,
)
from pitreckon.catalog.shapes import DENSITY_KG_M3, Ball, Bird, Block, Drum, Rack, Shape, Slab
from pitreckon.catalog.shelf import Every, One, users_directory

animals, wraps, fuels = Every(Animal), Every(Wrap), Every(Fuel)
cuts = Every(Cut, lambda each, document, place: check_cut(each, document, animals.at(place), wraps.at(place)))
pits = Every(Pit, lambda each, document, place: check_pit(each, document, fuels.at(place)))
animal, wrap, fuel = One(animals, "animal"), One(wraps, "wrap"), One(fuels, "fuel")
cut, pit = One(cuts, "cut"), One(pits, "pit")
