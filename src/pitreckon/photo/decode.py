"""A picture of somebody's, taken apart by a child with limits, and made anew without what a camera writes into it."""

from __future__ import annotations

import importlib.util
import json
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from pitreckon.errors import InputError
from pitreckon.text.said import said

LONGEST_SIDE: Final = 1280
"""Of a picture that is kept, and measured [pixels]."""
MOST_BYTES: Final = 12 * 1024 * 1024
MOST_PIXELS: Final = 60_000_000
QUALITY: Final = 82
MEMORY: Final = 768 * 2**20
"""Of the child [bytes]: a JPEG of the most pixels takes a tenth of it, a PNG of them half."""
CPU_S: Final = 15
PATIENCE_S: Final = 30.0
"""So long the child is waited for [s]."""
AT_ONCE: Final = 2
"""So many children there are at a time; who comes then waits."""
INSTALL: Final = 'pip install "pitreckon[photo]"'
_CHILD: Final = Path(__file__).with_name("child.py")
_turn = threading.BoundedSemaphore(AT_ONCE)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture made anew.

    jpeg: the file to keep; pixels: of that file, sRGB as it stands in it, shape (height, width, 3), 0 to 255
    whole: width and height of what was given, held upright [pixels]
    """

    jpeg: bytes
    pixels: NDArray[np.uint8]
    whole: tuple[int, int]


def can_decode() -> bool:
    """Is the extra here?"""
    return importlib.util.find_spec("PIL") is not None


def no_decoder() -> InputError:
    """Nothing here takes pictures apart."""
    return InputError(
        said("pictures cannot be read here"), said("Install what reads them beside Pitreckon: {line}", line=INSTALL)
    )


def _faults() -> dict[str, InputError]:
    """What a child may say in place of a picture."""
    megapixels = MOST_PIXELS // 10**6
    return {
        "no picture": InputError(said("that is no photo that can be read"), said("Send a JPEG, PNG or WebP")),
        "damaged": InputError(said("the photo breaks off, or is damaged"), said("Send it again, or take another one")),
        "it moves": InputError(said("the picture moves"), said("Send a still one: a JPEG, PNG or WebP")),
        "too many pixels": InputError(
            said("the photo has too many pixels"), said("Send one of at most {n} million", n=megapixels)
        ),
        "too much memory": InputError(
            said("the photo takes more memory than a photo should"), said("Send it as a JPEG, or a smaller one")
        ),
        "too long": InputError(
            said("the photo takes longer to read than a photo should"), said("Send it as a JPEG, or a smaller one")
        ),
    }


def decoded(given: bytes, *, memory: int = MEMORY, cpu_s: int = CPU_S, patience_s: float = PATIENCE_S) -> Picture:
    """A picture made anew as a JPEG of its pixels alone, in sRGB, upright, no longer than ``LONGEST_SIDE``.

    memory [bytes], cpu_s, patience_s [s]: what the child may take. Waits for it: not on a loop.

    Raises InputError: it is none, is too large, moves, breaks off, or takes more than a photo should.
    """
    if len(given) > MOST_BYTES:
        raise InputError(said("the photo is too large"), said("Send one of at most {n} MB", n=MOST_BYTES // 2**20))
    if not can_decode():
        raise no_decoder()
    asked = {"side": LONGEST_SIDE, "quality": QUALITY, "pixels": MOST_PIXELS, "memory": memory, "cpu_s": cpu_s}
    command = [sys.executable, "-P", str(_CHILD), json.dumps(asked)]
    faults = _faults()
    if not _turn.acquire(timeout=patience_s):
        raise InputError(said("too many photos come at once"), said("Send it again in a moment"))
    try:
        answer = subprocess.run(command, input=given, capture_output=True, timeout=patience_s, check=False)
    except subprocess.TimeoutExpired:
        raise faults["too long"] from None
    finally:
        _turn.release()
    if answer.returncode:  # it was ended: by its limit of time, or by the system for its memory
        raise faults["too long" if answer.returncode == -signal.SIGXCPU else "too much memory"]
    line, _, rest = answer.stdout.partition(b"\n")
    told = json.loads(line)
    if "why" in told:
        raise faults[told["why"]]
    width, height = told["size"]
    jpeg, raw = rest[: told["jpeg"]], rest[told["jpeg"] :]
    pixels = np.frombuffer(raw, dtype=np.uint8).reshape(height, width, 3)
    return Picture(jpeg, pixels, (told["whole"][0], told["whole"][1]))
