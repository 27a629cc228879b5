"""Every command as it is called rightly and wrongly, with the exit code that it ends with; and the runs of them.

``scripts/try_wheel.py`` runs them in environments made of a built wheel; its table is made of what stands here.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).parents[1]
TABLE: Final = "examples/harvest-table/harvest-table.toml"
DAY: Final = "examples/harvest-table/day.csv"
NIGHT: Final = "examples/overnight-butt/night.csv"
BUTT: Final = "examples/overnight-butt/overnight-butt.toml"
RACKS: Final = ("examples/sunday-racks/sunday-racks.toml", "--log", "examples/sunday-racks/day.csv")
NEXT: Final = "examples/next-sunday/next-sunday.toml"
PLANNED: Final = "examples/turkey-dinner/turkey-dinner.toml"
FEW: Final = ("--members", "16")
NEW: Final = ("--amount", "3", "--set", "275 F", "--zone", "America/Chicago")
LEDGER: Final = ("--ledger", "kept.sqlite")
MISSING: Final = "nothing-here.toml"


@dataclass(frozen=True)
class Case:
    """One call. words: behind ``pitreckon``; code: it ends with it where all is installed; extra: that it needs"""

    words: tuple[str, ...]
    code: int = 0
    extra: str = ""
    means: str = ""

    @property
    def command(self) -> str:
        """``reckon``, or ``ledger check``."""
        two = self.words[0] == "ledger" or self.words[:2] == ("card", "take-in")
        return " ".join(self.words[: 2 if two else 1])


def _case(line: str, *more: str, code: int = 0, extra: str = "", means: str = "") -> Case:
    return Case((*line.split(), *more), code, extra, means)


CASES: Final = (
    _case("new mine.toml --cut st-louis-ribs --pit kettle --wrap none --serve 18:00", *NEW),
    _case("new other.toml --cut nothing", code=2),
    _case("reckon", TABLE, "--log", DAY, "--at", "15:50", *FEW),
    _case("reckon", MISSING, code=2),
    _case("suppose", TABLE, "--log", DAY, "--at", "15:50", *FEW),
    _case("suppose", TABLE, "--log", DAY, "--at", "15:50", "--all", *FEW),
    _case("suppose", TABLE, "--at", "half past", code=2),
    _case("take-in", DAY, "--cook", "nobody", *LEDGER, code=2, extra="ledger"),
    _case("take-in", "probe.csv", "--plan", TABLE, *LEDGER, extra="ledger"),
    _case("watch", "probe.csv", "--plan", TABLE, "--once", *LEDGER, extra="ledger"),
    _case("watch", "probe.csv", "--cook", "nobody", "--once", *LEDGER, code=2, extra="ledger"),
    _case("cooks", *LEDGER, extra="ledger"),
    _case("cooks", "--ledger", "ftp://nowhere", code=2, extra="ledger"),
    _case("export", "harvest-table", *LEDGER, extra="ledger"),
    _case("export", "nobody", *LEDGER, code=2, extra="ledger"),
    _case("import", "export.jsonl", *LEDGER, extra="ledger"),
    _case("import", DAY, *LEDGER, code=2, extra="ledger"),
    _case("alerts", TABLE, "--log", DAY, "--at", "15:50", "--dry-run", *FEW),
    _case("alerts", TABLE, code=2),
    _case("sheet", TABLE, *FEW),
    _case("sheet", TABLE, "-o", "sheet.txt", *FEW),
    _case("sheet", TABLE, "-o", "sheet.html", *FEW, extra="paper"),
    _case("sheet", TABLE, "-o", "sheet.pdf", *FEW, extra="paper"),
    _case("sheet", TABLE, "-o", "sheet.ics", *FEW, extra="paper"),
    _case("sheet", TABLE, "-o", "sheet.doc", code=2),
    _case("plan", PLANNED, "--learn-from", "-", extra="plan"),
    _case("plan", "late.toml", "--learn-from", "-", code=3, extra="plan", means="it cannot be done as it was asked"),
    _case("plan", MISSING, code=2),
    _case("mix", "examples/sunday-racks/garden-rub.toml", "--for", "7 racks"),
    _case("mix", TABLE, code=2),
    _case("batch", "examples/sunday-racks/garden-rub.toml", "--jars", "60"),
    _case("batch", "examples/sunday-racks/garden-rub.toml", "--jars", "60", "-o", "batch.txt"),
    _case("batch", "examples/sunday-racks/garden-rub.toml", "--market", "eu", "--nutrition"),
    _case("batch", "examples/sunday-racks/garden-rub.toml", "--nutrition", code=2),
    _case("batch", "examples/sunday-racks/garden-rub.toml", "--scale", "a lot", code=2),
    _case("batch", "examples/sunday-racks/garden-rub.toml", "--lot", "GR-1", "--record", *LEDGER, extra="ledger"),
    _case("batch", "--recall", "GR-1/7", *LEDGER, extra="ledger"),
    _case("batch", "--recall", "no such lot", *LEDGER, code=1, extra="ledger", means="no recorded batch has it"),
    _case("card", *RACKS, "--readers", "100"),
    _case("card", TABLE, "--log", DAY, code=2),
    _case("card", *RACKS, "--readers", "100", "-o", "card.json", "--answers", "page.html", extra="paper"),
    _case("card take-in", "examples/sunday-racks/answers"),
    _case("card take-in", "nothing-here", code=2),
    _case("record", BUTT, "--log", NIGHT, *FEW, "-o", "record.json"),
    _case("record", BUTT, "--log", NIGHT, "--check", "record.json"),
    _case("record", BUTT, "--check", "record.json", code=1, means="record and files do not agree"),
    _case("record", BUTT, "--house", "kept.sqlite", *FEW, extra="ledger"),
    _case("record", MISSING, code=2),
    _case("cool", "boston-butt", "--weight", "6lb"),
    _case("cool", "no-such-cut", "--weight", "6lb", code=2),
    _case("why", "examples/sunday-racks/report.toml"),
    _case("why", TABLE, code=2),
    _case("study", "examples/how-hot/how-hot.toml", "--workers", "1", extra="study"),
    _case("study", MISSING, code=2),
    _case("lessons", "house.json", "--learn", "=".join((RACKS[0], RACKS[2]))),
    _case("lessons", "house.json", "--learn", "nothing", code=2),
    _case("lessons", "house.json", "--same", "barn pit=2026-11-15"),
    _case("lessons", "house.json", "--same", "barn pit", code=2),
    _case("lessons", "house.json", "--another-thermometer", "2026-11-01"),
    _case("lessons", "house.json", "--another-thermometer", "soon", code=2),
    _case("cuts"),
    _case("cuts", "--nothing", code=2),
    _case("against", "=".join((NEXT, "examples/next-sunday/day.csv")), "=".join((RACKS[0], RACKS[2]))),
    _case("against", NEXT, RACKS[0], code=2),
    _case("explain", *RACKS),
    _case("explain", *RACKS, "-o", "story.html", extra="pictures"),
    _case("explain", BUTT, "--log", NIGHT, code=2),
    _case("look", "examples/sunday-racks/rack.jpg", "--meat", "0.25,0.45", "--white", "0.8,0.3", extra="photo"),
    _case("look", MISSING, "--meat", "0.4,0.5", "--white", "0.9,0.1", code=2),
    _case("wraps"),
    _case("wraps", "--nothing", code=2),
    _case("schema", "reckon"),
    _case("schema", "nothing", code=2),
    _case("pits"),
    _case("pits", "--nothing", code=2),
    _case("defaults"),
    _case("defaults", "--nothing", code=2),
    _case("warm"),
    _case("warm", "--nothing", code=2),
    _case("demo", "demo-day", "--no-page", "--members", "16"),
    _case("demo", "--members", "none", code=2),
    _case("serve", "--public-url", "nowhere", code=2, extra="serve"),
    _case("ledger check", *LEDGER, extra="ledger"),
    _case("ledger check", "--ledger", "hurt.sqlite", code=1, extra="ledger", means="the ledger is not whole"),
    _case("ledger check", "--ledger", "ftp://nowhere", code=2, extra="ledger"),
    _case("ledger backup", "copy.sqlite", *LEDGER, extra="ledger"),
    _case("ledger backup", "more.sqlite", "--ledger", "ftp://nowhere", code=2, extra="ledger"),
    _case("ledger restore", "copy.sqlite", "--ledger", "again.sqlite", extra="ledger"),
    _case("ledger restore", DAY, "--ledger", "third.sqlite", code=2, extra="ledger"),
    _case("ledger salvage", "kept.sqlite", "saved.sqlite", extra="ledger"),
    _case("ledger salvage", MISSING, "more.sqlite", code=2, extra="ledger"),
    _case("ledger key", *LEDGER, extra="ledger"),
    _case("ledger key", "--ledger", DAY, code=2, extra="ledger"),
)
"""In the order in which they have to be run: some read what others wrote."""

TUTORIAL: Final = ROOT / "docs" / "tutorial.md"
PATIENCE_S: Final = 900.0
_DRIVER: Final = """
import contextlib, io, json, os, sys
from pathlib import Path
from pitreckon.cli.main import run
answers = []
for words in json.load(sys.stdin):
    if words[0] == "(change)":  # a stranger has been at a file
        source, to, old, new = words[1:]
        if Path(source).exists():
            Path(to).write_bytes(Path(source).read_bytes().replace(old.encode(), new.encode()))
        continue
    out, err, code = io.StringIO(), io.StringIO(), 0
    sys.argv = ["pitreckon", *words]
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            run()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else int(end.code is not None)
        except BaseException as fault:
            code = f"{type(fault).__name__}: {fault}"
    if words[0] == "export" and code == 0:
        Path("export.jsonl").write_text(out.getvalue(), encoding="utf-8")
    answers.append([code, out.getvalue(), err.getvalue()])
print(json.dumps(answers))
"""


@dataclass(frozen=True)
class Ended:
    """How a call ended: its exit code, or the fault that came out of it; what it said on either stream."""

    case: Case
    code: int | str
    out: str
    err: str

    @property
    def lacks(self) -> str:
        """The extra that it says is missing; "": none."""
        found = re.search(r'^pitreckon: .* Install .*pip install "pitreckon\[(\w+)\]"\.\n\Z', self.err, re.MULTILINE)
        return found[1] if found and self.code == 2 else ""


def laid_out(folder: Path) -> Path:
    """A folder with the files that the cases name."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(ROOT / "examples", folder / "examples")
    how_to = (ROOT / "docs" / "how-to" / "plan-the-day.md").read_text(encoding="utf-8")
    (day, *_) = re.findall(r"```toml\n(.*?)```", how_to, re.DOTALL)
    (folder / "late.toml").write_text(day.replace('chance = "70 %"', 'earliest = "2026-10-10 15:30"'), "utf-8")
    lines = [f"2026-10-17 {8 + k // 6:02}:{k % 6}0,{250 + k}" for k in range(12)]
    (folder / "probe.csv").write_text("\n".join(["time,pit air", *lines]) + "\n", encoding="utf-8")
    return folder


def tutorial(folder: Path) -> list[str]:
    """Save the tutorial's files by the names that stand before them; its commands, in order, without ``pitreckon``."""
    folder.mkdir(parents=True, exist_ok=True)
    text = TUTORIAL.read_text(encoding="utf-8")
    for match in re.finditer(r"^```(toml|csv)\n(.*?)^```$", text, re.DOTALL | re.MULTILINE):
        name = re.findall(rf"`([\w-]+\.{match[1]})`", text[: match.start()])[-1]
        (folder / name).write_text(match[2], encoding="utf-8")
    return re.findall(r"^\$ pitreckon (.+)$", text, re.MULTILINE)


def tried(python: Path, folder: Path, cases: Sequence[Case] = CASES) -> list[Ended]:
    """Run the cases one after another in one process of an environment, in a folder that was laid out for them."""
    calls: list[list[str]] = []
    for case in cases:
        if "hurt.sqlite" in case.words:
            calls.append(["(change)", "kept.sqlite", "hurt.sqlite", "pit air", "pit ear"])
        calls.append(list(case.words))
    alone = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "PITRECKON", "VIRTUAL"))}
    done = subprocess.run(
        [str(python), "-c", _DRIVER],
        input=json.dumps(calls), capture_output=True, text=True, cwd=folder, check=False, timeout=PATIENCE_S,
        env=alone | {"COLUMNS": "120", "NO_COLOR": "1", "XDG_DATA_HOME": str(folder / "data"),
             "XDG_CONFIG_HOME": str(folder / "config")},
    )  # fmt: skip
    if done.returncode:
        raise RuntimeError(done.stderr)
    answers = json.loads(done.stdout.splitlines()[-1])
    return [Ended(case, *answer) for case, answer in zip(cases, answers, strict=True)]
