"""A run in pieces as labelled arrays: an ``xarray.Dataset`` with dimensions, coordinates, units and words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pitreckon.arrays import Floats, Ints
from pitreckon.library import labels
from pitreckon.library.labels import Label
from pitreckon.library.piecewise import Seen
from pitreckon.reckon.cells import Cells
from pitreckon.section.members import PARAMETERS
from pitreckon.section.shapes import Section
from pitreckon.section.simulate import Job
from pitreckon.section.trace import MARKS

if TYPE_CHECKING:
    from xarray import Dataset

MEASURES: Final = {"slab": "per square metre", "block": "per metre of length", "rack": "per metre of length"}
"""What a section's volumes, areas, heats and masses are for, by its shape; else the whole piece."""
FIELDS: Final = {"temperature": "temp_c", "water": "water", "collagen": "turned", "colour": "colour"}
BOOKS: Final = {
    "heat_in": "heat_in_j",
    "heat_out": "heat_out_j",
    "evaporated_mass": "evaporated_kg",
    "dripped_mass": "dripped_kg",
}
Array = tuple[tuple[str, ...], Any, dict[str, str]]


def labelled(job: Job, seen: Seen, numbers: tuple[Ints, Ints] | None = None) -> Dataset:
    """The fields, the books, the records, the marks and the members' parameters, each labelled.

    numbers: of each member its pit's, from 0, and its piece's on that, from 1; None: each is on a pit of its own
    Every array's dimensions, unit and words are those of ``library.labels``.
    """
    from xarray import Dataset  # noqa: PLC0415  it is an extra, and takes a second

    section, trace = job.section, seen.trace
    used = int(np.isfinite(trace["core_c"]).any(axis=1).sum())
    arrays: dict[str, Array] = dict(_fields(seen.cells))
    arrays |= {name: _array(label, trace[of][:used]) for name, (of, label) in labels.RECORDS.items()}
    arrays["mark_time"] = _array(labels.MARKS, trace.marks_s)
    arrays["stage_end"] = _array(labels.STAGE_END, trace.stage_end_s)
    arrays["failed"] = _array(labels.FAILED, trace.failed_s)
    arrays["parameters"] = _array(labels.PARAMETERS, job.members.values)
    places = _places(section)
    places |= {
        "time": np.asarray(seen.time_s),
        "record": trace.time_s[:used],
        "member": np.arange(job.members.size),
        "scale": job.members["scale"],
    }
    every = np.arange(job.members.size)
    places["pit_number"], places["piece"] = (every, np.ones_like(every)) if numbers is None else numbers
    coords: dict[str, Array] = {name: _array(labels.COORDINATES[name], value) for name, value in places.items()}
    coords["mark"] = (("mark",), list(MARKS), {"long_name": "mark"})
    coords["stage"] = (
        ("stage",),
        [f"{n + 1} {name}" for n, name in enumerate(job.course.names)],
        {"long_name": "stage"},
    )
    coords["parameter"] = (("parameter",), list(PARAMETERS), {"long_name": "parameter of a member"})
    coords["parameter_says"] = (("parameter",), list(PARAMETERS.values()), {"long_name": "its unit and what it is"})
    made = Dataset(arrays, coords, _of_section(section))
    kinds = labels.FACE_GROUPS
    made["face_group"].attrs |= {"flag_values": np.arange(len(kinds)), "flag_meanings": " ".join(kinds)}
    for name in made.coords:
        made[name].encoding["_FillValue"] = None  # a coordinate has a value everywhere
    return made


def _fields(seen: tuple[Cells, ...]) -> Iterator[tuple[str, Array]]:
    for name, of in FIELDS.items():
        yield name, _array(labels.FIELDS[name], np.stack([getattr(each, of).T for each in seen]))
    for name, of in BOOKS.items():
        yield name, _array(labels.BOOKS[name], np.stack([getattr(each, of) for each in seen]))


def _array(label: Label, values: Any) -> Array:
    return label.dims, values, {"units": label.units, "long_name": label.says}


def _places(section: Section) -> dict[str, Floats | Any]:
    x, y = np.meshgrid(section.x_m, section.y_m, indexing="ij")
    return {
        "cell": np.arange(section.cells),
        "face": np.arange(section.outer_cell.size),
        "x": x.ravel(),
        "y": y.ravel(),
        "volume": section.volume,
        "bone": section.bone,
        "face_cell": section.outer_cell,
        "face_area": section.outer_area,
        "face_group": section.outer_group,
    }


def _of_section(section: Section) -> dict[str, Any]:
    return {
        "shape": section.shape,
        "cells_x": section.nx,
        "cells_y": section.ny,
        "core_cell": section.core,
        "mirrored": int(section.mirrored),
        "measure": MEASURES.get(section.shape, "the whole piece"),
    }
