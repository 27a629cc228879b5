"""A JSON message with one reading or many to entries; its form: ``docs/how-to/send-readings.md``."""

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from pydantic_core import from_json

from pitreckon.cook.plan import Cook
from pitreckon.errors import InputError, Place
from pitreckon.intake.reading import Device, Places, instant_of, measured, own_id, reading_id
from pitreckon.ledger.events import Reading
from pitreckon.ledger.store.records import Entry
from pitreckon.units import Scale, shown

MOST_READINGS: Final = 1000
MOST_BYTES: Final = 1 << 20
_FORM: Final = 'Send {"readings": [{"at": "2026-10-10T18:00:00Z", "on": "big box", "value": 268, "unit": "F"}]}'


class ReadingIn(BaseModel):
    """One reading as a device sends it."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False, frozen=True)

    value: float | None = Field(description="the number; null when the instrument has none")
    unit: Scale | None = Field(None, description="left out: the device's own")
    at: str | float | None = Field(None, description="ISO time, or seconds or milliseconds since 1970")
    on: str | None = Field(None, description="the pit or the item; left out where there is only one")
    channel: str | None = Field(None, description="pit air or probe; follows from on")
    piece: int | None = Field(None, description="which piece of the item, from 1")
    id: str | None = Field(None, description="the device's own, the same when it sends the reading again")


_MANY: Final = TypeAdapter(list[ReadingIn])


def parse_readings(
    body: bytes,
    content_type: str | None,
    cook: Cook,
    device: Device,
    *,
    now_utc: datetime | None = None,
    recorded_at: Callable[[str], datetime | None] | None = None,
) -> list[Entry]:
    """The entries of a message: one reading, a list of them, or an object with ``readings``; all or none are taken.

    content_type: as the request has it; only JSON is read
    now_utc: the time of a reading that comes with an id and without ``at``; None: each needs ``at``
    recorded_at: when an entry of this id was recorded, so that a retry without ``at`` keeps its first time

    Numbers out of range and fault codes come back with ``rejected`` set; their history is for :mod:`.judge`.

    Raises InputError: anything that is not that, with the index and the field (``readings[3].value``).
    """
    kind = (content_type or "").partition(";")[0].strip().casefold()
    if kind != "application/json" and not (kind.startswith("application/") and kind.endswith("+json")):
        raise InputError(f"the message is {shown(kind or 'of no type')}", "Send it as Content-Type: application/json")
    if len(body) > MOST_BYTES:
        raise InputError(f"the message is longer than {MOST_BYTES} bytes", "Send fewer readings at a time")
    readings = _models(_listed(_json(body)))
    places = Places.of(cook)
    entries: dict[str, Entry] = {}
    for n, each in enumerate(readings):
        try:
            entry = _entry(each, cook, places, device.label, device.unit, now_utc, recorded_at)
        except InputError as fault:
            raise InputError(fault.trouble, fault.remedy, _place(n, fault.place.field or "")) from None
        if entries.setdefault(entry.id, entry) != entry:
            raise InputError(
                f"the id {shown(entry.id)} is that of another reading too", "Give each its own id", _place(n, "id")
            )
    return list(entries.values())


def _json(body: bytes) -> Any:
    try:
        return from_json(body, allow_inf_nan=False)
    except ValueError as error:  # not JSON, not UTF-8, NaN, or nested too deeply
        raise InputError(f"the message is not JSON: {str(error)[:120]}", _FORM) from None


def _listed(raw: Any) -> list[Any]:
    if isinstance(raw, dict) and "readings" in raw:
        extra = next((key for key in raw if key != "readings"), None)
        if extra is not None:
            raise InputError(f"{shown(extra)} is no key beside readings", _FORM, Place(field=_plain(extra)))
        raw = raw["readings"]
    elif isinstance(raw, dict):
        raw = [raw]
    if not isinstance(raw, list):
        raise InputError("the message is neither a reading nor a list of them", _FORM, Place(field="readings"))
    if not 1 <= len(raw) <= MOST_READINGS:
        raise InputError(
            f"the message has {len(raw)} readings", f"Send 1 to {MOST_READINGS} at a time", Place(field="readings")
        )
    return raw


_REMEDIES: Final = {
    "value": "Send a number, or null when the instrument has none",
    "unit": 'Write "F" or "C"',
    "at": "Write it as in 2026-10-10T18:00:00Z, or as seconds since 1970",
    "piece": "Write a whole number from 1",
}


def _models(raw: list[Any]) -> list[ReadingIn]:
    try:
        return _MANY.validate_python(raw)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        n, *rest = first["loc"]
        field = str(rest[0]) if rest else ""
        if first["type"] == "extra_forbidden":
            trouble = f"{shown(field)} is no key of a reading"
            remedy = f"Use only {', '.join(ReadingIn.model_fields)}"
        elif first["type"] == "missing":
            trouble, remedy = f"{field} is missing", _REMEDIES.get(field, _FORM)
        elif not field:
            trouble, remedy = "it is not a reading", _FORM
        else:
            trouble, remedy = f"{field} is not what it should be", _REMEDIES.get(field, f"Send {field} as a text")
        raise InputError(trouble, remedy, _place(int(n), field)) from None


def _entry(
    each: ReadingIn,
    cook: Cook,
    places: Places,
    by: str,
    own_unit: Scale | None,
    now_utc: datetime | None,
    recorded_at: Callable[[str], datetime | None] | None,
) -> Entry:
    field = "channel"
    try:
        channel = places.channel(each.channel, each.on)
        field = "on"
        on = places.label(each.on, of_pit=channel == "pit air")
        field = "piece"
        piece = places.piece(each.piece, on, of_pit=channel == "pit air")
        field = "value" if each.unit or own_unit else "unit"
        value_c, rejected = measured(channel, each.value, each.unit or own_unit)
        field = "id"
        entry_id = None if each.id is None else own_id(each.id)
        field = "at"
        if each.at is not None:
            at_utc = instant_of(each.at, cook, now_utc)
        elif entry_id is None or now_utc is None:
            raise InputError(  # noqa: TRY301  placed below, as every other
                "the reading has neither its time nor an id", "Send at, or an id that stays the same in a retry"
            )
        else:
            at_utc = (recorded_at(entry_id) if recorded_at else None) or now_utc
    except InputError as fault:
        raise fault.at(field=field) from None
    reading = Reading(at_utc, channel, on, piece, value_c, rejected)
    return Entry(entry_id or reading_id(by, reading), reading, by)


def _place(n: int, field: str) -> Place:
    return Place(field=f"readings[{n}]" + (f".{_plain(field)}" if field else ""))


def _plain(key: str) -> str:
    return "".join(c if c.isprintable() else "?" for c in key[:40])
