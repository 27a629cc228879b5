"""``python -m benchmarks.peers`` in the peers' environment: general solvers on demand, one member at a time.

It reads a line of JSON, solves, and answers with one: so that the caller can run its own kernel and these in turns.
``Peers`` is the caller's side. Both sides make the same members from the same seed.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from functools import lru_cache
from hashlib import sha1
from pathlib import Path
from types import TracebackType
from typing import Any, Self

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv-peers"


def answer(ask: dict[str, Any]) -> dict[str, Any]:
    """Solve one member as asked: kind, members, member, method, tol."""
    from benchmarks import cases, fem, methods  # noqa: PLC0415
    from benchmarks.one_member import Member  # noqa: PLC0415

    whole = _job(ask["kind"], ask["members"])
    if ask["method"] == "scikit-fem":
        work = lambda: fem.heat_part(cases.heat_only(whole), ask["member"], ask["tol"])  # noqa: E731
        begin = time.perf_counter()
        core, evaluations = work()
        return {"core": list(core), "loss": None, "evaluations": evaluations, "s": time.perf_counter() - begin}
    member = Member(whole, ask["member"])
    begin = time.perf_counter()
    try:
        core, loss = methods.METHODS[ask["method"]](member, ask["tol"])
    except (ArithmeticError, RuntimeError, ValueError) as fault:
        return {"error": str(fault)[:200], "s": time.perf_counter() - begin}
    took = time.perf_counter() - begin
    return {"core": core.tolist(), "loss": loss.tolist(), "evaluations": member.evaluations, "s": took}


@lru_cache(maxsize=8)
def _job(kind: str, members: int) -> Any:
    from benchmarks import cases  # noqa: PLC0415

    return cases.job(cases.KINDS[kind], members)


def serve() -> None:
    """Answer until there is nothing more to read."""
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # what the solvers' own C code says goes with the errors
    for line in sys.stdin:
        answers.write(json.dumps(answer(json.loads(line))) + "\n")
        answers.flush()


class Peers:
    """The peers' process."""

    def __init__(self) -> None:
        if not (ENVIRONMENT / "bin" / "python").exists():
            raise FileNotFoundError("no .venv-peers here: run `sh scripts/make_peers_env.sh` first")
        sources = sorted([*(ROOT / "benchmarks").glob("*.py"), *(ROOT / "src/pitreckon/section").glob("*.py")])
        mark = sha1(b"".join(source.read_bytes() for source in sources), usedforsecurity=False).hexdigest()[:12]
        own = {"PYTHONPATH": f"{ROOT / 'src'}:{ROOT}", "NUMBA_CACHE_DIR": str(ENVIRONMENT / "kernels" / mark)}
        threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
        self._process = subprocess.Popen(
            [str(ENVIRONMENT / "bin" / "python"), "-W", "ignore", "-m", "benchmarks.peers"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            cwd=ROOT,
            env=os.environ | own | threads,
        )

    def ask(self, **what: Any) -> dict[str, Any]:
        """Send one request and wait for its answer."""
        ours, its = self._process.stdin, self._process.stdout
        if ours is None or its is None:
            raise RuntimeError("the peers' process has no pipes")
        ours.write(json.dumps(what) + "\n")
        ours.flush()
        line = its.readline()
        if not line:
            raise RuntimeError("the peers' process has ended")
        found: dict[str, Any] = json.loads(line)
        return found

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, value: BaseException | None, tb: TracebackType | None) -> None:
        if self._process.stdin is not None:
            self._process.stdin.close()
        self._process.wait(timeout=30)


if __name__ == "__main__":
    serve()
