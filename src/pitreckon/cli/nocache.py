"""Where the folder of compiled models may not be written: a folder for this run alone, so that it is run all the same.

A program that a system user runs, or one on a read-only disk, has no home to keep anything in; numba then refuses to
compile. A shared folder with a name that others can guess would let them put code there, so it is a private one.
"""

import atexit
import os
import shutil
import tempfile
from typing import Final

VARIABLE: Final = "NUMBA_CACHE_DIR"
"""As in ``section.cache``, which is not imported for every ``--help``."""
_WHY: Final[list[str]] = []


def make_do() -> None:
    """Before numba is imported: see to it that a compiled model can be written somewhere. What the user set stays."""
    _WHY.clear()
    if os.environ.get(VARIABLE):
        return
    base = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")  # noqa: PTH111
    folder = os.path.join(base, "pitreckon")  # noqa: PTH118
    if _writable(folder):
        return
    try:
        own = tempfile.mkdtemp(prefix="pitreckon-")
    except OSError:  # nothing at all may be written
        return
    atexit.register(shutil.rmtree, own, ignore_errors=True)
    os.environ[VARIABLE] = own
    _WHY.append(
        f"the compiled model cannot be kept in {folder}, and is made anew each time. "
        "Set XDG_CACHE_HOME to a folder that may be written."
    )


def why() -> str:
    """What a command that runs the model tells of it; "": it is kept."""
    return "".join(_WHY)


def _writable(folder: str) -> bool:
    """May it be written to, or be made in the first folder above it that is there?"""
    there = os.path.abspath(folder)  # noqa: PTH100
    while not os.path.lexists(there):
        there = os.path.dirname(there)  # noqa: PTH120
    return os.path.isdir(there) and os.access(there, os.W_OK | os.X_OK)  # noqa: PTH112
