"""``python -m benchmarks.fresh [CHECKOUT]``: what fresh processes take, here and in another checkout, in turns.

Processor time and peak memory of: a first ``pitreckon warm`` and a first reckoning of the demo where nothing has been
compiled; the kernel compiled by numba, and found; a reckoning's imports; the demo's
``pitreckon reckon``; an update of six items of 1,024 members, with first answers to a look and to a reading and with
what-ifs; those of one rack.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parents[1]
TURNS = 1
SIX = """
import json, resource, time
from datetime import timedelta
from benchmarks.updates import CUTS, NOW, cook_of
from pitreckon.ledger import Ledger, Look, Reading
try:
    from pitreckon.reckon.onward import onward as first_answer
except ImportError:  # an older checkout
    from pitreckon.reckon.firstanswer import first_answer
from pitreckon.reckon.forecast import reckoning
from pitreckon.reckon.whatif import what_ifs
took = {}
def timed(name, work):
    begin = time.process_time()
    result = work()
    took[name] = (time.process_time() - begin, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    return result
cook, ledger = cook_of(*CUTS)
done = timed("six items of 1,024 members", lambda: reckoning(cook, ledger, now=NOW, members=1024))
look = Ledger.of([*ledger.events, Look(NOW, "racks", None, "colour", 0.9)])
later = NOW + timedelta(minutes=5)
reading = Ledger.of([*ledger.events, Reading(later, "pit air", "pit", None, 115.0)])
timed("a first answer to a look", lambda: first_answer(done, look, NOW))
timed("a first answer to a reading", lambda: first_answer(done, reading, later))
timed("what-ifs of the six", lambda: what_ifs(done))
rack, past = cook_of("racks")
one = reckoning(rack, past, now=NOW, members=1024)
timed("what-ifs of a rack", lambda: what_ifs(one))
print(json.dumps(took))
"""
WARM = "from pitreckon.section.warm import warm; warm()"
DEMO = "examples/harvest-table/harvest-table.toml"
COLD = {
    "kernel, from nothing": ("-m", "pitreckon", "warm"),
    "`pitreckon reckon`, the demo, from nothing": ("-m", "pitreckon", "reckon", DEMO),
}
"""Each in a folder of kernels of its own, which is empty."""
COMMANDS = {
    "kernel, compiled": ("-c", WARM),
    "kernel, found": ("-c", WARM),
    "a reckoning's imports": ("-c", "import pitreckon.cli.main, pitreckon.cli.run, pitreckon.section.compiled.kernel"),
    "pitreckon reckon, the demo": ("-m", "pitreckon", "reckon", DEMO),
}


def one(checkout: Path, kept: str, arguments: tuple[str, ...]) -> tuple[float, float, str]:
    """A process: processor time [s], peak memory [MB] and what it printed."""
    own = {"PYTHONPATH": f"{checkout / 'src'}:{checkout}", "NUMBA_CACHE_DIR": kept, "PYTHONDONTWRITEBYTECODE": ""}
    own["PYTHONPYCACHEPREFIX"] = str(Path(kept) / "bytecode")
    program = subprocess.Popen(
        [sys.executable, *arguments], cwd=checkout, env=os.environ | own, stdout=subprocess.PIPE, text=True
    )
    assert program.stdout is not None
    printed = program.stdout.read()
    _, status, used = os.wait4(program.pid, 0)
    program.returncode = os.waitstatus_to_exitcode(status)
    if program.returncode:
        raise RuntimeError(f"{' '.join(arguments)} in {checkout} ended with {program.returncode}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024, printed


def of_checkout(checkout: Path) -> dict[str, tuple[float, float]]:
    """Processor time and peak memory of everything, in a folder of kernels of its own."""
    found = {}
    for name, arguments in COLD.items():
        with tempfile.TemporaryDirectory() as kept:
            found[name] = one(checkout, kept, arguments)[:2]
    with tempfile.TemporaryDirectory() as kept:
        for name, arguments in COMMANDS.items():
            cpu_s, peak_mb, _ = one(checkout, kept, arguments)
            found[name] = (cpu_s, peak_mb)
            if name == "a reckoning's imports":  # its byte code was written then
                found[name] = one(checkout, kept, arguments)[:2]
        found |= {name: tuple(pair) for name, pair in json.loads(one(checkout, kept, ("-c", SIX))[2]).items()}
    return found


def main() -> None:
    """Both in turns, and the least of each."""
    checkouts = {"here": HERE} | ({"there": Path(sys.argv[1]).resolve()} if len(sys.argv) > 1 else {})
    best: dict[tuple[str, str], tuple[float, float]] = {}
    for _ in range(TURNS):
        for who, where in checkouts.items():
            for name, (cpu_s, peak_mb) in of_checkout(where).items():
                old = best.get((name, who), (cpu_s, peak_mb))
                best[name, who] = (min(old[0], cpu_s), min(old[1], peak_mb))
    print(f"Load {os.getloadavg()[0]:.1f}. Processor time, s, and peak memory, MB:")
    for name in dict.fromkeys(name for name, _ in best):
        said = [f"{who} {best[name, who][0]:.2f} s, {best[name, who][1]:.0f} MB" for who in checkouts]
        print(f"  {name:28} {'; '.join(said)}")


if __name__ == "__main__":
    main()
