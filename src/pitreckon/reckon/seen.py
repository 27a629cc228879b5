"""What a cook has seen of a piece that no member may have: that it is too dark.

Members that do not fit are left out and the likelihood is tempered, so a look that they cannot explain (a flare, sugar
that burnt, a rack over the fire) hardly moves them. The word of whoever stands before it counts all the same.
"""

from datetime import datetime
from typing import Final

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Ledger
from pitreckon.reckon.measures import TOO_DARK_LEVEL

MEANT: Final = 0.8
"""Share of the times in which meat that was called too dark on the pit is still so called at the table: a judgement."""


def seen_too_dark(label: str, pieces: int, ledger: Ledger, put_on: datetime, now: datetime) -> bool:
    """Does the last word on the colour of an item say that it is too dark? A look at one of several says it of that."""
    looks = [
        look
        for look in ledger.looks(label)
        if put_on < look.at_utc <= now
        and LOOK_KINDS[look.kind].confirms == "colour"
        and (look.piece is None or pieces == 1)
    ]
    return bool(looks) and looks[-1].value >= TOO_DARK_LEVEL
