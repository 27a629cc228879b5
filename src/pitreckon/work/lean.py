"""A process that takes no more of its libraries than it needs: for commands and workers, whose own it is.

Whoever imports the library gets its libraries as they are.
"""

from __future__ import annotations

import importlib.util
import os
import sys
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from typing import Final

BLAS_THREADS: Final = ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "BLIS_NUM_THREADS")
UNUSED: Final = ("f2py", "testing", "ctypeslib")
"""Parts of NumPy that SciPy takes up with all its names, and nothing here asks anything of."""


def one_thread_for_matrices() -> None:
    """Matrices of a few dozen rows are not shared among threads, which wait for each other by spinning.

    To be called before NumPy is imported, by processes that this one starts too; what the user has set stays.
    """
    for name in BLAS_THREADS:
        os.environ.setdefault(name, "1")


def load_lean() -> None:
    """Have the unused parts of NumPy loaded when somebody first asks them something, and not when SciPy is."""
    import numpy as np  # noqa: PLC0415  half of what it saves, for those who need no numbers

    for part in UNUSED:
        name = f"numpy.{part}"
        spec = None if name in sys.modules else importlib.util.find_spec(name)
        if spec is None or spec.loader is None:
            continue
        spec.loader = loader = importlib.util.LazyLoader(spec.loader)
        module = sys.modules[name] = importlib.util.module_from_spec(spec)
        loader.exec_module(module)
        setattr(np, part, module)


def give_back() -> None:
    """Memory that was taken for a piece of work and is free goes back to the system, where the allocator can.

    It keeps what it was given, in holes between what is kept of one piece of work and the next: in a worker half as
    much again as is in use. A few milliseconds.
    """
    trim = _trim()
    if trim is not None:
        trim(0)


@cache
def _trim() -> Callable[[int], int] | None:
    """The GNU C library's; None: there is another one here."""
    import ctypes  # noqa: PLC0415  not for who asks for help

    with suppress(OSError, AttributeError, TypeError):
        found: Callable[[int], int] = ctypes.CDLL(None).malloc_trim
        return found
    return None


def memory_bytes() -> int:
    """Of this machine; where it does not say, what is little today [bytes]."""
    try:
        return os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, ValueError, OSError):
        return 2 * 1024**3
