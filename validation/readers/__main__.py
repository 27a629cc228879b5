"""``python -m validation.readers``: how many twin readers succeed with a card, beside what the tool says."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from functools import partial

from rich.console import Console

from pitreckon.lessons.card.card import READERS
from pitreckon.lessons.card.cooked import Cooked, cook_all
from pitreckon.lessons.card.readers import deal
from pitreckon.lessons.marks import Marks
from pitreckon.work.spread import spread
from validation.marked import put
from validation.readers.cards import HERE, Written, one, written
from validation.twins.page import table

RESULT = HERE.parent / "results" / "readers.json"
README = HERE.parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.readers: begin -->", "<!-- end of readers -->"
TWINS, ALLOWED = 600, 0.05


A_TASK = 20
"""Twin readers of a task: a second or two."""


def _some(cards: Sequence[Written], twins: int, task: tuple[int, int]) -> Cooked:
    """Some twin readers of a card. task: the card, and the first of them"""
    card, first = task
    return Cooked.joined([one((cards[card], i)) for i in range(first, min(first + A_TASK, twins))])


def measured(
    cards: Sequence[Written], twins: int, console: Console, workers: int | None = None, on: str | None = None
) -> list[dict[str, object]]:
    """Shares of the tool's readers and of the twins, card by card. workers, on: as ``work.spread`` has them"""
    tasks = [(card, first) for card in range(len(cards)) for first in range(0, twins, A_TASK)]
    parts = dict(spread(partial(_some, cards, twins), tasks, on=on, workers=workers))
    rows: list[dict[str, object]] = []
    for n, card in enumerate(cards):
        said = cook_all(card.piece, card.script, deal(READERS, 1))
        true = Cooked.joined([parts[task] for task in tasks if task[0] == n])
        share, truth = float(said.right(card.marks).mean()), float(true.right(card.marks).mean())
        row: dict[str, object] = {"item": card.item, "card": card.what, "readers": READERS, "twins": twins}
        row |= {
            "said": round(share, 4),
            "true": round(truth, 4),
            "error": round((truth * (1 - truth) / twins) ** 0.5, 4),
        }
        row["said_faults"] = _shares(said, card.marks)
        row["true_faults"] = _shares(true, card.marks)
        rows.append(row)
        console.print(f"{card.item} {card.what}: said {share:.1%}, twins {truth:.1%}")
    return rows


def _shares(cooked: Cooked, marks: Marks) -> dict[str, float]:
    return {word: round(float(which.mean()), 4) for word, which in cooked.faults(marks).items()}


def text_of(rows: Sequence[dict[str, object]]) -> str:
    """The generated part of the page."""
    body = []
    for row in rows:
        said, true, error = float(row["said"]), float(row["true"]), float(row["error"])  # type: ignore[arg-type]
        hit = "hit" if abs(said - true) <= ALLOWED else "miss"
        cells = [
            f"{100 * said:.1f} %",
            f"{100 * true:.1f} %",
            f"± {100 * error:.1f}",
            f"{100 * (said - true):+.1f}",
            hit,
        ]
        body.append(
            [str(row["item"]), str(row["card"]), *cells, _worst(row["said_faults"]), _worst(row["true_faults"])]
        )
    head = [
        "item",
        "card",
        "said",
        "twins",
        "error",
        "said − twins",
        "",
        "what goes wrong, said",
        "what goes wrong, twins",
    ]
    lines = list(table(head, body))
    return "\n".join([f"{rows[0]['readers']} readers of the tool, {rows[0]['twins']} twin readers a card.", "", *lines])


def _worst(faults: object) -> str:
    assert isinstance(faults, dict)
    most = sorted(faults.items(), key=lambda each: -each[1])[:3]
    return ", ".join(f"{word} {100 * share:.0f} %" for word, share in most if share >= 0.005) or "nothing"


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.readers", description=__doc__)
    parser.add_argument("--twins", type=int, default=TWINS)
    parser.add_argument("--workers", type=int, default=None)
    parser.add_argument("--on", default=None, help="address of a Dask cluster, instead of this machine's processes")
    parser.add_argument("--write", action="store_true", help="keep the result, and put the table into the README")
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    rows = measured(written(), given.twins, console, given.workers, given.on)
    console.print(text_of(rows))
    if given.write:
        RESULT.write_text(json.dumps(rows, indent=1) + "\n", "utf-8")
        put(text_of(rows), BEGIN, END, README)


if __name__ == "__main__":
    main()
