"""``python -m validation.twins.pooled``: what lessons of many houses would be worth, pooled. Nothing is sent anywhere.

Twin houses that have their constants in common (``neighbours``) cook once each and learn. Said are what one cook
tells (``tellings``), what the first window of ready is wide by, and what a new house would gain from 10, 1,000 and
100,000 cooks, by what each would send (``pooledworth``, ``pooling``). Rows are kept; what is kept is not run again.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np
from rich.console import Console
from rich.progress import track

from pitreckon.reckon.levels import PITS, ROW
from validation.marked import put
from validation.twins import pooledworth
from validation.twins.neighbours import COLUMNS, HOUSES, rows_of
from validation.twins.page import table
from validation.twins.pooledworth import (
    FORMS,
    LEVELS,
    SIZES,
    Z90,
    Crowd,
    Side,
    Worth,
    bias,
    guessed,
    sides,
    spreads,
    worth,
)
from validation.twins.run import over
from validation.twins.store import Store
from validation.twins.tellings import Telling, tellings

SEED, COOKS, MEMBERS = 20261206, 200, 96
FOLDER = Path(__file__).resolve().parent.parent / "results" / "twins"
README = Path(__file__).resolve().parent.parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.twins.pooled: begin -->", "<!-- end of pooled -->"
WORLDS = ("calibrated", "other")
SAID = (*LEVELS[:3], "lag", *LEVELS[3:], "crust_at", "conductivity")
EPSILONS = (None, 1.0, 0.1)
HIDDEN: Final = ("six levels together", "how long it took")
"""Forms that are small enough to be hidden in noise."""
SENT: Final = {
    "all lines": "up to 8 lines of 38",
    "six levels together": "27",
    "six levels, each by itself": "12",
    "how long it took": "1",
}
"""Numbers that a cook would send, beside the keys of its pit, cut and wrap."""


def told(given: argparse.Namespace) -> dict[str, list[Telling]]:
    """Houses of every world."""
    found = {}
    for world in WORLDS:
        store = Store(given.folder, f"pooled-{world}-seed-{given.seed}-members-{given.members}", COLUMNS)
        done = store.rows()
        left = [i for i in range(given.cooks) if i not in done]
        work = over(partial(rows_of, world), left, given.seed, given.members, given.workers)
        for index, rows in track(work, f"pooled, {world}", total=len(left), console=Console(stderr=True)):
            store.add(index, rows)
            done[index] = rows
        found[world] = tellings([row for i in sorted(done) if i < given.cooks for row in done[i]])
    return found


def of_one_cook(houses: Sequence[Telling]) -> Iterator[list[str]]:
    """By level: own spread over the catalog's, variance left by one cook, and how honest its error is."""
    posteriors = [house.posterior for house in houses]
    for name in SAID:
        at = ROW[name]
        truth = np.array([house.truth[at] for house in houses])
        mean = np.array([mean[at] for mean, _ in posteriors])
        sd = np.sqrt([covariance[at, at] for _, covariance in posteriors])
        own = (truth - [house.middle[at] for house in houses]) / [house.levels.own[at] for house in houses]
        left = sd**2 / [house.prior[at, at] for house in houses]
        z = (mean - truth) / sd
        seen = np.isfinite(z)
        yield [
            *(name, f"{np.nanstd(own):.2f}", f"{100 * (1 - np.mean(left[seen])):.0f} %", f"{np.mean(z[seen]):+.2f}"),
            *(f"{np.mean(z[seen] ** 2):.2f}", f"{100 * np.mean(np.abs(z[seen]) <= Z90):.0f} %"),
        ]


def of_window(houses: Sequence[Telling]) -> list[str]:
    """Shares of the variance of the logarithm of the time to ready at put-on, in percent."""
    shares = []
    for house in houses:
        own = house.ready**2 * house.levels.own**2
        common = float(np.sum((house.ready @ house.loads) ** 2))
        parts = np.array([common, own[:PITS].sum(), own[PITS:].sum(), house.ready_sd**2])
        shares.append(parts / parts.sum())
    return [f"{100 * share:.0f} %" for share in np.mean(shares, axis=0)]


def of_times(houses: Sequence[Telling]) -> list[str]:
    """Of the true times to done: error with the catalog's middle and with that of its universe, and what holds."""
    off = np.array([house.done_off for house in houses])
    known = off - [house.done @ house.middle for house in houses]
    of_all = np.array([house.done @ house.prior @ house.done + house.done_sd**2 for house in houses])
    of_own = np.array([house.done**2 @ house.levels.own**2 + house.done_sd**2 for house in houses])
    return [
        *(f"{100 * np.sqrt(np.mean(each**2)):.1f} %" for each in (off, known)),
        *(
            f"{100 * np.mean(np.abs(each) <= Z90 * np.sqrt(var)):.0f} %"
            for each, var in ((off, of_all), (known, of_own))
        ),
    ]


def worths(world: str, houses: Sequence[Telling]) -> Iterator[tuple[str, float | None, Worth]]:
    """Of each form, size and noise."""
    for form in FORMS:
        tells, new = sides(houses, form)
        crowd = Crowd.of(tells, spreads(tells).expected_factors)
        mean, covariance = bias(tells)
        for size in SIZES:
            for epsilon in EPSILONS if form in HIDDEN else (None,):
                of_bias = covariance + np.outer(mean, mean)
                yield form, epsilon, worth(crowd, new, bias(new)[0], of_bias, size, world, epsilon)


def _gain(form: str, got: Worth) -> list[str]:
    return [
        *(form, f"{got.size:,}", f"{got.error:.3f}", f"{got.least:.3f}", f"{got.width:.3f}"),
        *(f"{100 * each.min():.0f} to {100 * each.max():.0f} %" for each in (got.covered, got.allowed)),
    ]


def _by_level(form: str, got: Worth) -> list[str]:
    cells = zip(got.said / got.before, got.real / got.before, got.prior, got.covered, strict=True)
    return [form, f"{got.size:,}", *(f"{s:.2f} / {r:.2f}; {p:.2f}, {100 * c:.0f} %" for s, r, p, c in cells)]


def _spread_line(tells: Side) -> str:
    found = spreads(tells)
    pit, piece = np.sqrt(found.factors)
    less, more = np.exp(0.5 * found.log_sd)
    true = tells.own / np.array([house.levels.own[pooledworth.AT] for house in tells.houses])
    of_pit, of_piece = (float(np.sqrt(np.nanmean(part**2))) for part in (true[:, :3], true[:, 3:]))
    return (
        "Own spreads over the catalog's, by the messages of the telling half (six levels together): "
        f"pits {pit:.2f} (give or take a factor {less:.2f}; true {of_pit:.2f}), "
        f"pieces {piece:.2f} ({more:.2f}; true {of_piece:.2f})."
    )


def text_of(found: dict[str, list[Telling]], seed: int, cooks: int, members: int) -> str:
    """The part of the page."""
    parts = [f"Made by\n\n```\npython -m validation.twins.pooled --cooks {cooks} --write\n```\n"]
    parts.append(f"Seed {seed}, {members} members, {HOUSES} houses a universe, replicates {pooledworth.REPLICATES}.\n")
    for world, houses in found.items():
        silent = sum(house.value.size == 0 for house in houses)
        parts.append(
            f"**{world}**, {len(houses)} cooks, {silent} of which told nothing of which a line is worth keeping.\n"
        )
        head = [
            "level",
            "own spread, true over catalog's",
            "variance that one cook takes off",
            "mean z",
            "mean z²",
            "inside 90 %",
        ]
        parts += table(head, list(of_one_cook(houses)))
        head = ["universe and kind", "pit's own", "piece's own", "no unknown"]
        parts.append("Variance of the logarithm of the time to ready at put-on, by whose it is:\n")
        parts += table(head, [of_window(houses)])
        parts.append("True times to done against put-on's middle, and against it with its universe's middles known:\n")
        parts += table(["off", "off, known", "holds", "holds, known"], [of_times(houses)])
        parts.append(_spread_line(sides(houses, "six levels together")[0]) + "\n")
        all_worths = list(worths(world, houses))
        plain = [(form, got) for form, epsilon, got in all_worths if epsilon is None]
        head = ["sent", "cooks", "error", "least", "window", "holds", "holds, allowed"]
        parts += table(head, [_gain(form, got) for form, got in plain])
        parts.append(
            "Level by level (middle as pooling has it / as it was off; prior of a new house, inside its 90 %):\n"
        )
        parts += table(["sent", "cooks", *LEVELS], [_by_level(form, got) for form, got in plain])
        parts.append("The same sums with noise that hides one cook, error of the time to ready over today's:\n")
        head = ["sent", "cooks", *("no noise" if e is None else f"ε = {e:g}" for e in EPSILONS)]
        parts += table(head, list(_by_noise(all_worths)))
    parts.append(
        "What a reader of one message knows of its house, spread over that of not reading it (all middles known):\n"
    )
    rows = []
    for form in FORMS:
        if form in ("all lines", "how long it took"):
            tells, _ = sides(found[WORLDS[0]], form)
            rows.append([form, *(f"{guessed(tells, name):.2f}" for name in ("offset", "scale", "gelatin"))])
    parts += table(["sent", "its pit's offset", "its piece's scale", "its piece's gelatin"], rows)
    head = ["sent", "numbers, beside the keys of pit, cut and wrap"]
    parts += table(head, [[form, SENT[form]] for form in FORMS])
    return "\n".join(parts)


def _by_noise(found: Sequence[tuple[str, float | None, Worth]]) -> Iterator[list[str]]:
    for form in HIDDEN:
        for size in SIZES:
            mine = {epsilon: got for of, epsilon, got in found if of == form and got.size == size}
            yield [form, f"{size:,}", *(f"{mine[epsilon].error:.3f}" for epsilon in EPSILONS)]


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.twins.pooled", description=__doc__)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--cooks", type=int, default=COOKS, help="run in each world")
    parser.add_argument("--members", type=int, default=MEMBERS)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=FOLDER)
    parser.add_argument("--write", action="store_true", help="put the tables into validation/README.md")
    given = parser.parse_args()
    text = text_of(told(given), given.seed, given.cooks, given.members)
    print(text)
    if given.write:
        put(text, BEGIN, END, README)


if __name__ == "__main__":
    main()
