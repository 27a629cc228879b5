"""Which cook a device's readings belong to: the one that is going on and has such a pit. Else they wait, in sight."""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

from pitreckon.cook import Cook
from pitreckon.errors import InputError, PitreckonError
from pitreckon.ledger import Ledger
from pitreckon.ledger.store import CookRow, Entry, Following, Store
from pitreckon.ledger.store.aside import AsideMessage, all_aside, keep_aside, let_go
from pitreckon.web.live.plans import cook_of
from pitreckon.web.live.shelf import Shelf

BEFORE: Final = timedelta(hours=3)
"""A cook is going on from so long before its first put-on, when a fire may be lit: common practice, no source."""
AFTER: Final = timedelta(hours=6)
"""And until so long after serving, where nobody has recorded that it was served."""
UNSERVED: Final = timedelta(hours=30)
"""The same after the last put-on, where there is no hour of serving."""
LONGEST: Final = timedelta(hours=1)
"""What fits no cook waits so long for somebody to say whose it is."""
MOST_COOKS, MOST_ASIDE = 24, 2000

Parse = Callable[[Cook, CookRow], list[Entry]]


@dataclass(frozen=True, slots=True)
class Raw:
    """A message as it came. body: its text; kind: its content type; at_utc: when it came"""

    body: str
    kind: str
    at_utc: datetime


Reader = Callable[[str, Raw], Parse]
"""How a device's message is read, by the device's label."""


@dataclass(frozen=True, slots=True)
class Found:
    """A cook, and a message's readings as entries of it."""

    row: CookRow
    entries: Sequence[Entry]


@dataclass(frozen=True, slots=True)
class Aside:
    """A message that waits. parse: makes entries of it for a cook; fits: ids of the cooks that it would go into

    key: under which the store keeps it, "" where it does not
    """

    at_utc: datetime
    parse: Parse
    count: int
    fits: tuple[str, ...]
    key: str = ""


@dataclass
class Waiting:
    """What waits of one device. cooks: that it fits, by id and name; none: no cook that is going on has such a pit."""

    label: str
    count: int = 0
    since_utc: datetime | None = None
    cooks: dict[str, str] = field(default_factory=dict)


class Whose:
    """Finds the cook of readings, and keeps aside what is nobody's so far. It waits for the store: not on the loop."""

    def __init__(
        self, store: Store, following: Following, now: Callable[[], datetime], shelf: Shelf | None = None
    ) -> None:
        self._store, self._following, self._now = store, following, now
        self._shelf = shelf or Shelf(store)
        self._aside: dict[str, list[Aside]] = {}
        self._said: dict[str, str] = {}
        self._one = threading.Lock()

    def restore(self, reader: Reader) -> None:
        """What waited when the server ended waits on; what is too old is let go. It asks the store."""
        kept = all_aside(self._store)
        late = [each.key for each in kept if self._now() - each.at_utc > LONGEST]
        let_go(self._store, late)
        with self._one:
            for each in kept:
                if each.key in late:
                    continue
                parse = reader(each.label, Raw(each.body, each.kind, each.at_utc))
                aside = Aside(each.at_utc, parse, 1, each.fits, each.key)
                self._aside.setdefault(each.label, []).append(aside)

    def going_on(self) -> list[tuple[CookRow, Cook]]:
        """Cooks whose time it is, neither served nor called off, the latest made first."""
        return [
            (row, cook)
            for row in self._store.cooks()[:MOST_COOKS]
            if not self._shelf.is_over(row.id) and (cook := self._readable(row)) and self._is_on(row, cook)
        ]

    @staticmethod
    def _readable(row: CookRow) -> Cook | None:
        try:
            return cook_of(row.plan_toml)
        except PitreckonError:
            return None

    def _is_on(self, row: CookRow, cook: Cook) -> bool:
        ledger, now = self._following.ledger(row.id), self._now()
        if is_over(cook, ledger):
            return False
        lit = [getattr(pit, "light_utc", None) for pit in cook.pits]
        begins = [cook.start_utc, *(at for at in lit if at is not None)]
        begun = bool(ledger.all_acts) or now >= min(begins) - BEFORE
        ends = max(item.put_on_utc for item in cook.items) + UNSERVED
        if cook.serve_utc is not None:
            ends = cook.serve_utc + AFTER
        return begun and now <= max(ends, ledger.all_acts[-1].at_utc + AFTER if ledger.all_acts else ends)

    def find(self, label: str, parse: Parse, raw: Raw | None = None) -> Found | None:
        """The cook of a message; None: it is not clear whose it is, and the message is kept aside.

        parse: makes its entries for a cook; raw: the message itself, which then outlives the server

        Raises InputError: there is no cook at all, or the message is wrong.
        """
        on, rows = self.going_on(), self._store.cooks()
        if not rows:
            raise InputError("there is no cook yet to add readings to", "Make one on the first page")
        said = self._said.get(label)
        if said and said not in {row.id for row, _ in on}:  # somebody said so, though it has not begun
            row = self._store.cook(said)
            cook = cook_of(row.plan_toml)
            on += [] if is_over(cook, self._following.ledger(said)) else [(row, cook)]
        fits, faults = [], []
        for row, cook in on:
            try:
                fits.append(Found(row, parse(cook, row)))
            except InputError as fault:
                faults.append(fault)
        chosen = next((each for each in fits if each.row.id == said), None)
        if chosen is None and len(fits) == 1:
            chosen = fits[0]
        if chosen is not None:
            return chosen
        self._need_sense(parse, rows, fits, faults)
        ids = tuple(each.row.id for each in fits)
        key = "" if raw is None else keep_aside(self._store, AsideMessage(label, self._now(), raw.body, raw.kind, ids))
        self._keep(label, Aside(self._now(), parse, 1, ids, key))
        return None

    def _need_sense(
        self, parse: Parse, rows: Sequence[CookRow], fits: Sequence[Found], faults: list[InputError]
    ) -> None:
        """Raises InputError: what is wrong with a message is not only that no cook has its pit."""
        if not fits and not faults:
            latest = self._readable(rows[0])
            try:
                if latest is not None:
                    parse(latest, rows[0])
            except InputError as fault:
                faults.append(fault)
        wrong = next((each for each in faults if not (each.place.field or "").endswith((".on", "on"))), None)
        if wrong is not None and not fits:
            raise wrong

    def _keep(self, label: str, aside: Aside) -> None:
        with self._one:
            before = self._aside.get(label, [])
            kept = [each for each in before if self._now() - each.at_utc <= LONGEST][1 - MOST_ASIDE :]
            self._aside[label] = [*kept, aside]
        let_go(self._store, [each.key for each in before if each not in kept and each.key])

    def waiting(self) -> list[Waiting]:
        """What waits for somebody to say whose it is, by device."""
        names = {row.id: row.name for row in self._store.cooks()[:MOST_COOKS]} if self._aside else {}
        out = []
        with self._one:
            for label, asides in self._aside.items():
                left = [each for each in asides if self._now() - each.at_utc <= LONGEST]
                if not left:
                    continue
                fits = left[-1].fits or tuple(names)[:4]
                cooks = {cook_id: names[cook_id] for cook_id in fits if cook_id in names}
                out.append(Waiting(label, len(left), left[0].at_utc, cooks))
        return out

    def settle(self, label: str, cook_id: str) -> list[Entry]:
        """From now on a device's readings go into a cook, for as long as that goes on; what waits, as its entries.

        cook_id: "": into none, what waits is let go
        """
        with self._one:
            asides = self._aside.pop(label, [])
            self._said[label] = cook_id
        let_go(self._store, [each.key for each in asides if each.key])
        if not cook_id:
            return []
        row = self._store.cook(cook_id)
        cook = cook_of(row.plan_toml)
        entries: list[Entry] = []
        for each in asides:
            try:
                entries += each.parse(cook, row)
            except InputError:
                continue  # of a pit that this cook has not
        return entries


def is_over(cook: Cook, ledger: Ledger) -> bool:
    """Has all of it been served?"""
    served = {act.on for act in ledger.all_acts if act.act == "served" and act.piece is None}
    return all(item.label in served for item in cook.items)
