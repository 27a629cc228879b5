"""``python -m validation.twins.noticing``: how often a re-seal could be noticed at all, if the model were right.

Houses of twins cook twelve times and learn. Then what their lessons told is drawn again and again from the lessons' own
covariances: as of one pit, as of one that is another since the seventh cook (drawn as the catalog has pits apart), and
as of one whose grate alone is so many kelvins hotter since; as the lessons are, and with a thermometer laid on the
grate once at every cook. What is noticed of these is the most that lessons could notice, whoever weighs them so.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from functools import partial
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.lessons.house.said import said_offset
from pitreckon.reckon.changed import SURE, Told, chances_of, if_changed
from pitreckon.reckon.learned import LASTING, Lesson, Lessons
from pitreckon.reckon.learning import learn
from pitreckon.reckon.levels import ROW
from validation.marked import put
from validation.twins.day import day_of
from validation.twins.deal import PIT
from validation.twins.houses import COOKS, RESEALED_BEFORE, SOON, aged, house_of
from validation.twins.run import in_order
from validation.twins.store import Row
from validation.twins.streams import stream

Floats = NDArray[np.float64]

SEED, HOUSES, DRAWS = 20261212, 12, 400
HOTTER_K = (5.0, 10.0, 15.0)
README = Path(__file__).resolve().parent.parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.twins.noticing: begin -->", "<!-- end of noticing -->"


def rows_of(world: str, seed: int, number: int, draws: int) -> list[Row]:
    """Shares of the draws that are noticed, of one house."""
    house = replace(house_of(seed, number), lays=False)
    learned: list[tuple[Lesson, ...]] = []
    laid: list[tuple[Lesson, ...]] = []
    for n in range(COOKS):
        day = day_of(seed, number * 1000 + n, world, house)
        learned.append(learn(day.twin.cook, day.ledger, f"cook {n}", seed=day.twin.index + 1))
        assert day.ledger.last_utc is not None
        laid.append((*learned[-1], _laid(n, house.pit, day.ledger.last_utc)))
    rows = []
    for what, told in (("as they are", learned), ("a thermometer at every cook", laid)):
        lessons = aged(told, COOKS)
        rng = stream(seed, number, f"noticing {what}")
        for case, soon, ever in _noticed(lessons.told(PIT, house.pit), lessons, rng, draws):
            rows.append(
                {"index": str(number), "lessons": what, "case": case, "soon": f"{soon:.4f}", "ever": f"{ever:.4f}"}
            )
    return [{**row, "rows": str(len(rows))} for row in rows]


def _laid(n: int, kind: str, at: datetime) -> Lesson:
    """What a thermometer that is laid on the grate once tells, as one line of that cook."""
    error = LOOK_KINDS["grate temperature"].errors.each
    said = said_offset("", PIT, kind, 0.0, error, "", at)
    return replace(said, cook=f"cook {n}", item="grate", sd=np.array([error]))


def _noticed(told: Told, lessons: Lessons, rng: np.random.Generator, draws: int) -> Iterator[tuple[str, float, float]]:
    """Of each case the shares noticed within two cooks of the re-seal and by the last one."""
    cook_of = [int(cook.removeprefix("cook ")) for cook in told.cook]
    since = next(at for at, n in zip(told.at, cook_of, strict=True) if n >= RESEALED_BEFORE)
    steady = np.linalg.cholesky(told.covariance) @ rng.standard_normal((told.value.size, draws))
    moved = np.linalg.cholesky(if_changed(told, since)) @ rng.standard_normal((told.value.size, draws))
    hotter = np.zeros(told.value.size)
    for one, rows, n in zip(lessons.used, told.rows, cook_of, strict=True):
        if n >= RESEALED_BEFORE:
            hotter[rows] = one.slope[:, ROW["offset"]]
    cases = {"one pit: any alarm": steady, "another pit, as the catalog has them apart": moved}
    cases |= {f"its grate {k:.0f} K hotter": steady + k * hotter[:, None] for k in HOTTER_K}
    for case, values in cases.items():
        by = np.array([_by(told, cook_of, n, values) for n in range(2, COOKS + 1)])
        before, after = by[: RESEALED_BEFORE - 1].any(axis=0), by[RESEALED_BEFORE - 1 :]
        if case.startswith("one pit"):
            yield case, float("nan"), float(by.any(axis=0).mean())
        else:
            yield case, float((after[:SOON].any(axis=0) & ~before).mean()), float((after.any(axis=0) & ~before).mean())


def _by(told: Told, cook_of: Sequence[int], many: int, values: Floats) -> NDArray[np.bool_]:
    """Does each draw have it that the pit is another one, after so many cooks?"""
    chosen = [i for i, n in enumerate(cook_of) if n < many]
    moments = list(dict.fromkeys(told.at[i] for i in chosen))
    if len(moments) < 2:
        return np.zeros(values.shape[1], dtype=bool)
    rows = np.concatenate([np.arange(told.rows[i].start, told.rows[i].stop) for i in chosen])
    ends = np.cumsum([0, *(told.rows[i].stop - told.rows[i].start for i in chosen)])
    part = Told(
        at=[told.at[i] for i in chosen],
        cook=[told.cook[i] for i in chosen],
        said=[False for _ in chosen],
        mine=[told.mine[i] for i in chosen],
        rows=[slice(int(a), int(b)) for a, b in pairwise(ends)],
        error=told.error[rows],
        value=told.value[rows],
        covariance=told.covariance[np.ix_(rows, rows)],
        own=told.own[rows],
        share=told.share[np.ix_(chosen, chosen)],
    )
    assert part.own.shape[1] == len(LASTING)
    return np.asarray(chances_of(part, moments[1:], values[rows]).sum(axis=0) >= SURE)


def text_of(rows: Sequence[Row], seed: int, draws: int) -> str:
    """The part of the page."""
    houses = len({row["index"] for row in rows})
    made = f"python -m validation.twins.noticing --houses {houses} --write"
    parts = [f"Seed {seed}, {houses} houses of the calibrated world, {draws} draws each. Made by\n\n```\n{made}\n```\n"]
    parts.append(f"| lessons | drawn | noticed within {SOON} cooks | by the last |\n|---|---|---|---|")
    for what, case in dict.fromkeys((row["lessons"], row["case"]) for row in rows):
        mine = [row for row in rows if (row["lessons"], row["case"]) == (what, case)]
        soon, ever = (np.mean([float(row[name]) for row in mine]) for name in ("soon", "ever"))
        parts.append(f"| {what} | {case} | {'' if np.isnan(soon) else f'{100 * soon:.0f} %'} | {100 * ever:.0f} % |")
    return "\n".join(parts)


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.noticing", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--houses", type=int, default=HOUSES)
    parser.add_argument("--draws", type=int, default=DRAWS)
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--write", action="store_true", help="put the table into validation/README.md")
    given = parser.parse_args()
    rows = in_order(partial(rows_of, "calibrated"), given.houses, given.seed, given.draws, given.workers)
    text = text_of(rows, given.seed, given.draws)
    print(text)
    if given.write:
        put(f"{text}\n", BEGIN, END, README)


if __name__ == "__main__":
    main()
