"""``reckon``: an outlook with the members behind it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any

from pitreckon.cook import Cook
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.library.files import Pathlike, path_of, read_cook, read_ledger, read_lessons
from pitreckon.library.given import seed_of
from pitreckon.reckon.document import document_of
from pitreckon.reckon.forecast import Reckoning, reckoning
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.outlook import ItemOutlook, Outlook, Trip
from pitreckon.reckon.readied import make_ready

if TYPE_CHECKING:
    from pandas import DataFrame


@dataclass(frozen=True)
class Reckoned:
    """An outlook, with the members behind it.

    outlook: the record of it all (``pitreckon.reckon.outlook``); reckoning: the same with its ensembles, for those who
    build on it; no promise is made of what is in that one
    """

    reckoning: Reckoning = field(repr=False)

    def __repr__(self) -> str:
        labels = ", ".join(item.label for item in self.items)
        return f"<outlook of {self.cook.name} at {self.now_utc:%Y-%m-%d %H:%M} UTC: {labels}; {self.size} members>"

    @property
    def outlook(self) -> Outlook:
        """The whole record."""
        return self.reckoning.outlook

    @property
    def cook(self) -> Cook:
        """What it is the outlook of."""
        return self.reckoning.cook

    @property
    def items(self) -> tuple[ItemOutlook, ...]:
        """Each item: where it is and where it is heading."""
        return self.outlook.items

    @property
    def trips(self) -> tuple[Trip, ...]:
        """Walks to the pit, in order."""
        return self.outlook.trips

    @property
    def now_utc(self) -> datetime:
        """The moment that was reckoned."""
        return self.outlook.now_utc

    @property
    def serve_utc(self) -> datetime | None:
        """When it is to be served; None: not said."""
        return self.outlook.serve_utc

    @property
    def seed(self) -> int:
        """Of all its draws."""
        return self.outlook.seed

    @property
    def size(self) -> int:
        """How many members each item has."""
        return self.outlook.members

    @property
    def on_time(self) -> float | None:
        """Chance that all items are ready, and none past its best, at serving; None: no serving time."""
        return self.outlook.on_time

    @property
    def ready_by(self) -> float | None:
        """Chance that all items are ready by serving; None: no serving time."""
        return self.outlook.ready_by

    @property
    def at_best(self) -> float | None:
        """Chance that no item is past its best at serving; None: no serving time."""
        return self.outlook.at_best

    @property
    def free_until_utc(self) -> datetime | None:
        """Until when there is nothing to do at the pit; None: nothing more is to come."""
        return self.outlook.free_until_utc

    @property
    def be_back_utc(self) -> datetime | None:
        """By when the cook should be back at the pit; None: nothing more is to come."""
        return self.outlook.be_back_utc

    @property
    def rejected(self) -> tuple[str, ...]:
        """Entries of the ledger that were not used, each with its reason."""
        return self.outlook.rejected

    @property
    def members(self) -> DataFrame:
        """Every member of every item: its weight, marks, stage ends, and where it is now (``tables.members``).

        Raises MissingExtraError: pandas is not installed
        """
        from pitreckon.library import tables  # noqa: PLC0415  pandas is an extra

        return tables.members(self)

    def item(self, label: str) -> ItemOutlook:
        """The item of this label. Raises InputError: there is none."""
        for each in self.items:
            if each.label == label:
                return each
        labels = ", ".join(each.label for each in self.items)
        raise InputError(f"this cook has no item '{label}'", f"Its items are {labels}")

    def document(self) -> dict[str, Any]:
        """The outlook as ``pitreckon reckon --json`` has it (``docs/reference/outlook-json.md``)."""
        return document_of(self.outlook).model_dump(mode="json")


def reckon(
    cook: Cook | Pathlike,
    ledger: Ledger | Pathlike | None = None,
    *,
    now: datetime | None = None,
    members: int = 512,
    seed: int = 1,
    lessons: Lessons | Pathlike | None = None,
    threads: int | None = None,
) -> Reckoned:
    """Reckon where each piece of a cook stands and where it is heading.

    cook: the plan, or its file
    ledger: what has happened, or its file; events after ``now`` are left out; None: nothing yet
    now: the moment, with its zone; None: the ledger's last entry, else the cook's beginning
    members: size of the ensemble, 8 or more
    seed: of all its draws; the same cook, ledger, moment, members and seed give the same outlook
    lessons: what earlier cooks of the house told, or their file
    threads: of the kernel; None: all cores

    Raises InputError: a file is wrong; fewer than 8 members; a seed below 0; a moment without a zone
    """
    planned = cook if isinstance(cook, Cook) else read_cook(path_of(cook))
    known = ledger if ledger is None or isinstance(ledger, Ledger) else read_ledger(ledger, planned)
    learned = lessons if lessons is None or isinstance(lessons, Lessons) else read_lessons(lessons)
    if now is not None and (not isinstance(now, datetime) or now.tzinfo is None):
        raise InputError("the moment has no zone", "Give it one, as in datetime.now(UTC)", Place(field="now"))
    seed = seed_of(seed)
    make_ready()
    return Reckoned(reckoning(planned, known, now=now, members=members, seed=seed, threads=threads, lessons=learned))
