"""The six questions of a first cook; the file that comes of the answers is :mod:`pitreckon.cli.firstcook`.

A question has a usual answer, which an empty line takes; one that cannot be read is asked again with the reason. What
an option has said is not asked.
"""

import re
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final, Literal
from zoneinfo import ZoneInfo

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.errors import InputError, Place
from pitreckon.forms.defaults import told
from pitreckon.forms.names import UNWRAPPED, KnownNames
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import room_for
from pitreckon.plan.wishes import PitWish
from pitreckon.units import (
    Scale,
    celsius_from_fahrenheit,
    fahrenheit_from_celsius,
    format_local,
    format_mass,
    is_clock,
    next_clock,
    parse_clock,
    parse_instant,
    parse_mass,
    parse_temperature,
    shown,
)

FIRST_CUT, FIRST_HOUR = "st-louis-ribs", "18:00"
FIRST_PITS: Final = ("kettle", "pellet-cooker", "offset-log-burner")
"""Offered to who has not said anything yet, the first with room for what was said: common practice, no source."""
ALL_KG: Final = 3.6
"""Offered in all, where nobody has said how many eat [kg]: about what eight people eat of a cut with bones."""
MOST_OFFERED: Final = 24
LIGHTEST_KG, HEAVIEST_KG = 0.005, 150.0
"""Of one piece, as an item of a cook has it [kg]."""
ANY_SET_C: Final = 110.0
"""Of a pit whose room is asked after [°C]."""
SET_STEPS: Final[dict[Scale, float]] = {"F": 25.0, "C": 10.0}
"""What pits are set by: common practice, no source."""
_AMOUNT: Final = re.compile(r"(?:([0-9]{1,4})\s*(?:[x×*,]|of\b)\s*)?(.+)", re.IGNORECASE)
_PEOPLE: Final = re.compile(r"([0-9]{1,4})\s*(?:people|heads|guests|adults)", re.IGNORECASE)
_PIECES: Final = re.compile(r"([0-9]{1,4})\s*(?:pieces?)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Amount:
    """How much: pieces of a weight [kg], or for so many people, who are then reckoned with."""

    pieces: int | None = None
    mass_kg: float | None = None
    people: int | None = None


@dataclass
class Answers:
    """What is known so far, in the units of ``degrees``; the zone in which it is eaten, and now."""

    degrees: Scale
    zone: ZoneInfo
    now_utc: datetime
    said: dict[str, Any]

    @property
    def cut(self) -> Cut:
        """The cut that was chosen."""
        return catalog.cut(self.said["cut"])

    @property
    def masses(self) -> Literal["lb", "kg"]:
        """The unit of weights."""
        return "lb" if self.degrees == "F" else "kg"


@dataclass(frozen=True)
class Question:
    """One of the six. option: that says it; words: as it is asked; usual: the answer to an empty line

    read: the answer of a text. Raises InputError: it is none
    """

    key: str
    option: str
    words: str
    usual: Callable[[Answers], str]
    read: Callable[[str, Answers], Any]


def _usual_amount(answers: Answers) -> str:
    people = told("people").value
    if people is not None:
        return f"{people} people"
    mass_kg = answers.cut.shape.mass_kg.value
    count = min(max(round(ALL_KG / mass_kg), 1), MOST_OFFERED)
    return f"{count} x {format_mass(mass_kg, answers.masses)}"


def _read_amount(text: str, answers: Answers) -> Amount:
    people, pieces = _PEOPLE.fullmatch(text), _PIECES.fullmatch(text)
    if people:
        return Amount(people=_counted(people[1], 5000))
    if pieces:
        return Amount(_counted(pieces[1], 500), answers.cut.shape.mass_kg.value)
    found = _AMOUNT.fullmatch(text)
    if found is None:
        raise InputError("nothing is said", "Write how many and how heavy one is, as in 3 x 2 lb, or 8 people")
    try:
        return Amount(_counted(found[1] or "1", 500), _weight(_with_unit(found[2], answers.masses)))
    except InputError as fault:
        remedy = f"{fault.remedy}; with how many before it, as in 3 x {format_mass(1.3, answers.masses)}; or 8 people"
        raise InputError(fault.trouble, remedy) from None


def _weight(text: str) -> float:
    mass_kg = parse_mass(text)
    if not LIGHTEST_KG <= mass_kg <= HEAVIEST_KG:
        raise InputError(f"{shown(text)} is no weight of one piece", "Write 5 g to 150 kg")
    return mass_kg


def _counted(text: str, most: int) -> int:
    if not 1 <= int(text) <= most:
        raise InputError(f"{text} is no number of them", f"Write 1 to {most}")
    return int(text)


def _with_unit(text: str, unit: str) -> str:
    """A bare number is meant in the units that were asked for."""
    return f"{text} {unit}" if re.fullmatch(r"[0-9]+(?:\.[0-9]+)?", text.strip()) else text


def _usual_pit(answers: Answers) -> str:
    amount: Amount = answers.said["amount"]
    if amount.pieces is None or amount.mass_kg is None:
        return FIRST_PITS[0]
    meat = [Pieces("meat", answers.cut.key, amount.pieces, amount.mass_kg)]
    roomy = (kind for kind in FIRST_PITS if room_for(PitWish("pit", kind, (ANY_SET_C,)), meat).fits)
    return next(roomy, FIRST_PITS[0])


def _usual_set(answers: Answers) -> str:
    usual_c = catalog.animal(answers.cut.animal).usual_set_c.value
    value = fahrenheit_from_celsius(usual_c) if answers.degrees == "F" else usual_c
    step = SET_STEPS[answers.degrees]
    return f"{step * round(value / step):.0f} {answers.degrees}"


def _read_set(text: str, answers: Answers) -> str:
    temperature_c = parse_temperature(_with_unit(text, answers.degrees))
    low_c, high_c = celsius_from_fahrenheit(100.0), 250.0
    if not low_c <= temperature_c <= high_c:
        raise InputError(f"no pit is reckoned at {text}", "Write 100 to 482 F, or 38 to 250 C")
    return _with_unit(text, answers.degrees)


def usual_wrap(answers: Answers) -> str:
    return next((stage.wrap for stage in answers.cut.course if stage.do == "wrapped"), UNWRAPPED)


def _usual_serve(answers: Answers) -> str:
    tomorrow = (answers.now_utc.astimezone(answers.zone) + timedelta(days=1)).date()
    return f"{tomorrow.isoformat()} {FIRST_HOUR}"


def _read_serve(text: str, answers: Answers) -> datetime:
    if is_clock(text):
        serve = next_clock(answers.now_utc, parse_clock(text), answers.zone)
    else:
        serve = parse_instant(text, answers.zone)
    if serve <= answers.now_utc:
        raise InputError(f"{format_local(serve, answers.zone)} is over", "Write a time that is to come")
    return serve


QUESTIONS: Final = (
    Question(
        "cut",
        "--cut",
        "What is cooked ('pitreckon cuts' lists the cuts)",
        lambda answers: FIRST_CUT,
        lambda text, answers: KnownNames.from_catalog().cut(text),
    ),
    Question("amount", "--amount", "How many, and how heavy is one", _usual_amount, _read_amount),
    Question(
        "pit",
        "--pit",
        "On which kind of pit ('pitreckon pits' lists them)",
        _usual_pit,
        lambda text, answers: KnownNames.from_catalog().pit(text),
    ),
    Question("set", "--set", "What is it set to", _usual_set, _read_set),
    Question(
        "wrap",
        "--wrap",
        "Wrapped in what (foil, paper, tray or none)",
        usual_wrap,
        lambda text, answers: KnownNames.from_catalog().wrap(text),
    ),
    Question("serve", "--serve", "When is it served", _usual_serve, _read_serve),
)


def ask(answers: Answers, options: Mapping[str, str | None]) -> None:
    """Answer every question: by its option, else on standard input, asked on standard error.

    options: by the keys of the questions; None: not said

    Raises InputError: an option cannot be read; the input ended.
    """
    for question in QUESTIONS:
        given = options[question.key]
        if given is not None:
            try:
                answers.said[question.key] = question.read(given.strip(), answers)
            except InputError as fault:
                raise fault.put(Place(field=question.option)) from None
            continue
        answers.said[question.key] = _asked(question, answers)


def _asked(question: Question, answers: Answers) -> Any:
    usual = question.usual(answers)
    while True:
        sys.stderr.write(f"{question.words} [{usual}]: ")
        sys.stderr.flush()
        line = sys.stdin.readline()
        if not line:
            sys.stderr.write("\n")
            raise InputError(
                f"the answers ended before '{question.words}'", f"Answer it, or say it with {question.option}"
            )
        try:
            return question.read(line.strip() or usual, answers)
        except InputError as fault:
            sys.stderr.write(f"  {fault}\n")


def started(degrees: Scale, zone: ZoneInfo) -> Answers:
    """Nothing said yet."""
    return Answers(degrees, zone, datetime.now(UTC).replace(second=0, microsecond=0), {})
