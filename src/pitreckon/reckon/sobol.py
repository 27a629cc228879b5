"""Evenly spread points: Sobol's sequence, scrambled.

Direction numbers of S. Joe and F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635-2654, the first dimensions of their
table. Scrambled by a random lower triangular matrix of bits and a random shift (J. Matousek, J. Complexity 14 (1998)
527-556), and gone through in the order of a Gray code. The points are those of ``scipy.stats.qmc.Sobol`` to the bit
(the tests hold it): that would be the whole of ``scipy.stats`` to import for one sampler, most of what a command waits
for.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.arrays import Floats

BITS: Final = 30
POLYNOMIALS: Final = (1, 3, 7, 11, 13, 19, 25, 37, 41)
"""Primitive polynomials over two elements, a bit for each coefficient; the first stands for van der Corput's points."""
BEGINNINGS: Final = (
    *((), (1,), (1, 3), (1, 3, 1), (1, 1, 1), (1, 1, 3, 3), (1, 3, 5, 13), (1, 1, 5, 5, 17), (1, 1, 5, 5, 5)),
)
"""The first direction numbers of each dimension; the others follow from its polynomial."""
MOST: Final = len(POLYNOMIALS)
"""Dimensions at the most."""

Bits = NDArray[np.uint32]


def sobol(rng: np.random.Generator, dimensions: int, doublings: int) -> Floats:
    """The first ``2 ** doublings`` points of a scrambled sequence, shape (points, dimensions), each in [0, 1).

    rng: only a child of it is drawn from, as SciPy does. Raises ValueError: more dimensions than ``MOST``
    """
    if not 1 <= dimensions <= MOST:
        raise ValueError(f"points of {dimensions} dimensions: 1 to {MOST} are known")
    own = rng.spawn(1)[0]
    powers = np.uint32(1) << np.arange(BITS, dtype=np.uint32)
    shift = own.integers(0, 2, (dimensions, BITS), np.uint32) @ powers
    lower = np.tril(own.integers(0, 2, (dimensions, BITS, BITS), np.uint32))
    lower[:, np.arange(BITS), np.arange(BITS)] = 1
    highest_first = powers[::-1]
    # Bits of each direction number stand in a column, the highest on top.
    columns = (_directions(dimensions)[:, None, :] // highest_first[:, None]) % 2
    scrambled = np.einsum("dpb,dbj->djp", lower, columns) % 2 @ highest_first
    turns = np.arange(1, 2**doublings)
    changes = np.log2(turns & -turns).astype(np.int64)  # the bit in which the Gray code changes
    steps = np.concatenate((shift[:, None], scrambled[:, changes]), axis=1)
    return np.ascontiguousarray(np.bitwise_xor.accumulate(steps, axis=1).T * 0.5**BITS)


def _directions(dimensions: int) -> Bits:
    """Direction numbers, shape (dimensions, bits)."""
    out = np.ones((dimensions, BITS), np.uint32)
    for d in range(1, dimensions):
        polynomial, begin = POLYNOMIALS[d], BEGINNINGS[d]
        degree = len(begin)
        out[d, :degree] = begin
        for j in range(degree, BITS):
            out[d, j] = out[d, j - degree]
            for k in range(1, degree + 1):
                if polynomial >> (degree - k) & 1:
                    out[d, j] ^= out[d, j - k] << np.uint32(k)
    return out << np.arange(BITS - 1, -1, -1, dtype=np.uint32)
