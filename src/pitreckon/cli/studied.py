"""A study from the command line: its progress, its tables on the screen and its JSON."""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from rich.table import Table

from pitreckon.cli.kept import keep
from pitreckon.cli.notices import warn
from pitreckon.cli.run import kernel_ahead, progress_line
from pitreckon.cli.screen import Screen, print_table
from pitreckon.errors import InputError, Place
from pitreckon.extras import require
from pitreckon.study.file import read_study
from pitreckon.study.outcomes import OUTCOMES
from pitreckon.study.plan import Study
from pitreckon.study.run import Done, study
from pitreckon.study.strange import path_of, strange
from pitreckon.study.summary import ALL, FILE, Group, column_of, group_told, outcome_told, part_of, spread_is_whole
from pitreckon.text.file import read_text
from pitreckon.text.toml import Lines
from pitreckon.units import Scale, format_percent

KEPT = "the finished chunks"


def folder_of(study_file: Path) -> Path:
    """Where a study is kept when nobody says: here, under its file's name without its end."""
    return Path(study_file.stem)


def studied(study_file: Path, folder: Path, on: str | None, workers: int | None, degrees: Scale = "F") -> Done:
    """Run a study with a line that says how far it is. Raises InputError, MissingExtraError: as ``study``."""
    plan = read_study(study_file)
    if on is not None and workers is not None:
        raise InputError("a cluster has its own workers", "Leave --on or --workers out", Place(field="--workers"))
    if workers is not None and workers < 1:
        raise InputError(f"--workers is {workers}", "Write 1 or more", Place(field="--workers"))
    require("pyarrow", "a study")
    require("matplotlib", "a study")
    if on is not None:
        require("distributed", "work on a cluster")
    lines = Lines(read_text(study_file))
    for name, words in strange(plan, degrees):
        path = path_of(plan, name)
        field = "study: cook" if name is None else f"{path[0]}: {name}"
        warn(f"{Place(str(study_file), lines.of(path), field)}: {words}.")
    with progress_line() as progress:
        task = progress.add_task("begins", total=None)
        kernel_ahead()

        def tell(done: int, of: int) -> None:
            progress.update(task, description=f"{_pieces(plan, done):,} of {plan.rows:,} pieces are simulated")
            if done:
                keep(f"{done} of {of} chunks in {folder}", KEPT)

        with _in_plain_words(on is not None):
            return study(plan, out=folder, on=on, workers=workers, tell=tell)


@contextmanager
def _in_plain_words(on_a_cluster: bool) -> Iterator[None]:
    """Warnings of the work are said as a command's are; what a client logs of its lost connection is not."""
    if on_a_cluster:
        import distributed  # noqa: F401, PLC0415  it sets the levels of its logs

        logging.getLogger("distributed.client").setLevel(logging.CRITICAL + 1)
    with warnings.catch_warnings():
        warnings.simplefilter("always", UserWarning)
        warnings.showwarning = lambda said, *_, **__: warn(f"{said}.")
        yield


def _pieces(plan: Study, chunks: int) -> int:
    return min(chunks * plan.cases_a_chunk, plan.cases) * plan.members


def print_study(done: Done, pictures: tuple[Path, ...], degrees: Scale) -> None:
    """What came of it: of each thing that was kept its spread, for each value of what was varied."""
    screen = Screen(degrees)
    plan, groups = done.study, done.groups()
    screen.print(f"{plan.name}: {plan.cases:,} settings of {plan.members:,} pieces each", style="bold")
    for name in plan.keep:
        outcome = OUTCOMES[name]
        yes = outcome.kind == "yes"
        screen.print(f"\n{name.replace('_', ' ')}: {outcome.means}", style="bold")
        table = Table(box=None, pad_edge=False, header_style="")
        some = not yes and not all(spread_is_whole(group.spreads[name]) for group in groups)
        heads = ("of the pieces",) if yes else ("half", "5 %", "95 %", *(("got there",) if some else ()))
        for head in ("", "", "settings", *heads):
            table.add_column(head, no_wrap=True)
        before = ""
        for group in groups:
            part = part_of(group)
            setting = "" if part == ALL else part.replace("_", " ")
            spread = group.spreads[name]
            told = [spread.reached] if yes else [spread.p50, spread.p05, spread.p95]
            cells = [outcome_told(outcome, value, degrees) for value in told]
            cells += [format_percent(min(spread.reached, 1.0))] if some else []
            table.add_row("" if setting == before else setting, group_told(group, degrees), f"{group.cases:,}", *cells)
            before = setting
        print_table(screen, table)
    screen.print("\nTimes are since it was put on. Simulated, and no promise.")
    files = [done.results, done.settings, done.folder / FILE, *pictures]
    screen.print(f"In {done.folder}: {', '.join(str(path.relative_to(done.folder)) for path in files)}", soft_wrap=True)


def document_of(done: Done, pictures: tuple[Path, ...]) -> dict[str, Any]:
    """The answer of ``--json``."""
    plan = done.study
    return {
        "name": plan.name,
        "item": plan.item,
        "settings": plan.cases,
        "members": plan.members,
        "folder": str(done.folder),
        "results": str(done.results),
        "of_settings": str(done.settings),
        "pictures": [str(path) for path in pictures],
        "went_on": done.went_on,
        "made": done.made,
        "groups": [_group(plan, group) for group in done.groups()],
    }


def _group(plan: Study, group: Group) -> dict[str, Any]:
    return {
        "setting": column_of(group),
        "low": group.low,
        "high": group.high,
        "settings": group.cases,
        "kept": [
            {
                "column": OUTCOMES[name].column,
                "yes": OUTCOMES[name].kind == "yes",
                **{level: getattr(group.spreads[name], level) for level in ("p05", "p50", "p95")},
                "reached": min(group.spreads[name].reached, 1.0),
            }
            for name in plan.keep
        ],
    }
