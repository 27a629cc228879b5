"""What the commands ask, asked without a kernel and without a process: each ends where what was given has been read."""

from __future__ import annotations

import contextlib
import io
import sqlite3
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

from tests.docs.remedies.cooks import COOK, whole
from tests.docs.remedies.days import DAY
from tests.docs.remedies.logs import LOG, SHEET, SUPPER
from tests.docs.remedies.reports import REPORT

from pitreckon.cli import demo, demopage, earlier, firstcook, lasttime, looked, new, record, takein
from pitreckon.cli import studied as cli_studied
from pitreckon.cli.answers import ending_of
from pitreckon.cli.commands import alerts, reckon, schema, serve, sheet, why
from pitreckon.cli.commands import ledger as ledger_command
from pitreckon.cli.commands import lessons as lessons_command
from pitreckon.cli.commands import new as new_command
from pitreckon.cli.commands import plan as plan_command
from pitreckon.cli.learned import change
from pitreckon.cli.plan import taken
from pitreckon.cli.run import log_of, read_plan
from pitreckon.errors import InputError
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import log_from_text
from pitreckon.ledger.store import Store
from pitreckon.plan.read import wishes_from_text
from pitreckon.reckon.learned import Lessons
from pitreckon.sheets.writers.write import ENDINGS, write_whole

CHICAGO = ZoneInfo("America/Chicago")
OFF = "2026-10-10 17:30,act,racks,,took off,,\n2026-10-10 17:50,act,racks,,served,,\n"
PAIR = "supper.toml=supper.csv"


class _Read(Exception):  # noqa: N818  no fault: the work has come as far as it is asked to
    pass


@contextlib.contextmanager
def _until(*ends: tuple[Any, str]) -> Iterator[None]:
    """Work that goes on to the kernel, a network or the like ends there: what was given has been read."""

    def end(*_: Any, **__: Any) -> None:
        raise _Read

    with contextlib.ExitStack() as stack, contextlib.suppress(_Read):
        for module, name in ends:
            stack.enter_context(_put(module, name, end))
        stack.enter_context(contextlib.redirect_stdout(io.TextIOWrapper(io.BytesIO(), "utf-8")))
        stack.enter_context(contextlib.redirect_stderr(io.StringIO()))
        yield


@contextlib.contextmanager
def _put(module: Any, name: str, value: Any) -> Iterator[None]:
    kept = getattr(module, name)
    setattr(module, name, value)
    try:
        yield
    finally:
        setattr(module, name, kept)


def files() -> None:
    """A cook and its log, a day and a ledger, in the folder that one is in."""
    for name, text in (("supper.toml", COOK), ("supper.csv", LOG + OFF), ("day.toml", DAY), ("export.jsonl", "{}\n")):
        Path(name).write_text(text, "utf-8")


def ledger(*cooks: str) -> str:
    """A ledger with these cooks in it."""
    file = Path(f"ledger-{'-'.join(cooks)}.sqlite")
    if not file.exists():
        with Store.open(file) as store:
            for each in cooks:
                store.add_cook(COOK, each, cook_id=each)
    return str(file)


def ending(said: tuple[str | None, str | None, bool]) -> object:
    output, form, as_json = said
    return ending_of(None if output is None else Path(output), tuple(ENDINGS), "sheet", form, as_json=as_json)


def written(name: str) -> None:
    write_whole(b"x", Path(name))


def learned_from(said: tuple[str, ...]) -> object:
    files()
    ledger("harvest")
    return earlier.earlier_cooks(said, wishes_from_text(DAY, "day.toml"))


def before(said: str) -> object:
    files()
    Path("butt.toml").write_text(COOK.replace("st-louis-ribs", "boston-butt"), "utf-8")
    done = SimpleNamespace(item=SimpleNamespace(cut="st-louis-ribs"), cut=SimpleNamespace(name="St. Louis ribs"))
    return lasttime.finished_before(done, [said])  # type: ignore[arg-type]


def lessons(learn: str = "", out: str = "", anew: str = "", known: tuple[str, ...] = ("harvest",)) -> Lessons:
    from pitreckon.reckon import learning

    files()
    old = Lessons(tuple(SimpleNamespace(cook=each, item="", piece=0, at_utc=datetime.now(UTC)) for each in known))  # type: ignore[misc]
    with _put(learning, "learn", lambda *_: []), contextlib.redirect_stderr(io.StringIO()):
        return change(old, [learn] * bool(learn), [out] * bool(out), [anew] * bool(anew))


def photographed(said: tuple[int | None, str | None]) -> None:
    piece, at = said
    wanted = looked.Wanted("harvest", "racks", piece, at, "", False, 8, 1)
    with _until((looked, "value_of")):
        looked.looked_at(ledger("harvest"), wanted, None, SimpleNamespace(step=SimpleNamespace(level=1.0)), "")  # type: ignore[arg-type]


def item_of(label: str | None) -> str:
    second = whole(
        COOK.replace(
            "[trips]",
            '[[item]]\nname = "butt"\ncut = "boston-butt"\nweight = "8 lb"\nput_on = "2026-10-10 04:00"\n[trips]',
        )
    )
    return looked._item(SimpleNamespace(cook=second), Ledger(), label)  # type: ignore[arg-type]


def answers() -> new.Answers:
    found = new.started("F", CHICAGO)
    found.said["cut"] = "st-louis-ribs"
    return found


def amount(said: str) -> object:
    return new._read_amount(said, answers())


def option(key: str) -> Callable[[str], object]:
    """Reads an option of ``new``."""
    said = dict.fromkeys((each.key for each in new.QUESTIONS), None) | SAID
    return lambda text: new.ask(answers(), {**said, key: text})


def studied(given: tuple[str | None, int | None]) -> None:
    """A study with what was said of its workers."""
    on, workers = given
    example = Path(__file__).parents[3] / "examples" / "how-hot" / "how-hot.toml"
    with _until((cli_studied, "study")):
        cli_studied.studied(example, Path("out"), on, workers)


SAID = {"cut": "st-louis-ribs", "amount": "3", "pit": "kettle", "set": "275 F", "wrap": "foil", "serve": "18:00"}


def asked(without: str | None) -> None:
    """All options but one are said, and nobody answers."""
    with _put(sys, "stdin", io.StringIO("")), contextlib.redirect_stderr(io.StringIO()):
        new.ask(answers(), {key: None if key == without else said for key, said in SAID.items()})


def give_way(name: str) -> None:
    Path(name).write_text(COOK, "utf-8")
    firstcook.give_way(Path(name))


def writable(name: str) -> None:
    files()
    Path("kept").mkdir(exist_ok=True)
    firstcook.is_writable(Path(name))


def by_hand(command: str) -> object:
    """A log by hand, given to ``take-in`` and to ``reckon``."""
    files()
    if command == "take-in":
        return takein._no_log_by_hand(Path("supper.csv").read_text("utf-8"), Path("supper.csv"))
    return log_of(Path("supper.csv"), read_plan(Path("supper.toml"), "F"), set_aside=False)


def put_on(said: str) -> object:
    """When it goes on, of a supper that is served at six in the evening."""
    answers = new.started("F", CHICAGO)
    new.ask(answers, {**SAID, "serve": "2040-10-17 18:00"})
    return firstcook.timed(firstcook.begun(answers), said)


def made(said: dict[str, Any]) -> None:
    """``pitreckon new`` with all of its options."""
    files()
    Path("fresh.toml").unlink(missing_ok=True)
    with _until():
        told = {**SAID, "zone": "America/Chicago", "set_to": SAID["set"], "put_on": "2026-10-10 12:00", **said}
        del told["set"]
        new_command.new(**told)


def planned(said: tuple[str, bool]) -> None:
    from pitreckon.cli import plan

    Path("day.toml").write_text(DAY, "utf-8")
    with _until((plan, "planned")):
        plan_command.plan(Path("day.toml"), output=Path(said[0]), as_json=said[1])


def take(number: int, changes: int = 2) -> object:
    helps = tuple(SimpleNamespace(wishes=object()) for _ in range(changes))
    return taken(SimpleNamespace(changes=helps), number)  # type: ignore[arg-type]


def sheet_of(possible: bool) -> None:
    from pitreckon.cli import plan

    answer = SimpleNamespace(best=object() if possible else None, why=("the pit is too small",))
    found = SimpleNamespace(answer=answer, wishes=wishes_from_text(DAY, "day.toml"))
    with _until((plan, "to_cook")), _put(plan, "planned", lambda *_, **__: found):
        plan.planned_sheet(Path("day.toml"), 8, 1, "F", (), twelve_hour=False, buying=False)


def rests_on(log: str | None) -> None:
    files()
    with _until((record, "TemporaryDirectory")):
        record.rests_on(Path("export.jsonl"), None if log is None else Path(log), set_aside=False)


def dated(day: str, dates: str | None = None) -> object:
    text = f"time;kind;on;what;value\n{day} 13:05;reading;big box;pit air;275 F\n"
    Path("dated.csv").write_text(text, "utf-8")
    return log_of(Path("dated.csv"), whole(COOK), set_aside=False, dates=dates)


def cook_file(text: str) -> object:
    Path("supper.toml").write_text(text, "utf-8")
    return read_plan(Path("supper.toml"), "F")


def goal(said: tuple[tuple[str, ...], str | None, str | None]) -> None:
    cooks, cook_id, plan = said
    files()
    with takein.open_goal(ledger(*cooks), cook_id, None if plan is None else Path(plan)):
        pass


def answered(
    unit: str | None = None, dates: str | None = None, start: str | None = None, column: str = ""
) -> takein.Answers:
    return takein.answers_of(whole(COOK), unit, dates, start, (column,) if column else ())


def unsure(dates: str | None) -> object:
    def work(found: takein.Answers) -> object:
        text = SHEET.replace("10.10.2026", "05/10/2026")
        return log_from_text(text, "a.csv", SUPPER, dates=found.dates)

    with _put(sys, "stdin", io.StringIO("")):
        return takein.asked(work, answered(dates=dates), whole(COOK))


def alerted(dry_run: bool) -> None:
    from pitreckon.cli import run

    files()
    with _until((run, "reckon_with_progress")):
        alerts.alerts(Path("supper.toml"), dry_run=dry_run)


def backed_up(name: str) -> None:
    with _until():
        ledger_command.backup(Path(name), ledger("harvest"))


def since(text: str) -> None:
    from pitreckon.cli import run, show

    files()
    outlook = SimpleNamespace(now_utc=datetime(2026, 10, 10, 20, tzinfo=UTC))
    with (
        _until((run, "say_changes")),
        _put(run, "reckon_with_progress", lambda *_: outlook),
        _put(show, "print_outlook", lambda *_: None),
    ):
        reckon.reckon(Path("supper.toml"), log=Path("supper.csv"), since=text)


def lessons_told(calls: tuple[dict[str, Any], ...]) -> None:
    """``pitreckon lessons``, one call after the other."""
    ledger("harvest")
    with _until():
        for each in calls:
            lessons_command.lessons(**each)


def form_of(command: str) -> None:
    with _until():
        schema.schema([command])


def served(**said: Any) -> None:
    from pitreckon.web import serve as web

    with _until((web, "bound")):
        serve.serve(**said)


def hung(said: dict[str, Any]) -> None:
    """``pitreckon sheet``."""
    from pitreckon.cli import plan, run

    files()
    with _until((plan, "planned_sheet"), (run, "reckon_with_progress")):
        sheet.sheet(**{key: Path(each) if isinstance(each, str) else each for key, each in said.items()})


def asked_why(said: dict[str, Any]) -> None:
    from pitreckon.cli import photographed as photo
    from pitreckon.lessons.diagnosis import diagnose

    Path("plate.toml").write_text(REPORT, "utf-8")
    with _until((diagnose, "why"), (photo, "taken")):
        why.why(**said)


def shown_day(folder: str) -> None:
    """The demo, without its kernel: until the day is shown."""
    Path("file").write_text("", "utf-8")
    with _put(demo, "recorded_day", lambda *_: Ledger()), _until((demo, "log_text")):
        demo.walk_through(Path(folder), 8, 1, "F", page=False)


def free_port(taken: bool) -> int:
    def bound(_: Any) -> Any:
        if taken:
            raise InputError("the port is taken", "Name another")
        return io.BytesIO()

    with _put(demopage, "bound", bound):
        return demopage._free_port()


def opened(name: str) -> None:
    """A ledger in a place."""
    Path("file").write_text("", "utf-8")
    with contextlib.closing(sqlite3.connect("songs.sqlite")) as other:
        other.execute("CREATE TABLE IF NOT EXISTS songs (name TEXT)")
    with Store.open(name):
        pass


TOMORROW = datetime.now(CHICAGO) + timedelta(days=1)
