"""The work behind ``pitreckon look --cook``: keep the photo by its hash, record the look, say what it moves."""

import hashlib
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pitreckon.cli.run import kernel_ahead, moment_of, progress_line
from pitreckon.cli.takein import Goal, open_goal
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger, Look
from pitreckon.ledger.bothways import tapped_and_measured
from pitreckon.ledger.keeping.photos import folder_of, keep_photo
from pitreckon.ledger.store import Entry
from pitreckon.photo.decode import Picture
from pitreckon.photo.measure import Measured
from pitreckon.photo.words import LOOK, value_of
from pitreckon.units import format_clock


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is to become of a measured colour: the cook, and the options that go with it."""

    cook: str
    item: str | None
    piece: int | None
    at: str | None
    by: str
    dry_run: bool
    members: int
    seed: int


@dataclass(frozen=True, slots=True)
class Told:
    """What became of it. recorded: None: it was there before; moved: the forecast, a sentence each

    tapped: what somebody tapped at about that time, "" where nobody did
    """

    item: str
    at: str
    recorded: bool | None
    moved: tuple[str, ...]
    tapped: str = ""


def looked_at(where: str | None, wanted: Wanted, picture: Picture, measured: Measured, note: str) -> Told:
    """Record the look and say what it moves; with ``dry_run`` say it alone."""
    with open_goal(where, wanted.cook, None) as goal:
        known = goal.store.ledger(goal.cook_id)
        item = _item(goal, known, wanted.item)
        if wanted.piece is not None and wanted.piece > goal.cook.item(item).pieces:
            raise InputError(
                f"there is no piece {wanted.piece} of {item}",
                "Leave the piece out, or count again",
                Place(field="--piece"),
            )
        now = datetime.now(UTC).replace(microsecond=0)
        at = now if wanted.at is None else moment_of(wanted.at, goal.cook, known)
        if at > now and wanted.at is not None and not wanted.dry_run:
            raise InputError("the time is ahead of now", "Record it when it has happened", Place(field="--at"))
        look = Look(at, item, wanted.piece, LOOK, measured.step.level, value_of(measured), note=note)
        recorded: bool | None = False
        if not wanted.dry_run:
            recorded = _recorded(goal, folder_of(where), look, picture, wanted.by) or None
        moved = _moved(goal, known, look, wanted) if recorded is not None else ()
        clock = format_clock(at, goal.cook.zone_info, seen_from=now)
        return Told(item, clock, recorded, moved, _tapped(known, look))


def _tapped(known: Ledger, look: Look) -> str:
    """What was tapped at about that time, and by whom."""
    both = [each.tap for each in tapped_and_measured(Ledger.of([*known.events, look])) if each.photo == look]
    if not both:
        return ""
    by = f" by {both[-1].by}" if both[-1].by else ""
    return f"Tapped{by} at about that time: {LOOK_KINDS[both[-1].kind].word(both[-1].value)}."


def _item(goal: Goal, known: Ledger, label: str | None) -> str:
    """The item that is meant. Raises InputError: there is none of that name, or it is not clear which."""
    labels = [item.label for item in goal.cook.items]
    if label is not None:
        found = next((each for each in labels if each.casefold() == label.casefold()), None)
        if found is None:
            raise InputError(f"'{label[:60]}' is no item of this cook", f"Write one of: {', '.join(labels)}").at(
                field="--item"
            )
        return found
    on = [each for each in labels if any(act.act == "put on" for act in known.acts(each))]
    on = [each for each in on if not any(act.act in {"took off", "served"} for act in known.acts(each))]
    choices = on or labels
    if len(choices) != 1:
        raise InputError("it is not said what is in the photo", f"Write one of: {', '.join(choices)}").at(
            field="--item"
        )
    return choices[0]


def _recorded(goal: Goal, folder: Path | None, look: Look, picture: Picture, by: str) -> bool:
    """Keep the photo and the look; False: it was there before."""
    note = look.note
    if folder is not None:
        note = f"{note} [photo {keep_photo(folder, picture.jpeg)}]"
    made = hashlib.sha256(picture.jpeg + f"{look.on} {look.piece} {look.note}".encode()).hexdigest()
    kept = Look(look.at_utc, look.on, look.piece, look.kind, look.value, look.text, note=note)
    return goal.keep([Entry(f"photo-{made[:40]}", kept, by)]) > 0


def _moved(goal: Goal, known: Ledger, look: Look, wanted: Wanted) -> tuple[str, ...]:
    with progress_line() as progress:
        progress.add_task("reckoning with it and without", total=None)
        kernel_ahead()
        from pitreckon.reckon import reckon  # noqa: PLC0415  the kernel
        from pitreckon.reckon.moved import moved_words  # noqa: PLC0415

        upto = known.until(look.at_utc)
        with_it = Ledger.of([*upto.events, look])
        one, other = (
            reckon(goal.cook, each, now=look.at_utc, members=wanted.members, seed=wanted.seed)
            for each in (upto, with_it)
        )
    return moved_words(one.item(look.on), other.item(look.on), goal.cook.zone_info)
