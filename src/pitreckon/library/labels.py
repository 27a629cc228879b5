"""What every array of a simulation is called, with its unit and its words: the labels of the labelled arrays."""

from __future__ import annotations

from typing import Final, NamedTuple


class Label(NamedTuple):
    """An array. units: as UDUNITS writes them; says: its long name; dims: what it goes over"""

    units: str
    says: str
    dims: tuple[str, ...]


CELL, FACE = ("time", "member", "cell"), ("time", "member", "face")
BOOK, RECORD = ("time", "member"), ("record", "member")

FIELDS: Final[dict[str, Label]] = {
    "temperature": Label("degC", "temperature of the cell", CELL),
    "water": Label("kg kg-1", "water per fat-free dry matter", CELL),
    "collagen": Label("1", "share of the collagen that has become gelatin", CELL),
    "colour": Label("1", "colour of the outer face, 1 is a set colour", FACE),
}
"""Over the whole section, at the times that were asked for; nan once a member's course is over, and in bone alone."""

BOOKS: Final[dict[str, Label]] = {
    "heat_in": Label("J", "heat from air and walls since put-on, in the section's own measure", BOOK),
    "heat_out": Label("J", "heat carried off by vapour and liquid since put-on, in the section's own measure", BOOK),
    "evaporated_mass": Label("kg", "vapour given off since put-on, in the section's own measure", BOOK),
    "dripped_mass": Label("kg", "liquid run off since put-on, in the section's own measure", BOOK),
}
"""What the kernel has kept book of by itself."""

RECORDS: Final[dict[str, tuple[str, Label]]] = {
    "core_temperature": ("core_c", Label("degC", "temperature at the core", RECORD)),
    "third_temperature": ("place1_c", Label("degC", "temperature a third of the way from core to surface", RECORD)),
    "two_thirds_temperature": ("place2_c", Label("degC", "temperature two thirds of the way to the surface", RECORD)),
    "surface_temperature": ("surface_c", Label("degC", "mean temperature of the upper faces", RECORD)),
    "mean_temperature": ("mean_c", Label("degC", "mean temperature of the meat by volume", RECORD)),
    "air_temperature": ("air_c", Label("degC", "air round the piece", RECORD)),
    "surface_colour": ("colour", Label("1", "mean colour of the upper faces, 1 is a set colour", RECORD)),
    "evaporated": ("evaporated", Label("1", "vapour given off, share of the raw piece", RECORD)),
    "dripped": ("dripped", Label("1", "liquid run off, share of the raw piece", RECORD)),
    "core_collagen": ("gelatin_core", Label("1", "share of the core's collagen that has become gelatin", RECORD)),
    "mean_collagen": ("gelatin_mean", Label("1", "mean share of the collagen that has become gelatin", RECORD)),
    "shrunk": ("shrunk_mean", Label("1", "mean share of the collagen that has shrunk", RECORD)),
    "glaze": ("glaze_ratio", Label("kg kg-1", "water per solids of the glaze", RECORD)),
    "lethality": ("kill_log10", Label("1", "log10 of equivalent seconds at 70 degC in the least-heated cell", RECORD)),
    "stage_number": ("stage", Label("1", "number of the stage, from 0", RECORD)),
    "surface_activity": ("activity", Label("1", "mean water activity of the upper faces", RECORD)),
}
"""By name: the kernel's channel, recorded every few minutes, and its label."""

MARKS: Final = Label("s", "time of the mark since put-on, nan where it is not reached", ("mark", "member"))
STAGE_END: Final = Label("s", "end of the stage since put-on, nan where it is not reached", ("stage", "member"))
FAILED: Final = Label("s", "when the member's numbers went out of bounds, nan where they did not", ("member",))
PARAMETERS: Final = Label("1", "parameters of the member, each in the unit beside it", ("parameter", "member"))

FACE_GROUPS: Final = ("upper", "under", "side", "cavity")
"""What the numbers of ``face_group`` stand for."""
COORDINATES: Final[dict[str, Label]] = {
    "time": Label("s", "time since put-on", ("time",)),
    "record": Label("s", "time since put-on of the kernel's own records", ("record",)),
    "member": Label("1", "number of the member", ("member",)),
    "pit_number": Label("1", "number of the possible pit that the member is on", ("member",)),
    "piece": Label("1", "number of the piece on that pit, from 1", ("member",)),
    "cell": Label("1", "number of the cell, along y first", ("cell",)),
    "face": Label("1", "number of the outer face", ("face",)),
    "x": Label("m", "place of the cell across the section, at the section's own size", ("cell",)),
    "y": Label("m", "place of the cell through the section, at the section's own size", ("cell",)),
    "volume": Label("m3", "volume of the cell, in the section's own measure", ("cell",)),
    "bone": Label("1", "share of the cell that is bone", ("cell",)),
    "face_cell": Label("1", "number of the cell behind the face", ("face",)),
    "face_area": Label("m2", "area of the face, in the section's own measure", ("face",)),
    "face_group": Label("1", "0 upper, 1 under, 2 side, 3 cavity", ("face",)),
    "scale": Label("1", "linear size of the member's piece over that of the section", ("member",)),
}
