"""The work behind ``pitreckon take-in`` and ``pitreckon watch``: a logger's file into the ledger of a cook."""

import re
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any, Final, TypeVar

import typer

from pitreckon.cli.envelope import print_json
from pitreckon.cli.kept import keep
from pitreckon.cli.notices import warn
from pitreckon.cli.run import moment_of
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError, Place
from pitreckon.intake.plausible import Judge
from pitreckon.intake.table.columns import Answers
from pitreckon.intake.table.read import ColumnMap, TableFollower, guess_map, table_entries
from pitreckon.ledger import Reading
from pitreckon.ledger.store import CookRow, Entry, Store
from pitreckon.text.file import read_bytes, read_text
from pitreckon.text.table import UnsureError, decode_table
from pitreckon.units import format_local

BY_HAND: Final = {"time", "kind", "on", "what", "value"}
"""Columns of a log that is written by hand, and of no logger's."""
T = TypeVar("T")
PAUSE_S = 1.0
AT_ONCE = 2000


@dataclass(frozen=True)
class Goal:
    """The cook in a store that readings go to."""

    store: Store
    cook_id: str
    cook: Cook

    def judge(self) -> Judge:
        """Knows what of this cook is there already."""
        found = []
        after = 0
        while batch := self.store.entries(self.cook_id, after_seq=after, kinds=("reading",), limit=AT_ONCE):
            found += [Entry(each.id, each.event, each.by) for each in batch]
            after = batch[-1].seq
        return Judge(sorted(found, key=_at))

    def keep(self, entries: Sequence[Entry]) -> int:
        """Record them; how many were new."""
        new = 0
        for first in range(0, len(entries), AT_ONCE):
            receipts = self.store.append(self.cook_id, entries[first : first + AT_ONCE])
            new += sum(receipt.new for receipt in receipts)
            keep(f"{first + len(receipts)} readings in cook '{self.cook_id}'")
        return new


def _at(entry: Entry) -> datetime:
    assert isinstance(entry.event, Reading)  # nothing else comes from a logger
    return entry.event.at_utc


@contextmanager
def open_goal(where: str | None, cook_id: str | None, plan: Path | None) -> Iterator[Goal]:
    """The store and the cook in it; with a plan it is added where it is not there yet.

    Raises InputError: there is no such cook, or it is not said which.
    """
    with Store.open(where) as store:
        row = _row(store, cook_id, plan)
        yield Goal(store, row.id, cook_from_text(row.plan_toml, f"the plan of {row.id}"))


def _row(store: Store, cook_id: str | None, plan: Path | None) -> CookRow:
    rows = {row.id: row for row in store.cooks()}
    if plan is not None:
        text = read_text(plan)
        name = cook_from_text(text, str(plan)).name
        key = cook_id or _key(plan.stem)
        return rows.get(key) or store.add_cook(text, name, cook_id=key)
    if cook_id is not None:
        return store.cook(cook_id)
    if len(rows) == 1:
        return next(iter(rows.values()))
    if not rows:
        raise InputError("the ledger has no cook yet", "Give its plan with --plan COOK.toml", Place(field="--cook"))
    raise InputError(
        f"the ledger has {len(rows)} cooks", f"Say which: {', '.join(list(rows)[:8])}", Place(field="--cook")
    )


def _key(stem: str) -> str:
    kept = "".join(c if c.isascii() and (c.isalnum() or c in "._-") else "-" for c in stem.casefold())
    return kept.strip("-._")[:64] or "cook"


def answers_of(cook: Cook, unit: str | None, dates: str | None, start: str | None, columns: Sequence[str]) -> Answers:
    """What the options say about a file. Raises InputError: one of them cannot be read."""
    named = {}
    for each in columns:
        header, sign, said = each.rpartition("=")
        if not sign or not header or not said:
            raise InputError(f"'{each[:60]}' is no column", "Write it as in 'Probe 1=racks 2'", Place(field="--column"))
        named[header] = said
    at = None
    if start is not None:
        try:
            at = moment_of(start, cook, None)
        except InputError as fault:
            raise InputError(fault.trouble, fault.remedy, Place(field="--start")) from None
    return with_answer(with_answer(Answers(start_utc=at, columns=named), "unit", unit), "dates", dates)


def with_answer(answers: Answers, option: str, said: str | None, cook: Cook | None = None) -> Answers:
    """The answers with one more."""
    if said is None:
        return answers
    if option == "unit":
        return replace(answers, unit="F" if said == "F" else "C")
    if option == "dates":
        return replace(answers, dates="day first" if said.startswith("day") else "month first")
    if option == "start" and cook is not None:
        return replace(answers, start_utc=moment_of(said, cook, None))
    return replace(answers, columns={**answers.columns, option: said})


def asked(work: Callable[[Answers], T], answers: Answers, cook: Cook) -> T:
    """Do the work; what it is unsure of is asked on a terminal, and elsewhere refused with the option to use."""
    while True:
        try:
            return work(answers)
        except UnsureError as unsure:
            if not sys.stdin.isatty():
                option = {"unit": "--unit", "dates": "--dates", "start": "--start"}.get(
                    unsure.option, f"--column '{unsure.option}=...'"
                )
                raise InputError(unsure.trouble, f"{unsure.remedy}, with {option}", unsure.place) from None
            typer.echo(f"{unsure.place}: {unsure.trouble}.", err=True)
            choices = f" ({', '.join(unsure.choices)})" if unsure.choices else ""
            said = typer.prompt(f"{unsure.remedy}{choices}", err=True).strip()
            if unsure.option in {"unit", "dates"}:
                said = next((each for each in unsure.choices if each.casefold() == said.casefold()), "")
            if said:
                answers = with_answer(answers, unsure.option, said, cook)


def show_map(columns: ColumnMap) -> None:
    """Print what each column is taken for."""
    width = max(len(header) for header, _ in columns.words)
    for header, words in columns.words:
        typer.echo(f"  {header:<{width}}  {words}")


@dataclass(frozen=True)
class Taken:
    """What came of a file. judged: its readings in order of time; recorded: how many were new, 0 for a dry run"""

    columns: ColumnMap
    judged: tuple[Entry, ...]
    recorded: int

    @property
    def unused(self) -> list[Reading]:
        """Readings that are kept and not used."""
        return [entry.event for entry in self.judged if isinstance(entry.event, Reading) and entry.event.rejected]


def take_in(file: Path, goal: Goal, answers: Answers, by: str, *, dry_run: bool, as_json: bool = False) -> None:
    """Read a whole file and record what is new."""
    text = decode_table(read_bytes(file), str(file))
    _no_log_by_hand(text, file)
    columns = asked(lambda said: guess_map(text, str(file), goal.cook, said), answers, goal.cook)
    if not as_json:
        show_map(columns)
    entries = list(table_entries(text, str(file), columns, goal.cook, by))
    judged = tuple(goal.judge().judged(sorted(entries, key=_at)))
    taken = Taken(columns, judged, 0 if dry_run or not judged else goal.keep(judged))
    if as_json:
        print_json("take-in", _document(taken, goal))
    else:
        _show(taken, goal, dry_run=dry_run)


def _no_log_by_hand(text: str, file: Path) -> None:
    """Its looks and acts are no columns of readings, and every pit's air would be asked for as one."""
    head = {
        word.strip(' "').casefold() for word in re.split("[,;\t]", text.lstrip("\ufeff").partition("\n")[0].strip())
    }
    if head >= BY_HAND:
        raise InputError(
            "it is a log written by hand, and a logger's table is taken in",
            f"Give it to the commands that reckon: pitreckon reckon COOK.toml --log {file}",
            Place(str(file), 1),
        )


def _show(taken: Taken, goal: Goal, *, dry_run: bool) -> None:
    judged, unused, zone = taken.judged, taken.unused, goal.cook.zone_info
    if not judged:
        typer.echo("No readings in it.")
        return
    first, last = (format_local(_at(judged[n]), zone) for n in (0, -1))
    typer.echo(f"{len(judged)} readings, {first} to {last}; {len(unused)} of them are kept and not used.")
    for reading in unused[:5]:
        typer.echo(f"  line {reading.source_line}, {reading.channel} of {reading.on}: {reading.rejected}")
    typer.echo("Nothing was recorded." if dry_run else f"{taken.recorded} new ones recorded in cook '{goal.cook_id}'.")


def _document(taken: Taken, goal: Goal) -> dict[str, Any]:
    judged = taken.judged
    return {
        "cook": goal.cook_id,
        "columns": [{"header": header, "means": words} for header, words in taken.columns.words],
        "readings": len(judged),
        "first": _at(judged[0]) if judged else None,
        "last": _at(judged[-1]) if judged else None,
        "unused": [{"line": r.source_line, "channel": r.channel, "on": r.on, "why": r.rejected} for r in taken.unused],
        "recorded": taken.recorded,
    }


def watch(file: Path, goal: Goal, answers: Answers, by: str, *, once: bool) -> None:
    """Follow a growing file until it is interrupted, or with ``once`` to its present end."""
    follower = TableFollower(file, goal.cook, by, answers)
    judge = goal.judge()
    shown: ColumnMap | None = None

    def poll(said: Answers) -> tuple[list[Entry], list[InputError]]:
        follower.answers = said
        return follower.poll()

    try:
        while True:
            entries, faults = asked(poll, follower.answers, goal.cook)
            if follower.columns is not None and follower.columns is not shown:
                shown = follower.columns
                show_map(shown)
            for fault in faults:
                typer.echo(f"left out: {fault}", err=True)
            if entries:
                new = goal.keep(judge.judged(entries))
                zone = goal.cook.zone_info
                typer.echo(f"{new} new, up to {format_local(max(_at(entry) for entry in entries), zone)}")
            if once:
                if follower.columns is None:
                    warn(f"{file}: no row with a time and a reading is in it yet.")
                return
            time.sleep(PAUSE_S)
    except KeyboardInterrupt:
        typer.echo("No longer watching.", err=True)
    finally:
        follower.close()
