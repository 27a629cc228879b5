"""How a finished cook really went, stage by stage, from its ledger: what a card is written from."""

from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.cook import Cook, ItemPlan, StagePlan, Until
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Act, Ledger, Look
from pitreckon.ledger.events import CHECKS, OFF_ACTS
from pitreckon.reckon.prepare import Track, tracks_of
from pitreckon.reckon.stages import PIT_KINDS, Stage

BEFORE_S, READ_BEFORE_S, AFTER_S = 900.0, 300.0, 300.0
"""A look, or a temperature, so long before or after a step was made is what it was made for (common practice, no
source)."""
LEAST_READINGS: Final = 6
"""Of the pit's readout, from which on its mean tells more than what it was set to."""
STAGE_LOOKS: Final = {"open": ("colour", "core"), "last": ("tender", "core")}
"""What a look has to have confirmed for a stage to be told by it."""


@dataclass(frozen=True, slots=True)
class StageRecord:
    """One stage as it went.

    plan: what was done, ended by what was seen then (by its time, where nothing was seen); took_s: how long it took
    seen: what ended it, in the cook's words, "" for nothing; core_c: what a thermometer read then, None: none did
    clocked: nothing but the clock is known to have ended it
    """

    plan: StagePlan
    took_s: float
    seen: str = ""
    core_c: float | None = None
    clocked: bool = False


@dataclass(frozen=True, slots=True)
class FinishedItem:
    """A finished item.

    stages: its stages in order, those on the pit and what followed
    set_c: what the pit was held at, by its readout where that was written down [degC]; set_by: ``readout`` | ``plan``
    grate_c: air at the grate by the usual offset of such a pit [degC]; put_on_utc, off_utc
    notes: what a reader should know of how this was taken from the ledger
    """

    cook: Cook
    item: ItemPlan
    cut: Cut
    stages: tuple[StageRecord, ...]
    set_c: float
    set_by: str
    grate_c: float
    put_on_utc: datetime
    off_utc: datetime
    notes: tuple[str, ...]

    @property
    def pit_kind(self) -> str:
        """Catalog key of the pit that it was cooked on."""
        return self.cook.pit(self.item.pit).kind

    @property
    def on_pit(self) -> tuple[StageRecord, ...]:
        """The stages on the pit."""
        return tuple(went for went in self.stages if went.plan.kind in PIT_KINDS)


def finished_item(cook: Cook, ledger: Ledger, item: str | None = None) -> FinishedItem:
    """What the ledger says of an item that is off the pit. item: its label; None: the only one that is.

    Raises InputError: there is no such item, it is not off the pit, or more than one is and none was named.
    """
    plan = _item(cook, ledger, item)
    last = ledger.last_utc
    if last is None:
        raise _not_done(plan.label)
    tracks = tracks_of(cook, plan, ledger, last, seed=1)
    track = max(tracks, key=lambda each: (len(each.acts), len(each.observations.looks), each.stands_for))
    off = _off_utc(track.acts)
    if off is None:
        raise _not_done(plan.label)
    went: list[StageRecord] = []
    begin = track.put_on
    for n, stage in enumerate(track.stages):
        if stage.ended_utc is None and stage.plan.kind in PIT_KINDS:
            continue  # planned, and never done
        end = stage.ended_utc
        took_s = (end - begin).total_seconds() if end is not None else (stage.plan.until.duration_s or 0.0)
        if took_s >= 60.0:
            final = not any(later.plan.kind in PIT_KINDS and later.ended_utc for later in track.stages[n + 1 :])
            _add(went, _stage_record(track, stage, end, took_s, final=final))
        begin = end or begin
    set_c, by, notes = _held(track, cook, ledger, off)
    offset = catalog.pits()[cook.pit(plan.pit).kind].air.offset_k.value
    if any(each.acts != track.acts for each in tracks):
        notes += (f"Pieces of '{plan.label}' were treated apart: this is how {_whom(track, plan)} went",)
    return FinishedItem(cook, plan, track.cut, tuple(went), set_c, by, set_c + offset, track.put_on, off, notes)


def _item(cook: Cook, ledger: Ledger, label: str | None) -> ItemPlan:
    if label is not None:
        for each in cook.items:
            if each.label.casefold() == label.strip().casefold():
                return each
        known = ", ".join(each.label for each in cook.items)
        raise InputError(f"'{label[:40]}' is no item of this cook", f"Name one of: {known}", Place(field="item"))
    done = [each for each in cook.items if _off_utc(ledger.acts(each.label)) is not None]
    if len(done) == 1:
        return done[0]
    if not done:
        raise _not_done(cook.items[0].label)
    raise InputError(
        "more than one item of this cook is done",
        f"Name one of: {', '.join(each.label for each in done)}",
        Place(field="item"),
    )


def _not_done(label: str) -> InputError:
    return InputError(
        f"nothing in the ledger says that '{label}' came off the pit",
        "It has to be a finished cook: record 'took off' first",
        Place(field="item"),
    )


def _off_utc(acts: tuple[Act, ...]) -> datetime | None:
    return next((act.at_utc for act in acts if act.act in OFF_ACTS), None)


def _whom(track: Track, item: ItemPlan) -> str:
    return f"piece {track.piece}" if track.piece is not None else f"{track.stands_for} of {item.pieces}"


def _stage_record(track: Track, stage: Stage, end: datetime | None, took_s: float, *, final: bool) -> StageRecord:
    """A stage with what ended it: what was seen just then, else what the plan had it wait for, else the clock."""
    plan = replace(stage.plan, wrap=stage.wrap if stage.plan.kind == "wrapped" else stage.plan.wrap)
    if plan.kind not in PIT_KINDS or end is None:
        return StageRecord(replace(plan, until=Until("minutes", max(took_s, 60.0))), took_s, clocked=True)
    looks = _looks_at(track, end)
    core = _core_at(track, looks, end)
    rule = plan.until.ends_by
    if rule in {"colour", "tender", "core"}:
        look = next((each for each in reversed(looks) if LOOK_KINDS[each.kind].confirms == rule), None)
        if rule == "core":
            read = core if core is not None else plan.until.core_c
            return StageRecord(replace(plan, until=Until("core", read)), took_s, core_c=core)
        until = plan.until if look is None else Until(rule, _level(look))
        return StageRecord(replace(plan, until=until), took_s, "" if look is None else _words(look), core)
    if rule == "glaze":
        return StageRecord(plan, took_s, core_c=core)
    if plan.kind == "sauced":
        return StageRecord(replace(plan, until=Until("minutes", took_s)), took_s, core_c=core, clocked=True)
    wanted = STAGE_LOOKS["last" if final or plan.kind == "wrapped" else "open"]
    for look in reversed(looks):
        what = LOOK_KINDS[look.kind].confirms
        if what in wanted:
            until = Until(what, look.value if what == "core" else _level(look))
            return StageRecord(replace(plan, until=until), took_s, _words(look), core)
    return StageRecord(replace(plan, until=Until("minutes", took_s)), took_s, core_c=core, clocked=True)


def _add(went: list[StageRecord], record: StageRecord) -> None:
    """One more stage; a hold that the cook said to begin, minutes after it had come off into one, is the same hold."""
    before = went[-1].plan if went else None
    if before is None or record.plan.kind in PIT_KINDS or before.kind != record.plan.kind:
        went.append(record)
        return
    took_s = went.pop().took_s + record.took_s
    went.append(replace(record, plan=replace(record.plan, until=Until("minutes", took_s)), took_s=took_s))


def _level(look: Look) -> float:
    return min(max(LOOK_KINDS[look.kind].step(look.value), 0.05), 1.5)


def _words(look: Look) -> str:
    kind = LOOK_KINDS[look.kind]
    return kind.word(look.value) if kind.measured_on else look.text


def _looks_at(track: Track, end: datetime) -> list[Look]:
    """Looks at the piece when a stage ended; where there are none, those at other pieces of the item."""
    at_s = end.timestamp() - track.zero

    def then(look: Look) -> bool:
        before_s = READ_BEFORE_S if look.kind == "spot temperature" else BEFORE_S
        return at_s - before_s <= look.at_utc.timestamp() - track.zero <= at_s + AFTER_S

    mine = [look for _, look in track.observations.looks if then(look)]
    return mine or [look for look in track.ledger.looks(track.item.label) if look.kind not in CHECKS and then(look)]


def _core_at(track: Track, looks: list[Look], end: datetime) -> float | None:
    """What a thermometer in the core read when a stage ended [degC]: a look, else a probe left in; None: none did."""
    spots = [look.value for look in looks if look.kind == "spot temperature"]
    if spots:
        return spots[-1]
    at = end.timestamp()
    pieces = {track.piece, None}
    near = [
        reading
        for reading in track.ledger.readings("probe", track.item.label)
        if reading.piece in pieces and at - AFTER_S <= reading.at_utc.timestamp() <= at + 60.0
    ]
    return near[-1].value_c if near else None


def _held(track: Track, cook: Cook, ledger: Ledger, off: datetime) -> tuple[float, str, tuple[str, ...]]:
    """What the pit was held at while the piece was on it [degC], by what, and what there is to say of it."""
    label = track.item.pit
    notes: tuple[str, ...] = ()
    if len(track.pits) > 1:
        notes += ("It was moved to another pit: the card takes the first for the whole time",)
    readings = [r.value_c for r in ledger.readings("pit air", label) if track.put_on <= r.at_utc <= off]
    plan_c = cook.pit(label).set_c
    turned = [act for act in ledger.acts(label) if act.act == "set pit" and track.put_on < act.at_utc < off]
    if turned:
        notes += ("The pit was set anew on the way: the card takes the mean over the time on it",)
    if len(readings) >= LEAST_READINGS:
        return sum(readings) / len(readings), "readout", notes
    parts, at, set_c = 0.0, track.put_on, plan_c
    for act in [a for a in ledger.acts(label) if a.act == "set pit" and a.air_c is not None and a.at_utc < off]:
        until = max(act.at_utc, track.put_on)
        parts += set_c * (until - at).total_seconds()
        at, set_c = until, act.air_c if act.air_c is not None else set_c
    whole = (off - track.put_on).total_seconds()
    parts += set_c * (off - at).total_seconds()
    return (parts / whole if whole > 0.0 else plan_c), "plan", notes
