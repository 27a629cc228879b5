"""A chunk of a study: from its label alone to bytes, the same wherever and however often it is made."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

import pitreckon
from pitreckon.arrays import Floats
from pitreckon.errors import InputError
from pitreckon.extras import loading
from pitreckon.section.cache import mark
from pitreckon.study.cooking import cooked
from pitreckon.study.outcomes import OUTCOMES
from pitreckon.study.plan import Case, Study
from pitreckon.study.settings import HABITS, SETTINGS

if TYPE_CHECKING:
    import pyarrow as pa

ROOMS: Final = ("arrays.py", "catalog", "cook", "ledger", "lessons", "physics", "reckon", "section", "study", "units")
"""What a study's numbers are made by."""


def label_of(study: Study, chunk: int) -> str:
    """What a chunk is called, in the folder of a study and in what is told of it.

    A run that begins again finds it by this; its draws are named by the labels of its settings.
    """
    cases = study.of_chunk(chunk)
    return f"settings-{cases.start + 1:06d}-{cases.stop:06d}"


@cache
def program() -> str:
    """Fingerprint of what a study's numbers are made by: the model's sources and data, numba, Python."""
    here = Path(pitreckon.__file__).parent
    data = [path for room in ROOMS for path in sorted((here / room).rglob("*.toml"))]
    data += [path for room in ROOMS for path in sorted((here / room).rglob("*.csv"))]
    return mark(*(str(here / room) for room in ROOMS)) + _digest(data)


def _digest(files: Sequence[Path]) -> str:
    import hashlib  # noqa: PLC0415

    found = hashlib.sha256()
    for path in files:
        found.update(path.read_bytes())
    return found.hexdigest()[:16]


def chunk_bytes(study: Study, made_by: str, chunk: int) -> bytes:
    """The rows of a chunk's settings as a Parquet file: one row a member, in the order of settings and members.

    made_by: ``program`` of whoever puts the chunks together

    Raises InputError: another program is here; settings that do not go together. MissingExtraError: no PyArrow
    """
    if program() != made_by:
        raise InputError(
            f"a worker runs another Pitreckon ({pitreckon.__version__}) than the one that asks",
            "Install the same version on every machine of the cluster",
        )
    return as_parquet(table_of(study, [study.case(n) for n in study.of_chunk(chunk)]))


def table_of(study: Study, cases: Sequence[Case]) -> pa.Table:
    """The rows of settings: case, member, what was varied, what is kept."""
    with loading("pyarrow", "a study"):
        import pyarrow as pa  # noqa: PLC0415  an extra

    columns: dict[str, list[Any]] = {field: [] for field in ("case", "member")}
    for case in cases:
        for name, values in of_case(study, case).items():
            columns.setdefault(name, []).append(values)
    members = np.arange(study.members, dtype=np.int32)
    columns["case"] = [np.full(study.members, case.number, dtype=np.int32) for case in cases]
    columns["member"] = [members for _ in cases]
    return pa.table({name: pa.array(np.concatenate(parts)) for name, parts in columns.items()})


def of_case(study: Study, case: Case) -> Mapping[str, Any]:
    """The columns of one setting, each of as many values as there are members."""
    try:
        cook = study.cook_of(case)
        given = dict(case.values)
        habit = study.habit(given[HABITS].text) if HABITS in given else None
        run = cooked(cook, study.item, study.members, study.seed_of(case), habit)
    except InputError as error:
        raise InputError(f"{case.label}: {error.trouble}", error.remedy, error.place) from None
    found: dict[str, Any] = {}
    for name, value in case.values:
        setting = SETTINGS[name]
        kind = np.float64 if setting.number else object
        found[setting.column] = np.full(study.members, setting.cell(value), dtype=kind)
    for name in study.keep:
        values: Floats = OUTCOMES[name].of(run)
        found[OUTCOMES[name].column] = values.astype(np.float32)
    return found


def as_parquet(table: pa.Table) -> bytes:
    """A table as the bytes of a file; nothing in it depends on when or where it is written."""
    import pyarrow.parquet as pq  # noqa: PLC0415  an extra

    out = io.BytesIO()
    pq.write_table(table, out, **WRITER)
    return out.getvalue()


WRITER: Final[dict[str, Any]] = {"compression": "zstd", "compression_level": 3, "version": "2.6"}
"""How every file of a study is written."""
