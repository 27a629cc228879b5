"""``study``: from a study to its results, chunk by chunk over an executor; what is finished is never done again."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import dataclass
from functools import cached_property, partial
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pitreckon.errors import InputError
from pitreckon.extras import loading, require
from pitreckon.study.asked import asked_of
from pitreckon.study.chunk import chunk_bytes, label_of, program
from pitreckon.study.file import read_study, study_from_tables
from pitreckon.study.keep import Folder
from pitreckon.study.pictures import picture_of
from pitreckon.study.plan import Study
from pitreckon.study.results import CASES, RESULTS, is_whole, put_together
from pitreckon.study.summary import FILE, Group, as_csv, groups_of
from pitreckon.units import Scale
from pitreckon.work.pools import not_read_by_a_worker
from pitreckon.work.spread import spread

if TYPE_CHECKING:
    import pandas as pd

PICTURES: Final = "pictures"
Tell = Callable[[int, int], None]
"""Told how many chunks are finished, and of how many."""


@dataclass(frozen=True)
class Done:
    """A finished study.

    folder: where it is kept; results, settings: its Parquet files, a row for each simulated piece and for each setting
    went_on: chunks that were there from an earlier run; made: those that this one made
    """

    study: Study
    folder: Path
    results: Path
    settings: Path
    went_on: int
    made: int

    def groups(self) -> list[Group]:
        """All pieces, then those of each value of each setting, with the spread of what was kept."""
        return self._groups

    @cached_property
    def _groups(self) -> list[Group]:
        return groups_of(self.study, self.results)

    def draw(self, degrees: Scale = "F") -> tuple[Path, ...]:
        """A picture of each thing that was kept, into the folder. Raises MissingExtraError; InputError: not written."""
        folder, groups = Folder(self.folder), self.groups()
        folder.make(PICTURES)
        return tuple(
            folder.write(f"{PICTURES}/{name}.svg", picture_of(name, groups, degrees, self.study.name), "a picture")
            for name in self.study.keep
        )

    def pieces(self) -> pd.DataFrame:
        """A row for each simulated piece."""
        with loading("pandas", "a table of a study"):
            import pandas as pd  # noqa: PLC0415  an extra
        return pd.read_parquet(self.results)

    def table(self) -> pd.DataFrame:
        """A row for each setting: of what is kept 5, 50 and 95 % and the share that got there."""
        with loading("pandas", "a table of a study"):
            import pandas as pd  # noqa: PLC0415  an extra
        return pd.read_parquet(self.settings)


def study(
    asked: Path | str | Mapping[str, Any] | Study,
    *,
    out: Path | str,
    on: str | None = None,
    workers: int | None = None,
    tell: Tell | None = None,
) -> Done:
    """Simulate every setting of a study, and keep what comes of it in a folder.

    asked: a study file, or a mapping with its tables (whose cook may be a ``Cook``), or the record itself
    out: the folder; where a run of the same study was stopped there, this one goes on
    on: address of the scheduler of a Dask cluster; None: processes of this machine
    workers: how many processes; None: one for each core; 1: this process alone
    tell: told of progress after each chunk

    The files of the results are the same bytes however many workers there are, wherever they are, and whether it was
    stopped on the way; with the same versions of Pitreckon, PyArrow and NumPy, on processors of one kind.

    Raises InputError: something in the study is wrong; another study is kept in the folder; it cannot be written;
        workers die one after another. What is finished stays, and the same call goes on from there.
    Raises MissingExtraError: the extra ``study``, or ``cluster``, is not installed
    """
    not_read_by_a_worker()
    plan = _plan(asked)
    require("pyarrow", "a study")
    told = asked_of(plan)
    folder = Folder(Path(out))
    with folder.alone():
        folder.begin(told)
        results, settings = folder.path / RESULTS, folder.path / CASES
        if (
            (folder.path / FILE).is_file()
            and is_whole(results, told, plan.rows)
            and is_whole(settings, told, plan.cases)
        ):
            return Done(plan, folder.path, results, settings, plan.chunks, 0)
        labels = {label_of(plan, n): n for n in range(plan.chunks)}
        names = list(labels)
        done = folder.done(labels)
        before = len(done)
        left = [n for n in range(plan.chunks) if n not in done]
        if tell is not None:
            tell(before, plan.chunks)
        with closing(spread(partial(chunk_bytes, plan, program()), left, on=on, workers=workers)) as answers:
            for n, content in answers:
                done[n] = folder.keep(names[n], content)
                if tell is not None:
                    tell(len(done), plan.chunks)
        put_together(plan, told, [done[n] for n in range(plan.chunks)], folder)
        made = Done(plan, folder.path, results, settings, before, len(left))
        folder.write(FILE, as_csv(plan, made.groups()).encode(), "the summary")
        folder.drop(done.values())
        return made


def _plan(asked: Path | str | Mapping[str, Any] | Study) -> Study:
    if isinstance(asked, Study):
        return asked
    if isinstance(asked, Mapping):
        return study_from_tables(asked, Path())
    if not isinstance(asked, str | PathLike):
        raise InputError(f"a {type(asked).__name__} is no study", "Give a study file, or a mapping with its tables")
    return read_study(Path(asked))
