"""``python -m validation.feel``: how long before the probe slides in each word of the feel comes, in minutes.

A word of a scale is a level of the model; a cook means minutes by it. Here each word's level is turned into the time
that is left from there until the probe slides in, for suppers as the trade cooks them. Practice has "some drag" on a
rack 20 to 40 min before, and twice to three times as long on a butt or a brisket (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

import numpy as np

from pitreckon.cook import Cook, ItemPlan, PitPlan, StagePlan, Until
from pitreckon.cook.looks import LOOK_KINDS
from pitreckon.reckon.forecast import reckon_runs
from validation.marked import put

README = Path(__file__).with_name("README.md")
BEGIN, END = "<!-- made by python -m validation.feel: begin -->", "<!-- end of feel -->"
START: Final = datetime(2026, 10, 10, 12, 0, tzinfo=UTC)
MEMBERS: Final = 128
DONE: Final = LOOK_KINDS["probe feel"].scale["slides in"]
WORDS: Final = {word: level for word, level in LOOK_KINDS["probe feel"].scale.items() if 0.0 < level < DONE}


@dataclass(frozen=True)
class Supper:
    """A piece on a pellet cooker, in the smoke to a core temperature, then wrapped until the probe slides in.

    wrap: None: bare to the end; practice_min: minutes from "some drag" to "slides in" as the trade has them
    """

    name: str
    cut: str
    mass_kg: float
    set_c: float
    wrap: str | None
    core_c: float = 71.0
    practice_min: tuple[float, float] = (40.0, 120.0)


SUPPERS: Final = (
    Supper("racks at 275 °F, in foil", "st-louis-ribs", 1.2, 135.0, "foil", practice_min=(20.0, 40.0)),
    Supper("racks at 250 °F, in foil", "st-louis-ribs", 1.2, 121.0, "foil", practice_min=(20.0, 40.0)),
    Supper("racks at 275 °F, bare", "st-louis-ribs", 1.2, 135.0, None, practice_min=(20.0, 60.0)),
    Supper("butt at 250 °F, in foil", "pork-butt", 3.6, 121.0, "foil", 74.0),
    Supper("brisket at 250 °F, in paper", "brisket-whole", 6.0, 121.0, "paper", 74.0),
)


@dataclass(frozen=True)
class Row:
    """left_min: of each of ``WORDS`` the minutes that are left: 10, 50 and 90 % of the members."""

    supper: Supper
    whole_h: float
    left_min: dict[str, tuple[float, float, float]]

    @property
    def hit(self) -> bool:
        """Whether the middle of "some drag" lies where the trade has it."""
        low, high = self.supper.practice_min
        return low <= self.left_min["some drag"][1] <= high


def row_of(supper: Supper, members: int = MEMBERS, seed: int = 1) -> Row:
    """One supper, reckoned."""
    until = Until("tender")
    stages = (StagePlan("open", until),)
    if supper.wrap:
        stages = (StagePlan("open", Until("core", supper.core_c)), StagePlan("wrapped", until, wrap=supper.wrap))
    item = ItemPlan(supper.name, supper.cut, 1, supper.mass_kg, "pit", START, stages=stages)
    cook = Cook(
        name="feel",
        zone="America/Chicago",
        serve_utc=START + timedelta(hours=30),
        altitude_m=0.0,
        weather_air_c=15.0,
        weather_rh=0.5,
        pits=(PitPlan("pit", "pellet-cooker", supper.set_c),),
        items=(item,),
    )
    (run,) = reckon_runs(cook, members=members, seed=seed)[1]
    felt = np.maximum.accumulate(run.trace["gelatin_core"] / run.draw.members["tender_at"], axis=0)
    minutes = run.trace.time_s / 60.0

    def at(level: float) -> np.ndarray:
        return np.array([np.interp(level, one[np.isfinite(one)], minutes[np.isfinite(one)]) for one in felt.T])

    done = at(DONE)
    left = {}
    for word, level in WORDS.items():
        low, middle, high = np.percentile(done - at(level), [10, 50, 90])
        left[word] = (float(low), float(middle), float(high))
    return Row(supper, float(np.median(done)) / 60.0, left)


def text_of(rows: list[Row]) -> str:
    """The table."""
    lines = [
        f"`python -m validation.feel`: {MEMBERS} members, seed 1, a pellet cooker; minutes from the middle of a word",
        'to "slides in": half of the pieces, in brackets eight in ten. Practice is common practice, no source.',
        "",
        "| supper | tender after, h | " + " | ".join(WORDS) + ' | "some drag" in practice | |',
        "|---|---|" + "---|" * (len(WORDS) + 2),
    ]
    for row in rows:
        words = " | ".join(f"{mid:.0f} ({low:.0f}-{high:.0f})" for low, mid, high in row.left_min.values())
        low, high = row.supper.practice_min
        practice = f"{low:.0f}-{high:.0f} | {'hit' if row.hit else 'miss'}"
        lines.append(f"| {row.supper.name} | {row.whole_h:.1f} | {words} | {practice} |")
    return "\n".join(lines)


def main() -> None:
    """Reckon all of them, show the table and put it into ``validation/README.md``."""
    made = text_of([row_of(supper) for supper in SUPPERS])
    print(made)
    put(f"{made}\n", BEGIN, END, README)


if __name__ == "__main__":
    main()
