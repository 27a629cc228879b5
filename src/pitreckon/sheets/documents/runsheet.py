"""The run sheet: the paper that hangs by the pit, from a cook and its outlook, with whatever else is known."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Final

from pitreckon.cook import Cook
from pitreckon.reckon import Outlook, Task
from pitreckon.reckon.statements import statements
from pitreckon.reckon.words import sentences, whole_minute
from pitreckon.sheets.documents.cautions import FOOT, fire_caution, food_caution
from pitreckon.sheets.documents.visits import spread_words, visits_of, window_table
from pitreckon.sheets.model import (
    Blank,
    Block,
    Checklist,
    Heading,
    KeyFigure,
    KeyFigures,
    Line,
    Row,
    Sheet,
    Step,
    Table,
    Text,
    Timetable,
    told_to,
)
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import joined, said
from pitreckon.units import format_percent, seconds_between

WORTH_SAYING_S = 20 * 60.0
"""A shorter time between two trips is no time off: common practice, no source."""
SAME = timedelta(minutes=2)
"""Free until and be back by that are no further apart are one thing."""
WRITE = tuple(said(word) for word in ("really at", "pit shows", "note"))
KEY_TO_TIMES: Final = (
    "Big: the best time. Under it: from when to when it is about as good, or how long a job takes. The meat "
    "decides, not the clock: look first; what is not there yet waits for its next time."
)
LEAST_WORDS: Final = (
    "Least: what the official advice to consumers wants at the core, with the rest after it; many cuts are tough "
    "until far above it. In brackets: 9 times in 10 between these."
)
WINDOW_WORDS: Final = (
    "Half of the time by the first, 9 times in 10 between those in brackets. Too late: past its best; it is no "
    "limit of safety."
)


@dataclass(frozen=True, slots=True)
class Job:
    """Something to do that no window of the meat asks for: thaw, light, feed the fire, carve.

    do: what is done; what: to what; at_utc: when, None: any time before the day
    until_utc: how long it takes hands; None: not worth saying
    look_for, note, where, hands: as on a ``Row``; key: names it when another job reads alike
    """

    do: str
    what: str = ""
    at_utc: datetime | None = None
    until_utc: datetime | None = None
    look_for: str = ""
    note: str = ""
    where: str = ""
    hands: int | None = None
    key: str = ""


def run_sheet(
    cook: Cook,
    outlook: Outlook,
    *,
    reader: Reader | None = None,
    chores: Sequence[Job] = (),
    fuel: Sequence[Line] = (),
    room: Sequence[Line] = (),
    visits: Sequence[Row] | None = None,
    notes: Sequence[str] = (),
    made_utc: datetime | None = None,
) -> Sheet:
    """The run sheet of a cook.

    outlook: of the same cook; its trips and windows make the timetable
    reader: how it is read; None: the cook's zone, °F and pounds
    chores: with a time into the timetable, without into a list
    fuel, room: what is burnt, and what lies where
    visits: planned rows instead of the outlook's own trips
    notes: what the cook should know, in plain sentences
    made_utc: when it was made; None: now
    """
    reader = reader or Reader(cook.zone)
    trips = visits_of(cook, outlook, reader) if visits is None else tuple(visits)
    rows = _timetable([*trips, *_jobs(chores), *_serving(cook, reader)], _bands(outlook))
    blocks: list[Block] = [_figures(cook, outlook, reader)]
    if not trips:
        blocks.append(Text(sentences(outlook, lambda at: reader.clock(at, outlook.now_utc)), "lead"))
    if rows:
        blocks += [Timetable(rows, WRITE), Text(said(KEY_TO_TIMES), "fine")]
    blocks += [Heading(said("Mind")), food_caution(reader), fire_caution()]
    loose = tuple(
        Line(f"{job.what}: {job.do}" if job.what else job.do, why=job.note) for job in chores if job.at_utc is None
    )
    if loose:
        blocks += [Heading(said("Before the day")), Checklist(loose)]
    blocks += [Heading(said("The meat")), _items(cook, outlook, reader), Text(said(LEAST_WORDS), "fine")]
    windows = window_table(outlook, reader)
    if windows.rows:
        blocks += [Heading(said("From when, and when it is too late")), windows, Text(said(WINDOW_WORDS), "fine")]
    blocks += [Heading(said("The pits")), _pits(cook, outlook, reader)]
    for head, lines in ((said("Fuel"), fuel), (said("Where it lies"), room)):
        if lines:
            blocks += [
                Heading(head),
                Table(_heads("what", "how much", "note"), tuple((x.what, x.amount, x.why) for x in lines)),
            ]
    blocks += [Text(note) for note in (*notes, *(joined(": ", (i.label, n)) for i in outlook.items for n in i.notes))]
    blocks += [
        Blank(said("What really happened"), _heads("time", "what", "pit shows", "meat shows", "seen, felt, done"), 10)
    ]
    when = cook.serve_utc or cook.start_utc
    sheet = Sheet(
        title=cook.name,
        subtitle=said("Run sheet for {day}", day=reader.day(when)),
        blocks=tuple(blocks),
        reader=reader,
        name=f"{cook.name}, {reader.day(when)}",
        made_utc=(made_utc or datetime.now(UTC)).astimezone(UTC),
        foot=said(FOOT),
    )
    return told_to(sheet)


def _heads(*words: str) -> tuple[str, ...]:
    return tuple(said(word) for word in words)


def _bands(outlook: Outlook) -> list[tuple[datetime, Task]]:
    """What is done again and again, and from when on."""
    return [(trip.at_utc, task) for trip in outlook.trips for task in trip.tasks if task.every_s is not None]


def _timetable(rows: Iterable[Row], bands: Sequence[tuple[datetime, Task]] = ()) -> tuple[Row, ...]:
    """In order of time, with the time off after each row that leaves some.

    bands: where a fire wants something more often than that, there is no time off
    """
    ordered = sorted(rows, key=lambda row: (row.from_utc, row.at_utc, row.kind, row.key))
    done = []
    for i, row in enumerate(ordered):
        busy = max(each.until_utc for each in ordered[: i + 1])
        after = ordered[i + 1].from_utc if i + 1 < len(ordered) else None
        span_s = 0.0 if after is None else seconds_between(busy, after)
        off = span_s >= WORTH_SAYING_S and not any(_breaks_in(at, task, busy, span_s) for at, task in bands)
        done.append(replace(row, free_until_utc=after if off else None))
    return tuple(done)


def _breaks_in(at: datetime, task: Task, busy: datetime, span_s: float) -> bool:
    if task.every_s is None or task.until_utc is None:
        return False
    return at <= busy < task.until_utc and task.every_s < span_s


def _jobs(chores: Sequence[Job]) -> list[Row]:
    rows, seen = [], dict[str, int]()
    for job in chores:
        if job.at_utc is None:
            continue
        at = whole_minute(job.at_utc.astimezone(UTC))
        until = whole_minute((job.until_utc or at).astimezone(UTC))
        key = f"job/{job.key or f'{job.what}/{job.do}'}"
        seen[key] = seen.get(key, 0) + 1
        if seen[key] > 1:
            key += f"/{seen[key]}"
        step = Step(job.what, job.do, job.look_for, note=job.note)
        rows.append(Row(key, at, at, max(at, until), (step,), job.where, "job", job.hands))
    return rows


def _serving(cook: Cook, reader: Reader) -> list[Row]:
    if cook.serve_utc is None:
        return []
    look = said("a thermometer in the thickest part has shown what it must")
    beside = {(task.label, task.at_utc) for task in cook.tasks}  # cooled then, and not served
    rows = []
    for serve in sorted({cook.served_at(item) or cook.serve_utc for item in cook.items} | {cook.serve_utc}):
        at = whole_minute(serve)
        here = [item.label for item in cook.items if (cook.served_at(item) or cook.serve_utc) == serve]
        what = ", ".join(label for label in here if (label, serve) not in beside)
        if not what and serve != cook.serve_utc:
            continue
        key = "serve" if serve == cook.serve_utc else f"serve/{what}"
        rows.append(Row(key, at, at, at, (Step(what, said("serve"), look),), kind="serve"))
    return rows


def _figures(cook: Cook, outlook: Outlook, reader: Reader) -> KeyFigures:
    now = outlook.now_utc
    figures = []
    if cook.serve_utc is not None:
        figures.append(KeyFigure(said("serve"), reader.clock(cook.serve_utc)))
    free, back = outlook.free_until_utc, outlook.be_back_utc
    if free is not None and back is not None:
        if free > now:
            figures.append(KeyFigure(said("free until"), reader.clock(whole_minute(free), now)))
        if free <= now or back - free > SAME:
            figures.append(KeyFigure(said("be back by"), reader.clock(whole_minute(max(back, now)), now)))
    for each in statements(outlook, lambda at: reader.clock(at, now)):
        much = "" if each.chance is None else format_percent(each.chance)
        figures.append(KeyFigure(each.what, each.words, much))
    figures.append(KeyFigure(said("reckoned as of"), reader.clock(now), reader.day(now)))
    return KeyFigures(tuple(figures))


def _items(cook: Cook, outlook: Outlook, reader: Reader) -> Table:
    from pitreckon import catalog  # noqa: PLC0415  the shelf is read from files, and only for this table

    cuts = catalog.cuts()
    rows = []
    for item in outlook.items:
        plan, texture = cook.item(item.label), cuts[item.cut].texture
        least = reader.temperature(texture.least_core_c.value)
        if texture.least_rest_s.value > 0.0:
            least = said("{value}, {n} min rest", value=least, n=f"{texture.least_rest_s.value / 60.0:.0f}")
        sure = "" if item.on_time is None else f"{format_percent(item.on_time)}"
        each, cut = reader.mass(plan.mass_kg), said(item.cut_name)
        what = said("{item}: {n} × {cut}, {mass} each", item=item.label, n=plan.pieces, cut=cut, mass=each)
        on = reader.clock(item.put_on_utc, cook.serve_utc or item.put_on_utc)
        rows.append((what, on, _spread_words(outlook, item.label, reader), sure, least))
    return Table(
        _heads("what", "on", "ready", "on time", "least"), tuple(rows), ("left", "right", "left", "right", "left")
    )


def _spread_words(outlook: Outlook, label: str, reader: Reader) -> str:
    item = outlook.item(label)
    return spread_words(item, item.last_ready if item.pieces > 1 else item.marks["ready"], outlook, reader)


def _pits(cook: Cook, outlook: Outlook, reader: Reader) -> Table:
    from pitreckon import catalog  # noqa: PLC0415  as above

    kinds = catalog.pits()
    rows = []
    for pit in cook.pits:
        on = [item for item in cook.items if item.pit == pit.label]
        first = min((outlook.item(item.label).put_on_utc for item in on), default=None)
        begins = "" if first is None else reader.clock(first, cook.serve_utc or first)
        carries = ", ".join(item.label for item in on)
        rows.append((pit.label, said(kinds[pit.kind].name), reader.temperature(pit.set_c), begins, carries))
    return Table(
        _heads("pit", "kind", "set to", "steady by", "for"), tuple(rows), ("left", "left", "right", "right", "left")
    )
