"""``python -m benchmarks.older CHECKOUT``: the kernel here against that of another checkout, in turns on one thread.

CHECKOUT is a folder with another version of this project; its own laws and its own cases of the same names are run.
What is shown is the quickest of all turns, in ms a member for the whole cook (rack 6 h, drum and block 14 h).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

MEMBERS, ROUNDS, TURNS = 256, 5, 3
HERE = Path(__file__).resolve().parents[1]
INSIDE = f"""
import json, time
from benchmarks import cases
from pitreckon.section.simulate import simulate_all
took = {{}}
for name, kind in cases.KINDS.items():
    job = cases.job(kind, {MEMBERS})
    simulate_all([job], threads=1)
    times = []
    for _ in range({ROUNDS}):
        begun = time.perf_counter()
        simulate_all([job], threads=1)
        times.append(time.perf_counter() - begun)
    took[name] = min(times) * 1000.0 / {MEMBERS}
print(json.dumps(took))
"""


def timed(checkout: Path) -> dict[str, float]:
    """ms a member of each case, by the code of a checkout."""
    environment = os.environ | {"PYTHONPATH": f"{checkout / 'src'}:{checkout}"}
    done = subprocess.run(
        [sys.executable, "-c", INSIDE], cwd=checkout, env=environment, capture_output=True, text=True, check=True
    )
    return {name: float(took) for name, took in json.loads(done.stdout.splitlines()[-1]).items()}


def main() -> None:
    """Run both in turns, and show the best of each."""
    if len(sys.argv) != 2 or not (Path(sys.argv[1]) / "benchmarks").is_dir():
        sys.exit("python -m benchmarks.older CHECKOUT: give the folder of another version of this project")
    other = Path(sys.argv[1]).resolve()
    best: dict[tuple[str, str], float] = {}
    for _ in range(TURNS):
        for who, where in (("there", other), ("here", HERE)):
            for name, took in timed(where).items():
                best[name, who] = min(took, best.get((name, who), took))
    for name in {name: None for name, _ in best}:
        here, there = best[name, "here"], best[name, "there"]
        print(f"{name}: {here:.2f} ms a member here, {there:.2f} there, {there / here:.2f} times as fast")


if __name__ == "__main__":
    main()
