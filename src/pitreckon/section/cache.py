"""Where the compiled kernel is kept between runs.

Numba renews a cached function when the file that holds it changes, but not when a function that it calls
changes in another file. So the directory is named after everything that goes into the kernel: a change
anywhere in this room, or another numba, starts an empty one. The processor is in numba's own key.
"""

from __future__ import annotations

import os
import sys
from hashlib import blake2b
from importlib.util import find_spec
from pathlib import Path

VARIABLE = "NUMBA_CACHE_DIR"


def place() -> None:
    """Set numba's cache directory, before anything imports numba; a directory that the user set stays."""
    if os.environ.get(VARIABLE):
        return
    directory = str(home() / mark())
    os.environ[VARIABLE] = directory
    loaded = sys.modules.get("numba")
    if loaded is not None:
        loaded.config.CACHE_DIR = directory


def home() -> Path:
    """Directory of all kernels of this user, by the freedesktop.org convention."""
    base = os.environ.get("XDG_CACHE_HOME") or str(Path("~").expanduser() / ".cache")
    return Path(base) / "pitreckon"


def mark(room: Path | None = None) -> str:
    """Fingerprint of the sources in ``room`` (this one) and of the installed numba."""
    sources = sorted((room or Path(__file__).parent).glob("*.py"))
    digest = blake2b(sys.version.encode(), digest_size=10)
    for source in sources:
        digest.update(source.name.encode() + b"\0" + source.read_bytes())
    spec = find_spec("numba")
    if spec is not None and spec.origin is not None:
        digest.update((Path(spec.origin).with_name("_version.py")).read_bytes())
    return digest.hexdigest()
