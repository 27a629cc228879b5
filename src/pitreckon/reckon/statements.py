"""What the numbers mean for supper, in words: ready by then, and still at its best then; and that it was served.

The two are apart, because they ask for different things: what is late wants heat or a wrap, what is past its best
wants to be held cooler, or to be eaten sooner.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from pitreckon.reckon.outlook import ItemOutlook, Outlook
from pitreckon.text.said import said, temperature
from pitreckon.units import format_percent

SURE: Final = (
    (0.95, "almost surely"),
    (0.75, "likely"),
    (0.55, "rather likely"),
    (0.4, "even odds"),
    (0.2, "unlikely"),
)
HARDLY: Final = "hardly"
STANDS_READY: Final = "it stands ready"
WORTH_NAMING: Final = 0.9
"""An item that is surer than this is not named as what stands in the way."""
REMEDIES: Final = {
    "too soft": said("getting too soft: held no warmer than it must be, or eaten sooner"),
    "too dark": said("getting too dark: wrap it, or move it away from the fire"),
    "gone cold": said("going cold: into a warm box, and see that it stays above {least}", least=temperature(60.0)),
}
"""What spoils a piece that stands, and what a cook does about it: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing that is said of supper.

    what: ``ready by 18:00``; words: ``likely``; chance: the number behind it, None where it is a fact
    whose: what stands in the way, with its number, "" where nothing does; remedy: what to do about that, "" for nothing
    when: the clock time, or times, that it is about
    """

    what: str
    words: str
    chance: float | None
    whose: str = ""
    remedy: str = ""
    when: str = ""

    @property
    def line(self) -> str:
        """All of it on one line: ``ready by 18:00: likely, 87 % (thighs 90 %)``."""
        much = "" if self.chance is None else f", {format_percent(self.chance)}"
        weakest = ", ".join(part for part in (self.whose, self.remedy) if part)
        return f"{self.what}: {self.words}{much}" + (f" ({weakest})" if weakest else "")


def sure_words(chance: float) -> str:
    """A chance in a word."""
    return said(next((word for least, word in SURE if chance >= least), HARDLY))


def statements(outlook: Outlook, clock: Callable[[datetime], str]) -> tuple[Statement, ...]:
    """Of all of it: that it was served, or whether it is ready by serving and still at its best then."""
    if outlook.served_utc is not None:
        return (Statement(said("served"), said("at {at}", at=clock(outlook.served_utc)), None),)
    return _of(outlook.items, outlook, clock)


def item_statements(item: ItemOutlook, outlook: Outlook, clock: Callable[[datetime], str]) -> tuple[Statement, ...]:
    """The same of one item."""
    if item.served_utc is not None:
        return (Statement(said("served"), said("at {at}", at=clock(item.served_utc)), None),)
    return _of((item,), outlook, clock)


def _of(items: Sequence[ItemOutlook], outlook: Outlook, clock: Callable[[datetime], str]) -> tuple[Statement, ...]:
    left = [item for item in items if item.served_utc is None and item.ready_by is not None]
    if not left:
        return ()
    times = {item.serve_utc or outlook.serve_utc for item in left} - {None}
    when = " and ".join(clock(at) for at in sorted(at for at in times if at is not None))
    if not when:
        return ()
    if all(item.stands_ready for item in left):
        ready = Statement(said("ready by {at}", at=when), said(STANDS_READY), None, when=when)
    else:
        chance = _product([item.ready_by or 0.0 for item in left if not item.stands_ready])
        late = [(item.ready_by or 0.0, item.label, "") for item in left if not item.stands_ready]
        ready = Statement(
            said("ready by {at}", at=when), sure_words(chance), chance, *_weakest(late, many=len(items) > 1), when
        )
    best = _product([1.0 if item.at_best is None else item.at_best for item in left])
    soft = [(1.0 if i.at_best is None else i.at_best, i.label, REMEDIES.get(i.spoils_by, "")) for i in left]
    weakest = _weakest(soft, many=len(items) > 1)
    return ready, Statement(said("still at its best at {at}", at=when), sure_words(best), best, *weakest, when)


def _product(chances: Sequence[float]) -> float:
    out = 1.0
    for chance in chances:
        out *= chance
    return out


def _weakest(chances: Sequence[tuple[float, str, str]], *, many: bool) -> tuple[str, str]:
    """What stands in the way, and what to do about it."""
    chance, label, remedy = min(chances)
    if chance >= WORTH_NAMING or not (many or remedy):
        return "", ""
    return f"{label} {format_percent(chance)}" if many else "", remedy
