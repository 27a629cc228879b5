"""Where the compiled kernel is kept between runs.

Numba renews a cached function when the file that holds it changes, but not when a function that it calls
changes in another file. So the directory is named after everything that goes into the kernel: a change
anywhere in this room, in the folders below it or in physics, or another numba, starts an empty one. The
processor is in numba's own key. Directories of sources that nobody has run for a while are removed.
"""

import os
import re
import sys
import time
from contextlib import suppress
from zlib import adler32, crc32

VARIABLE = "NUMBA_CACHE_DIR"
UNUSED_S, ALWAYS_S = 14 * 86400.0, 86400.0
"""Another version's kernel that nobody has run for so long is removed; one that was run so lately never is [s]."""
MOST = 12
"""Kernels of other versions that are kept at the most, the latest ones."""
OURS = re.compile(r"[0-9a-f]{16}")
"""What a directory here is named."""
KEPT = (".nbi", ".nbc", ".machine", ".part")
"""How files end that numba and ``machine`` write there."""


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


def used(file: str) -> None:
    """Note that a kernel has been run, once a day: by the time at which its file was last touched."""
    with suppress(OSError):
        if time.time() - os.stat(file).st_mtime > ALWAYS_S:  # noqa: PTH116
            os.utime(file)


def tidy() -> list[str]:
    """Remove kernels of other versions that are no longer run; the directories that are gone.

    Nothing is touched but what this module has named, with nothing in it but what numba and ``machine`` write; nor
    anything in a directory that the user chose.
    """
    present = os.environ.get(VARIABLE, "")
    if os.path.dirname(present) != home():  # noqa: PTH120
        return []
    found = []
    with suppress(OSError), os.scandir(home()) as entries:
        for entry in entries:
            if OURS.fullmatch(entry.name) and entry.path != present and entry.is_dir(follow_symlinks=False):
                files = _files(entry.path)
                if files is not None:
                    when = max(os.stat(path).st_mtime for path in (entry.path, *files))  # noqa: PTH116
                    found.append((time.time() - when, entry.path, files))
    gone = []
    for i, (age_s, folder, files) in enumerate(sorted(found)):
        if age_s > UNUSED_S or (i >= MOST and age_s > ALWAYS_S):
            with suppress(OSError):
                _remove(folder, files)
                gone.append(folder)
    return gone


def _files(folder: str) -> list[str] | None:
    """All files of a kernel's directory and its folders; None: something else lies there, too."""
    found = []
    for below, folders, names in os.walk(folder):
        if any(os.path.islink(os.path.join(below, name)) for name in (*folders, *names)):  # noqa: PTH114, PTH118
            return None
        if not all(name.endswith(KEPT) or ".nbc." in name or ".nbi." in name for name in names):
            return None
        found += [os.path.join(below, name) for name in names]  # noqa: PTH118
    return found


def _remove(folder: str, files: list[str]) -> None:
    for file in files:
        os.remove(file)  # noqa: PTH107
    for below, _, _ in os.walk(folder, topdown=False):
        os.rmdir(below)  # noqa: PTH106
