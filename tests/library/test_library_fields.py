"""Labelled arrays of a simulation: the same to the bit as one run, the kernel's own books, exact solutions, a file."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import numpy as np
import pytest
import xarray as xr
from scipy.optimize import brentq

import pitreckon as pr
from pitreckon import catalog
from pitreckon.cook import Until
from pitreckon.library import given, piecewise
from pitreckon.library.piecewise import clock, run_seen
from pitreckon.physics.constants import WATER_HEAT_CAPACITY
from pitreckon.reckon.cells import cells_of
from pitreckon.reckon.prepare import ensemble
from pitreckon.section.simulate import simulate as run_once
from pitreckon.section.trace import CHANNELS

pytestmark = pytest.mark.kernel

RIBS = [
    {"do": "open", "until": "90 min"},
    {"do": "wrapped", "wrap": "foil", "until": "tender"},
    {"do": "rest", "until": "10 min"},
]


@pytest.fixture(scope="module")
def ribs() -> xr.Dataset:
    return pr.simulate("St. Louis ribs", "pellet cooker", RIBS, members=40, seed=3, set_c=135.0, every_s=900.0)


def job_of(cut: str, pit: str, members: int):
    kind = catalog.cut(cut)
    track = given.track_of(kind, given.pit_of(pit, kind, None), given.course_of(RIBS), given.Meat(), 5)
    return ensemble(track, track.prior(members), 8 * 3600.0).job


@pytest.mark.parametrize(
    ("cut", "every_s"), [("st-louis-ribs", 600.0), ("boston-butt", 1200.0), ("whole-chicken", 60.0)]
)
def test_a_run_in_pieces_is_one_run_to_the_bit(cut: str, every_s: float) -> None:
    """All channels, marks, ends of stages and balances; and each stop, kept by a run that stops nowhere else."""
    job = replace(job_of(cut, "pellet-cooker", 37), horizon_s=5 * 3600.0)
    whole = run_once(
        job.section, job.members, job.drive, job.course, horizon_s=job.horizon_s, mass=job.mass,
        record_every=job.record_every,
    )  # fmt: skip
    times = clock(every_s, job.horizon_s, job.drive.knot_s)
    seen = run_seen(job, times)
    for name in ("values", "marks_s", "stage_end_s", "failed_s", "balance"):
        np.testing.assert_array_equal(getattr(seen.trace, name), getattr(whole, name), err_msg=name)
    assert np.isfinite(whole.values).any(axis=0).all(axis=1)[: len(CHANNELS) - 4].all()
    for row in (0, len(seen.time_s) // 2, len(seen.time_s) - 2):
        kept = run_once(
            job.section, job.members, job.drive, job.course, horizon_s=job.horizon_s, mass=job.mass,
            record_every=job.record_every, snapshot_s=seen.time_s[row],
        ).snapshot  # fmt: skip
        assert kept is not None
        np.testing.assert_array_equal(cells_of(kept, job.section, job.members).temp_c, seen.cells[row].temp_c)


def test_fields_are_what_the_kernel_recorded_by_itself(ribs: xr.Dataset) -> None:
    """The core's cell, and means by volume, at the times that are in both clocks: single precision apart."""
    both = ribs.sel(record=ribs["time"].isin(ribs["record"]).where(lambda at: at, drop=True)["time"].to_numpy())
    fields = ribs.sel(time=both["record"].to_numpy())
    core = fields["temperature"].isel(cell=ribs.attrs["core_cell"]).to_numpy()
    recorded = both["core_temperature"].to_numpy()
    assert np.isfinite(core).sum() > 300
    np.testing.assert_array_equal(np.isnan(core), np.isnan(recorded))
    np.testing.assert_allclose(core, recorded, rtol=1e-5)
    flesh = ribs["volume"] * (1.0 - ribs["bone"])
    for field, record, tolerance in (("temperature", "mean_temperature", 2e-5), ("collagen", "mean_collagen", 2e-4)):
        mean = (fields[field].fillna(0.0) * flesh).sum("cell") / flesh.sum()
        np.testing.assert_allclose(
            mean.where(np.isfinite(core)).to_numpy(), both[record].to_numpy(), rtol=tolerance, atol=2e-6
        )
    upper = ribs["face_area"].where(ribs["face_group"] == 0, 0.0)
    colour = (fields["colour"] * upper).sum("face", skipna=False) / upper.sum()
    np.testing.assert_allclose(colour.to_numpy(), both["surface_colour"].to_numpy(), rtol=1e-5, atol=1e-6)


@pytest.mark.parametrize(
    ("cut", "pit"), [("st-louis-ribs", "pellet-cooker"), ("brisket", "offset"), ("whole-chicken", "kettle")]
)
def test_heat_and_water_in_the_cells_are_what_the_kernel_kept_book_of(cut: str, pit: str) -> None:
    """Heat by the cells' own temperature, water and bone, against what came in and went out; water the same.

    Relative to all that moved: the kernel counts in single precision with its rounding carried along.
    """
    arrays = pr.simulate(cut, pit, members=12, every_s=1800.0, surroundings={"liquid": 0.0})
    of = {name: arrays["parameters"].sel(parameter=name) for name in ("dry_density", "dry_cp", "bone_capacity")}
    wet = of["dry_cp"] + WATER_HEAT_CAPACITY * arrays["water"].fillna(0.0)
    capacity = (1.0 - arrays["bone"]) * of["dry_density"] * wet + arrays["bone"] * of["bone_capacity"]
    heat = (arrays["volume"] * capacity * arrays["temperature"]).sum("cell", skipna=False)
    came, went = arrays["heat_in"], arrays["heat_out"]
    off = (heat - heat.isel(time=0) - came + went) / (abs(came) + abs(went) + abs(heat.isel(time=0)))
    assert np.isfinite(off).sum() > 50
    assert float(abs(off).max()) < 1e-6
    water = (arrays["volume"] * (1.0 - arrays["bone"]) * of["dry_density"] * arrays["water"].fillna(0.0)).sum("cell")
    gone = arrays["evaporated_mass"] + arrays["dripped_mass"]
    missed = ((water.where(np.isfinite(gone)) + gone) / water.isel(time=0) - 1.0).to_numpy()
    assert np.nanmax(np.abs(missed)) < 2e-6
    assert float(gone.max()) > 0.05 * float(water.isel(time=0).max())


CONDUCTIVITY_W_MK, DIFFUSIVITY_M2_S, STEP_K = 0.48, 1.3e-7, 100.0
CAPACITY_J_M3K = CONDUCTIVITY_W_MK / DIFFUSIVITY_M2_S
INERT = {
    "water": 3.0, "dry_density": 250.0, "dry_cp": CAPACITY_J_M3K / 250.0 - 3.0 * WATER_HEAT_CAPACITY,
    "k_base": CONDUCTIVITY_W_MK, "k_temp": 0.0, "k_water": 0.0, "bone_k": CONDUCTIVITY_W_MK,
    "bone_capacity": CAPACITY_J_M3K, "transport": 0.0, "diffusion": 0.0, "drip": 0.0, "drink": 0.0, "hold_drop": 0.0,
    "boil_c": 1e3, "scale": 1.0, "start_c": STEP_K,
}  # fmt: skip
"""A body whose water stays put: conduction alone, with constant properties."""


def slab_theta(bi: float, fo: float, place: np.ndarray) -> np.ndarray:
    """A plate in a stream, from 1 to 0: the full series (Carslaw & Jaeger 1959, 3.11; Incropera, 5.5; from memory)."""
    roots = np.array(
        [brentq(lambda z: z * np.sin(z) - bi * np.cos(z), n * np.pi, n * np.pi + np.pi / 2) for n in range(60)]
    )
    weights = 4.0 * np.sin(roots) / (2.0 * roots + np.sin(2.0 * roots))
    return (weights * np.exp(-(roots**2) * fo) * np.cos(roots * place[:, None])).sum(axis=1)


def test_the_series_has_the_handbooks_values() -> None:
    """Bi 2, Fo 0.2: centre 0.91789, surface 0.45764 (full series, computed independently; ``test_section_exact``)."""
    assert slab_theta(2.0, 0.2, np.array([0.0, 1.0])) == pytest.approx([0.91789, 0.45764], abs=6e-6)


def test_every_cell_follows_a_plate_in_a_stream() -> None:
    """A slab of meat without water, exchange by convection alone: every cell at four times within 0.5 % of the step."""
    sizes = {key: each for key, each in catalog.cuts().items() if each.shape.__class__.__name__ == "Slab"}
    cut = next(iter(sizes.values()))
    half_m = 0.5 * cut.shape.thickness_m.value
    biot = np.array([0.5, 2.0, 5.0])
    fourier = np.array([0.2, 0.5, 1.0, 1.5])
    around = {"convection": biot * CONDUCTIVITY_W_MK / half_m, "emissivity": 0.0, "vapour": 0.0, "through": 0.0,
              "wall_offset_k": 0.0}  # fmt: skip
    arrays = pr.simulate(
        cut, "kettle", [{"do": "open", "until": "10 h"}], biot.size,
        at_s=fourier * half_m**2 / DIFFUSIVITY_M2_S, until_s=2.0 * half_m**2 / DIFFUSIVITY_M2_S,
        air_c=0.0, parameters=INERT, surroundings=around, finer=2.0,
    )  # fmt: skip
    place = (arrays["y"].to_numpy() - half_m) / half_m
    found = (arrays["time"].to_numpy() * DIFFUSIVITY_M2_S / half_m**2).astype(float)
    for m, bi in enumerate(biot):
        for row, fo in enumerate(found):  # the times as they are on the knots
            theta = arrays["temperature"].to_numpy()[row, m] / STEP_K
            np.testing.assert_allclose(theta, slab_theta(float(bi), float(fo), place), atol=5e-3)


def test_a_file_is_read_back_by_xarray_as_it_was(ribs: xr.Dataset, tmp_path: Path) -> None:
    """By the netCDF-3 writer that comes with SciPy; by h5netcdf where h5py is, the same bytes twice."""
    ribs.to_netcdf(tmp_path / "ribs.nc", engine="scipy")
    with xr.open_dataset(tmp_path / "ribs.nc", engine="scipy") as back:
        xr.testing.assert_equal(back.load(), ribs)
        assert back["temperature"].attrs == {"units": "degC", "long_name": "temperature of the cell"}
        assert back.attrs["cook"] == ribs.attrs["cook"]


def test_a_netcdf4_file_is_read_back_the_same(ribs: xr.Dataset, tmp_path: Path) -> None:
    pytest.importorskip("h5py")
    for name in ("one.nc", "two.nc"):
        ribs.to_netcdf(tmp_path / name, engine="h5netcdf")
    with xr.open_dataset(tmp_path / "one.nc") as back:
        xr.testing.assert_identical(back.load(), ribs)
    assert (tmp_path / "one.nc").read_bytes() == (tmp_path / "two.nc").read_bytes()


def test_a_file_follows_the_conventions_that_it_names(ribs: xr.Dataset, tmp_path: Path) -> None:
    """CF-1.11 (from memory): a coordinate variable has no missing values (2.5.1), so no fill value is declared for one;
    the numbers of a flag are said and named (3.5); what is no number with a unit says what it is (2.6)."""
    pytest.importorskip("h5py")
    ribs.to_netcdf(tmp_path / "ribs.nc", engine="h5netcdf")
    with xr.open_dataset(tmp_path / "ribs.nc", decode_cf=False, engine="h5netcdf") as raw:
        assert raw.attrs["Conventions"] == "CF-1.11"
        assert {"title", "source", "comment"} <= set(raw.attrs)
        assert [
            name for name in ("time", "record", "member", "x", "y", "scale") if "_FillValue" in raw[name].attrs
        ] == []
        assert np.isnan(raw["temperature"].attrs["_FillValue"])
        flags = raw["face_group"].attrs
        assert len(flags["flag_values"]) == len(flags["flag_meanings"].split()) == 4
        assert set(np.unique(raw["face_group"])) <= set(flags["flag_values"])
        assert {"x", "y", "volume", "bone"} <= set(raw["temperature"].attrs["coordinates"].split())


def test_every_array_has_a_unit_and_words(ribs: xr.Dataset) -> None:
    """Units as UDUNITS has them (from memory): what another program asks for first."""
    known = {"degC", "kg kg-1", "1", "J", "kg", "s", "m", "m2", "m3"}
    for name, each in ribs.variables.items():
        assert each.attrs["long_name"], name
        assert each.attrs.get("units", "1") in known, name
        assert ("units" in each.attrs) == (each.dtype.kind != "U"), name
    assert ribs["temperature"].dims == ("time", "member", "cell")
    assert {"x", "y", "volume", "bone"} <= set(ribs["temperature"].coords)
    assert list(ribs["mark"].to_numpy()[:2]) == ["colour_set", "tender"]


def test_the_cook_in_the_attributes_is_the_cook(ribs: xr.Dataset, tmp_path: Path) -> None:
    (tmp_path / "ribs.toml").write_text(ribs.attrs["cook"], encoding="utf-8")
    cook = pr.read_cook(tmp_path / "ribs.toml")
    assert (cook.items[0].cut, cook.pits[0].kind, cook.pits[0].set_c) == ("st-louis-ribs", "pellet-cooker", 135.0)
    assert [stage.kind for stage in cook.items[0].stages] == ["open", "wrapped", "rest"]


def test_the_same_arguments_give_the_same_numbers_on_any_threads(ribs: xr.Dataset) -> None:
    again = pr.simulate("st-louis-ribs", "pellet-cooker", RIBS, 40, 3, set_c=135.0, every_s=900.0, threads=1)
    xr.testing.assert_identical(again, ribs)
    other = pr.simulate("st-louis-ribs", "pellet-cooker", RIBS, 40, 4, set_c=135.0, every_s=900.0)
    assert not np.array_equal(other["scale"], ribs["scale"])


def test_times_of_ones_own_and_time_after_the_course() -> None:
    at_s = (0.0, 1234.0, 5000.0, 30000.0)
    arrays = pr.simulate("chicken-wing", "kettle", members=8, at_s=at_s, stands_s=3600.0)
    assert list(arrays["time"].to_numpy()) == [0.0, 1260.0, 4980.0, 30000.0]
    assert np.isnan(arrays["temperature"].to_numpy()[-1]).all(), "long after all are over"
    assert arrays["stage"].to_numpy()[-1].endswith("standing")
    over_s = arrays["stage_end"].to_numpy()
    np.testing.assert_array_equal(over_s[-1] - over_s[-2], 3600.0)
    short = pr.simulate("chicken-wing", "kettle", members=8, until_s=1800.0, every_s=600.0)
    assert list(short["time"].to_numpy()) == [0.0, 600.0, 1200.0, 1800.0]
    assert np.isfinite(short["temperature"].to_numpy()).all()


def test_fields_that_would_not_fit_are_refused_before_they_fill_the_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(piecewise, "memory_bytes", lambda: 400_000)
    with pytest.raises(
        pr.InputError, match=r"fields of 8 members .* from time [2-9] on.* fewer members, or fewer times"
    ):
        pr.simulate("chicken-wing", "kettle", members=8, until_s=3600.0, every_s=120.0)
    assert pr.simulate("chicken-wing", "kettle", members=8, until_s=3600.0, at_s=[3600.0]).sizes["time"] == 1


def test_air_of_ones_own_is_the_air_at_the_piece() -> None:
    ramp = [(0.0, 100.0), (3600.0, 160.0)]
    arrays = pr.simulate("chicken-wing", "kettle", [{"do": "open", "until": "2 h"}], 4, air_c=ramp)
    air, at_s = arrays["air_temperature"].to_numpy(), arrays["record"].to_numpy()
    there = np.isfinite(air).all(axis=1)
    expected = np.interp(at_s[there], *zip(*ramp, strict=True))
    np.testing.assert_allclose(air[there], np.repeat(expected[:, None], 4, axis=1), rtol=1e-6)


def test_stages_end_by_the_clock() -> None:
    """A wrap at half past six, and a hold until supper: seconds since put-on by hand, the same by instants."""
    course = [
        {"do": "open", "until": "18:30"},
        {"do": "wrapped", "wrap": "foil", "until": "30 min"},
        {"do": "hold", "air": "150 F", "until": "serve"},
    ]
    arrays = pr.simulate("chicken-wing", "kettle", course, 6, put_on="17:45", serve="20:00")
    ends = arrays["stage_end"].to_numpy()
    np.testing.assert_allclose(ends, np.repeat([[2700.0], [4500.0], [8100.0]], 6, axis=1), atol=60.0)
    zone = timezone(timedelta(hours=-5))
    day = {"put_on": datetime(2026, 10, 10, 17, 45, tzinfo=zone), "serve": datetime(2026, 10, 10, 20, tzinfo=zone)}
    until = Until("clock", datetime(2026, 10, 10, 23, 30, tzinfo=UTC))
    stages = [pr.StagePlan("open", until), *given.course_of(course[1:], given.when_of(**day))]
    other = pr.simulate("chicken-wing", "kettle", stages, 6, **day)
    np.testing.assert_array_equal(other["temperature"], arrays["temperature"])


def test_pieces_on_one_pit_share_its_air_and_differ_by_themselves() -> None:
    """Twelve on each of sixteen pits: the air is the same but for their places; alike, and not the same."""
    said = {"course": RIBS, "seed": 3, "every_s": 3600.0, "set_c": 135.0}
    many = pr.simulate("st-louis-ribs", "kettle", members=16, pieces=12, **said)
    assert many.sizes["member"] == 192
    by_pit = many.set_index(member=("pit_number", "piece")).unstack("member")
    air = by_pit["air_temperature"].isel(record=slice(1, 12))
    apart = air - air.isel(piece=0)
    assert float(apart.std("record").max()) < 0.01, "each lies where it lies, in the same air"
    assert float(apart.std("piece").mean()) > 0.5
    tender = by_pit["mark_time"].sel(mark="tender").to_numpy()
    within, between = tender.std(axis=1).mean(), tender.mean(axis=1).std()
    assert between > 0.3 * within > 0.0
    assert within > 300.0
    alone = pr.simulate("st-louis-ribs", "kettle", members=192, **said)["mark_time"].sel(mark="tender").to_numpy()
    assert np.median(tender) == pytest.approx(np.median(alone), rel=0.1)


@pytest.mark.parametrize(
    ("over", "trouble", "remedy"),
    [
        ({"cut": "st louis rips"}, "no cut", "st-louis-ribs"),
        ({"pit": "petet cooker"}, "pit", "pellet-cooker"),
        ({"set_c": 1000.0}, "set", ""),
        ({"course": []}, "no stages", "usual course"),
        ({"course": [{"do": "open", "unti": "colour"}]}, "'unti' is no key", "until"),
        ({"course": [{"do": "open", "until": "18:00"}]}, "clock", "duration"),
        ({"course": "open"}, "no list of stages", "until"),
        ({"course": {"do": "open", "until": "2 h"}}, "no list of stages", "until"),
        ({"set_c": "135 C"}, "set_c is 135 C", "10 to 400"),
        ({"seed": -1}, "the seed is '-1'", "from 0 on"),
        ({"seed": "one"}, "the seed is 'one'", "from 0 on"),
        ({"members": 0}, "0 members", "1 to"),
        ({"members": 2.5}, "no whole number", "64"),
        ({"meat": {"mass": 3.0}}, "'mass' is nothing of the meat", "mass_kg"),
        ({"meat": {"mass_kg": "3 lb"}}, "no number", "mass_kg=3.0"),
        ({"meat": {"mass_kg": -3.0}}, "weight", ""),
        ({"every_s": 1.0}, "every_s is 1.0", "60"),
        ({"at_s": [600.0, 300.0]}, "do not run forward", "seconds since put-on"),
        ({"at_s": [9000.0], "until_s": 3600.0}, "the run ends at 3600 s", "later until_s"),
        ({"air_c": [(0.0, 100.0), (0.0, 120.0)]}, "does not run forward", "pairs"),
        ({"air_c": "hot"}, "neither a temperature nor", "°C"),
        ({"air_c": 900.0}, "900", "400"),
        ({"parameters": {"k_bass": 0.5}}, "'k_bass' is no parameter", "k_base"),
        ({"parameters": {"k_base": [0.5, 0.4]}}, "one for each of 4 members", ""),
        ({"surroundings": {"convexion": 10.0}}, "surrounds", "convection"),
        ({"surroundings": {"until": 1.0}}, "surrounds", ""),
        ({"precision": "half"}, "half", "double"),
        ({"finer": 100.0}, "finer is 100", "8"),
        ({"stands_s": -1.0}, "stands_s", "0"),
        ({"pieces": 0}, "pieces is 0", "1 to 500"),
        ({"pieces": 400, "members": 1000}, "400000 members", "chunks"),
        ({"serve": "18:00"}, "without when it goes on", "put_on"),
        ({"put_on": "25:00"}, "25:00", ""),
        ({"put_on": "2026-10-10 05:00", "serve": "2026-10-09 18:00"}, "before it goes on", "later serve"),
        ({"put_on": datetime(2026, 10, 10, 5)}, "put_on is no instant", "with its zone"),  # noqa: DTZ001  that is it
    ],
)  # fmt: skip
def test_a_wrong_argument_is_one_clear_error(over: dict, trouble: str, remedy: str) -> None:
    said = {"cut": "chicken-wing", "pit": "kettle", "members": 4, "until_s": 3600.0} | over
    with pytest.raises(pr.InputError) as caught:
        pr.simulate(said.pop("cut"), said.pop("pit"), said.pop("course", None), **said)
    assert trouble.casefold() in str(caught.value).casefold()
    assert remedy.casefold() in caught.value.remedy.casefold()
