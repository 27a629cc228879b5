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

import functools
from pathlib import Path

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
from pitreckon.catalog.shelf import find, read_shelf, users_directory

__all__ = [
    "DENSITY_KG_M3",
    "Animal",
    "Ball",
    "Bird",
    "Block",
    "Colour",
    "Composition",
    "CourseStage",
    "Cut",
    "CutLies",
    "CutSurface",
    "Drum",
    "Figure",
    "Fuel",
    "Pit",
    "PitAir",
    "PitExchange",
    "PitFire",
    "PitPlace",
    "PitRoom",
    "PitSurface",
    "Rack",
    "Shape",
    "Slab",
    "Texture",
    "Wrap",
    "animal",
    "animals",
    "cut",
    "cuts",
    "figures",
    "fuel",
    "fuels",
    "pit",
    "pits",
    "users_directory",
    "wrap",
    "wraps",
]


def animals(extra_dir: Path | None = None) -> dict[str, Animal]:
    """Every animal by key. Raises InputError where a file is at fault."""
    return dict(_animals(users_directory(extra_dir)))


def cuts(extra_dir: Path | None = None) -> dict[str, Cut]:
    """Every cut by key. Raises InputError where a file is at fault."""
    return dict(_cuts(users_directory(extra_dir)))


def pits(extra_dir: Path | None = None) -> dict[str, Pit]:
    """Every pit by key. Raises InputError where a file is at fault."""
    return dict(_pits(users_directory(extra_dir)))


def wraps(extra_dir: Path | None = None) -> dict[str, Wrap]:
    """Every wrap by key. Raises InputError where a file is at fault."""
    return dict(_wraps(users_directory(extra_dir)))


def fuels(extra_dir: Path | None = None) -> dict[str, Fuel]:
    """Every fuel by key. Raises InputError where a file is at fault."""
    return dict(_fuels(users_directory(extra_dir)))


def animal(name: str, extra_dir: Path | None = None) -> Animal:
    """The animal of that key, name or other spelling. Raises InputError with near matches if there is none."""
    return find(_animals(users_directory(extra_dir)), "animal", name)


def cut(name: str, extra_dir: Path | None = None) -> Cut:
    """The cut of that key, name or other spelling. Raises InputError with near matches if there is none."""
    return find(_cuts(users_directory(extra_dir)), "cut", name)


def pit(name: str, extra_dir: Path | None = None) -> Pit:
    """The pit of that key, name or other spelling. Raises InputError with near matches if there is none."""
    return find(_pits(users_directory(extra_dir)), "pit", name)


def wrap(name: str, extra_dir: Path | None = None) -> Wrap:
    """The wrap of that key, name or other spelling. Raises InputError with near matches if there is none."""
    return find(_wraps(users_directory(extra_dir)), "wrap", name)


def fuel(name: str, extra_dir: Path | None = None) -> Fuel:
    """The fuel of that key, name or other spelling. Raises InputError with near matches if there is none."""
    return find(_fuels(users_directory(extra_dir)), "fuel", name)


@functools.cache
def _animals(directory: Path | None) -> dict[str, Animal]:
    return read_shelf(Animal, directory)


@functools.cache
def _cuts(directory: Path | None) -> dict[str, Cut]:
    animals, wraps = _animals(directory), _wraps(directory)
    return read_shelf(Cut, directory, lambda cut, document: check_cut(cut, document, animals, wraps))


@functools.cache
def _pits(directory: Path | None) -> dict[str, Pit]:
    fuels = _fuels(directory)
    return read_shelf(Pit, directory, lambda pit, document: check_pit(pit, document, fuels))


@functools.cache
def _wraps(directory: Path | None) -> dict[str, Wrap]:
    return read_shelf(Wrap, directory)


@functools.cache
def _fuels(directory: Path | None) -> dict[str, Fuel]:
    return read_shelf(Fuel, directory)
