"""Photos of looks: made anew without what a camera writes into them, small, and kept beside the ledger by their hash.

An entry's note names its photo's hash, so the ledger's chain covers it: another picture under the name is found out.
"""

import hashlib
import importlib.util
import io
import re
import struct
import zlib
from pathlib import Path
from typing import Final

from pitreckon.errors import InputError
from pitreckon.extras import require
from pitreckon.ledger.keeping.photos import folder_of

LONGEST_SIDE: Final = 1280
"""Of a photo that is kept [pixels]."""
MOST_BYTES: Final = 12 * 1024 * 1024
MOST_PIXELS: Final = 60_000_000
QUALITY: Final = 82
STUMBLES: Final = (
    OSError,
    ValueError,
    SyntaxError,
    TypeError,
    LookupError,
    ArithmeticError,
    EOFError,
    struct.error,
    zlib.error,
)
"""What a decoder may raise over bytes that are no photo; the fuzzer found that it is more than its pages say."""


class Photos:
    """The photos of a house. Each function waits for the disk: not on the loop."""

    def __init__(self, store: str) -> None:
        """store: the ledger's file; where it is a database elsewhere there is no place for photos."""
        self._folder = folder_of(store)

    @property
    def can(self) -> bool:
        """Can photos be taken in here? It needs Pillow, and a ledger that is a file."""
        return self._folder is not None and importlib.util.find_spec("PIL") is not None

    def keep(self, given: bytes) -> str:
        """Take a photo in; its hash. Raises InputError: it is none, or too large, or none can be kept here."""
        if not self.can or self._folder is None:
            require("PIL", "a photo")
            raise InputError("photos cannot be kept here", "Keep the ledger in a file, and not in a database")
        if len(given) > MOST_BYTES:
            raise InputError("the photo is too large", f"Send one of at most {MOST_BYTES // 2**20} MB")
        made = made_anew(given)
        name = hashlib.sha256(made).hexdigest()
        self._folder.mkdir(exist_ok=True)
        path = self._folder / f"{name}.jpg"
        if not path.exists():
            half = path.with_suffix(".half")
            half.write_bytes(made)
            half.replace(path)
        return name

    def path(self, name: str) -> Path | None:
        """The file of a photo; None: there is none of this hash, or what is there is another."""
        if self._folder is None or not re.fullmatch("[0-9a-f]{64}", name):
            return None
        path = self._folder / f"{name}.jpg"
        return path if path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == name else None


def made_anew(given: bytes) -> bytes:
    """A photo as a JPEG of its pixels alone, turned as it was held; position, camera and time are left behind.

    Raises InputError: it is no photo.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415  an extra, and slow to load

    try:
        with Image.open(io.BytesIO(given)) as opened:
            if opened.width * opened.height > MOST_PIXELS:
                raise InputError("the photo has too many pixels", "Send a smaller one")
            upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (*STUMBLES, Image.DecompressionBombError) as fault:
        raise InputError("that is no photo that can be read", "Send a JPEG, PNG or WebP") from fault
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=QUALITY, optimize=True)
    return out.getvalue()
