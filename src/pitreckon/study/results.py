"""The results of a study, put together of its chunks: a Parquet file of all pieces, and one of all settings."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from pitreckon.extras import loading
from pitreckon.reckon.quantiles import LEVEL_NAMES, quantiles_of
from pitreckon.study.asked import FORM
from pitreckon.study.chunk import WRITER
from pitreckon.study.keep import Folder
from pitreckon.study.outcomes import OUTCOMES
from pitreckon.study.plan import Study
from pitreckon.study.settings import SETTINGS

if TYPE_CHECKING:
    import pyarrow as pa

RESULTS: Final = "results.parquet"
CASES: Final = "settings.parquet"
GROUP_ROWS: Final = 1 << 16
"""Rows of a group of the file, filled up to whole settings; its last one apart."""
UNITS: Final = {"_s": "s since it was put on", "_c": "degC", "_kg": "kg", "_m": "m", "_rh": "1", "_factor": "1"}
REACHED: Final = "reached"


def columns_of(study: Study) -> dict[str, str]:
    """What each column of the results means, in their order."""
    found = {"case": "number of the setting, from 0", "member": "number of the simulated piece in it, from 0"}
    found |= {SETTINGS[name].column: SETTINGS[name].means for name in study.varied}
    return found | {OUTCOMES[name].column: OUTCOMES[name].means for name in study.keep}


def unit_of(column: str) -> str:
    """A column's unit, by the end of its name; "1" for a share or a level, "" for a word or a number of something."""
    if column in {"case", "member"} or any(not s.number and s.column == column for s in SETTINGS.values()):
        return ""
    return next((unit for end, unit in UNITS.items() if column.endswith(end)), "1")


def put_together(study: Study, asked: Mapping[str, Any], chunks: Sequence[Path], folder: Folder) -> None:
    """Write both files of the chunks, in their order, whole or not at all; the same chunks give the same bytes.

    Raises InputError: they cannot be written.
    """
    with loading("pyarrow", "a study"):
        import pyarrow as pa  # noqa: PLC0415  an extra
        import pyarrow.parquet as pq  # noqa: PLC0415

    told = {"pitreckon": asked["pitreckon"], "form": str(FORM), "study": json.dumps(dict(asked), ensure_ascii=False)}
    schema = _with_words(pq.read_schema(chunks[0]), columns_of(study), told)
    summed: list[pa.Table] = []
    with folder.written(RESULTS, "the results") as part, pq.ParquetWriter(part, schema, **WRITER) as out:
        for table in _groups(chunks, schema, -(-GROUP_ROWS // study.members) * study.members):
            out.write_table(table, row_group_size=table.num_rows)
            summed.append(of_cases(study, table))
    whole = pa.concat_tables(summed)
    whole = whole.cast(_with_words(whole.schema, columns_of(study), told))
    with folder.written(CASES, "the settings") as part:
        pq.write_table(whole, part, **WRITER)


def _groups(chunks: Sequence[Path], schema: pa.Schema, rows: int) -> Iterator[pa.Table]:
    """The rows of all chunks in groups of so many, the last one apart, whatever the chunks were."""
    import pyarrow as pa  # noqa: PLC0415
    import pyarrow.parquet as pq  # noqa: PLC0415

    held = schema.empty_table()
    for path in chunks:
        held = pa.concat_tables([held, pq.read_table(path).cast(schema)])
        while held.num_rows >= rows:
            yield held.slice(0, rows).combine_chunks()
            held = held.slice(rows)
    if held.num_rows:
        yield held.combine_chunks()


def of_cases(study: Study, table: pa.Table) -> pa.Table:
    """A row for each setting: what was varied, and of what is kept 5, 50 and 95 % and the share that got there.

    Of what is a yes or a no the share alone.
    """
    import pyarrow as pa  # noqa: PLC0415

    many = table.num_rows // study.members
    alike = np.full(study.members, 1.0 / study.members)
    first = pa.array(np.arange(many) * study.members)
    columns = {name: table[name].take(first) for name in ("case", *(SETTINGS[n].column for n in study.varied))}
    for name in study.keep:
        outcome = OUTCOMES[name]
        values = table[outcome.column].to_numpy().astype(np.float64).reshape(many, study.members)
        if outcome.kind == "yes":
            columns[outcome.column] = pa.array(values.mean(axis=1))
            continue
        spreads = [quantiles_of(each, alike) for each in values]
        for level in LEVEL_NAMES:
            columns[f"{outcome.column}_{level}"] = pa.array([_finite(getattr(each, level)) for each in spreads])
        columns[f"{outcome.column}_{REACHED}"] = pa.array([min(each.reached, 1.0) for each in spreads])
    return pa.table(columns)


def _finite(value: float) -> float:
    return value if np.isfinite(value) else float("nan")


def _with_words(schema: pa.Schema, words: Mapping[str, str], told: Mapping[str, str]) -> pa.Schema:
    """A schema whose fields say their unit and what they mean."""
    import pyarrow as pa  # noqa: PLC0415

    fields = []
    for field in schema:
        column = next((name for name in (field.name, *_stems(field.name)) if name in words), field.name)
        unit = "1" if field.name.endswith(REACHED) else unit_of(column)
        fields.append(field.with_metadata({"unit": unit, "means": words.get(column, "")}))
    return pa.schema(fields, metadata=dict(told))


def _stems(name: str) -> list[str]:
    """Of ``ready_s_p50``: ``ready_s``."""
    return [name.removesuffix(f"_{end}") for end in (*LEVEL_NAMES, REACHED) if name.endswith(f"_{end}")]


def is_whole(path: Path, asked: Mapping[str, Any], rows: int) -> bool:
    """Whether a file of results is there, of this study and with all its rows."""
    import pyarrow as pa  # noqa: PLC0415
    import pyarrow.parquet as pq  # noqa: PLC0415

    try:
        head = pq.read_metadata(path)
    except (OSError, pa.ArrowException):
        return False
    told = (head.metadata or {}).get(b"study", b"null")
    return bool(head.num_rows == rows and json.loads(told) == json.loads(json.dumps(dict(asked))))
