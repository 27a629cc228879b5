"""A :class:`pitreckon.ledger.events.Ledger` as a ledger file's text; :mod:`pitreckon.ledger.log.read` reads it back."""

import csv
import io
import math
from collections.abc import Iterator
from datetime import datetime

from pitreckon.cook.looks import LOOK_KINDS, TEMPERATURE
from pitreckon.cook.plan import Cook
from pitreckon.ledger.events import Act, Ledger, Look, Reading
from pitreckon.ledger.log.cells import guarded
from pitreckon.units import Scale, format_duration, format_local, format_mass

_COLUMNS = ("time", "kind", "on", "piece", "what", "value", "note")


def log_text(ledger: Ledger, cook: Cook, *, degrees: Scale = "F") -> str:
    """The ledger as CSV in the cook's zone, all kinds together in order of time.

    A look is written as the cook wrote it; temperatures to a tenth of a degree; weights to the ounce and
    lengths to 1/16 in, or with ``degrees="C"`` in g, kg and mm. A reading that was set aside is written
    ``nan`` and wants setting aside again. A text that a table program would take for a formula has a quote before it.
    """
    zone = cook.zone_info
    # A stable sort of acts, then looks, then readings: "put on" stands before the first probe of that minute.
    events: list[Act | Look | Reading] = [*ledger.all_acts, *ledger.all_looks, *ledger.all_readings]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for event in sorted(events, key=_at):
        writer.writerow((format_local(event.at_utc, zone), *_cells(event, degrees)))
    return out.getvalue()


def _at(event: Act | Look | Reading) -> datetime:
    return event.at_utc


def _cells(event: Act | Look | Reading, degrees: Scale) -> Iterator[str]:
    yield type(event).__name__.casefold()
    yield guarded(event.on)
    yield "" if event.piece is None else str(event.piece)
    yield _what(event)
    if isinstance(event, Reading):
        yield _temperature(event.value_c, degrees)
        yield ""
    elif isinstance(event, Look):
        yield guarded(_look(event, degrees))
        yield guarded(event.note)
    else:
        yield guarded(_act(event, degrees))
        yield guarded(event.note)


def _what(event: Act | Look | Reading) -> str:
    """The cell of the column "what"."""
    if isinstance(event, Reading):
        return event.channel
    return event.kind if isinstance(event, Look) else event.act


def _temperature(value_c: float, degrees: Scale) -> str:
    return "nan" if math.isnan(value_c) else TEMPERATURE.cell(value_c, degrees)


def _look(look: Look, degrees: Scale) -> str:
    if look.text:
        return look.text
    return "nan" if math.isnan(look.value) else LOOK_KINDS[look.kind].cell(look.value, degrees)


def _act(act: Act, degrees: Scale) -> str:
    if act.air_c is not None:
        return _temperature(act.air_c, degrees)
    if act.duration_s is not None:
        return format_duration(act.duration_s, to_the_second=True)
    if act.fuel_kg is not None:
        return format_mass(act.fuel_kg, "lb" if degrees == "F" else "kg")
    return act.detail
