"""``python -m validation.readers.answers``: what forty answers of twin readers teach a card, and what all say."""

from __future__ import annotations

import argparse
import json
import pickle
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np
from rich.console import Console

from pitreckon.lessons.answers.learn import Cooks, Usual, cook_for, learn, usual_of
from pitreckon.lessons.answers.outcome import weak_of
from pitreckon.lessons.card.card import READERS
from pitreckon.lessons.card.cooked import cook_all
from pitreckon.lessons.card.readers import deal
from pitreckon.work.pools import processes
from validation.marked import put
from validation.readers.cards import HERE
from validation.readers.trials import SEEDS, Trial, trials
from validation.twins.page import table

RESULT: Final = HERE.parent / "results" / "answers.json"
README: Final = HERE.parent / "README.md"
BEGIN: Final = "<!-- made by python -m validation.readers.answers: begin -->"
END: Final = "<!-- end of answers -->"
ASKED, ANSWERS, DRAWS = 200, 40, 20
"""So many readers of a card may answer, so many do, and so often they are drawn anew."""
EACH: Final = 48
"""Members an answer: as many as of 170 answers that are taken in at once; of forty there are three times as many."""
CLEAR: Final = 0.03
"""A line is the weak one if it costs so much more than the next."""


def score(trial: Trial, cooks: Cooks, usual: Usual, draws: int = DRAWS) -> dict[str, object]:
    """Draw forty answers again and again. Shares [-]."""
    card = trial.card
    promised = float(cook_all(card.piece, card.script, deal(READERS, 1)).right(card.marks).mean())
    rng = np.random.default_rng([trial.of.seed, trial.of.number, 40])
    learnt, counted, found, held, belief = [], [], [], [], []
    for draw in range(draws):
        which = rng.choice(cooks.told.said_right.size, ANSWERS, replace=False)
        got = learn(cooks.some(which), usual, draw)
        learnt.append(got.share.middle - trial.true)
        counted.append(got.got.middle - trial.true)
        belief.append(got.belief)
        held.append(got.share.low <= trial.true <= got.share.high)
        found.append(weak_of(got) == trial.weak)
    off, raw = np.abs(learnt), np.abs(counted)
    first = sorted(trial.gains.values(), reverse=True)
    return {
        "card": trial.what,
        "twins": len(trial.answered),
        "promised": round(promised, 4),
        "true": round(trial.true, 4),
        "by_marks": round(trial.by_marks, 4),
        "off": round(float(off.mean()), 4),
        "middle_off": round(float(np.median(off)), 4),
        "within_4": round(float(np.mean(off <= 0.04)), 4),
        "bias": round(float(np.mean(learnt)), 4),
        "count_off": round(float(raw.mean()), 4),
        "held": round(float(np.mean(held)), 4),
        "belief": round(float(np.mean(belief)), 4),
        "gains": {f"line {n + 1}": round(gain, 4) for n, gain in trial.gains.items()},
        "weak": None if trial.weak is None else f"line {trial.weak + 1}",
        "clear": len(first) > 1 and first[0] - first[1] >= CLEAR,
        "found": round(float(np.mean(found)), 4) if len(first) > 1 else None,
    }


def prepared(stream: str, trial: Trial, kept: Path) -> tuple[Cooks, Usual]:
    """The members of all who may answer, as they were kept, else run."""
    file = kept / f"{stream}-{trial.of.number}.members.pickle"
    if not file.exists():
        card = trial.card
        asked = [each.answer for each in trial.answered[:ASKED]]
        cooks = cook_for(asked, card.piece, card.script, card.marks, 1, each=EACH)
        file.write_bytes(pickle.dumps((cooks, usual_of(card.piece, card.script, card.marks, 1))))
    found: tuple[Cooks, Usual] = pickle.loads(file.read_bytes())
    return found


def text_of(rows: Sequence[dict[str, object]]) -> str:
    """The generated part of the page."""

    def percent(value: object) -> str:
        return "" if value is None else f"{100.0 * float(value):.1f} %"  # type: ignore[arg-type]

    head = [
        *("card", "twins", "promised", "true", "off after 40", "half within", "within 4", "bias", "count alone off"),
        *("range holds", "levels believed", "what lines cost", "weak line", "found"),
    ]
    body = []
    for row in rows:
        costs = ", ".join(f"{line} {100 * gain:.0f} %" for line, gain in row["gains"].items())  # type: ignore[attr-defined]
        keys = ("promised", "true", "off", "middle_off", "within_4", "bias", "count_off", "held", "belief")
        cells = [percent(row[key]) for key in keys]
        body.append([str(row["card"]), str(row["twins"]), *cells, costs, str(row["weak"] or ""), percent(row["found"])])
    off = float(np.mean([row["off"] for row in rows]))  # type: ignore[misc]
    count = float(np.mean([row["count_off"] for row in rows]))  # type: ignore[misc]
    promise = float(np.mean([abs(row["promised"] - row["true"]) for row in rows]))  # type: ignore[operator]
    clear = [row for row in rows if row["clear"]]
    found = float(np.mean([row["found"] for row in clear]))  # type: ignore[misc]
    by_truth: dict[str, list[float]] = {}
    for row in clear:
        by_truth.setdefault(str(row["weak"]), []).append(float(row["found"]))  # type: ignore[arg-type]
    each = ", ".join(f"{100 * np.mean(by_truth[line]):.0f} % where it is {line}" for line in sorted(by_truth))
    always = max(len(cards) for cards in by_truth.values()) / len(clear)
    twins = sum(int(row["twins"]) for row in rows)  # type: ignore[call-overload]
    whole = (
        f"{twins} twin readers, {DRAWS} drawings of {ANSWERS} answers a card. The promised share is off by "
        f"{100 * off:.1f} points in the mean after {ANSWERS} answers (wanted: 4), by {100 * promise:.1f} before any, "
        f"and a count of the same answers is by {100 * count:.1f}. The weak line is found in "
        f"{100 * found:.0f} % (wanted: 90), of cards on which one line costs {100 * CLEAR:.0f} points more than the "
        f"next: {each}. To name the same line of every card would find {100 * always:.0f} %."
    )
    return "\n".join([*table(head, body), "", whole])


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.readers.answers", description=__doc__)
    parser.add_argument("--stream", choices=tuple(SEEDS), default="once")
    parser.add_argument("--kept", type=Path, default=Path(tempfile.gettempdir()) / "pitreckon-trials")
    parser.add_argument("--write", action="store_true", help="keep the result, and put the table into the README")
    given = parser.parse_args()
    console = Console(soft_wrap=True)
    with processes() as pool:
        all_trials = trials(given.stream, given.kept, pool)
    rows = []
    for trial in all_trials:
        rows.append(score(trial, *prepared(given.stream, trial, given.kept)))
        console.print(rows[-1])
    console.print(text_of(rows))
    if given.write:
        RESULT.write_text(json.dumps(rows, indent=1) + "\n", "utf-8")
        put(f"{text_of(rows)}\n", BEGIN, END, README)


if __name__ == "__main__":
    main()
