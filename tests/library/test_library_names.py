"""The public names with their signatures: what is promised stands here, and a change of it has to touch this file."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
import subprocess
import sys
from dataclasses import fields, is_dataclass
from pathlib import Path
from types import ModuleType

import pytest

import pitreckon
import pitreckon as pr
from pitreckon.library import labels, plots, tables

PROMISED = {
    "judge": "(outlook, handled=None)",
    "plan": "(wishes, *, seed=1, limit_s=8.0)",
    "read_cook": "(path)",
    "read_kept": "(where=None)",
    "read_ledger": "(path, cook, *, set_aside=False, dates=None)",
    "read_lessons": "(path)",
    "read_mix": "(path)",
    "read_wishes": "(path)",
    "reckon": "(cook, ledger=None, *, now=None, members=512, seed=1, lessons=None, threads=None)",
    "simulate": "(cut, pit, course=None, members=64, seed=1, *, set_c=None, meat=None, every_s=600.0, at_s=None, "
    "until_s=None, stands_s=0.0, air_c=None, parameters=None, surroundings=None, finer=1.0, precision='single', "
    "threads=None, pieces=1, put_on=None, serve=None)",
    "write_cook": "(cook, path)",
    "write_ledger": "(ledger, cook, path, *, degrees='F')",
    "write_mix": "(mix, path)",
    "tables.ledger": "(ledger)",
    "tables.ledger_of": "(table)",
    "tables.marks": "(what)",
    "tables.members": "(outlook)",
    "tables.outlook": "(outlook)",
    "tables.stages": "(outlook)",
    "tables.unknowns": "(outlook)",
    "tables.verdicts": "(safety)",
    "tables.windows": "(outlook)",
    "plots.cores": "(what, item=None, *, degrees='C')",
    "plots.field": "(arrays, name='temperature', at_s=None, *, member=None, degrees='C')",
    "plots.posteriors": "(outlook, item=None, *, most=6)",
    "plots.windows": "(outlook)",
}
"""Functions."""
STUDY = "(asked, *, out, on=None, workers=None, tell=None)"
"""Of ``study``, where its room is there."""
RECORDS = {
    "Act": "at_utc on act detail piece air_c duration_s fuel_kg source_line note",
    "Away": "from_utc until_utc kind",
    "Cook": "name zone serve_utc altitude_m weather_air_c weather_rh pits items trips rules tasks away",
    "ItemPlan": "label cut pieces mass_kg pit put_on_utc start_c thickness_m thickness_factor sugar salt_g_per_kg "
    "stages start_said serve_utc",
    "Ledger": "all_readings all_looks all_acts",
    "Look": "at_utc on piece kind value text rejected source_line note by",
    "Mix": "name use lines part covers foods serving plate body currency",
    "PitPlan": "label kind set_c water_pan light_utc feed_every_s feed_kg water_every_s ash_every_s",
    "Planned": "wishes answer",
    "Reading": "at_utc channel on piece value_c rejected source_line",
    "Reckoned": "reckoning",
    "Safety": "at_utc now ahead histories cautions",
    "SideTask": "label at_utc do for_s",
    "StagePlan": "kind until wrap air_c glaze_kg liquid_kg about_utc",
    "TripCosts": "walk_s lid_s late too_late",
    "Until": "ends_by value",
}
"""Records and their fields, in order."""
WISHES = (
    "name zone serve_utc pits items altitude_m weather_air_c weather_rh guests hands chance earliest_utc "
    "planned_utc hold_places currency tasks"
)
"""Fields that ``Wishes`` has at least."""
MORE = {
    "Cook": "begin_utc item pit served_at start_utc zone_info",
    "Ledger": "acts events first_utc last_utc looks of readings rejected until",
    "Mix": "own",
    "Until": "at_utc core_c duration_s level",
    "Reckoned": "at_best be_back_utc cook document free_until_utc item items members now_utc on_time outlook ready_by "
    "rejected seed serve_utc size trips",
    "Planned": "as_asked chance changes cook schedule why",
}
"""What else a record answers, at least."""
ARRAYS = {
    ("degC", "time member cell"): "temperature",
    ("kg kg-1", "time member cell"): "water",
    ("1", "time member cell"): "collagen",
    ("1", "time member face"): "colour",
    ("J", "time member"): "heat_in heat_out",
    ("kg", "time member"): "evaporated_mass dripped_mass",
    ("degC", "record member"): "core_temperature third_temperature two_thirds_temperature surface_temperature "
    "mean_temperature air_temperature",
    ("1", "record member"): "surface_colour evaporated dripped core_collagen mean_collagen shrunk lethality "
    "stage_number surface_activity",
    ("kg kg-1", "record member"): "glaze",
}
"""Labelled arrays of a simulation, by unit and dimensions."""
COORDINATES = "time record member pit_number piece cell face x y volume bone face_cell face_area face_group scale"
ERRORS = {"InputError", "MissingExtraError", "PitreckonError"}
CATALOG = ["animal", "animals", "cut", "cuts", "fuel", "fuels", "pit", "pits", "wrap", "wraps"]
PHYSICS = {
    "air.air_conductivity_coesa": "(air_c)",
    "air.air_viscosity_coesa": "(air_c)",
    "air.humid_air_density_ashrae": "(air_c, humidity_ratio, pressure_pa=101325.0)",
    "air.humidity_ratio_from_relative_humidity": "(air_c, relative_humidity, pressure_pa=101325.0)",
    "air.humidity_ratio_from_vapour_pressure": "(vapour_pa, pressure_pa=101325.0)",
    "air.vapour_diffusivity_power_law": "(air_c, pressure_pa=101325.0)",
    "air.vapour_pressure_from_humidity_ratio": "(humidity_ratio, pressure_pa=101325.0)",
    "convection.air_film": "(air_c, surface_c, pressure_pa=101325.0)",
    "convection.convection_forced_cylinder": "(diameter_m, speed_m_s, air_c, surface_c, pressure_pa=101325.0)",
    "convection.convection_free_cylinder": "(diameter_m, air_c, surface_c, pressure_pa=101325.0)",
    "convection.nusselt_forced_cylinder_churchill_bernstein": "(reynolds, prandtl)",
    "convection.nusselt_free_cylinder_churchill_chu": "(rayleigh, prandtl)",
    "food.conductivity": "(composition, temp_c)",
    "food.conductivity_choi_okos": "(component, temp_c)",
    "food.conductivity_maxwell_eucken": "(continuous, dispersed, dispersed_share)",
    "food.density": "(composition, temp_c)",
    "food.density_choi_okos": "(component, temp_c)",
    "food.heat_capacity": "(composition, temp_c)",
    "food.heat_capacity_choi_okos": "(component, temp_c)",
    "food.volume_fractions": "(composition, temp_c)",
    "fuel.chamber_humidity_ratio": "(ambient_ratio, air_kg_s, *, fuel_kg_s=0.0, "
    "water_per_fuel=0.0, evaporation_kg_s=0.0)",
    "fuel.combustion_water": "(hydrogen, moisture)",
    "fuel.convection_mixed": "(free_w_m2k, forced_w_m2k)",
    "fuel.fuel_rate": "(heat_w, lower_j_kg)",
    "fuel.outer_film": "(across_m, wind_m_s, wall_c, ambient_c, emissivity=0.9)",
    "fuel.wind_conductance": "(calm_w_m2k, calm_film_w_m2k, wind_film_w_m2k)",
    "growth.growth_rate_perfringens_juneja": "(temp_c, meat)",
    "growth.growth_rate_ratkowsky": "(temp_c, slope, least_c, closing_per_k, most_c)",
    "growth.growth_rate_rosso": "(temp_c, best_per_s, least_c, best_c, most_c)",
    "growth.growth_rate_staphylococcus_medvedova": "(temp_c)",
    "growth.readiness_perfringens_juneja": "(meat)",
    "salt.diffusivity_nacl": "(temp_c, activation_j_mol=25000.0)",
    "salt.penetration_depth": "(diffusivity_m2_s, seconds)",
    "surface.mass_transfer_lewis": "(convection_w_m2k, film_c, pressure_pa=101325.0, diffusivity_m2_s=None)",
    "surface.radiation_coefficient": "(surface_c, wall_c, emissivity=0.9)",
    "surface.vapour_permeance": "(mass_transfer_m_s, film_c)",
    "thaw.enthalpy_chen": "(temp_c, water, protein, freezing_c=-1.7)",
    "thaw.heat_dimension_hossain": "(half_biot, section_ratio, volume_ratio)",
    "thaw.thaw_time_cleland": "(thickness_m, convection_w_m2k, conductivity_w_mk, drive_k, "
    "melt_j_m3, thawed_j_m3k, frozen_j_m3k, below_k)",
    "vapour.boiling_point": "(pressure_pa=101325.0)",
    "vapour.latent_heat_linear": "(temp_c)",
    "vapour.pressure_isa": "(altitude_m)",
    "vapour.saturation_pressure": "(temp_c)",
    "vapour.saturation_pressure_ice_wagner": "(temp_c)",
    "vapour.saturation_pressure_wagner_pruss": "(temp_c)",
    "vapour.saturation_temperature": "(pressure_pa)",
}


def plain_signature(function: object) -> str:
    """A signature without its types: mypy holds those."""
    found = inspect.signature(function)  # type: ignore[arg-type]
    bare = [each.replace(annotation=inspect.Parameter.empty) for each in found.parameters.values()]
    return str(found.replace(parameters=bare, return_annotation=inspect.Signature.empty))


def promised(name: str) -> object:
    thing: object = pr
    for part in name.split("."):
        thing = getattr(thing, part)
    return thing


def has_study() -> bool:
    return importlib.util.find_spec("pitreckon.study") is not None


@pytest.mark.parametrize("name", PROMISED)
def test_a_function_is_called_as_it_is_promised(name: str) -> None:
    function = promised(name)
    assert callable(function)
    assert plain_signature(function) == PROMISED[name]


@pytest.mark.skipif(not has_study(), reason="the room of studies is not there")
def test_study_is_called_as_it_is_promised() -> None:
    assert plain_signature(pr.study) == STUDY


def test_no_other_function_is_promised() -> None:
    ours = {name for name in PROMISED if "." not in name}
    assert ours | set(RECORDS) | ERRORS | {"Wishes", "study"} == set(pitreckon._NAMES)
    assert set(pitreckon._MODULES) == {"catalog", "plots", "tables"}
    for module in (tables, plots):
        short = module.__name__.rpartition(".")[2]
        assert set(module.__all__) == {n.partition(".")[2] for n in PROMISED if n.startswith(f"{short}.")}


@pytest.mark.parametrize("name", RECORDS)
def test_a_record_has_the_fields_that_are_promised(name: str) -> None:
    record = promised(name)
    assert is_dataclass(record)
    assert " ".join(each.name for each in fields(record)) == RECORDS[name]
    if name in MORE:
        own = {each for each in vars(record) if not each.startswith("_")} - {each.name for each in fields(record)}
        assert set(MORE[name].split()) <= own
        if record.__module__.startswith("pitreckon.library"):
            assert set(MORE[name].split()) == own


def test_wishes_have_what_is_promised() -> None:
    assert set(WISHES.split()) <= {each.name for each in fields(pr.Wishes)}


def test_the_arrays_have_the_names_dimensions_and_units_that_are_promised() -> None:
    every = {**labels.FIELDS, **labels.BOOKS, **{name: label for name, (_, label) in labels.RECORDS.items()}}
    told = {name: f"{label.units} over {' '.join(label.dims)}" for name, label in every.items()}
    meant = {name: f"{unit} over {over}" for (unit, over), names in ARRAYS.items() for name in names.split()}
    assert told == meant
    rest = {"mark_time": labels.MARKS, "stage_end": labels.STAGE_END, "failed": labels.FAILED}
    assert {name: " ".join((label.units, *label.dims)) for name, label in rest.items()} == {
        "mark_time": "s mark member", "stage_end": "s stage member", "failed": "s member",
    }  # fmt: skip
    assert " ".join(labels.COORDINATES) == COORDINATES


def test_errors_are_errors() -> None:
    assert all(issubclass(promised(name), pr.PitreckonError) for name in ERRORS)  # type: ignore[arg-type]


def test_the_catalog_is_asked_as_it_is_promised() -> None:
    for name in CATALOG:
        assert callable(promised(f"catalog.{name}")), name
    assert pr.catalog.cut("St. Louis ribs").key == "st-louis-ribs"
    assert "st-louis-ribs" in pr.catalog.cuts()


def test_the_laws_of_physics_are_called_as_they_are_promised() -> None:
    found = {}
    for module in pkgutil.iter_modules(importlib.import_module("pitreckon.physics").__path__):
        if not module.name.startswith("_"):
            room = importlib.import_module(f"pitreckon.physics.{module.name}")
            own = {n: each for n, each in vars(room).items() if inspect.isfunction(each) and n[0] != "_"}
            found |= {f"{module.name}.{n}": plain_signature(f) for n, f in own.items() if f.__module__ == room.__name__}
    assert found == PHYSICS


def test_all_of_it_says_what_it_is() -> None:
    for name in (*PROMISED, *RECORDS, *ERRORS, "Wishes"):
        assert inspect.getdoc(promised(name)), name
    for name in PROMISED:
        function = inspect.unwrap(promised(name))  # type: ignore[arg-type]  # of a room that is called, the function
        for argument in set(inspect.signature(function).parameters) - {"path"}:
            assert re.search(rf"\b{argument}\b", inspect.getdoc(function) or ""), f"{name} {argument}"


def test_type_checkers_are_told_the_same_names_from_the_same_places() -> None:
    """What stands under TYPE_CHECKING is never run, so nothing else would notice."""
    tree = ast.parse(Path(pitreckon.__file__).read_text("utf-8"))
    block = next(each for each in tree.body if isinstance(each, ast.If))
    told = {}
    for each in block.body:
        assert isinstance(each, ast.ImportFrom)
        for alias in each.names:
            if each.module != "collections.abc":
                assert alias.asname == alias.name, "handed on, as mypy --strict has it"
                told[alias.name] = each.module
    fetched = dict(pitreckon._NAMES)
    fetched |= {name: module.rpartition(".")[0] for name, module in pitreckon._MODULES.items()}
    assert told == fetched
    assert (Path(pitreckon.__file__).parent / "py.typed").exists()


def test_dir_tells_all_names_and_loads_none() -> None:
    assert {*pitreckon._NAMES, *pitreckon._MODULES, "__version__"} <= set(dir(pr))


def test_a_room_is_both_a_function_and_a_package() -> None:
    """Python hangs a sub-package into its package under the very name of the function."""
    for name, inside in (("reckon", "outlook"), ("plan", "wishes")):
        importlib.import_module(f"pitreckon.{name}.{inside}")
        room = getattr(pr, name)
        assert isinstance(room, ModuleType)
        assert isinstance(getattr(room, inside), ModuleType)
        assert plain_signature(room) == PROMISED[name]
    assert type(pr.catalog) is ModuleType, "others stay as they are"
    with pytest.raises(TypeError, match="missing 1 required"):
        pr.reckon()  # type: ignore[call-arg]


def test_a_name_that_is_not_there_is_told_so() -> None:
    with pytest.raises(AttributeError, match="no attribute 'recken'"):
        _ = pr.recken  # type: ignore[attr-defined]
    with pytest.raises(ImportError, match="recken"):
        from pitreckon import recken  # type: ignore[attr-defined]  # noqa: F401


def test_a_retired_name_works_on_and_warns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(pitreckon._RETIRED, "load_cook", ("read_cook", "0.5"))
    with pytest.warns(DeprecationWarning, match=r"pitreckon.load_cook is now pitreckon.read_cook, and is gone in 0.5"):
        assert pr.load_cook is pr.read_cook  # type: ignore[attr-defined]


COOK = Path(__file__).parents[2] / "examples" / "harvest-table" / "harvest-table.toml"
LOADED = "import sys, pitreckon{more}; print(*sorted(sys.modules))"


def loaded(more: str = "") -> set[str]:
    done = subprocess.run([sys.executable, "-c", LOADED.format(more=more)], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


@pytest.mark.servers
def test_importing_it_loads_nothing() -> None:
    """No library, no room, not even ``typing``: two modules of the standard library that Python has loaded itself."""
    nothing = set(subprocess.run([sys.executable, "-c", "import sys; print(*sorted(sys.modules))"],
                                 capture_output=True, text=True, check=True).stdout.split())  # fmt: skip
    assert loaded() - nothing <= {"pitreckon", "types"}
    assert loaded("; dir(pitreckon)") - nothing <= {"pitreckon", "types"}


@pytest.mark.servers
def test_reading_a_cook_loads_no_extra_and_no_kernel() -> None:
    heavy = {"numba", "pandas", "xarray", "matplotlib", "pyarrow", "ortools", "sqlalchemy", "fastapi"}
    assert not loaded("; pitreckon.Cook; pitreckon.catalog; pitreckon.InputError") & heavy


@pytest.mark.servers
def test_what_needs_no_extra_is_there_without_any() -> None:
    """Each name is fetched, and a cook read and judged as a file, where no library of any extra can be imported."""
    code = (
        "import sys; from pitreckon.extras import LIBRARIES; sys.modules.update(dict.fromkeys(LIBRARIES));"
        "import pitreckon as pr;"
        "print(*(n for n in (*pr._NAMES, *pr._MODULES) if n != 'study' and getattr(pr, n, None) is None));"
        f"print(pr.read_cook({str(COOK)!r}).name)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.stderr, done.stdout) == ("", "\nharvest table\n")
