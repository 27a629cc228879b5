"""The cards that twin readers follow: of each cut one that is deliberately fragile and one that is robust."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from pitreckon.cook import Until
from pitreckon.cook.read import cook_from_text
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.card.card import READERS, timed
from pitreckon.lessons.card.cooked import Cooked, Piece, cook_all
from pitreckon.lessons.card.finished import FinishedItem, finished_item
from pitreckon.lessons.card.readers import audience, deal
from pitreckon.lessons.card.script import Script, script_of
from pitreckon.lessons.marks import Marks, Usual
from validation.readers.deal import deal_reader
from validation.readers.live import live

HERE = Path(__file__).parent
SEED = 20261126
ITEMS = ("racks", "thighs")


@dataclass(frozen=True)
class Written:
    """A card as it is tried. what: ``fragile`` by the clock alone, ``robust`` by looks that come early and often."""

    item: str
    what: str
    piece: Piece
    script: Script
    marks: Marks


def written() -> list[Written]:
    """The cards, from one finished cook of ours."""
    return [each for item in ITEMS for each in _both(_done(item))]


def grate_c_of(item: str) -> float:
    """The air beside the meat in that cook [degC]."""
    return _done(item).grate_c


def _done(item: str) -> FinishedItem:
    text = (HERE / "orchard-supper.toml").read_text("utf-8")
    cook = cook_from_text(text, "orchard-supper.toml")
    ledger = log_from_text((HERE / "orchard-supper.csv").read_text("utf-8"), "orchard-supper.csv", cook)
    return finished_item(cook, ledger, item)


def _both(done: FinishedItem) -> list[Written]:
    piece = Piece.of(done.cut, done.item)
    readers = deal(READERS, 1)
    plain = script_of(done)
    marks = Marks.of(done.cut, Usual.of(cook_all(piece, plain, readers, ideal=True)))
    asked = timed(piece, plain, readers)
    fragile = replace(asked, lines=tuple(replace(line, by_clock=True) for line in asked.lines))
    robust = plain
    for n, line in enumerate(plain.lines):
        if line.look is not None and line.look.ends_by == "colour":
            sooner = Until("colour", line.look.level - 0.1)
            robust = robust.with_line(n, replace(line, look=sooner, plan=replace(line.plan, until=sooner)))
    robust = timed(piece, replace(robust, every_s=600.0), readers)
    label = done.item.label
    return [Written(label, "fragile", piece, fragile, marks), Written(label, "robust", piece, robust, marks)]


def one(job: tuple[Written, int]) -> Cooked:
    """One twin reader of a card."""
    card, index = job
    who = audience()
    return live(deal_reader(SEED, index, card.piece, card.script, who), card.script, who)
