"""``python -m validation.photos``: what simulated cameras and made-up readers say of colours measured in photos."""

from __future__ import annotations

import argparse
import json
import warnings
from collections import Counter
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from rich.console import Console

from validation.marked import put
from validation.photos.readers import TEST, scores
from validation.photos.study import (
    UNREADABLE,
    Read,
    chart_read,
    meat_read,
    refused,
    unreadable_read,
    within_half,
)
from validation.twins.page import table

RESULT = Path(__file__).parents[1] / "results" / "photos.json"
README = Path(__file__).parents[1] / "README.md"
BEGIN, END = "<!-- made by python -m validation.photos: begin -->", "<!-- end of photos -->"
CUT = "test four"
"""Three dealings before it were looked at once each (``validation/README.md`` says what came of it)."""


def _read(what: str, reads: Iterable[Read]) -> dict[str, Any]:
    every = list(reads)
    read = [each for each in every if not each.why]
    row: dict[str, Any] = {"what": what, "pictures": len(every), "refused": round(refused(every), 4)}
    row["reasons"] = dict(Counter(each.why for each in every if each.why).most_common(3))
    if read:
        off = np.array([each.off for each in read])
        row |= {"within_half": round(within_half(every), 4), "p95": round(float(np.quantile(np.abs(off), 0.95)), 3)}
        row |= {"mean_sd": round(float(np.mean([each.sd for each in read])), 3)}
        z = np.array([each.z for each in read])
        if np.isfinite(z).all():
            row["inside_2_sd"] = round(float((np.abs(z) <= 2.0).mean()), 4)
    return row


def measured(console: Console, each: int, meat: int, unreadable: int, readers: int) -> dict[str, Any]:
    """All of it. each: cameras of a light and exposure at the chart; meat, unreadable: pictures (of a kind)"""
    rows = []
    chart = list(chart_read(CUT, each))
    kinds = {"chart, colours that meat takes": "meat", "chart, colours that it does not": "not meat"}
    rows += [_read(what, [r for r in chart if r.kind.startswith(f"{kind}:")]) for what, kind in kinds.items()]
    rows.append(_read("meat in a scene", meat_read(CUT, meat)))
    console.print_json(json.dumps(rows))
    bad: list[Read] = []
    for kind in UNREADABLE:
        made = list(unreadable_read(CUT, kind, unreadable))
        bad += made
        rows.append(_read(kind, made))
    rows.append(_read("all that cannot be read", bad))
    groups = {name: asdict(found) for name, found in scores(TEST, readers, 606).items()}
    return {"rows": rows, "readers": groups}


def text_of(found: dict[str, Any]) -> str:
    """The generated part of the page."""
    head = ["pictures", "of", "read within half a swatch", "95 % within [swatches]", "true step within 2 sd", "refused"]
    body = []
    for row in found["rows"]:
        share = "" if "within_half" not in row else f"{100 * row['within_half']:.1f} %"
        inside = "" if "inside_2_sd" not in row else f"{100 * row['inside_2_sd']:.1f} %"
        p95 = "" if "p95" not in row else f"{row['p95']:.2f}"
        body.append([row["what"], str(row["pictures"]), share, p95, inside, f"{100 * row['refused']:.1f} %"])
    lines = list(table(head, body))
    head = [
        "readers",
        "of",
        "log odds of the true cause",
        "first",
        "among two",
        "causes in play",
        "odds over ½ came true",
    ]
    body = []
    for name, row in found["readers"].items():
        gain = row["log"][1] - row["log"][0]
        body.append(
            [
                name,
                str(row["readers"]),
                f"{row['log'][0]:.2f} → {row['log'][1]:.2f} ({gain:+.3f} ± {row['error']:.3f})",
                _both(row["first"]),
                _both(row["two"]),
                f"{row['spread'][0]:.1f} → {row['spread'][1]:.1f}",
                _said(row, 0) + " → " + _said(row, 1),
            ]
        )
    return "\n".join([*lines, "", "Without the photo → with it:", "", *table(head, body)])


def _said(row: dict[str, Any], which: int) -> str:
    return f"{100 * row['said'][which]:.0f} % said, {100 * row['true'][which]:.0f} % true"


def _both(pair: list[float]) -> str:
    return f"{100 * pair[0]:.0f} → {100 * pair[1]:.0f} %"


def main() -> None:
    """Parse, run, show."""
    parser = argparse.ArgumentParser(prog="python -m validation.photos", description=__doc__)
    parser.add_argument("--each", type=int, default=3)
    parser.add_argument("--meat", type=int, default=240)
    parser.add_argument("--unreadable", type=int, default=40)
    parser.add_argument("--readers", type=int, default=60)
    parser.add_argument("--write", action="store_true", help="keep the result, and put the table into the README")
    given = parser.parse_args()
    warnings.simplefilter("ignore")  # colour-science tells of parts that are not installed
    console = Console(soft_wrap=True, markup=False)
    found = measured(console, given.each, given.meat, given.unreadable, given.readers)
    console.print(text_of(found))
    if given.write:
        RESULT.write_text(json.dumps(found, indent=1) + "\n", "utf-8")
        put(text_of(found), BEGIN, END, README)


if __name__ == "__main__":
    main()
