"""The file of a first cook: what was answered, and when it goes on, so that every command can follow it at once."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any, Final
from zoneinfo import ZoneInfo

from pitreckon.cli.new import Amount, Answers, usual_wrap
from pitreckon.cli.run import kernel_ahead, progress_line
from pitreckon.cook.plan import StagePlan, Until
from pitreckon.cook.until import mark_text
from pitreckon.cook.values import minutes_text
from pitreckon.errors import InputError, Place
from pitreckon.forms.names import UNWRAPPED
from pitreckon.forms.toml_write import toml_text
from pitreckon.plan.buying.amounts import Amount as Bought
from pitreckon.plan.buying.amounts import amounts_of
from pitreckon.plan.read import wishes_from_text
from pitreckon.plan.schedule.courses import courses_of
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import room_for
from pitreckon.plan.wishes import Wishes
from pitreckon.units import (
    Scale,
    fahrenheit_from_celsius,
    find_zone,
    format_local,
    format_mass,
    format_percent,
    parse_instant,
)

HEAD: Final = "# Written by pitreckon new. Without put_on, 'pitreckon plan' chooses it.\n"
LIKELY: Final = 0.8
"""With less chance [-] than this it is said: as a planned day has it."""
HELPS: Final = "A meal that can wait half an hour for it makes the evening surer"
LOADING: Final = "reckoning when it goes on (the first time the model is made ready, some seconds and up to a minute)"


@dataclass(frozen=True)
class Begun:
    """A first cook that is nearly written. wishes: the answers; bought: how many, how heavy; text: all but put_on"""

    answers: Answers
    wishes: Wishes
    bought: Bought
    text: str


@dataclass(frozen=True)
class Timed:
    """text: the whole file; put_on_utc: when it goes on; chance: [-] of its being in time; None: not reckoned"""

    text: str
    put_on_utc: datetime
    chance: float | None


def begun(answers: Answers) -> Begun:
    """What the answers ask for. Raises InputError: they do not go together."""
    amount: Amount = answers.said["amount"]
    wishes = wishes_from_text(toml_text(_tables(answers, amount)), "the answers")
    (bought,) = amounts_of(wishes)
    return Begun(answers, wishes, bought, _text(answers, Amount(bought.pieces, bought.mass_kg), amount.people))


def timed(begun: Begun, put_on: str | None) -> Timed:
    """The file with its put-on and its hold. put_on: as it was said; None: it is reckoned

    Raises InputError: it cannot be read, or it is not before serving
    """
    wishes = begun.wishes
    (wish,) = wishes.items
    if put_on is not None:
        try:
            at, chance = parse_instant(put_on, wishes.zone_info), None
        except InputError as fault:
            raise fault.put(Place(field="--put-on")) from None
        if at >= wishes.serve_utc:
            raise InputError("it goes on after it is served", "Write an earlier time", Place(field="--put-on"))
        hold = StagePlan("hold", Until("clock", wishes.serve_utc), air_c=wish.hold_c)
        stages = (*courses_of(wish, wishes.zone_info, at)[0], hold)
    else:
        with progress_line() as progress:
            progress.add_task(LOADING, total=None)
            kernel_ahead()
            from pitreckon.plan.schedule.alone import alone  # noqa: PLC0415  heavy, and not where it was said

            found = alone(wishes)
        (item,) = found.cook.items
        at, stages, (chance,) = item.put_on_utc, item.stages, found.chance
    amount: Amount = begun.answers.said["amount"]
    whole = _text(begun.answers, Amount(begun.bought.pieces, begun.bought.mass_kg), amount.people, (at, stages))
    return Timed(whole, at, chance)


def warnings_of(begun: Begun, timed: Timed, file: str) -> list[str]:
    """What a cook should know before the day: no room on the pit, or a put-on that is over."""
    (pit,), (wish,), zone = begun.wishes.pits, begun.wishes.items, begun.wishes.zone_info
    room = room_for(pit, [Pieces(wish.label, wish.cut, begun.bought.pieces, begun.bought.mass_kg)])
    told = [] if room.fits else [f"{file}: {room.trouble}. {room.remedy}."]
    if timed.chance is not None and timed.chance < LIKELY:
        helps = "A wrap makes its time surer" if begun.answers.said["wrap"] == UNWRAPPED else HELPS
        told.append(
            f"{file}: whenever it goes on, it is ready and still good at "
            f"{format_local(begun.wishes.serve_utc, zone)} with {format_percent(timed.chance)} at the most. {helps}."
        )
    now = begun.answers.now_utc
    if timed.put_on_utc < now:
        soonest = now + (begun.wishes.serve_utc - timed.put_on_utc) + timedelta(minutes=15)
        told.append(
            f"{file}: to be served at {format_local(begun.wishes.serve_utc, zone)} it goes on at "
            f"{format_local(timed.put_on_utc, zone)}, which is over. "
            f"Serve it at {format_local(soonest, zone)} or later."
        )
    return told


def _text(
    answers: Answers,
    amount: Amount,
    people: int | None,
    when: tuple[datetime, Sequence[StagePlan]] | None = None,
) -> str:
    tables = _tables(answers, amount, when)
    return HEAD + (f"# For {people} people.\n" if people else "") + toml_text(tables)


def _tables(
    answers: Answers, amount: Amount, when: tuple[datetime, Sequence[StagePlan]] | None = None
) -> dict[str, Any]:
    said, cut = answers.said, answers.cut
    label = cut.key.replace("-", " ")
    item: dict[str, Any] = {
        "name": label,
        "cut": cut.key,
        "pieces": amount.pieces,
        "weight": None if amount.mass_kg is None else format_mass(amount.mass_kg, answers.masses),
    }
    if when is None:
        item |= _wrapping(said["wrap"], usual_wrap(answers))
    else:
        at, stages = when
        item |= {
            "put_on": format_local(at, answers.zone),
            "stage": [_stage(stage, answers.degrees) for stage in stages],
        }
    tables: dict[str, Any] = {
        "cook": {
            "name": f"{label} for supper",
            "zone": answers.zone.key,
            "serve": format_local(said["serve"], answers.zone),
        },
        "guests": {"adults": amount.people},
        "pit": [{"name": "pit", "kind": said["pit"], "set": said["set"]}],
        "item": [item],
    }
    if amount.people is None:
        del tables["guests"]
    return tables


def _wrapping(wrap: str, usual: str) -> dict[str, str]:
    if wrap == usual:
        return {}
    return {"wrapping": "without"} if wrap == UNWRAPPED else {"wrapping": "with", "wrap": wrap}


def _stage(stage: StagePlan, degrees: Scale) -> Mapping[str, str | None]:
    until = stage.until
    ends: str | None
    if until.core_c is not None:
        ends = _temperature(until.core_c, degrees)
    elif until.duration_s is not None:
        ends = minutes_text(until.duration_s)
    else:
        ends = "serve" if until.at_utc is not None else mark_text(until)
    air = None if stage.air_c is None else _temperature(stage.air_c, degrees)
    return {"do": stage.kind, "wrap": stage.wrap, "air": air, "until": ends}


def _temperature(value_c: float, degrees: Scale) -> str:
    return f"{fahrenheit_from_celsius(value_c) if degrees == 'F' else value_c:.0f} {degrees}"


def zone_of(given: str | None) -> tuple[ZoneInfo, bool]:
    """The zone that was said, else this machine's, else UTC; whether it is known. Raises InputError: there is none."""
    if given is not None:
        return find_zone(given), True
    local = (
        os.environ.get("TZ", "").removeprefix(":") or str(Path("/etc/localtime").resolve()).partition("zoneinfo/")[2]
    )
    try:
        return find_zone(local), True
    except InputError:
        return find_zone("UTC"), False


def is_writable(file: Path) -> None:
    """Ask before the questions whether the answers can be kept. Raises InputError: they cannot."""
    folder = file.parent
    if file.is_dir():
        raise InputError("it is a folder", "Name a file", Place(str(file)))
    if not folder.is_dir():
        raise InputError(f"there is no folder {folder}", "Make it first, or name another file", Place(str(file)))
    if not os.access(folder, os.W_OK):
        raise InputError(f"nothing may be written in {folder}", "Name a file elsewhere", Place(str(file)))


def give_way(file: Path) -> None:
    """What is there is kept beside, with ``.before`` at its end, or ``.before-2``. Raises InputError: it cannot be."""
    names = (f"{file.name}.before{'' if k == 1 else f'-{k}'}" for k in count(1))
    try:
        file.replace(next(each for name in names if not (each := file.with_name(name)).exists()))
    except OSError as fault:
        raise InputError(f"it cannot give way ({fault.strerror})", "Name another file", Place(str(file))) from None
