"""What a planned day adds to its run sheet: what to do to the meat first, fires and their fuel, and who lies where."""

from dataclasses import dataclass

from pitreckon.plan.buying.quantities import quantities
from pitreckon.plan.buying.shopping import shopping
from pitreckon.plan.fuel.earlier import Lessons, lesson_notes
from pitreckon.plan.fuel.use import PitSegment, fuel_use
from pitreckon.plan.prep.chores import prepare_meat
from pitreckon.plan.schedule.problem import weather_of
from pitreckon.plan.schedule.schedule import Schedule
from pitreckon.plan.space.footprint import Pieces
from pitreckon.plan.space.layout import room_for
from pitreckon.plan.wishes import Wishes
from pitreckon.sheets.documents.fromplan import fuel_lines, jobs_of, room_lines, shopping_lines
from pitreckon.sheets.documents.runsheet import Job
from pitreckon.sheets.documents.shopping import shopping_sheet
from pitreckon.sheets.model import KeyFigure, Line, Sheet
from pitreckon.sheets.reader import Reader
from pitreckon.units import format_percent


@dataclass(frozen=True, slots=True)
class Additions:
    """For ``run_sheet``, by the names of its parameters."""

    chores: tuple[Job, ...]
    fuel: tuple[Line, ...]
    room: tuple[Line, ...]
    notes: tuple[str, ...]


def additions(wishes: Wishes, schedule: Schedule, reader: Reader, lessons: Lessons | None = None) -> Additions:
    """What a schedule adds to the run sheet of the cook that was made of it.

    lessons: what earlier cooks taught of the pits' fuel, by their labels

    Raises InputError: there is too little time to thaw or to season before something goes on.
    """
    put_on = {item.label: item.put_on_utc for item in schedule.items}
    ready = prepare_meat(wishes, quantities(wishes), put_on)
    kinds = {pit.label: pit for pit in wishes.pits}
    weather, taught = weather_of(wishes), lessons or {}
    jobs, uses, rooms = list(jobs_of(ready.chores, reader)), [], []
    for pit in schedule.pits:
        wish = kinds[pit.label]
        if pit.lit_utc is not None and pit.lit_utc < pit.off_utc:
            use = fuel_use(wish, [PitSegment(pit.lit_utc, pit.off_utc, pit.set_c)], weather, taught.get(pit.label))
            uses.append(use)
        rooms.append(room_for(wish, _fullest(schedule, wishes, pit.label)))
    sure = f"Planned so that all is ready to serve together: {format_percent(schedule.chance)} likely."
    return Additions(
        tuple(jobs),
        fuel_lines(uses, reader),
        room_lines(rooms, reader),
        (sure, *ready.notes, *schedule.notes, *lesson_notes(taught, [use.pit for use in uses])),
    )


def _fullest(schedule: Schedule, wishes: Wishes, label: str) -> list[Pieces]:
    """What lies on a pit when most of it does."""
    thin = {item.label: item.thickness_factor for item in wishes.items}
    here = [item for item in schedule.items if item.pit == label]
    at_once = [[i for i in here if i.put_on_utc <= at.put_on_utc < i.off_utc] for at in here]
    most = max(at_once, key=lambda items: sum(i.pieces * i.mass_kg for i in items), default=[])
    return [Pieces(i.label, i.cut, i.pieces, i.mass_kg, thin.get(i.label, 1.0)) for i in most]


def planned_shopping(wishes: Wishes, reader: Reader) -> Sheet:
    """The shopping list of a day that is wanted."""
    bought = shopping(wishes, quantities(wishes))
    figures = [] if bought.price is None else [KeyFigure("meat in all", f"{bought.price:.2f} {bought.currency}")]
    notes = [f"No price is known for: {', '.join(bought.unpriced)}."] if bought.unpriced and figures else []
    lines = shopping_lines(bought, reader)
    return shopping_sheet(wishes, lines, reader=reader, figures=figures, notes=notes)
