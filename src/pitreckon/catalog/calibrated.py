"""What the joint calibration leaves open: spreads and correlations of everything that was fitted together."""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.catalog.shelf import OWN_DATA
from pitreckon.errors import InputError, Place

FILE: Final = "constants/correlations.csv"
HEAD: Final = ("name", "kind", "scale", "address", "sd")


@dataclass(frozen=True, slots=True)
class Calibrated:
    """Fitted constants by address, e.g. ``constant:skin_n``, ``cut:boston-butt.thickness``.

    scales: log or linear; sd: of the natural logarithm where the scale is log, else in the constant's unit;
    correlation: of all of them, shape (constants, constants)
    """

    addresses: tuple[str, ...]
    scales: tuple[str, ...]
    sd: Floats
    correlation: Floats

    def index(self, address: str) -> int | None:
        """Its row; None: it was not fitted."""
        return self.addresses.index(address) if address in self.addresses else None

    def covariance(self) -> Floats:
        """Of all of them, shape (constants, constants)."""
        return np.asarray(self.correlation * np.outer(self.sd, self.sd))


@cache
def calibrated() -> Calibrated:
    """The shipped calibration's covariance (read once).

    Raises InputError: the file is not as a calibration writes it.
    """
    with (OWN_DATA / FILE).open(encoding="utf-8", newline="") as handle:
        rows = list(csv.reader(handle))
    names = [row[0] for row in rows[1:]]
    if tuple(rows[0]) != (*HEAD, *names) or any(len(row) != len(HEAD) + len(names) for row in rows):
        raise InputError(
            "its first row has to name its own rows", "Write it by a calibration, not by hand", Place(FILE, 1, None)
        )
    return Calibrated(
        tuple(row[3] for row in rows[1:]),
        tuple(row[2] for row in rows[1:]),
        np.array([float(row[4]) for row in rows[1:]]),
        _positive([[float(cell) for cell in row[len(HEAD) :]] for row in rows[1:]]),
    )


def _positive(correlation: Sequence[Sequence[float]]) -> Floats:
    """The matrix with the rounding of its digits taken out, so that it is one of correlations again."""
    matrix = np.array(correlation)
    values, vectors = np.linalg.eigh(0.5 * (matrix + matrix.T))
    matrix = (vectors * np.maximum(values, 1e-6)) @ vectors.T
    size = np.sqrt(np.diag(matrix))
    return np.asarray(matrix / np.outer(size, size))
