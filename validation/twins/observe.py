"""What reaches the ledger: readings with lag, noise and faults, looks through a cook's eyes and hands, acts.

Errors of looks: a cook is about half a step off by habit and half a step by chance (a step of the scales of
``cook/scales.py`` is about 0.22), a spot thermometer is off by 1.5 K and not always at the coldest spot.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from pitreckon.catalog import Rack
from pitreckon.cook.scales import SCALES, word_for
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.section.trace import Trace
from pitreckon.units import instant_after
from validation.twins import truth
from validation.twins.deal import ITEM, PIT, Twin
from validation.twins.fire import KNOT_S, LEAD
from validation.twins.habits import Life, Visit

Floats = NDArray[np.float64]

HALF_STEP = 0.11
MOST_READINGS = 3000
TOO_DARK = 1.3
"""Level of the colour scale at which a piece is past its best."""


def ledger_of(twin: Twin, life: Life) -> Ledger:
    """The whole ledger of a cook, by the class of the twin."""
    events: list[Act | Look | Reading] = [*acts(twin, life), *pit_readings(twin, life)]
    if twin.kind in {"looks", "all"}:
        for visit in life.visits:
            events += looks(twin, life, visit)
    if twin.kind in {"probe", "all"}:
        events += probe_readings(twin, life)
    return Ledger.of([*events, *grate_looks(twin, life)])


def _when(twin: Twin, at_s: float) -> datetime:
    return instant_after(twin.put_on_utc, float(round(at_s)))


def acts(twin: Twin, life: Life) -> list[Act]:
    """Every act on the meat; feeding the fire mostly, an open lid seldom."""
    rng = twin.stream("acts")
    logs_feeding, logs_lid = rng.random() < 0.7, rng.random() < 0.15
    out = [Act(_when(twin, 0.0), ITEM, "put on")]
    set_c = twin.fire.set_c
    for visit in life.visits:
        if visit.raised_k:
            set_c += visit.raised_k
            out.append(Act(_when(twin, visit.at_s), PIT, "set pit", air_c=round(set_c, 1)))
        if visit.fed and logs_feeding:
            out.append(Act(_when(twin, visit.at_s), PIT, "fed the fire"))
        if logs_lid and not visit.act:
            out.append(Act(_when(twin, visit.at_s), PIT, "lid open", duration_s=round(visit.lasting_s)))
        if visit.act:
            out.append(Act(_when(twin, visit.at_s), ITEM, visit.act, visit.wrap))
    return out


def pit_readings(twin: Twin, life: Life) -> list[Reading]:
    """A logger every one to five minutes, or a dial noted at each visit."""
    rng = twin.stream("pit readings")
    fire = twin.fire
    end_s = life.ends_s[-1]
    knots = int(end_s // KNOT_S) + 1
    steady = np.concatenate((fire.before_c(), fire.readout_steady_c(life.openings, knots)))
    gain = 1.0 - np.exp(-KNOT_S / fire.lag_s)
    shown, last = np.empty(steady.size), steady[0]
    for k in range(steady.size):
        last += gain * (steady[k] - last)
        shown[k] = last
    logger = rng.random() < 0.75
    every = float(rng.choice([60.0, 120.0, 300.0]))
    lost_s = float(rng.uniform(0.0, twin.usual_s)) if rng.random() < 0.1 else np.inf  # the logger loses its link
    found_s = lost_s + float(rng.uniform(900.0, 5400.0))
    noise = rng.standard_normal(MOST_READINGS)  # drawn for all times, so that what was read does not depend on the end
    visits_s = np.array([0.0, *(visit.at_s for visit in life.visits)])
    at_s = np.arange(-LEAD * KNOT_S, end_s + 1.0, every) if logger else visits_s
    before_s = 0.0 if logger else KNOT_S  # a dial is read before the lid is opened
    value = np.interp(at_s - before_s, np.arange(-LEAD, knots) * KNOT_S, shown) + fire.readout_off_k
    value = value + (0.5 if logger else 1.0) * noise[: at_s.size]
    grain = 1.0 if logger else 5.0  # degF
    value = (np.round((value * 1.8 + 32.0) / grain) * grain - 32.0) / 1.8
    linked = (at_s < lost_s) | (at_s > found_s) if logger else np.ones(at_s.size, dtype=bool)
    return [
        Reading(_when(twin, at), "pit air", PIT, None, float(v))
        for at, v in zip(at_s[linked], value[linked], strict=True)
    ]


GRATE_SHARE = 0.5
"""Of the cooks of a house that has a thermometer for the grate, those at which it is laid there, once."""
LAID_K, BESIDE_K = 1.5, 1.2
"""Errors of that thermometer and its reading, and how its place differs from the middle of the grate [K]."""


def grate_looks(twin: Twin, life: Life) -> list[Look]:
    """A thermometer laid on the grate and read between two visits, when the lid has long been shut."""
    rng = twin.stream("grate look")
    if twin.house is None or not twin.house.lays or rng.random() >= GRATE_SHARE:
        return []
    visits_s = [0.0, *sorted(visit.at_s for visit in life.visits)]
    gaps = np.diff(visits_s)
    at_s = visits_s[int(np.argmax(gaps))] + 0.5 * float(gaps.max())
    knots = int(life.ends_s[-1] // KNOT_S) + 1
    over_k = twin.fire.pit.air.offset_k.value + twin.fire.own_offset_k  # the grate's middle, not the meat's place
    over_k += float(rng.normal(0.0, BESIDE_K)) + float(rng.normal(0.0, LAID_K))
    air_c = np.interp(at_s, np.arange(knots) * KNOT_S, twin.fire.readout_steady_c(life.openings, knots))
    read_c = float(air_c) + over_k
    return [Look(_when(twin, at_s), PIT, None, "grate temperature", round(read_c, 1))]


@dataclass(frozen=True)
class Hands:
    """A cook's own errors and what he bothers to write down."""

    colour_off: float
    feel_off: float
    eye_power: float
    spot_off_k: float
    spots: bool
    bends: bool
    bones: bool
    weighs: bool
    by: str = ""


def hands_of(twin: Twin) -> Hands:
    """Draw a cook's hands and eyes: in a house those of one of two people, as far as they come again."""
    rng = twin.stream("hands")
    rack = isinstance(twin.meat.cut.shape, Rack)
    drawn = Hands(
        colour_off=float(rng.normal(0.0, HALF_STEP)),
        feel_off=float(rng.normal(0.0, HALF_STEP)),
        eye_power=float(rng.uniform(0.42, 0.6)),
        spot_off_k=float(rng.normal(0.0, 1.0)),
        spots=bool(rng.random() < 0.6),
        bends=bool(rack and rng.random() < 0.4),
        bones=bool(rack and rng.random() < 0.5),
        weighs=bool(rng.random() < 0.08),
    )
    if twin.house is None:
        return drawn
    by = PEOPLE[int(twin.stream("who").integers(len(PEOPLE)))]
    own = twin.house.stream(f"hand {by}")

    def lasting(fresh: float) -> float:
        return float(np.sqrt(COMES_AGAIN) * own.normal(0.0, HALF_STEP) + np.sqrt(1.0 - COMES_AGAIN) * fresh)

    return replace(drawn, by=by, colour_off=lasting(drawn.colour_off), feel_off=lasting(drawn.feel_off))


COMES_AGAIN = 0.7
"""Share of the variance of a person's bias that comes again at their next cook: a judgement, not measured."""
PEOPLE = ("first", "second")
"""Who looks in a house, as often one as the other."""


def at(trace: Trace, channel: str, at_s: float) -> float:
    """A channel of the one member at a time."""
    values = trace[channel][:, 0]
    known = np.isfinite(values)
    return float(np.interp(at_s, trace.time_s[known], values[known]))


def looks(twin: Twin, life: Life, visit: Visit) -> list[Look]:
    """What is seen and felt at one visit."""
    assert life.thick is not None
    assert life.thin is not None
    rng = twin.stream(f"looks {visit.at_s:.0f}")
    hands = hands_of(twin)
    when, at_s = _when(twin, visit.at_s), visit.at_s
    kind, until = _stage_at(twin, life, at_s)
    thick, thin, meat = life.thick, life.thin, twin.meat
    out: list[Look] = []

    def word(what: str, level: float) -> None:
        said = word_for(what, level)
        out.append(Look(when, ITEM, None, what, SCALES[what][said], said, by=hands.by))

    if kind == "open" and rng.random() < 0.8:
        colour = 0.5 * (at(thick, "colour", at_s) + at(thin, "colour", at_s))
        dark = np.log(max(meat.value("dark_at"), 1.01))
        level = colour**hands.eye_power if colour < 1.0 else 1.0 + (TOO_DARK - 1.0) * np.log(colour) / dark
        word("colour", level + hands.colour_off + float(rng.normal(0.0, HALF_STEP)))
    where = 0.85 if rng.random() < 0.7 else float(rng.uniform(0.3, 0.8))  # mostly near the thick end
    gelatin = where * at(thick, "gelatin_core", at_s) + (1.0 - where) * at(thin, "gelatin_core", at_s)
    felt = min((gelatin / meat.value("tender_at")) ** meat.feel_power, 1.3) + hands.feel_off
    by_feel = until == "tender" or gelatin > 0.25
    if twin.meat.cut.texture.done_by == "tender" and by_feel and rng.random() < 0.65:
        word("probe feel", felt + float(rng.normal(0.0, HALF_STEP)))
    if hands.bends and kind in {"open", "sauced"} and rng.random() < 0.5:
        word("bend", felt + float(rng.normal(0.0, HALF_STEP)))
    if hands.spots and rng.random() < (0.85 if until == "core" else 0.5):
        core, outer = at(thick, "core_c", at_s), at(thick, "place1_c", at_s)
        astray = abs(float(rng.normal(0.0, 0.35)))
        spot = core + astray * (outer - core) + hands.spot_off_k + float(rng.normal(0.0, 1.1))
        out.append(Look(when, ITEM, None, "spot temperature", round(spot, 1)))
    if hands.bones and rng.random() < 0.4:
        assert isinstance(meat.cut.shape, Rack)
        loss = _water_lost(life, at_s)
        shown = 0.5 * meat.cut.shape.width_m.value * meat.value("scale") * meat.bone_show * loss
        seen = max(shown + float(rng.normal(0.0, 0.002)), 0.0)
        out.append(Look(when, ITEM, None, "bone showing", round(seen, 3)))
    if hands.weighs and visit.act in {"wrapped", "took off"}:
        kept = 1.0 - _water_lost(life, at_s) - _fat_lost(twin, life, at_s)
        weight = meat.mass_kg * kept * (1.0 + 0.01 * float(rng.standard_normal()))
        out.append(Look(when, ITEM, None, "weight", round(weight, 3)))
    return out


def _stage_at(twin: Twin, life: Life, at_s: float) -> tuple[str, str]:
    """Kind and criterion of the stage that the piece is in, the one that ends now included."""
    n = int(np.searchsorted(np.array(life.ends_s), at_s, side="left"))
    stage = twin.stages[min(n, len(twin.stages) - 1)]
    return stage.kind, stage.until.ends_by


def _water_lost(life: Life, at_s: float) -> float:
    """Of the whole piece, as a share of its raw mass."""
    assert life.thick is not None
    assert life.thin is not None
    ends = (life.thick, life.thin)
    return 0.5 * sum(at(trace, "evaporated", at_s) + at(trace, "dripped", at_s) for trace in ends)


def _fat_lost(twin: Twin, life: Life, at_s: float) -> float:
    assert life.thick is not None
    c = twin.meat.cut.composition
    fat = c.fat.value * (1.0 - c.bone_fraction.value)
    return fat * twin.meat.fat_render * at(life.thick, "gelatin_mean", at_s)


def probe_readings(twin: Twin, life: Life) -> list[Reading]:
    """A probe left in the meat, somewhere between the coldest spot and the surface; it may be moved or fall out."""
    assert life.thick is not None
    rng = twin.stream("probe")
    trace, usual = life.thick, twin.usual_s
    places = [_place(rng) for _ in range(8)]
    again = rng.random(8) < 0.4
    every = float(rng.choice([60.0, 120.0, 300.0]))
    off_k = float(rng.normal(0.0, 1.0))
    starts = [0.0 if rng.random() < 0.8 else float(rng.uniform(300.0, 0.3 * usual))]
    # Fallen out and found at the next visit, or only moved.
    slips_s = float(rng.uniform(0.2, 0.9)) * usual if rng.random() < 0.1 else np.inf
    moved = rng.random() < 0.5
    noise = rng.standard_normal(MOST_READINGS)
    # Taken out and put back elsewhere at a wrap.
    rewraps = [v.at_s for v in life.visits if v.act in {"wrapped", "unwrapped"}]
    starts += [at_s for at_s, anew in zip(rewraps, again, strict=False) if anew]
    found_s = slips_s if moved else min([v.at_s for v in life.visits if v.at_s > slips_s], default=np.inf)
    starts = sorted([*starts, found_s])
    out = []
    times_s = np.arange(starts[0] + 60.0, _off_the_pit_s(twin, life) + 1.0, every)
    for at_s, by_chance in zip(times_s, noise, strict=False):
        place = places[int(np.searchsorted(starts, at_s, side="right")) - 1]
        inside = float(np.interp(place, (0.0, 1.0, 2.0), [at(trace, c, at_s) for c in PLACES]))
        value = at(trace, "air_c", at_s) if slips_s <= at_s < found_s else inside
        value = round(float(value + off_k + 0.3 * by_chance), 1)
        out.append(Reading(_when(twin, float(at_s)), "probe", ITEM, None, value))
    return out


PLACES = ("core_c", "place1_c", "place2_c")


def _place(rng: np.random.Generator) -> float:
    """Where the tip is: 0 the coldest spot, 1 and 2 a third and two thirds of the way to the surface."""
    draw = rng.random()
    if draw < 0.6:
        return float(rng.uniform(0.0, 0.3))
    return float(rng.uniform(0.3, 1.2) if draw < 0.9 else rng.uniform(1.2, 2.0))


def _off_the_pit_s(twin: Twin, life: Life) -> float:
    """When the piece left the pit, or the last moment that is known."""
    last = max(i for i, stage in enumerate(twin.stages) if stage.kind in truth.ON_PIT)
    return life.ends_s[min(last, len(life.ends_s) - 1)]
