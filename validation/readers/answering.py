"""A twin reader of a population follows a card, and answers the five questions; what the plate really was is kept.

The true meat, pit and fire are dealt as for the twin cooks; nothing of ``pitreckon.reckon`` is used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pitreckon import catalog
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.lessons.answers.answer import Answer
from pitreckon.lessons.card.cooked import NOT_KEPT, Cooked
from pitreckon.lessons.card.script import Line, Script
from pitreckon.lessons.diagnosis.run import BITTER
from pitreckon.lessons.marks import RAW, Marks
from pitreckon.physics.vapour import pressure_isa
from pitreckon.section import material
from validation.readers.cards import Written
from validation.readers.deal import Reader
from validation.readers.live import LONGEST_S, Day, _met_s, _on_knot, _plate, tend
from validation.readers.population import Population, Ways, ways
from validation.twins import truth
from validation.twins.deal import DAY, ITEM, PIT, Twin, deal_meat
from validation.twins.fire import KNOT_S, Opening, deal_fire
from validation.twins.streams import one_of, stream
from validation.twins.worlds import truth_of

FINER = 1.0
"""Cells to one of the forecaster's: its readers have half."""
NEAR_ENOUGH = 0.94
GRATE_SD_K = 3.0
"""How far off a thermometer beside the meat is: common practice, no source."""
SLIP = 0.03
"""Who says the wrong thing altogether: common practice, no source."""


@dataclass(frozen=True)
class Answered:
    """A twin reader's plate and answer. right: by the marks of the card"""

    answer: Answer
    cooked: Cooked
    right: bool


def reader_of(of: Population, index: int, card: Written) -> tuple[Reader, Ways]:
    """Deal the meat, the pit and the habits of one reader."""
    own = ways(of, index)
    number = 1_000_000 * of.number + index
    rng = stream(of.seed, number, "answering")
    pit, piece, script = catalog.pits()[own.pit], card.piece, card.script
    pressure_pa = pressure_isa(own.altitude_m)
    mass_kg, set_c = piece.mass_kg * own.mass, script.set_c + own.set_k
    item = ItemPlan(
        label=ITEM,
        cut=piece.cut.key,
        pieces=1,
        mass_kg=mass_kg,
        pit=PIT,
        put_on_utc=DAY,
        start_c=piece.start_c,
        sugar=piece.sugar,
        stages=tuple(line.plan for line in script.lines),
    )
    cook = Cook("reader", "UTC", None, own.altitude_m, None, None, (PitPlan(PIT, pit.key, set_c),), (item,))
    wrap = next((line.plan.wrap for line in script.lines if line.plan.wrap), None)
    true = truth_of("even", piece.cut, pit, wrap, stream(of.seed, number, "world"))
    true = replace(true, offs={**true.offs, "held": true.offs["held"] + of.hotter_k})
    meat, _ = deal_meat(piece.cut, mass_kg, pressure_pa, true, rng)
    start_c = piece.start_c + float(rng.normal(0.0, 1.5)) + (5.0 if own.tempered else 0.0)
    middle = material.section_of(meat.cut, finer=FINER)
    meat = replace(meat, thick=middle, thin=middle, members=meat.members.changed(start_c=np.array([start_c])))
    fire = deal_fire(
        pit,
        set_c=set_c,
        weather_c=float(rng.uniform(2.0, 33.0)),
        weather_rh=float(rng.uniform(0.3, 0.9)),
        meat_kg=mass_kg * one_of(rng, (1, 2, 3, 4)),
        pressure_pa=pressure_pa,
        true=true,
        rng=stream(of.seed, number, "fire"),
    )
    if script.at_grate:  # the air is measured beside the meat, and the pit set by that, whatever it shows
        wrong_k = GRATE_SD_K * float(stream(of.seed, number, "beside the meat").standard_normal())
        fire = replace(fire, set_c=fire.set_c - fire.offset_k + wrong_k)
    twin = Twin("even", of.seed, number, 0, "reader", cook, DAY, item.stages, meat, fire)
    colour = own.colour * (NEAR_ENOUGH if own.near else 1.0)
    feel = own.feel * (NEAR_ENOUGH if own.near else 1.0)
    return Reader(twin, own.clocked, alarm=False, tip_k=own.tip_k, colour=colour, feel=feel), own


def answered(job: tuple[Population, int, Written, Sequence[int]]) -> Answered:
    """One reader's day. The last of the job: the lines, from 0, that are ended when they really are there."""
    of, index, card, really = job
    reader, own = reader_of(of, index, card)
    cooked = _live(reader, own, card.script, really)
    right = bool(cooked.right(card.marks)[0])
    rng = reader.twin.stream("answer")
    return Answered(_answer(of, own, card, cooked, right=right, rng=rng), cooked, right)


def _live(reader: Reader, own: Ways, script: Script, really: Sequence[int]) -> Cooked:
    day = Day([], [])
    for n, line in enumerate(script.lines):
        rng = reader.twin.stream(f"line {n}")  # so that a line that goes otherwise changes no other's luck
        begin = day.ends_s[-1] if day.ends_s else 0.0
        end = _end_of(reader, own, script, day, n, line, begin, rng, really=n in really)
        day.ends_s.append(_on_knot(max(end, begin + KNOT_S)))
        if line.on_pit:
            day.openings.append(Opening(day.ends_s[-1], float(rng.uniform(20.0, 120.0))))
    trace = truth.follow(reader.twin, day.ends_s, day.openings, day.ends_s[-1])
    return _plate(reader, script, trace, day, reader.twin.stream("plate"))


def _end_of(
    reader: Reader,
    own: Ways,
    script: Script,
    day: Day,
    n: int,
    line: Line,
    begin: float,
    rng: np.random.Generator,
    *,
    really: bool,
) -> float:
    late_s = float(own.late_s * rng.exponential())
    sauced = line.plan.kind == "sauced"
    if line.look is None:
        return begin + line.clock_s + (late_s if line.on_pit else float(rng.uniform(0.0, 600.0)))
    given_up = begin + max(own.patience * line.to_s, line.from_s + 2400.0)
    if really:
        tend(reader, day, begin, LONGEST_S / 2.0)
        trace = truth.follow(reader.twin, day.ends_s, day.openings, min(begin + 4.0 * line.to_s, LONGEST_S))
        never_wrong = replace(reader, colour=1.0, feel=1.0, tip_k=0.0)
        met = _met_s(never_wrong, line, trace, begin)
        day.openings[:] = [each for each in day.openings if each.at_s < met]
        return met if np.isfinite(met) else given_up
    if line.by_clock or reader.clocked:
        kept_s = max(own.rounds_s * round(line.clock_s / own.rounds_s), 300.0)
        end = begin + kept_s + (0.0 if sauced else late_s)
        tend(reader, day, begin, end)
        return end
    gap_s = min(own.gap_s, 480.0) if sauced else own.gap_s
    first = begin + gap_s * float(rng.uniform(0.5, 1.0)) if sauced else begin + line.from_s + late_s
    looks = []
    at = first
    while at < given_up:
        looks.append(Opening(_on_knot(at), float(rng.uniform(8.0, 40.0))))
        at += gap_s * float(rng.uniform(0.8, 1.2))
    tend(reader, day, begin, given_up)
    trace = truth.follow(reader.twin, day.ends_s, [*day.openings, *looks], min(given_up, LONGEST_S))
    met = _met_s(reader, line, trace, begin)
    due = next((look for look in looks if look.at_s >= met), None)
    end = given_up if due is None else due.at_s
    day.openings[:] = [each for each in [*day.openings, *looks] if each.at_s < end]
    return end


def _answer(
    of: Population, own: Ways, card: Written, cooked: Cooked, *, right: bool, rng: np.random.Generator
) -> Answer:
    """What such a reader writes."""
    del right
    on_pit = [n for n, line in enumerate(card.script.lines) if line.on_pit]
    ends = np.cumsum(cooked.line_s[:, 0])[on_pit]
    written = [own.rounds_s * round(float(at) / own.rounds_s) for at in ends]
    told = rng.random() < of.tells
    rising = all(b > a for a, b in zip([0.0, *written], written, strict=False))
    thick = own.mass * float(np.exp(0.08 * rng.standard_normal()))
    word = "thicker" if thick > 1.18 else "thinner" if thick < 0.85 else "usual"
    return Answer(
        code="",
        pit=own.pit,
        set_c=card.script.set_c + own.set_k,
        altitude_m=50.0 * round(own.altitude_m / 50.0),
        thickness=word,
        ended_s=tuple(written) if told and rising else (None,) * len(written),
        came_out=_said(of, cooked, card.marks, rng),
    )


def _said(of: Population, cooked: Cooked, marks: Marks, rng: np.random.Generator) -> tuple[str, ...]:
    """What was wrong, the worst two things of it: felt with an error, called more or less strictly."""
    if not np.isfinite(cooked.total_s[0]):
        return (NOT_KEPT,)
    over = {
        "too dark": (cooked.level[0] - marks.dark) / 0.06,
        "too pale": (marks.pale - cooked.level[0]) / 0.06,
        "tough": (marks.tough - cooked.tender[0]) / 0.05,
        "mushy": (cooked.tender[0] - marks.mushy) / 0.05,
        "dry": (cooked.loss[0] - marks.dry) / 0.025,
        RAW: (marks.least_c - cooked.peak_c[0]) / 2.5,
        "bitter": np.log(max(float(cooked.dose[0]), 1e-6) / BITTER) / 0.5,
    }
    if marks.by_core:
        over |= {"tough": (marks.rubbery_c - cooked.peak_c[0]) / 3.0, "mushy": -9.0}
    felt = {word: float(by) + of.stricter + float(rng.normal(0.0, 0.8)) for word, by in over.items()}
    worst = sorted((word for word, by in felt.items() if by > 0.0), key=lambda word: -felt[word])[:2]
    if rng.random() < SLIP:
        return () if worst else (one_of(rng, ("dry", "tough", "too dark")),)
    return tuple(worst)
