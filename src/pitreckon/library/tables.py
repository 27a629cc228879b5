"""Tables of outlooks, members, marks, verdicts and ledgers, as pandas has them; ``.to_parquet(path)`` keeps one.

A column's name carries its unit. Times that end in ``_s`` are seconds since the item was put on, those in ``_utc`` are
instants; a mark that is not reached is missing. pandas and PyArrow come with the extra ``study``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import MISSING, fields
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pitreckon.arrays import Floats
from pitreckon.errors import InputError
from pitreckon.extras import loading
from pitreckon.ledger import Act, Ledger, Look, Reading
from pitreckon.library.drawing import is_simulation
from pitreckon.library.reckoned import Reckoned
from pitreckon.reckon.levels import UNKNOWNS
from pitreckon.reckon.measures import held_at, level_of_colour
from pitreckon.reckon.outlook import MARK_NAMES, ItemOutlook
from pitreckon.reckon.posterior import Posterior
from pitreckon.reckon.quantiles import LEVEL_NAMES, Quantiles
from pitreckon.reckon.summary import ItemRun, past_best

if TYPE_CHECKING:
    from pandas import DataFrame
    from xarray import Dataset

    from pitreckon.safety.judgecook import Safety

__all__ = ["ledger", "ledger_of", "marks", "members", "outlook", "stages", "unknowns", "verdicts", "windows"]

NOW: Final = {
    "core_c": "core_c",
    "lost": "loss_fraction",
    "colour": "colour",
    "gelatin": "gelatin",
    "pit_c": "pit_c",
    "grate_k": "grate_k",
}
"""What is known of an item now, by its column: the field of its outlook."""
EVENTS: Final[Mapping[str, type[Reading | Look | Act]]] = {"reading": Reading, "look": Look, "act": Act}
TEXTS: Final = ("channel", "kind", "act", "on", "text", "detail", "rejected", "note", "by")
NUMBERS: Final = ("value_c", "value", "air_c", "duration_s", "fuel_kg")
WHOLES: Final = ("piece", "source_line")


def outlook(outlook: Reckoned) -> DataFrame:
    """An outlook, a row an item: what it is, its chances, and 5, 50 and 95 % of where it is now.

    Raises MissingExtraError: pandas is not installed. InputError: it is no outlook
    """
    rows = []
    for item in _reckoned(outlook).items:
        row: dict[str, Any] = {name: getattr(item, name) for name in ("label", "cut", "pieces", "put_on_utc")}
        row |= {"serve_utc": item.serve_utc, "served_utc": item.served_utc}
        row |= {name: getattr(item, name) for name in ("on_time", "ready_by", "at_best", "least_core", "ess", "failed")}
        for name, of in NOW.items():
            row |= {f"{name}_{level}": getattr(getattr(item, of), level) for level in LEVEL_NAMES}
        row["notes"] = "; ".join(item.notes)
        rows.append(row)
    table = _frame(rows).rename(columns={"label": "item"})
    for name in ("put_on_utc", "serve_utc", "served_utc"):
        table[name] = _instants(table[name])
    floats = [
        name for name in table.columns if name.startswith(tuple(NOW)) or name in {"on_time", "ready_by", "at_best"}
    ]
    return table.astype(dict.fromkeys(floats, "float64"))


def marks(what: Reckoned | Dataset) -> DataFrame:
    """The marks of an outlook, a row an item and mark; or of a simulation, a row a member and a column a mark.

    what: from ``pitreckon.reckon`` or ``pitreckon.simulate``

    Raises MissingExtraError: pandas is not installed. InputError: it is neither
    """
    if is_simulation(what):
        with loading("pandas", "a table"):
            import pandas as pd  # noqa: PLC0415  it is an extra
        times = what["mark_time"].transpose("mark", "member").to_numpy()
        columns = {f"{name}_s": row for name, row in zip(what["mark"].to_numpy(), times, strict=True)}
        return pd.DataFrame(columns, index=pd.Index(what["member"].to_numpy(), name="member"))
    rows = []
    for item in _reckoned(what).items:
        spans = {**item.marks, "first_ready": item.first_ready, "last_ready": item.last_ready}
        rows += [{"item": item.label, "mark": name} | _span(spread, item) for name, spread in spans.items()]
    return _times(_frame(rows))


def stages(outlook: Reckoned) -> DataFrame:
    """The stages of an outlook, a row an item and stage: when it begins and ends, and the share that is in it now.

    Raises MissingExtraError: pandas is not installed. InputError: it is no outlook
    """
    rows = [
        {"item": item.label, "stage": n, "kind": stage.kind, "wrap": stage.wrap, "until": stage.until}
        | _span(stage.begins_s, item, "begins_")
        | _span(stage.ends_s, item, "ends_")
        | {"done": stage.done, "now": stage.now}
        for item in _reckoned(outlook).items
        for n, stage in enumerate(item.stages, 1)
    ]
    begins, ends = _span_columns("begins_"), _span_columns("ends_")
    return _times(_frame(rows, ["item", "stage", "kind", "wrap", "until", *begins, *ends, "done", "now"]))


def windows(outlook: Reckoned) -> DataFrame:
    """The windows of an outlook, a row an act to come: when it can be done, and when it is too late for it.

    Raises MissingExtraError: pandas is not installed. InputError: it is no outlook
    """
    rows = [
        {"item": item.label, "act": window.act, "wrap": window.wrap, "until": window.until}
        | _span(window.opens_s, item, "opens_")
        | _span(window.closes_s, item, "closes_")
        | {"closes_by": window.closes_by, "open_now": window.open_now, "too_late_now": window.too_late_now}
        for item in _reckoned(outlook).items
        for window in item.windows
    ]
    opens, closes, chances = _span_columns("opens_"), _span_columns("closes_"), ["open_now", "too_late_now"]
    return _times(_frame(rows, ["item", "act", "wrap", "until", *opens, *closes, "closes_by", *chances]))


def members(outlook: Reckoned) -> DataFrame:
    """Every member of every item, a row each: its weight, its marks, its stages' ends, and where it is now.

    The rows of one item and piece weigh 1 together; piece 0 stands for all the pieces that nothing sets apart. The
    quantiles of an item's outlook are the weighted quantiles of these columns.

    Raises MissingExtraError: pandas is not installed. InputError: it is no outlook
    """
    with loading("pandas", "a table"):
        import pandas as pd  # noqa: PLC0415  it is an extra
    now_utc = _reckoned(outlook).now_utc
    parts = []
    longest = max(len(run.stages) for run in outlook.reckoning.runs)
    for run in outlook.reckoning.runs:
        for track in run.tracks:
            part = pd.DataFrame(_of_members(track, now_utc, longest))
            part.insert(0, "member", np.arange(len(part)))
            part.insert(0, "piece", track.track.piece or 0)
            part.insert(0, "item", run.item.label)
            parts.append(part)
    return pd.concat(parts, ignore_index=True).set_index(["item", "piece", "member"])


def unknowns(outlook: Reckoned) -> DataFrame:
    """What is not known of each item and its pit, a row a member: standard numbers by name, and the member's weight.

    Before anything was seen each is a standard normal number (``docs/nomenclature-statistics.md``).

    Raises MissingExtraError: pandas is not installed. InputError: it is no outlook
    """
    with loading("pandas", "a table"):
        import pandas as pd  # noqa: PLC0415  it is an extra
    parts = []
    for run in _reckoned(outlook).reckoning.runs:
        for track in run.tracks:
            part = pd.DataFrame(dict(track.ensemble.unknowns))[list(UNKNOWNS)]
            part.insert(0, "weight", track.weights)
            part.insert(0, "member", np.arange(len(part)))
            part.insert(0, "piece", track.track.piece or 0)
            part.insert(0, "item", run.item.label)
            parts.append(part)
    return pd.concat(parts, ignore_index=True).set_index(["item", "piece", "member"])


def verdicts(safety: Safety) -> DataFrame:
    """What the rules say, a row a piece and rule, as things stand (``when`` is now) and as they will (ahead).

    safety: from ``pitreckon.judge``

    Raises MissingExtraError: pandas is not installed
    """
    rows = [
        {
            "when": when, "piece": piece.label, "rule": each.rule.key, "group": each.rule.group,
            "governs": each.rule.governs, "verdict": each.verdict, "at_s": each.at_s, "margin": each.margin,
            "unit": each.unit, "basis": each.basis, "probability": each.probability, "why": each.why,
            "source": each.rule.source,
        }
        for when, pieces in (("now", safety.now), ("ahead", safety.ahead))
        for piece in pieces
        for each in piece.verdicts
    ]  # fmt: skip
    return _frame(rows).astype(dict.fromkeys(("at_s", "margin", "probability"), "float64"))


def ledger(ledger: Ledger) -> DataFrame:
    """A ledger, a row an entry in order of time, with all that an entry has; ``ledger_of`` makes it a ledger again.

    Raises MissingExtraError: pandas is not installed. InputError: it is no ledger
    """
    if not isinstance(ledger, Ledger):
        raise InputError(f"a {type(ledger).__name__} is no ledger", "Give what pitreckon.read_ledger returned")
    kinds = {kind: name for name, kind in EVENTS.items()}
    rows = [{"entry": kinds[type(each)]} | _as_row(each) for each in ledger.events]
    with loading("pandas", "a table"):
        import pandas as pd  # noqa: PLC0415  it is an extra
    table = pd.DataFrame(rows, columns=["entry", "at_utc", *TEXTS[:4], "piece", *NUMBERS, *TEXTS[4:], "source_line"])
    table["at_utc"] = _instants(table["at_utc"])
    kinds_of = {"entry": "string", **dict.fromkeys(TEXTS, "string"), **dict.fromkeys(WHOLES, "Int64")}
    return table.astype(kinds_of | dict.fromkeys(NUMBERS, "float64"))


def ledger_of(table: DataFrame) -> Ledger:
    """The ledger of a table that ``ledger`` made, entry by entry.

    Raises InputError: it is no such table; the message names the row
    """
    events: list[Reading | Look | Act] = []
    for n, row in enumerate(table.to_dict("records")):
        kind = EVENTS.get(str(row.get("entry")))
        if kind is None:
            remedy = f"Write one of {', '.join(EVENTS)} in the column 'entry'"
            raise InputError(f"row {n} of the table is no entry of a ledger: {row.get('entry')!r}", remedy)
        events.append(_of_row(kind, row, n))
    return Ledger.of(events)


def _of_members(track: Posterior, now_utc: datetime, longest: int) -> dict[str, Floats]:
    """The columns of one track; of ``longest`` stages, those that it does not have are never over."""
    run, trace = ItemRun.of((track,)), track.trace
    ends = run.ends_s
    ready = run.ready_s
    columns: dict[str, Floats] = {"weight": track.weights}
    found = {
        "colour_set": trace.mark("colour_set"),
        "tender": run.done_s,
        "glaze_set": trace.mark("glaze_set"),
        "ready": ready,
        "past_best": past_best(run, ready),
    }
    if all(stage.ended_utc is not None for stage in run.stages):  # what is served gets no further
        over_s = np.max(ends[: len(run.stages)], axis=0)
        found |= {k: np.where(found[k] <= over_s, found[k], np.nan) for k in ("colour_set", "tender", "glaze_set")}
    columns |= {f"{name}_s": found[name] for name in MARK_NAMES}
    there, never = len(run.stages), np.full(ready.size, np.nan)
    columns |= {f"stage_{n + 1}_end_s": ends[n] if n < there else never for n in range(longest)}
    now_s = max((now_utc - run.put_on_utc).total_seconds(), 0.0)
    columns["core_c"] = held_at(trace, "core_c", now_s)
    columns["lost"] = held_at(trace, "evaporated", now_s) + held_at(trace, "dripped", now_s)
    columns["colour"] = level_of_colour(held_at(trace, "colour", now_s), run.draw.members["dark_at"])
    columns["gelatin"] = held_at(trace, "gelatin_core", now_s)
    columns["failed_s"] = trace.failed_s
    return columns


def _span(spread: Quantiles, item: ItemOutlook, before: str = "") -> dict[str, Any]:
    """5, 50 and 95 % of a time in seconds and as instants; none where fewer members get there."""
    values = {level: getattr(spread, level) for level in LEVEL_NAMES}
    row: dict[str, Any] = {f"{before}{level}_s": at if np.isfinite(at) else np.nan for level, at in values.items()}
    row |= {
        f"{before}{level}_utc": item.put_on_utc + timedelta(seconds=at) if np.isfinite(at) else None
        for level, at in values.items()
    }
    row[f"{before}reached"] = spread.reached
    return row


def _span_columns(before: str) -> list[str]:
    """The columns of ``_span``."""
    return [f"{before}{level}_{unit}" for unit in ("s", "utc") for level in LEVEL_NAMES] + [f"{before}reached"]


def _times(table: DataFrame) -> DataFrame:
    for name in table.columns:
        if name.endswith("_utc"):
            table[name] = _instants(table[name])
    return table


def _instants(values: Any) -> Any:
    import pandas as pd  # noqa: PLC0415  it is there: the table is

    return pd.to_datetime(values, utc=True).astype("datetime64[us, UTC]")


def _frame(rows: Iterable[Mapping[str, Any]], columns: list[str] | None = None) -> DataFrame:
    with loading("pandas", "a table"):
        import pandas as pd  # noqa: PLC0415  it is an extra
    return pd.DataFrame(list(rows), columns=columns)


def _as_row(event: Reading | Look | Act) -> dict[str, Any]:
    return {each.name: getattr(event, each.name) for each in fields(event)}


def _of_row(kind: type[Reading | Look | Act], row: Mapping[Any, Any], n: int) -> Reading | Look | Act:
    import pandas as pd  # noqa: PLC0415  the table is pandas'

    said: dict[str, Any] = {}
    for each in fields(kind):
        value: Any = row.get(each.name)
        missing = value is None or value is pd.NA or value is pd.NaT or value != value  # noqa: PLR0124  nan
        if each.name == "at_utc":
            if missing or not isinstance(value, datetime) or value.tzinfo is None:
                raise InputError(f"row {n} of the table has no time with a zone", "Write one in the column 'at_utc'")
            said["at_utc"] = pd.Timestamp(value).to_pydatetime().astimezone(UTC)
        elif missing:
            if each.name in {"value", "value_c"}:
                said[each.name] = float("nan")
            elif each.default is MISSING and each.name not in {"piece"}:
                raise InputError(f"row {n} of the table lacks '{each.name}'", f"Write it in the column '{each.name}'")
            elif each.name == "piece":
                said["piece"] = None
        elif each.name in WHOLES:
            said[each.name] = int(value)
        else:
            said[each.name] = float(value) if each.name in NUMBERS else str(value)
    return kind(**said)


def _reckoned(given: Any) -> Reckoned:
    if not isinstance(given, Reckoned):
        raise InputError(f"a {type(given).__name__} is no outlook", "Give what pitreckon.reckon returned")
    return given
