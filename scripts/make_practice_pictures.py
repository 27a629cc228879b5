"""Draws the pictures of practice: ``docs/pictures/practice/*.png`` and the page ``docs/practice.md`` that shows them.

Core against time for twelve standard cooks, as an earlier kernel had them (``validation/results/practice/before.csv``)
and as today's has, with the trade's ranges for nine cooks in ten on them. Run, after the model has changed,

    .venv/bin/python scripts/make_practice_pictures.py

``--with FOLDER`` draws with the constants of a calibration that is not in the catalog yet; ``--keep-before`` writes
today's curves as those "before", which is done once, before a change of laws. Needs matplotlib, a developer's tool.
"""

from __future__ import annotations

import argparse
import csv
import sys
import tomllib
from dataclasses import dataclass
from math import isfinite
from pathlib import Path

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

ROOT = Path(__file__).parents[1]
sys.path.insert(0, str(ROOT))

from validation.practice import adapter, table  # noqa: E402
from validation.practice.measure import event_s  # noqa: E402
from validation.practice.table import Row  # noqa: E402

BEFORE = ROOT / "validation" / "results" / "practice" / "before.csv"
PICTURES = ROOT / "docs" / "pictures" / "practice"
PAGE = ROOT / "docs" / "practice.md"
THIN_H, THIN_EVERY_S, EVERY_S = 10.0, 240.0, 900.0
"""Thin pieces, run for no longer than that, are drawn by closer points."""

INK, PALE, NOW, THEN, TRADE = "#26221f", "#d9d5d0", "#a8321a", "#8c8781", "#1d5c87"
HALO = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0}


@dataclass(frozen=True)
class Panel:
    """One cook: its set-up, a title, the rows whose ranges are marked, and whether its stall's place is shaded."""

    setup: str
    title: str
    rows: tuple[str, ...]
    stall: str = ""


@dataclass(frozen=True)
class Sheet:
    """Three cooks of one meat, side by side."""

    key: str
    title: str
    hours: float
    panels: tuple[Panel, ...]


SHEETS = (
    Sheet(
        "butt",
        "Boston butt, 8 lb, pellet cooker at 250 °F",
        18.0,
        (
            Panel("butt250", "bare", ("butt250.165", "butt250.203"), "butt250.where"),
            Panel("butt250foil", "in foil from 165 °F", ("butt250.165", "butt250foil.203")),
            Panel("butt250paper", "in paper from 165 °F", ("butt250.165", "butt250paper.203")),
        ),
    ),
    Sheet(
        "brisket",
        "Whole brisket, 13 lb, pellet cooker at 250 °F",
        18.0,
        (
            Panel("brisket250", "bare", ("brisket250.165", "brisket250.203"), "brisket250.where"),
            Panel("brisket250foil", "in foil from 165 °F", ("brisket250.165", "brisket250foil.tender")),
            Panel("brisket250paper", "in paper from 165 °F", ("brisket250.165", "brisket250paper.tender")),
        ),
    ),
    Sheet(
        "racks",
        "St. Louis racks, 2.7 lb, pellet cooker",
        8.0,
        (
            Panel("rack275", "275 °F, bare", ("rack275.tender",)),
            Panel("rack275foil", "275 °F, in foil once coloured, then a glaze", ("rack275foil.all",)),
            Panel("rack225foil", "225 °F, 3 h bare, then in foil", ("rack225foil.foil",)),
        ),
    ),
    Sheet(
        "birds",
        "Birds, pellet cooker, bare",
        5.0,
        (
            Panel("half275", "chicken half at 275 °F", ("half275.165",)),
            Panel("thigh300", "chicken thigh at 300 °F", ("thigh300.175",)),
            Panel("tbreast275", "turkey breast, 6 lb, at 275 °F", ("tbreast275.165",)),
        ),
    ),
)


@dataclass(frozen=True)
class Line:
    """A core's way: hours, degrees F, and the hours at which things happened by name."""

    hour: np.ndarray
    core_f: np.ndarray
    marks: dict[str, float]


def cook(values: dict[str, float]) -> dict[str, Line]:
    """All twelve with the model as it is, or with other constants."""
    setups = [table.setups()[panel.setup] for sheet in SHEETS for panel in sheet.panels]
    with adapter.override(values):
        built = [adapter.build(setup) for setup in setups]
    lines = {}
    for setup, curve in zip(setups, adapter.run(built), strict=True):
        known = np.isfinite(curve.channels["core_c"])
        every_s = THIN_EVERY_S if setup.hours <= THIN_H or setup.cut.endswith("ribs") else EVERY_S
        hour = np.append(np.arange(0.0, curve.time_s[known][-1], every_s), curve.time_s[known][-1])
        core = 1.8 * np.interp(hour, curve.time_s[known], curve.channels["core_c"][known]) + 32.0
        names = ["tender", *(f"stage{n + 1}" for n in range(len(setup.course))), "203F"]
        marks = {name: event_s(curve, name) / 3600.0 for name in names}
        lines[setup.key] = Line(hour / 3600.0, core, {k: v for k, v in marks.items() if isfinite(v)})
    return lines


def keep(lines: dict[str, Line]) -> None:
    """Write curves as those before."""
    BEFORE.parent.mkdir(parents=True, exist_ok=True)
    with BEFORE.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["cook", "hour", "core_f", "mark"])
        for key, line in lines.items():
            writer.writerows([key, f"{h:.3f}", f"{f:.1f}", ""] for h, f in zip(line.hour, line.core_f, strict=True))
            writer.writerows([key, f"{h:.3f}", "", name] for name, h in line.marks.items())


def kept() -> dict[str, Line]:
    """The curves before."""
    points: dict[str, list[tuple[float, float]]] = {}
    marks: dict[str, dict[str, float]] = {}
    with BEFORE.open(encoding="utf-8", newline="") as handle:
        for cells in csv.DictReader(handle):
            if cells["mark"]:
                marks.setdefault(cells["cook"], {})[cells["mark"]] = float(cells["hour"])
            else:
                points.setdefault(cells["cook"], []).append((float(cells["hour"]), float(cells["core_f"])))
    return {
        key: Line(np.array([h for h, _ in line]), np.array([f for _, f in line]), marks.get(key, {}))
        for key, line in points.items()
    }


def draw(sheet: Sheet, before: dict[str, Line], now: dict[str, Line]) -> Figure:
    """A sheet of three panels."""
    mpl.rcParams.update({"font.size": 9.5, "axes.spines.top": False, "text.color": INK, "axes.labelcolor": INK})
    figure = Figure(figsize=(12.0, 4.6), layout="constrained", facecolor="white")
    figure.suptitle(sheet.title, x=0.012, ha="left", fontsize=13, fontweight="bold")
    axes = figure.subplots(1, len(sheet.panels), sharey=True)
    rows = {row.key: row for row in table.rows()}
    for n, (ax, panel) in enumerate(zip(axes, sheet.panels, strict=True)):
        _frame(ax, sheet, panel, first=n == 0, last=n + 1 == len(sheet.panels))
        if panel.stall:
            row = rows[panel.stall]
            ax.axhspan(row.low, row.high, color=TRADE, alpha=0.07, lw=0)
            ax.text(sheet.hours * 0.985, row.low + 3.0, "the trade's stall", color=TRADE, ha="right", fontsize=8.5)
        for key in panel.rows:
            _range(ax, sheet, rows[key], now[panel.setup])
        then, today = before.get(panel.setup), now[panel.setup]
        same = then is not None and _alike(then, today)
        if then is not None and not same:
            _line(ax, sheet, then, THEN, "before", above=False)
        _line(ax, sheet, today, NOW, "reckoned" if same or then is None else "now", above=True)
    return figure


def _alike(a: Line, b: Line) -> bool:
    return a.hour.size == b.hour.size and bool(np.max(np.abs(a.core_f - b.core_f)) < 0.5)


def _frame(ax: Axes, sheet: Sheet, panel: Panel, *, first: bool, last: bool) -> None:
    ax.set_title(panel.title, loc="left", fontsize=10.5)
    ax.set_xlim(0.0, sheet.hours)
    ax.set_ylim(30.0, 236.0)
    ax.set_yticks(range(50, 226, 25))
    ax.set_xticks(np.arange(0.0, sheet.hours + 0.01, 3.0 if sheet.hours > 12 else 1.0))
    ax.grid(axis="y", color=PALE, lw=0.6)
    ax.set_axisbelow(True)
    for side in ("left", "bottom", "right"):
        ax.spines[side].set_color(PALE)
    ax.tick_params(color=PALE, length=3)
    ax.set_xlabel("hours on the pit")
    if first:
        ax.set_ylabel("core, °F")
    right = ax.secondary_yaxis("right", functions=(lambda f: (f - 32.0) / 1.8, lambda c: 1.8 * c + 32.0))
    right.set_yticks(range(0, 101, 20))
    right.tick_params(color=PALE, length=3, labelright=last)
    right.spines["right"].set_color(PALE)
    if last:
        right.set_ylabel("core, °C")


def _range(ax: Axes, sheet: Sheet, row: Row, line: Line) -> None:
    """The trade's range of a time as a bar at the core that it is about."""
    word, *args = row.quantity.split()
    hours = {"h": 1.0, "min": 1.0 / 60.0}[row.unit]
    begin = line.marks.get("stage1", 0.0) if word == "stage_time" else 0.0
    low, high = begin + row.low * hours, begin + row.high * hours
    what = args[0] if args else ""
    at_f = float(what[:-1]) if what.endswith("F") else 223.0
    says = f"{what[:-1]} °F" if what.endswith("F") else "glazed" if what.startswith("stage") else "tender"
    ax.plot([low, high], [at_f, at_f], color=TRADE, lw=5, alpha=0.45, solid_capstyle="butt")
    for end in (low, high):
        ax.plot([end, end], [at_f - 3.5, at_f + 3.5], color=TRADE, lw=1.4)
    ax.text(low - 0.015 * sheet.hours, at_f, says, color=TRADE, ha="right", va="center", fontsize=8.5, bbox=HALO)


def _line(ax: Axes, sheet: Sheet, line: Line, colour: str, name: str, *, above: bool) -> None:
    """A curve with its name beside it, its wraps and, where it is tender, a diamond."""
    ax.plot(line.hour, line.core_f, color=colour, lw=2.0 if above else 1.6, ls="-" if above else (0, (4, 2)))
    at_f = 100.0 if above else 82.0
    beside = float(line.hour[int(np.argmax(line.core_f >= at_f))])
    ax.text(beside + 0.035 * sheet.hours, at_f, name, color=colour, ha="left", va="center", fontweight="bold")
    if (tender := line.marks.get("tender", sheet.hours + 1)) <= sheet.hours:
        core = float(np.interp(tender, line.hour, line.core_f))
        ax.plot([tender], [core], marker="D", ms=6, mfc="white", mec=colour, mew=1.6)
    late = line.marks.get("203F", 0.0)
    if late > sheet.hours:
        ax.annotate(
            f"{name}: 203 °F at {late:.1f} h",
            (sheet.hours, float(np.interp(sheet.hours, line.hour, line.core_f))),
            xytext=(-4, -24),
            textcoords="offset points",
            ha="right",
            color=colour,
            fontsize=8.5,
        )


HEAD = """\
# The model beside practice

Core against time for twelve standard cooks, so that a cook can judge with his eye. Red is what the model reckons today,
dashed grey what it reckoned before its laws of skin, juice and wraps were renewed. A blue bar is the trade's range for
nine cooks in ten (common practice, no source) at the core written over it; a diamond is where a probe slides in. Every
unknown stands at its middle and the air is steady.

The numbers behind it, row by row with hits and misses, are on
[the model against the outside](../validation/README.md). `scripts/make_practice_pictures.py` draws this page.
"""


def page() -> str:
    """The page that shows them."""
    lines = [HEAD]
    for sheet in SHEETS:
        cooks = "; ".join(panel.title for panel in sheet.panels)
        lines += [f"## {sheet.title}", "", f"![{sheet.title}: {cooks}](pictures/practice/{sheet.key}.png)", ""]
    return "\n".join(lines)


def constants(folder: Path) -> dict[str, float]:
    """Constants of a calibration by address."""
    found = {}
    for kind in ("universal", "pit", "cut"):
        with (folder / f"{kind}s.toml").open("rb") as handle:
            found |= {entry["address"]: float(entry["value"]) for entry in tomllib.load(handle).get(kind, ())}
    return found


def main() -> None:
    """Cook, draw, write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--with", dest="folder", type=Path, help="folder of a calibration")
    parser.add_argument("--keep-before", action="store_true", help="write today's curves as those before, and stop")
    parser.add_argument("--to", type=Path, help="folder for the pictures alone; the page is left as it is")
    wants = parser.parse_args()
    now = cook(constants(wants.folder) if wants.folder else {})
    if wants.keep_before:
        keep(now)
        return
    to = wants.to or PICTURES
    to.mkdir(parents=True, exist_ok=True)
    before = kept()
    for sheet in SHEETS:
        draw(sheet, before, now).savefig(to / f"{sheet.key}.png", dpi=110, metadata={"Software": None})
    if wants.to is None:
        PAGE.write_text(page(), "utf-8")


if __name__ == "__main__":
    main()
