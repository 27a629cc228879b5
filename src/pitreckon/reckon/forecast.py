"""``reckon``: from a cook and its ledger to an outlook.

Pure: the same cook, ledger, moment, members and seed give the same outlook. Nothing holds state.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.ledger.condense import condensed
from pitreckon.reckon.learned import Lessons
from pitreckon.reckon.nextlook import next_look, on_walks
from pitreckon.reckon.outlook import Outlook
from pitreckon.reckon.posterior import posterior
from pitreckon.reckon.prepare import tracks_of, with_house
from pitreckon.reckon.sift import Sifted, sift, unused_words
from pitreckon.reckon.summary import ItemRun, item_outlook, until_words
from pitreckon.reckon.trips import with_trips

Progress = Callable[[str], None]


def reckon(
    cook: Cook,
    ledger: Ledger | None = None,
    *,
    now: datetime | None = None,
    members: int = 512,
    seed: int = 1,
    progress: Progress | None = None,
    lessons: Lessons | None = None,
) -> Outlook:
    """The outlook of a cook at a moment.

    cook: the plan
    ledger: what has happened; events after ``now`` are left out
    now: the moment; by default the ledger's last event, else the cook's beginning
    members: size of the ensemble
    seed: of all its draws
    progress: told the label of each item before it is reckoned
    lessons: what earlier cooks of the house told; of later ones nothing is taken

    Raises InputError: fewer than 8 members; a cut or a pit that the catalog does not have
    """
    return reckoning(cook, ledger, now=now, members=members, seed=seed, progress=progress, lessons=lessons).outlook


def reckon_runs(
    cook: Cook,
    ledger: Ledger | None = None,
    *,
    now: datetime | None = None,
    members: int = 512,
    seed: int = 1,
    threads: int | None = None,
    lessons: Lessons | None = None,
) -> tuple[Outlook, tuple[ItemRun, ...]]:
    """``reckon`` with the ensembles behind it."""
    done = reckoning(cook, ledger, now=now, members=members, seed=seed, threads=threads, lessons=lessons)
    return done.outlook, done.runs


@dataclass(frozen=True)
class Reckoning:
    """An outlook with the members behind it, from which what-ifs go on."""

    cook: Cook
    sifted: Sifted
    outlook: Outlook
    runs: tuple[ItemRun, ...]


def reckoning(
    cook: Cook,
    ledger: Ledger | None = None,
    *,
    now: datetime | None = None,
    members: int = 512,
    seed: int = 1,
    progress: Progress | None = None,
    threads: int | None = None,
    lessons: Lessons | None = None,
) -> Reckoning:
    """``reckon`` with all that it rests on; see there. ``threads``: of the kernel, all cores by default."""
    if members < 8:
        raise InputError(f"an ensemble of {members} members is too small to have a spread", "Ask for 8 or more")
    whole = ledger or Ledger()
    moment = now or whole.last_utc or cook.begin_utc
    sifted = sift(cook, condensed(whole.until(moment)))
    known = sifted.ledger
    of_items = [tracks_of(cook, item, known, moment, seed) for item in cook.items]
    if progress is not None:
        progress(", ".join(item.label for item in cook.items))
    learned = None if lessons is None else lessons.before(cook.begin_utc)
    if learned is not None:
        hands = learned.hands(cook.begin_utc)
        of_items = [with_house(tracks, hands, learned.strays) for tracks in of_items]
    done = posterior([track for tracks in of_items for track in tracks], members, threads, learned)
    runs = []
    for tracks in of_items:
        runs.append(ItemRun.of(tuple(done[: len(tracks)])))
        done = done[len(tracks) :]
    return Reckoning(cook, sifted, outlook_of(cook, sifted, runs, moment, (members, seed)), tuple(runs))


def outlook_of(cook: Cook, sifted: Sifted, runs: Sequence[ItemRun], now: datetime, drawn: tuple[int, int]) -> Outlook:
    """What the runs of a cook's items say at a moment; ``drawn``: members of each and the seed."""
    known = sifted.ledger
    outlook = Outlook(
        cook=cook.name,
        zone=cook.zone,
        now_utc=now,
        serve_utc=cook.serve_utc,
        members=drawn[0],
        seed=drawn[1],
        items=tuple(replace(item_outlook(cook, run, known, now), next_look=next_look(run.main, now)) for run in runs),
        rejected=unused_words(cook, sifted, now),
    )
    return on_walks(with_trips(outlook, cook, known, runs))


__all__ = ["ItemRun", "Reckoning", "reckon", "reckon_runs", "reckoning", "until_words"]
