"""Photos of looks: made anew without what a camera writes into them, small, and kept beside the ledger by their hash.

An entry's note names its photo's hash, so the ledger's chain covers it: another picture under the name is found out.
"""

import hashlib
import re
from pathlib import Path

from pitreckon.errors import InputError
from pitreckon.extras import require
from pitreckon.ledger.keeping.photos import folder_of, keep_photo
from pitreckon.photo.decode import can_decode, decoded
from pitreckon.text.said import said


class Photos:
    """The photos of a house. Each function waits for the disk: not on the loop."""

    def __init__(self, store: str) -> None:
        """store: the ledger's file; where it is a database elsewhere there is no place for photos."""
        self._folder = folder_of(store)

    @property
    def can(self) -> bool:
        """Can photos be taken in here? It needs Pillow, and a ledger that is a file."""
        return self._folder is not None and can_decode()

    def keep(self, given: bytes) -> str:
        """Take a photo in; its hash. Raises InputError: it is none, or too large, or none can be kept here."""
        if not self.can or self._folder is None:
            require("PIL", "a photo")
            trouble, remedy = "photos cannot be kept here", "Keep the ledger in a file, and not in a database"
            raise InputError(said(trouble), said(remedy))
        return keep_photo(self._folder, decoded(given).jpeg)

    def path(self, name: str) -> Path | None:
        """The file of a photo; None: there is none of this hash, or what is there is another."""
        if self._folder is None or not re.fullmatch("[0-9a-f]{64}", name):
            return None
        path = self._folder / f"{name}.jpg"
        return path if path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() == name else None
