"""A card as a file keeps it: all that is needed to cook by it again, what it promised, and its code."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from pitreckon import catalog
from pitreckon.cook import StagePlan, Until
from pitreckon.errors import InputError, Place
from pitreckon.lessons.answers.code import OF_CARD, card_part, code_of, parse_code, signs_of
from pitreckon.lessons.card.card import Card
from pitreckon.lessons.card.cooked import Piece
from pitreckon.lessons.card.finished import StageRecord
from pitreckon.lessons.card.script import Line, Script
from pitreckon.lessons.marks import Marks

FORM: Final = "pitreckon card 1"
MOST_LINES: Final = 12


class _Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class LookDocument(_Part):
    """What ends a line: core [degC], colour or tender [level], glaze, minutes [s]."""

    ends_by: Literal["core", "colour", "tender", "glaze", "minutes"]
    value: float | None


class KeptLineDocument(_Part):
    """One line of the card."""

    do: Literal["open", "wrapped", "sauced", "rest", "hold"]
    until: LookDocument
    look: LookDocument | None
    wrap: str | None = None
    air_c: float | None = None
    glaze_kg: float | None = None
    liquid_kg: float = 0.0
    by_clock: bool
    from_s: float = Field(ge=0.0, le=4e5)
    middle_s: float = Field(ge=0.0, le=4e5)
    to_s: float = Field(ge=0.0, le=4e5)
    took_s: float = Field(ge=0.0, le=4e5)


class PieceDocument(_Part):
    """What is cooked."""

    cut: str
    mass_kg: float = Field(gt=0.0, le=100.0)
    start_c: float = Field(ge=-5.0, le=40.0)
    sugar: float = Field(ge=0.0, le=1.0)
    thickness_m: float | None = Field(default=None, gt=0.0, le=1.0)
    thickness_factor: float = Field(gt=0.1, le=10.0)


class MarksDocument(_Part):
    """Past which a plate is not right."""

    by_core: bool
    dark: float
    pale: float
    charred: float
    tough: float
    mushy: float
    rubbery_c: float
    dry: float
    least_c: float


class KeptCardDocument(_Part):
    """A card as its readers' answers are taken in with it."""

    form: Literal["pitreckon card 1"]
    code: str = Field(description="four characters of the card, three of this version, one that checks them")
    title: str = Field(min_length=1, max_length=120)
    piece: PieceDocument
    set_c: float = Field(ge=40.0, le=300.0)
    grate_c: float = Field(ge=40.0, le=330.0)
    at_grate: bool
    every_s: float = Field(ge=60.0, le=36_000.0)
    places: bool
    lines: list[KeptLineDocument] = Field(min_length=1, max_length=MOST_LINES)
    marks: MarksDocument
    promised: float = Field(ge=0.0, le=1.0, description="share of simulated readers who get the plate [-]")
    promised_of: int = Field(ge=1, description="how many were simulated")


@dataclass(frozen=True)
class KeptCard:
    """A card with its code. promised: share of readers who get the plate, as it says; promised_of: of how many"""

    code: str
    title: str
    piece: Piece
    script: Script
    marks: Marks
    grate_c: float
    promised: float
    promised_of: int

    @property
    def on_pit(self) -> tuple[int, ...]:
        """Lines on the pit, from 0."""
        return tuple(n for n, line in enumerate(self.script.lines) if line.on_pit)


def kept_card(card: Card, title: str = "") -> KeptCard:
    """A card as it was reckoned. title: of the dish; by default the item's name"""
    done = card.finished
    first = signs_of([done.cook.name, done.item.label, done.item.cut, done.put_on_utc.isoformat()], OF_CARD)
    name = title or done.item.label[:1].upper() + done.item.label[1:]
    made = KeptCard(
        "", name, card.piece, card.script, card.marks, done.grate_c, round(card.right.share, 4), card.right.of
    )
    return coded(made, first)


def coded(card: KeptCard, first: str) -> KeptCard:
    """With the code of what it says. first: the part that all its versions share"""
    says = {key: value for key, value in document_of(card).items() if key in _SAYS}
    return replace(card, code=code_of(first, says))


_SAYS: Final = ("piece", "set_c", "at_grate", "every_s", "places", "lines")
"""What another version of a card says otherwise; its title and its promise are no other version."""


def document_of(card: KeptCard) -> dict[str, Any]:
    """As the file has it."""
    return KeptCardDocument(
        form=FORM,
        code=card.code,
        title=card.title,
        piece=PieceDocument(
            cut=card.piece.cut.key,
            mass_kg=round(card.piece.mass_kg, 6),
            start_c=round(card.piece.start_c, 4),
            sugar=round(card.piece.sugar, 4),
            thickness_m=card.piece.thickness_m,
            thickness_factor=round(card.piece.thickness_factor, 6),
        ),
        set_c=round(card.script.set_c, 4),
        grate_c=round(card.grate_c, 4),
        at_grate=card.script.at_grate,
        every_s=card.script.every_s,
        places=card.script.places,
        lines=[_line_document(line) for line in card.script.lines],
        marks=MarksDocument(**{name: getattr(card.marks, name) for name in MarksDocument.model_fields}),
        promised=card.promised,
        promised_of=card.promised_of,
    ).model_dump()


def _line_document(line: Line) -> KeptLineDocument:
    plan = line.plan
    until = plan.until if plan.until.ends_by != "clock" else Until("minutes", max(line.stage.took_s, 60.0))
    return KeptLineDocument(
        do=plan.kind,  # type: ignore[arg-type]
        until=_look_document(until),
        look=None if line.look is None else _look_document(line.look),
        wrap=plan.wrap,
        air_c=plan.air_c,
        glaze_kg=plan.glaze_kg,
        liquid_kg=plan.liquid_kg,
        by_clock=line.by_clock,
        from_s=round(line.from_s, 1),
        middle_s=round(line.middle_s, 1),
        to_s=round(line.to_s, 1),
        took_s=round(line.stage.took_s, 1),
    )


def _look_document(look: Until) -> LookDocument:
    value = None if look.value is None else round(float(look.value), 4)  # type: ignore[arg-type]
    return LookDocument(ends_by=look.ends_by, value=value)  # type: ignore[arg-type]


def card_from(document: Mapping[str, Any], file: str) -> KeptCard:
    """The card in a file.

    Raises InputError: it is no such card, the catalog does not have its cut, or its code is not that of what it says.
    """
    try:
        read = KeptCardDocument.model_validate(document)
    except ValidationError as error:
        first = error.errors()[0]
        at = ".".join(str(step) for step in first["loc"])
        remedy = "Give the .json that 'pitreckon card' wrote, unchanged"
        raise InputError(f"{at or 'it'}: {first['msg']}", remedy, Place(file)) from None
    key = read.piece.cut
    if key not in catalog.cuts():
        raise InputError(f"the catalog has no cut '{key}'", "Add it to your catalog first", Place(file))
    piece = Piece(catalog.cut(key), **{k: v for k, v in read.piece.model_dump().items() if k != "cut"})
    try:
        lines = tuple(_line(each) for each in read.lines)
        code = parse_code(read.code)
    except InputError as error:
        raise error.at(file=file) from None
    script = Script(lines, read.set_c, read.every_s, read.at_grate, read.places)
    if not any(line.on_pit for line in lines):
        raise InputError("the card has no line on the pit", "Write the card anew", Place(file))
    marks = Marks(**read.marks.model_dump())
    made = KeptCard(code, read.title, piece, script, marks, read.grate_c, read.promised, read.promised_of)
    if coded(made, card_part(code)).code != code:
        trouble = f"what the card says is not what its code {code} stands for"
        raise InputError(trouble, "Give the .json that 'pitreckon card' wrote, unchanged", Place(file, field="code"))
    return made


def _line(read: KeptLineDocument) -> Line:
    until = Until(read.until.ends_by, read.until.value)
    look = None if read.look is None else Until(read.look.ends_by, read.look.value)
    if read.wrap is not None and read.wrap != "none" and read.wrap not in catalog.wraps():
        raise InputError(f"the catalog has no wrap '{read.wrap}'", "Add it to your catalog first")
    plan = StagePlan(read.do, until, read.wrap, read.air_c, read.glaze_kg, read.liquid_kg)
    stage = StageRecord(plan, read.took_s, clocked=read.by_clock)
    return Line(plan, look, read.by_clock, stage, read.from_s, read.middle_s, read.to_s)
