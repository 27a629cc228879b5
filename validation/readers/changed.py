"""``python -m validation.readers.changed``: does the card that was written anew do better with fresh readers?

Forty of the first readers of a population answer; the card is changed; then readers of the same population who answered
nothing follow both cards. The same people with the same pits and meat, so that two cards differ by the cards alone.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np
from rich.console import Console

from pitreckon.arrays import Bools
from pitreckon.lessons.answers.again import write_again
from pitreckon.lessons.answers.averaging import Range
from pitreckon.lessons.answers.kept import KeptCard, coded
from pitreckon.lessons.answers.learn import cook_for, learn, usual_of
from pitreckon.lessons.card.card import READERS
from pitreckon.lessons.card.cooked import cook_all
from pitreckon.lessons.card.readers import deal
from pitreckon.lessons.card.script import Script
from pitreckon.work.pools import processes
from validation.marked import put
from validation.readers.answering import Answered, answered
from validation.readers.answers import ANSWERS, ASKED, EACH
from validation.readers.cards import HERE, Written, grate_c_of
from validation.readers.population import Population
from validation.readers.trials import SEEDS, Trial, looked_lines, trials
from validation.twins.page import table

RESULT: Final = HERE.parent / "results" / "changed.json"
README: Final = HERE.parent / "README.md"
BEGIN: Final = "<!-- made by python -m validation.readers.changed: begin -->"
END: Final = "<!-- end of changed -->"
TRIED: Final = (0, 1, 3)
"""Populations whose cards are written anew."""
FRESH, TIMED = 100, 15
"""Readers who answered nothing and follow both cards, and how many of them show when a line is really there."""
WITHIN: Final = 0.8
"""A card's times hold eight readers in ten."""


@dataclass(frozen=True)
class Followed:
    """A card as fresh readers found it. right: says the reader; times: of their lines within the card's, by line"""

    right: Bools
    times: float


def changed(trial: Trial, seed: int = 1) -> tuple[KeptCard, Range, str, int]:
    """The card written anew from forty answers, what was promised of the old one, the words of its change, its line."""
    card = trial.card
    asked = [each.answer for each in trial.answered[:ASKED]]
    rng = np.random.default_rng([trial.of.seed, trial.of.number, 41])
    answers = [asked[n] for n in rng.choice(len(asked), ANSWERS, replace=False)]
    promised = float(cook_all(card.piece, card.script, deal(READERS, 1)).right(card.marks).mean())
    kept = KeptCard("", card.item, card.piece, card.script, card.marks, grate_c_of(card.item), promised, READERS)
    kept = coded(kept, "QQQQ")
    usual = usual_of(card.piece, card.script, card.marks, seed)
    cooks = cook_for(answers, card.piece, card.script, card.marks, seed, each=EACH)
    learned = learn(cooks, usual, seed)
    again = write_again(kept, cooks, usual, learned, seed)
    words = "its times alone" if again.change is None else again.change.words
    return again.card, learned.share, words, 0 if again.change is None else again.change.line


def followed(of: Population, card: Written, plates: Sequence[Answered], who: Sequence[int], pool: Executor) -> Followed:
    """A card by its plates; some of its readers cook once more, every line ended when it is really there."""
    lines = looked_lines(card.script)
    timed = list(pool.map(answered, [(of, i, card, lines) for i in who[:TIMED]], chunksize=4))
    return Followed(np.array([not each.answer.came_out for each in plates]), _within(card.script, lines, timed))


def _within(script: Script, lines: Sequence[int], plates: Sequence[Answered]) -> float:
    """Share of the lines that are there between the card's times. They go by looks: of the others no time is told."""
    found = []
    for n in lines:
        line = script.lines[n]
        if line.by_clock:
            continue
        took = np.array([each.cooked.line_s[n, 0] for each in plates])
        found.append(np.mean((took >= line.from_s) & (took <= line.to_s)))
    return float(np.mean(found)) if found else float("nan")


def score(trial: Trial, pool: Executor) -> dict[str, object]:
    """What both cards come to. Shares [-]."""
    new, share, words, line = changed(trial)
    first = trial.card
    second = replace(first, what="changed", script=new.script)
    many = len(trial.answered)
    who = range(many - FRESH, many)
    anew = list(pool.map(answered, [(trial.of, i, second, ()) for i in who], chunksize=5))
    before = followed(trial.of, first, trial.answered[-FRESH:], who, pool)
    after = followed(trial.of, second, anew, who, pool)
    gain = after.right.astype(float) - before.right
    error = float(np.std(gain, ddof=1) / np.sqrt(gain.size))
    wide = [_hours(script) for script in (first.script, second.script)]
    return {
        "card": trial.what,
        "fresh": FRESH,
        "promised": round(share.middle, 4),
        "low": round(share.low, 4),
        "high": round(share.high, 4),
        "first": round(float(before.right.mean()), 4),
        "change": words,
        "line": line,
        "promised_anew": round(new.promised, 4),
        "then": round(float(after.right.mean()), 4),
        "gain": round(float(gain.mean()), 4),
        "error": round(error, 4),
        "times": round(before.times, 4),
        "times_then": round(after.times, 4),
        "wide_h": round(wide[0], 3),
        "wide_then_h": round(wide[1], 3),
    }


def _hours(script: Script) -> float:
    """How wide the times of its looked-at lines are on average [h]."""
    spans = [line.to_s - line.from_s for line in script.lines if line.on_pit and line.look and not line.by_clock]
    return float(np.mean(spans)) / 3600.0 if spans else float("nan")


def text_of(rows: Sequence[dict[str, object]]) -> str:
    """The generated part of the page."""

    def percent(value: object, sign: str = "") -> str:
        number = float(value)  # type: ignore[arg-type]
        return "" if np.isnan(number) else f"{100.0 * number:{sign}.1f} %"

    def hours(value: object) -> str:
        number = float(value)  # type: ignore[arg-type]
        return "" if np.isnan(number) else f"{number:.2f} h"

    head = [
        *("card", "said of the first", "first", "change", "said of the changed", "changed", "gain", "± error"),
        *("times hold, first", "changed", "wide, first", "changed"),
    ]
    body = []
    for row in rows:
        said = f"{percent(row['promised'])} ({100 * float(row['low']):.0f}–{100 * float(row['high']):.0f})"  # type: ignore[arg-type]
        cells = [said, percent(row["first"]), str(row["change"]), percent(row["promised_anew"]), percent(row["then"])]
        cells += [percent(row["gain"], "+"), percent(row["error"]), percent(row["times"]), percent(row["times_then"])]
        body.append([str(row["card"]), *cells, hours(row["wide_h"]), hours(row["wide_then_h"])])
    first, then = (float(np.mean([row[key] for row in rows])) for key in ("first", "then"))  # type: ignore[misc]
    better = sum(float(row["gain"]) > 0.0 for row in rows)  # type: ignore[arg-type]
    times, after = (float(np.nanmean([row[key] for row in rows])) for key in ("times", "times_then"))  # type: ignore[misc]
    off = float(np.mean([abs(row["promised_anew"] - row["then"]) for row in rows]))  # type: ignore[operator]
    whole = (
        f"{rows[0]['fresh']} readers a card who answered nothing, {ANSWERS} answers. The right plates go from "
        f"{100 * first:.1f} to {100 * then:.1f} in a hundred, with {better} of {len(rows)} cards more than before; "
        f"what is said of the changed card is off by {100 * off:.1f} points in the mean. A line is really there "
        f"between the card's times in {100 * times:.0f} % with the first card and {100 * after:.0f} % with the changed "
        f"one (wanted: {100 * WITHIN:.0f})."
    )
    return "\n".join([*table(head, body), "", whole])


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.readers.changed", description=__doc__)
    parser.add_argument("--stream", choices=tuple(SEEDS), default="once")
    parser.add_argument("--kept", type=Path, default=Path(tempfile.gettempdir()) / "pitreckon-trials")
    parser.add_argument("--write", action="store_true", help="keep the result, and put the table into the README")
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    rows = []
    with processes() as pool:
        whole = trials(given.stream, given.kept, pool)
        for number in TRIED:
            file = given.kept / f"{given.stream}-{number}.changed.json"
            if not file.exists():
                file.write_text(json.dumps(score(whole[number], pool)), "utf-8")
            rows.append(json.loads(file.read_text("utf-8")))
            console.print(rows[-1])
    console.print(text_of(rows))
    if given.write:
        RESULT.write_text(json.dumps(rows, indent=1) + "\n", "utf-8")
        put(f"{text_of(rows)}\n", BEGIN, END, README)


if __name__ == "__main__":
    main()
