"""A piece of an item as an ensemble that can be run: from its unknowns to members, pit air and course."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

import numpy as np

from pitreckon import catalog
from pitreckon.arrays import Floats
from pitreckon.catalog import Cut
from pitreckon.catalog.shapes import thickness_of
from pitreckon.cook import Cook, ItemPlan
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.ledger.events import CHECKS
from pitreckon.physics.vapour import pressure_isa
from pitreckon.reckon import baths, pitair
from pitreckon.reckon.around import Around
from pitreckon.reckon.draws import ItemDraw, PitDraw, Unknowns, draw_item, draw_pit, named, prior_at, wrap_of
from pitreckon.reckon.evidence import ACTS_ON, BESIDE, SAYS_SO, GrateCheck, Observations, Transition
from pitreckon.reckon.felt import as_felt
from pitreckon.reckon.hands import Hands
from pitreckon.reckon.levels import Levels, levels_of
from pitreckon.reckon.minutes import Air
from pitreckon.reckon.proberecord import probe_record
from pitreckon.reckon.stages import PIT_KINDS, STANDING_S, Stage, course_so_far, planned_stages
from pitreckon.section import material
from pitreckon.section.course import Drive
from pitreckon.section.shapes import THICK_HALF_M, Section, half_thickness
from pitreckon.section.simulate import Job

LONGEST_S, LONGEST_THICK_S = 20 * 3600.0, 40 * 3600.0
AIR_AHEAD_S, AIR_AHEAD_THICK_S = 8 * 3600.0, 20 * 3600.0
"""How far ahead the air wanders; past that its last value holds, which few members live to see."""
RECORD_S = 300.0


@dataclass(frozen=True)
class Track:
    """A piece that is reckoned by itself, or all the pieces of an item that nothing sets apart.

    piece: its number; None: any of those without an entry of their own; stands_for: how many pieces
    put_on: zero of its seconds; observations: what was seen of it
    strays: how far the house's cooks stray from what is foretold, over what is thought of cooks
    """

    cook: Cook
    item: ItemPlan
    cut: Cut
    piece: int | None
    stands_for: int
    section: Section
    stages: tuple[Stage, ...]
    put_on: datetime
    observations: Observations
    acts: tuple[Act, ...]
    ledger: Ledger
    now: datetime
    seed: int
    strays: float = 1.0

    @property
    def label(self) -> str:
        """Item and piece."""
        return self.item.label if self.piece is None else f"{self.item.label} {self.piece}"

    @property
    def zero(self) -> float:
        """Epoch of put-on [s]."""
        return self.put_on.timestamp()

    @property
    def now_s(self) -> float:
        """The present, since put-on [s]."""
        return self.now.timestamp() - self.zero

    @property
    def pits(self) -> tuple[tuple[float, str], ...]:
        """Since when [s] on which pit, the present one last."""
        moves = [(a.at_utc.timestamp() - self.zero, a.detail) for a in self.acts if a.act == "moved" and a.detail]
        return ((0.0, self.item.pit), *moves)

    @property
    def pit(self) -> str:
        """The pit it is on now."""
        return self.pits[-1][1]

    @property
    def thick(self) -> bool:
        """Does its core answer in hours?"""
        return half_thickness(self.section) >= THICK_HALF_M

    @property
    def horizon_s(self) -> float:
        """How far it is followed at the most [s since put-on]."""
        fixed = sum(s.plan.until.duration_s or 0.0 for s in self.stages)
        span = (LONGEST_THICK_S if self.thick else LONGEST_S) + fixed
        ends = [s.plan.until.at_utc.timestamp() - self.zero for s in self.stages if s.plan.until.at_utc is not None]
        if self.cook.serve_utc is not None:
            ends.append(self.cook.serve_utc.timestamp() - self.zero)
        return float(np.ceil(max([span, *[e + STANDING_S for e in ends]]) / 600.0) * 600.0)

    @property
    def levels(self) -> Levels:
        """What is not known of it and the pit that it is on."""
        return self.levels_on(self.pit)

    def levels_on(self, pit: str) -> Levels:
        """The same on a pit of the cook."""
        kind = catalog.pits()[self.cook.pit(pit).kind]
        item = self.item
        measured, many = item.thickness_m is not None, item.pieces > 1
        return levels_of(self.cut, kind, wrap_of(item), measured=measured, many=many).wider(self.strays)

    def prior(self, n: int, pit: str | None = None) -> Floats:
        """Unknowns of ``n`` members before anything was seen; ``pit``: another than the one that it is on."""
        where = pit or self.pit
        return prior_at(self.levels_on(where), self.label, where, n, self.seed)


@dataclass(frozen=True)
class Ensemble:
    """A track with members: their unknowns (``levels``: ``w``), what follows from them, and what the kernel needs."""

    track: Track
    z: Floats
    draw: ItemDraw
    air_c: Air
    job: Job

    @property
    def unknowns(self) -> Unknowns:
        """Standard numbers by name."""
        return named(self.track.levels.mix @ self.z)


def tracks_of(cook: Cook, item: ItemPlan, ledger: Ledger, now: datetime, seed: int) -> tuple[Track, ...]:
    """The tracks of an item: the pieces that have entries of their own, then one for all the others.

    A piece's own look says something of its fellows, too; ``update`` sees to that.
    """
    cut = catalog.cut(item.cut)
    acts = ledger.acts(item.label)
    apart = _set_apart(item, ledger)
    rest = item.pieces - len(apart)
    whom: list[tuple[int | None, int]] = [(piece, 1) for piece in apart] + ([(None, rest)] if rest else [])
    section = material.section_of(cut, thickness_factor=thickness_factor(cut, item))
    pit_readings = ledger.readings("pit air")
    tracks = []
    for piece, stands_for in whom:
        own = tuple(act for act in acts if act.piece in {None, piece})
        put_on_act = next((act for act in own if act.act == "put on"), None)
        put_on = put_on_act.at_utc if put_on_act else item.put_on_utc
        if put_on_act is None and len(ledger) and put_on < now:
            put_on = now  # a ledger is kept and does not say that it went on
        zero = put_on.timestamp()
        stages = course_under(cut, item, cook, own)
        looks = [(k.at_utc.timestamp() - zero, k) for k in _on_meat(ledger, item.label) if k.piece in {None, piece}]
        # A probe that names no piece sits in one of them: in the first, if the pieces are told apart.
        mine = {piece} if piece != (apart[0] if apart else None) else {piece, None}
        probe = [(r.at_utc.timestamp() - zero, r) for r in ledger.readings("probe", item.label) if r.piece in mine]
        air = [(r.at_utc.timestamp() - zero, r.value_c) for r in pit_readings if r.on == item.pit]
        seen = Observations(
            cut,
            item.mass_kg,
            tuple(pair for pair in looks if pair[0] >= 0.0),
            probe_record(
                [pair for pair in probe if pair[0] >= 0.0],
                air,
                baths.of_probe(ledger, item.label, mine, cook.altitude_m),
            ),
            # That a stage runs on after a feel says nothing of the feel: only one that is over was ended by it.
            turns_of(
                as_felt(cut, stages, looks, zero, over=True), own, looks, zero, _beside_s(cook, item, ledger, zero)
            ),
            _grate_checks(cook, _last_pit(item, own), ledger, zero),
            baths=baths.in_hand(ledger, cook.altitude_m),
        )
        stages = as_felt(cut, stages, looks, zero)
        tracks.append(Track(cook, item, cut, piece, stands_for, section, stages, put_on, seen, own, ledger, now, seed))
    return tuple(tracks)


def course_under(cut: Cut, item: ItemPlan, cook: Cook, acts: Sequence[Act]) -> tuple[Stage, ...]:
    """The stages of a piece as they are planned and as its own acts have them."""
    later = [act for act in acts if act.act not in {"put on", "moved"}]
    live = any(act.act == "put on" for act in acts)
    return course_so_far(planned_stages(cut, item, cook), later, live=live)


def with_house(tracks: Sequence[Track], hands: Hands, strays: float) -> tuple[Track, ...]:
    """The same, with what is known of those who look, and of how far the house's cooks stray."""
    return tuple(
        replace(track, observations=replace(track.observations, hands=hands), strays=strays) for track in tracks
    )


def turns_of(
    stages: Sequence[Stage],
    acts: Sequence[Act],
    looks: Sequence[tuple[float, Look]],
    zero: float,
    beside_s: Sequence[float] = (),
) -> tuple[Transition, ...]:
    """When the cook ended a stage by what he saw or felt, and the last time before that when he was there and did not.

    That he said "not yet" counts for more than that he looked and let it run, and this for more than that he was at the
    pit for something else (``beside_s``). A stage that no act has ended was let run when anybody was last there.
    Where nobody was, nothing is known: a cook may be asleep.
    """
    said = [at_s for at_s, look in looks if look.kind == NOT_YET]
    there = [act.at_utc.timestamp() - zero for act in acts] + [at_s for at_s, look in looks if look.kind != NOT_YET]
    visits = [(SAYS_SO, sorted(said)), (ACTS_ON, sorted(there)), (BESIDE, sorted(beside_s))]
    transitions = []
    begin_s = 0.0
    for stage in stages:
        end_s = np.inf if stage.ended_utc is None else stage.ended_utc.timestamp() - zero
        until = stage.plan.until
        if stage.plan.kind in PIT_KINDS and until.ends_by in {"colour", "tender", "core"} and end_s > begin_s:
            goal = (until.core_c if until.ends_by == "core" else until.level) or 0.0
            latest = begin_s
            for heed, when in visits if stage.running or stage.ended_utc is not None else ():
                before = [at_s for at_s in when if begin_s + THERE_S < at_s < end_s - THERE_S]
                if before and before[-1] > latest:  # what is said of an earlier time is in what is said of a later one
                    latest = before[-1]
                    transitions.append(Transition(latest, until.ends_by, goal, False, heed))
            if stage.ended_utc is not None:
                transitions.append(Transition(end_s, until.ends_by, goal, True))
        if stage.ended_utc is None:
            break
        begin_s = end_s
    return tuple(transitions)


def _on_meat(ledger: Ledger, label: str) -> tuple[Look, ...]:
    """Looks that say something of the meat: a check of a thermometer does not."""
    return tuple(look for look in ledger.looks(label) if look.kind not in CHECKS)


def _beside_s(cook: Cook, item: ItemPlan, ledger: Ledger, zero: float) -> list[float]:
    """When somebody was at the item's pit for something else on it [s since put-on]."""
    others = {other.label for other in cook.items if other.pit == item.pit} - {item.label}
    entries: list[Act | Look] = [*ledger.all_acts, *ledger.all_looks]
    return [entry.at_utc.timestamp() - zero for entry in entries if entry.on in others]


def _last_pit(item: ItemPlan, acts: Sequence[Act]) -> str:
    return next((act.detail for act in reversed(acts) if act.act == "moved" and act.detail), item.pit)


def _grate_checks(cook: Cook, pit: str, ledger: Ledger, zero: float) -> tuple[GrateCheck, ...]:
    """What thermometers laid on a pit's grate showed over its readout then."""
    checks = [look for look in ledger.looks(pit) if look.kind == GRATE]
    if not checks:
        return ()
    readings = ledger.readings("pit air", pit)
    at = np.array([r.at_utc.timestamp() for r in readings])
    out = []
    for look in checks:
        then = look.at_utc.timestamp()
        error = LOOK_KINDS[GRATE].errors.each
        if at.size and np.abs(at - then).min() <= READ_WITHIN_S:
            shown = float(np.interp(then, at, [r.value_c for r in readings]))
        else:
            shown = pitair.set_last(cook.pit(pit).set_c, [act for act in ledger.acts(pit) if act.at_utc <= look.at_utc])
            error = float(np.hypot(error, catalog.pits()[cook.pit(pit).kind].air.swing_k.value))
        out.append(GrateCheck(then - zero, look.value - shown, error))
    return tuple(out)


GRATE = "grate temperature"
READ_WITHIN_S = 900.0
"""A readout's value so near in time to a check of the grate is the one that it is held against [s]."""
NOT_YET = "ready"
"""The look by which a cook says that a stage is not at its end."""
THERE_S = 300.0
"""Entries so close to a stage's begin or end are of the same visit [s]."""
MOST_APART = 6
"""Pieces that are reckoned each by itself, those with most entries first."""


def _set_apart(item: ItemPlan, ledger: Ledger) -> list[int]:
    if item.pieces == 1:
        return []
    looks, probe, acts = _on_meat(ledger, item.label), ledger.readings("probe", item.label), ledger.acts(item.label)
    pieces = [*[look.piece for look in looks], *[r.piece for r in probe], *[act.piece for act in acts]]
    entries = [piece for piece in pieces if piece is not None and 1 <= piece <= item.pieces]
    most = sorted(set(entries), key=lambda piece: (-entries.count(piece), piece))[:MOST_APART]
    return sorted(most)


def ensemble(track: Track, z: Floats, horizon_s: float) -> Ensemble:
    """Members of a track, ready to run as far as ``horizon_s``."""
    cut, section, levels = track.cut, track.section, track.levels
    draw = draw_item(cut, track.item, pressure_isa(track.cook.altitude_m), named(levels.mix @ z), levels)
    pit_draw, air = _pit_air(track, z, horizon_s)
    draw = replace(draw, grate_k=pit_draw.offset_k)
    air += draw.spot_k
    readings = track.ledger.readings("pit air", track.pit)
    known_until = readings[-1].at_utc.timestamp() - track.zero if readings else 0.0
    every = pitair.THICK_KNOTS if track.thick else 1
    minutes = Air.of(air, thinned=track.thick)
    job = Job(
        section,
        draw.members,
        Drive(minutes.on_knots, every * pitair.KNOT_S, max(known_until, 0.0)),
        around_of(track, draw, pit_draw).course(track.stages, track.zero, track.now_s),
        horizon_s=horizon_s,
        mass=np.full(z.shape[1], material.raw_mass_of(cut, section)),
        record_every=int(RECORD_S / (every * pitair.KNOT_S)),
    )
    return Ensemble(track, z, draw, minutes, job)


def around_of(track: Track, draw: ItemDraw, pit_draw: PitDraw) -> Around:
    """What surrounds a track's members on the pit that it is on now."""
    cook, plan = track.cook, track.cook.pit(track.pit)
    pit, pressure = catalog.pits()[plan.kind], pressure_isa(cook.altitude_m)
    meat_kg = sum(i.mass_kg * i.pieces for i in cook.items if i.pit == track.pit)
    ratio = pitair.ambient_ratio(cook.weather_air_c, cook.weather_rh, pressure)
    fuel, outside_c = catalog.fuels()[pit.fuel], cook.weather_air_c
    vapour = pitair.pit_vapour(pit, fuel, pit_draw, plan.set_c, outside_c, ratio, meat_kg, pressure, plan.water_pan)
    return Around(cook, track.item, track.cut, track.section, draw, pit_draw, plan.set_c, vapour, pressure, ratio)


def thickness_factor(cut: Cut, item: ItemPlan) -> float:
    """Thickness over the cut's own at this mass [-]; a measured one counts before a trim."""
    if item.thickness_m is None:
        return item.thickness_factor
    return float(item.thickness_m / (thickness_of(cut.shape).value * cut.scale(item.mass_kg)))


def _pit_air(track: Track, z: Floats, horizon_s: float) -> tuple[PitDraw, Floats]:
    """The pit it is on now, and air at the grate over the piece's whole time, across a move to another pit."""
    n = z.shape[1]
    followed_s = max(track.now_s, 0.0) + (AIR_AHEAD_THICK_S if track.thick else AIR_AHEAD_S)
    knots = int(min(horizon_s, followed_s) / pitair.KNOT_S) + 1
    time_s: Floats = np.arange(knots, dtype=np.float64) * pitair.KNOT_S
    pits = track.pits
    air = np.empty((knots if len(pits) > 1 else 0, n))
    for i, (since, label) in enumerate(pits):
        plan = track.cook.pit(label)
        pit = catalog.pits()[plan.kind]
        here = z if i + 1 == len(pits) else track.prior(n, label)
        levels = track.levels_on(label)
        draw = draw_pit(pit, named(levels.mix @ here), levels)
        set_at = partial(pitair.set_temperature, set_c=plan.set_c, acts=track.ledger.acts(label), put_on=track.zero)
        set_c = set_at(time_s)
        until = pits[i + 1][0] if i + 1 < len(pits) else np.inf
        spell = (time_s >= since) & (time_s < until) if i else time_s < until
        series = pitair.grate_air(
            *(pit, label, draw, set_c, track.ledger.readings("pit air", label), track.zero, track.seed),
            lids_s=lids_of(track, label),
            set_before=set_at,
        )
        if len(pits) == 1:
            return draw, series
        air[spell] = series[spell]
    return draw, air


def lids_of(track: Track, label: str) -> Floats:
    """When the lid of a pit was open, by the acts and looks on what is on it [s since the piece's put-on]."""
    here = {item.label for item in track.cook.items if item.pit == label} | {label}
    acts = [act.at_utc for act in track.ledger.all_acts if act.on in here and act.act != "set pit"]
    looks = [look.at_utc for look in track.ledger.all_looks if look.on in here and look.kind not in CHECKS]
    return np.array([at.timestamp() - track.zero for at in [*acts, *looks]])
