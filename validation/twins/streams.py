"""Random numbers of the twins: each depends on the seed, the cook and a label, and on nothing else."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from typing import TypeVar

import numpy as np

T = TypeVar("T")


def stream(seed: int, index: int, label: str) -> np.random.Generator:
    """A generator of its own for every seed, cook and label."""
    return np.random.default_rng([seed, index, zlib.crc32(label.encode())])


def pick(rng: np.random.Generator, weights: dict[T, float]) -> T:
    """One of the keys, by weight."""
    keys = list(weights)
    shares = np.array(list(weights.values()))
    return keys[int(rng.choice(len(keys), p=shares / shares.sum()))]


def one_of(rng: np.random.Generator, choices: Sequence[T]) -> T:
    """One of the choices, all alike."""
    return choices[int(rng.integers(len(choices)))]


def about(rng: np.random.Generator, middle: float, relative: float) -> float:
    """A positive number about ``middle``, log-normal."""
    return float(middle * np.exp(relative * rng.standard_normal()))
