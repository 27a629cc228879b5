"""Ctrl-C: ends within a second, whatever the program is in, says what is kept, and leaves nothing torn."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import Call
from tests.cli.test_cli_schema import PLAN
from tests.patience import PATIENCE_S, until

from pitreckon.cli import main
from pitreckon.cli.interrupt import CODE

WITHIN_S = 3.0
"""Of a processor, from the signal on: each of these works would take minutes. How long the clock goes on meanwhile is a
matter of what else the machine does."""
BUTT = """\
[cook]
name = "a butt through the night"
zone = "America/Chicago"

[[pit]]
name = "pit"
kind = "pellet-cooker"
set = "225 F"

[[item]]
name = "butt"
cut = "boston-butt"
weight = "11 lb"
put_on = "2026-10-09 22:00"
"""
HEARS = "import signal\nsignal.signal(signal.SIGINT, signal.default_int_handler)\n"
"""A shell that runs the tests in the background has its children ignore interrupts."""
IN_THE_KERNEL = """
import sys, time
import pitreckon.section.simulate as simulate
from pitreckon.cli import main
run = simulate._Run.work
def work(*args):
    sys.stderr.write("begun\\n"); sys.stderr.flush()
    return run(*args)
simulate._Run.work = work
sys.argv = ["pitreckon", *sys.argv[1:]]
main.run()
"""
"""The program, which says when the kernel begins."""
IN_THE_SOLVER = """
import sys
from ortools.sat.python import cp_model
from pitreckon.cli import main
solve = cp_model.CpSolver.Solve
def told(self, *args):
    sys.stderr.write("begun\\n"); sys.stderr.flush()
    return solve(self, *args)
cp_model.CpSolver.Solve = told
sys.argv = ["pitreckon", *sys.argv[1:]]
main.run()
"""
IN_ONE_LONG_STEP = """
import sys, pitreckon.section.warm as warm
def long():
    sys.stderr.write("begun\\n"); sys.stderr.flush()
    import sqlite3
    sqlite3.connect(":memory:").execute(
        "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 4000000000) SELECT sum(i) FROM n"
    ).fetchone()
warm.warm = long
from pitreckon.cli import main
sys.argv = ["pitreckon", *sys.argv[1:]]
main.run()
"""
"""A step of the interpreter's that no handler of its own can break into for minutes, as a compiled kernel is."""


def spent_s(number: int) -> float:
    """What a process has had of processors so far [s]: fields 14 and 15 of proc(5)'s ``stat``."""
    fields = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def whole_s(running: subprocess.Popen[str]) -> float:
    """Wait for its end; what it has had of processors in all [s]."""
    told = [0, 0, None]

    def has_ended() -> bool:
        told[:] = os.wait4(running.pid, os.WNOHANG)
        return told[0] == running.pid

    until(has_ended, "its end")
    running.returncode = os.waitstatus_to_exitcode(told[1])
    return told[2].ru_utime + told[2].ru_stime


@pytest.mark.kernel
@pytest.mark.servers
@pytest.mark.parametrize(
    ("program", "arguments"),
    [
        (IN_THE_KERNEL, ("reckon", "butt.toml", "--members", "20000")),
        (IN_THE_KERNEL, ("plan", "day.toml", "-o", "planned.toml")),
        (IN_THE_SOLVER, ("plan", "day.toml", "-o", "planned.toml", "--limit", "600")),
        (IN_ONE_LONG_STEP, ("warm",)),
    ],
    ids=["reckon", "plan, reckoning", "plan, choosing", "one long step"],
)
def test_an_interrupt_ends_it_within_a_second(tmp_path: Path, program: str, arguments: tuple[str, ...]) -> None:
    (tmp_path / "butt.toml").write_text(BUTT)
    (tmp_path / "day.toml").write_text(PLAN)
    environment = {**os.environ, "PITRECKON_LEDGER": str(tmp_path / "none.sqlite")}
    running = subprocess.Popen(
        [sys.executable, "-c", HEARS + program, *arguments],
        cwd=tmp_path,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    with running:
        assert running.stderr is not None
        for line in running.stderr:
            if line == "begun\n":
                break
        before_s = spent_s(running.pid)
        running.send_signal(signal.SIGINT)
        took_s = whole_s(running) - before_s
        said = running.stderr.read().replace("begun\n", "")
    assert running.returncode == CODE
    assert took_s < WITHIN_S, took_s
    assert said == "pitreckon: interrupted; nothing was written, and what was there is as it was.\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["butt.toml", "day.toml"]


def test_what_was_written_is_said(pitreckon: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from pitreckon.cli import kept, listing

    def broken_off(_degrees: str, *, as_json: bool) -> None:
        kept.keep("sheet.pdf")
        raise KeyboardInterrupt

    monkeypatch.setattr(listing, "cuts", broken_off)
    told = pitreckon("cuts")
    assert (told.code, told.err) == (CODE, "pitreckon: interrupted; kept: sheet.pdf. Nothing is half-written.\n")


def test_what_nobody_foresaw_is_one_line(pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    from pitreckon.cli import listing

    def broken(_degrees: str, *, as_json: bool) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(listing, "cuts", broken)
    with pytest.raises(ZeroDivisionError):
        pitreckon("cuts")  # the tests let it through
    monkeypatch.delenv(main.TRACEBACK)
    told = pitreckon("cuts")
    assert told.code == main.UNFORESEEN
    (line,) = told.err.splitlines()
    assert "ZeroDivisionError: division by zero" in line
    assert main.TRACEBACK in line


@pytest.mark.servers
def test_a_reader_that_has_enough_is_no_fault() -> None:
    """``pitreckon cuts | head -1``, and a screen of plain ASCII."""
    for shell in ('pitreckon() { %s -m pitreckon "$@"; }; pitreckon cuts | head -1',):
        done = subprocess.run(
            ["bash", "-c", shell % sys.executable], capture_output=True, text=True, check=False, timeout=PATIENCE_S
        )
        assert done.stderr == ""
    plain = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(
        [sys.executable, "-m", "pitreckon", "pits"], capture_output=True, check=False, env=plain, timeout=PATIENCE_S
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"?" in done.stdout
