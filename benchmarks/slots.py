"""``python -m benchmarks.slots [rack]``: what the kernel's machine code spends its time on, loop by loop.

The process is sampled while it runs the ensemble; the code it ran is read from its own memory and taken apart; samples
are counted by the innermost loop they fall into, and the instructions of a turn of each by what they do. It needs the
system's ``perf`` and ``objdump``, and says so where they are missing. Two columns together tell what stands between a
loop and the limit of multiply-adds: how few of its instructions are arithmetic, and how many divide or take a root.
"""

from __future__ import annotations

import bisect
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path
from typing import Any

from benchmarks import cases
from pitreckon.section.simulate import simulate_all

SECONDS, A_SECOND = 6.0, 4000
NEEDED = ("perf", "objdump")
MEMBERS = 256
DIVIDES = ("vdiv", "vsqrt", "vrcp", "vrsqrt")
MOVES = ("vmov", "vbroadcast", "vpbroadcast")


def samples(kind: str) -> Counter[int]:
    """Where the processor was, by address, while an ensemble ran on one thread."""
    job = cases.job(cases.KINDS[kind], MEMBERS)
    simulate_all([job], threads=1)
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        asked = [
            "perf",
            "record",
            "-q",
            "-e",
            "cpu-clock",
            "-F",
            str(A_SECOND),
            "-o",
            str(data),
            "-p",
            str(os.getpid()),
        ]
        recording = subprocess.Popen(asked, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(1.0)  # until it listens: nothing tells
        begin = time.process_time()
        while time.process_time() - begin < SECONDS:
            simulate_all([job], threads=1)
        recording.send_signal(signal.SIGINT)
        recording.wait()
        told = subprocess.run(
            ["perf", "script", "-i", str(data), "-F", "ip"], capture_output=True, text=True, check=True
        ).stdout
    return Counter(int(found, 16) for found in re.findall(r"^\s*([0-9a-f]+)", told, re.MULTILINE))


def instructions(seen: Counter[int]) -> list[tuple[int, str]]:
    """The code of no file that was run: address and text of every instruction."""
    rows = []
    with Path("/proc/self/mem").open("rb") as memory:
        for line in Path("/proc/self/maps").read_text("ascii").splitlines():
            place, mode, *_, name = line.split(maxsplit=5) + [""] * (6 - len(line.split(maxsplit=5)))
            first, past = (int(end, 16) for end in place.split("-"))
            if "x" not in mode or name.startswith(("/", "[")) or not any(first <= at < past for at in seen):
                continue
            memory.seek(first)
            rows += _taken_apart(memory.read(past - first), first)
    return sorted(rows)


def _taken_apart(code: bytes, first: int) -> list[tuple[int, str]]:
    with tempfile.NamedTemporaryFile() as file:
        file.write(code)
        file.flush()
        asked = ["objdump", "-D", "-b", "binary", "-mi386:x86-64", f"--adjust-vma={first:#x}", file.name]
        told = subprocess.run(asked, capture_output=True, text=True, check=True).stdout
    return [(int(at, 16), text) for at, text in re.findall(r"^\s*([0-9a-f]+):\t[0-9a-f ]+\t(.*)$", told, re.MULTILINE)]


def loops(rows: list[tuple[int, str]]) -> list[tuple[int, int]]:
    """Innermost loops, each by the addresses of its first and last instruction: jumps back with none inside."""
    jumps = [(at, re.match(r"j\w+\s+0x([0-9a-f]+)", text)) for at, text in rows]
    back = sorted((int(to[1], 16), at) for at, to in jumps if to and rows[0][0] <= int(to[1], 16) <= at)
    return [(a, b) for a, b in back if not any(a <= c and d <= b and (a, b) != (c, d) for c, d in back)]


def kinds_of(texts: list[str]) -> dict[str, int]:
    """Instructions of a loop by what they do."""
    found: Counter[str] = Counter()
    for text in texts:
        name = text.split()[0] if text.split() else ""
        wide = "mm" in text and "xmm" not in text
        if not wide:
            found["scalar"] += 1
        elif name.startswith(DIVIDES):
            found["divide or root"] += 1
        elif name.startswith(MOVES):
            found["move"] += 1
        elif name.startswith(("vfm", "vfn")):
            found["multiply-add"] += 1
        else:
            found["other arithmetic"] += 1
    return dict(found)


def account(kind: str) -> list[dict[str, Any]]:
    """Loops by their share of the time, the most first; last the rest outside all of them, then what is not ours."""
    missing = [each for each in NEEDED if shutil.which(each) is None]
    if missing:
        raise SystemExit(f"this needs {' and '.join(missing)}: install them (Debian: linux-perf, binutils)")
    seen = samples(kind)
    rows = instructions(seen)
    starts = [at for at, _ in rows]
    found, inside, whole = [], 0, sum(seen.values())
    for first, last in loops(rows):
        here = sum(many for at, many in seen.items() if first <= at <= last)
        inside += here
        texts = [text for _, text in rows[bisect.bisect_left(starts, first) : bisect.bisect_right(starts, last)]]
        found.append({"case": kind, "share": here / whole, "instructions": len(texts), **kinds_of(texts)})
    found.sort(key=lambda row: -row["share"])
    ours = sum(many for at, many in seen.items() if starts[0] <= at <= starts[-1])
    return [
        *found[:14],
        {"case": kind, "share": sum(row["share"] for row in found[14:]), "what": "all other innermost loops"},
        {
            "case": kind,
            "share": (ours - inside) / whole,
            "what": "between the innermost loops: where rows begin, scalars",
        },
        {"case": kind, "share": 1.0 - ours / whole, "what": "libraries and the interpreter"},
    ]


if __name__ == "__main__":
    sys.stdout.write(json.dumps(account(*(sys.argv[1:] or ["rack"]))) + "\n")
