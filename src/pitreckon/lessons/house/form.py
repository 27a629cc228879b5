"""The file that a house's lessons are kept in: JSON, one form, every number with its unit's name."""

from __future__ import annotations

from dataclasses import asdict
from datetime import UTC
from typing import Any, Final, Literal

import numpy as np
from pydantic import (
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    SerializerFunctionWrapHandler,
    ValidationError,
    model_serializer,
)

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.cook.looks import KINDS
from pitreckon.errors import InputError, Place
from pitreckon.reckon.hands import THERMOMETER, HandTold
from pitreckon.reckon.learned import Lesson, Lessons, Tells, ThermometerSaid
from pitreckon.reckon.levels import ROW, UNKNOWNS
from pitreckon.text.said import Said, joined, said

FORM: Final = "pitreckon lessons 1"
LEAST: Final = 1e-9
"""A line says nothing of an unknown on which it hangs by less, over its spread."""
HELD: Final = frozenset(kind.name for kind in KINDS if kind.scale or kind.errors.instrument)
"""Looks that have a hand's bias: scales of words, and the thermometer."""
MOST_BYTES: Final = 8_000_000


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class LineDocument(_Part):
    """One straight line: the sum of slope times departure, and what it came to."""

    slope: dict[str, float] = Field(description="by the name of what is not known, per its unit")
    value: float = Field(description="what it came to")
    sd: float = Field(gt=0.0, description="standard error of that")
    what: Tells = Field(
        default="", description="what it tells; left out where somebody said it, or a program from before learned it"
    )

    @model_serializer(mode="wrap")
    def _as_before(self, whole: SerializerFunctionWrapHandler) -> Any:
        """A file of what was said stays what it was, for programs from before."""
        made: dict[str, object] = whole(self)
        return made if self.what else {key: value for key, value in made.items() if key != "what"}


class HandDocument(_Part):
    """What a cook told of a person's words on a scale, said less true, as levels; or of a thermometer, in kelvins."""

    by: str
    kind: str
    value: float
    sd: float = Field(gt=0.0)
    beside: int = Field(
        default=0,
        ge=0,
        description="photos, or readings in ice or boiling water, that it was held against; left out where there were "
        "none",
    )

    @model_serializer(mode="wrap")
    def _as_before(self, whole: SerializerFunctionWrapHandler) -> Any:
        """A file that knows of no photos stays what it was, for programs from before there were any."""
        made: dict[str, object] = whole(self)
        return made if self.beside else {key: value for key, value in made.items() if key != "beside"}


class ToldDocument(_Part):
    """A sentence that can be told in another language: its message and what is put into it."""

    message: str = Field(max_length=1000)
    fields: dict[str, str | ToldDocument] = {}


class LessonDocument(_Part):
    """What one item of a cook told, or what somebody said: then there is neither item nor cut."""

    cook: str
    item: str
    piece: int | None = None
    at: AwareDatetime
    cut: str
    pit: str
    kind: str
    wrap: str | None = None
    measured: bool = False
    many: bool = False
    seen: int = Field(ge=0, description="entries that it rests on")
    hand: str | None = Field(default=None, description="whose looks it rests on, or who said it; null: several")
    lines: list[LineDocument]
    hands: list[HandDocument] = []
    not_believed: list[ToldDocument] = Field(
        default=[], description="what of its ledger it did not believe; left out where that is nothing"
    )

    @model_serializer(mode="wrap")
    def _as_before(self, whole: SerializerFunctionWrapHandler) -> Any:
        """A file of cooks that were believed stays what it was, for programs from before."""
        made: dict[str, object] = whole(self)
        return made if self.not_believed else {key: value for key, value in made.items() if key != "not_believed"}


class ThermometerDocument(_Part):
    """What a person said outright of a thermometer that spot temperatures are taken with."""

    key: str
    whose: str
    since: AwareDatetime
    over_k: float | None = Field(default=None, description="reads so much over the truth; null: it is another one")
    sd: float = Field(default=1.0, gt=0.0, description="standard error of that")


class LessonsDocument(_Part):
    """All of a house's lessons."""

    form: Literal["pitreckon lessons 1"]
    lessons: list[LessonDocument] = []
    anew: dict[str, AwareDatetime] = Field(default={}, description="since when a pit is another")
    same: dict[str, AwareDatetime] = Field(
        default={}, description="up to when a pit is the same, as somebody said; left out where nobody did"
    )
    thermometers: list[ThermometerDocument] = Field(
        default=[], description="what was said of thermometers; left out where nothing was"
    )

    @model_serializer(mode="wrap")
    def _as_before(self, whole: SerializerFunctionWrapHandler) -> Any:
        """A file in which nobody said so of a pit or a thermometer stays what it was, for programs from before."""
        made: dict[str, object] = whole(self)
        unsaid = {key for key in ("same", "thermometers") if not getattr(self, key)}
        return {key: value for key, value in made.items() if key not in unsaid}


def text_of_lessons(lessons: Lessons) -> str:
    """As the file has them."""
    document = LessonsDocument(
        form=FORM,
        lessons=[_document(each) for each in lessons.lessons],
        anew=dict(sorted(lessons.anew.items())),
        same=dict(sorted(lessons.same.items())),
        thermometers=[_of_thermometer(each) for each in lessons.thermometers],
    )
    return document.model_dump_json(indent=1) + "\n"


def lessons_of_text(text: str, name: str) -> Lessons:
    """The inverse; ``name``: of the file, for faults.

    Raises InputError: it is no such file, or names what the catalog does not have
    """
    if len(text) > MOST_BYTES:
        raise InputError(f"{name} is larger than any house's lessons", f"Give at most {MOST_BYTES} characters")
    try:
        document = LessonsDocument.model_validate_json(text)
    except ValidationError as fault:
        first = fault.errors()[0]
        at = ".".join(str(step) for step in first["loc"])
        remedy = "Give a file that 'pitreckon lessons' wrote"
        raise InputError(f"{at or 'it'}: {first['msg']}", remedy, Place(file=name)) from None
    lessons = tuple(_lesson(each, name) for each in document.lessons)
    thermometers = tuple(_thermometer(each) for each in document.thermometers)
    return Lessons(lessons, document.anew, document.same, thermometers)


def _of_thermometer(said: ThermometerSaid) -> ThermometerDocument:
    told = {} if said.told is None else {"over_k": said.told.value, "sd": said.told.sd}
    return ThermometerDocument(key=said.key, whose=said.whose, since=said.at_utc, **told)


def _thermometer(document: ThermometerDocument) -> ThermometerSaid:
    since = document.since.astimezone(UTC)
    if document.over_k is None:
        return ThermometerSaid(document.key, document.whose, since)
    told = HandTold(document.whose, THERMOMETER, document.over_k, document.sd)
    return ThermometerSaid(document.key, document.whose, since, told)


def _document(lesson: Lesson) -> LessonDocument:
    of_spread = lesson.slope * lesson.levels.sd
    lines = [
        LineDocument(
            slope={name: float(row[ROW[name]]) for name in UNKNOWNS if abs(sized[ROW[name]]) > LEAST},
            value=float(value),
            sd=float(sd),
            what=what,
        )
        for row, sized, value, sd, what in zip(
            lesson.slope,
            of_spread,
            lesson.value,
            lesson.sd,
            lesson.tells,
            strict=True,
        )
    ]
    return LessonDocument(
        cook=lesson.cook,
        item=lesson.item,
        piece=lesson.piece,
        at=lesson.at_utc,
        cut=lesson.cut,
        pit=lesson.pit,
        kind=lesson.kind,
        wrap=lesson.wrap,
        measured=lesson.measured,
        many=lesson.many,
        seen=lesson.seen,
        hand=lesson.hand,
        lines=lines,
        hands=[HandDocument.model_validate(asdict(each)) for each in lesson.hands],
        not_believed=[_told(each) for each in lesson.not_believed],
    )


def _told(text: str) -> ToldDocument:
    if not isinstance(text, Said):
        return _told(joined("", [text]))
    fields = {name: _told(value) if isinstance(value, Said) else str(value) for name, value in text.fields.items()}
    return ToldDocument(message=text.message, fields=fields)


def _retold(told: ToldDocument, name: str) -> str:
    fields = {key: value if isinstance(value, str) else _retold(value, name) for key, value in told.fields.items()}
    try:
        return said(told.message, **fields)
    except (KeyError, IndexError, ValueError, AttributeError):
        raise InputError(f"'{told.message}' is no sentence", "Learn that cook anew", Place(name)) from None


def _lesson(document: LessonDocument, name: str) -> Lesson:
    for key, has in ((document.cut, catalog.cuts()), (document.kind, catalog.pits())):
        if key not in has and (key or document.item):
            raise InputError(
                f"the catalog has no '{key}'", "Leave that cook out, or add it to the catalog", Place(name)
            )
    return Lesson(
        cook=document.cook,
        item=document.item,
        piece=document.piece,
        at_utc=document.at.astimezone(UTC),
        cut=document.cut,
        pit=document.pit,
        kind=document.kind,
        wrap=document.wrap,
        measured=document.measured,
        many=document.many,
        seen=document.seen,
        hand=document.hand,
        slope=np.array([_row(line, name) for line in document.lines]).reshape(-1, len(UNKNOWNS)),
        value=np.array([line.value for line in document.lines]),
        sd=np.array([line.sd for line in document.lines]),
        what=tuple(line.what for line in document.lines),
        hands=tuple(_hand(each, name) for each in document.hands),
        not_believed=tuple(_retold(each, name) for each in document.not_believed),
    )


def _hand(document: HandDocument, name: str) -> HandTold:
    if document.kind not in HELD:
        raise InputError(f"'{document.kind}' is no scale of words", "Learn that cook anew", Place(name))
    return HandTold(document.by, document.kind, document.value, document.sd, document.beside)


def _row(line: LineDocument, name: str) -> Floats:
    unknown = sorted(set(line.slope) - set(ROW))
    if unknown:
        raise InputError(f"'{unknown[0]}' is nothing that is not known here", "Learn that cook anew", Place(name))
    return np.array([line.slope.get(each, 0.0) for each in UNKNOWNS])
