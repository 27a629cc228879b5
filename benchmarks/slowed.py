"""``python -m benchmarks.slowed``: does ``quick`` tell what it is for? Works made slower on purpose.

By shares of their time; each is held against what it takes as it is, measured just before. 7 % is not to be told, and
25 % is. Nothing is kept.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from benchmarks import quick

SOME = ("kernel: rack", "what-ifs", "start: --help")
SHARES = {0.0: False, 0.07: False, 0.25: True}
"""And whether it is to be told."""
BURN = "import time; began = time.process_time()\nwhile time.process_time() - began < {s}: pass"


def slower(work: quick.Work, share: float) -> quick.Work:
    """The same, and after it nothing but time, so much of what it takes itself."""
    took_s = statistics.median(_took_s(work, work.call) for _ in range(5))
    if work.clock is quick.of_children:
        start_s = statistics.median(_took_s(work, quick.a_process("pass")) for _ in range(5))
        more: Callable[[], object] = quick.a_process(BURN.format(s=max(share * took_s - start_s, 0.0)))
    else:
        more = partial(_burn, work.clock, share * took_s)

    def call() -> None:
        work.call()
        if share:
            more()

    return replace(work, call=call)


def _took_s(work: quick.Work, call: Callable[[], object]) -> float:
    begin = work.clock()
    call()
    return work.clock() - begin


def _burn(clock: Callable[[], float], for_s: float) -> None:
    begin = clock()
    while clock() - begin < for_s:
        pass


def main() -> int:
    """Try them; 1 where it told what it should not, or not what it should."""
    wrong = 0
    for name in SOME:
        work = quick.works()[name]
        work.call()
        kept = quick.measured({name: work}, quick.ROUNDS)
        for share, wanted in SHARES.items():
            found = quick.compared({name: slower(work, share)}, kept)
            told = bool(quick.slower(found, kept))
            wrong += told is not wanted
            moved = 100.0 * (found[name] / kept[name] - 1.0)
            print(
                f"{name:20} slowed by {100.0 * share:.0f} %: {moved:+.0f} %, {'told' if told else 'not told'}",
                flush=True,
            )
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
