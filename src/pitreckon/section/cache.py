"""Where the compiled kernel is kept between runs.

Numba renews a cached function when the file that holds it changes, but not when a function that it calls
changes in another file. So the directory is named after everything that goes into the kernel: a change
anywhere in this room, in the folders below it or in physics, or another numba, starts an empty one. The
processor is in numba's own key.
"""

import os
import sys
from zlib import adler32, crc32

VARIABLE = "NUMBA_CACHE_DIR"


def place() -> None:
    """Set numba's cache directory, before anything imports numba; a directory that the user set stays."""
    if os.environ.get(VARIABLE):
        return
    directory = os.path.join(home(), mark())  # noqa: PTH118  (pathlib costs more than all the rest here)
    os.environ[VARIABLE] = directory
    loaded = sys.modules.get("numba")
    if loaded is not None:
        loaded.config.CACHE_DIR = directory


def home() -> str:
    """Directory of all kernels of this user, by the freedesktop.org convention."""
    base = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")  # noqa: PTH111
    return os.path.join(base, "pitreckon")  # noqa: PTH118


def mark(*rooms: str) -> str:
    """Fingerprint of the sources in ``rooms`` and below (this and physics), of the installed numba and of Python."""
    here = os.path.dirname(__file__)  # noqa: PTH120
    physics = os.path.join(os.path.dirname(here), "physics")  # noqa: PTH118, PTH120
    files = [file for room in rooms or (here, physics) for file in _sources(room)]
    files += [os.path.join(entry, "numba", "_version.py") for entry in sys.path]  # noqa: PTH118
    text = sys.version.encode()
    for file in files:
        try:
            with open(file, "rb") as handle:  # noqa: PTH123
                text += b"\0" + handle.read()
        except OSError:  # not the place where numba is
            continue
    return f"{crc32(text):08x}{adler32(text):08x}"


def _sources(room: str) -> list[str]:
    """Every source of a room, its sub-folders' too: the kernel's halves lie in two of them."""
    found = []
    for folder, below, names in os.walk(room):
        below[:] = [name for name in below if name != "__pycache__"]
        found += [os.path.join(folder, name) for name in names if name.endswith(".py")]  # noqa: PTH118
    return sorted(found)
