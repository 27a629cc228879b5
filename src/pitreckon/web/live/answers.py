"""Answers to a card that somebody sent to the page: kept for a while in memory, and nowhere else.

They stay with whoever has the files. A server that is started anew has forgotten them, and asks for them again.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import Final

MOST_SENT: Final = 6
"""Folders of answers that are kept for being looked at again."""
Files = tuple[tuple[str, bytes], ...]


@dataclass
class Sent:
    """What was sent lately, by a name made of it."""

    kept: dict[str, Files] = field(default_factory=dict)

    def keep(self, files: Files) -> str:
        """Keep files, and name them."""
        digest = hashlib.sha256()
        for name, raw in files:
            digest.update(f"{len(name)} {len(raw)} {name}".encode() + raw)
        name = digest.hexdigest()[:32]
        self.kept.pop(name, None)
        self.kept[name] = files
        while len(self.kept) > MOST_SENT:
            self.kept.pop(next(iter(self.kept)))
        return name

    def files(self, name: str) -> Files | None:
        """The files of a name; None: they are gone."""
        return self.kept.get(name)
