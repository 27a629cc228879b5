"""From rows to the tables of ``validation/README.md``: coverage, width, CRPS and ranks by class and moment."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from validation.twins import baselines, scores
from validation.twins.deal import CLASSES
from validation.twins.judge import CAP_S
from validation.twins.store import Row

Floats = NDArray[np.float64]

MOMENTS = ("put-on", "half-way", "60 min", "30 min")
MARKS = ("done", "colour_set", "glaze_set")
SAID = {
    "pit": "pit only",
    "looks": "pit and looks",
    "probe": "pit and probe",
    "all": "all",
    "done": "tender, or done by core",
    "colour_set": "colour set",
    "glaze_set": "glaze set",
    "half-way": "half-way to it",
    "60 min": "60 min before",
    "30 min": "30 min before",
}


@dataclass(frozen=True)
class Scored:
    """Rows with the scores of the baselines: arrays over the rows [min]; nan where a baseline has nothing to say."""

    rows: tuple[Row, ...]
    truth: Floats
    now: Floats
    p: dict[str, Floats]
    crps: Floats
    place: Floats
    prior: Floats
    timetable: Floats
    line: Floats

    def pick(self, chosen: Callable[[Row], bool]) -> Scored:
        """Those rows."""
        at = np.array([chosen(row) for row in self.rows], dtype=bool)
        return Scored(
            tuple(row for row, there in zip(self.rows, at, strict=True) if there),
            *(a[at] for a in (self.truth, self.now)),
            {k: v[at] for k, v in self.p.items()},
            *(a[at] for a in (self.crps, self.place, self.prior, self.timetable, self.line)),
        )


def number(text: str) -> float:
    """A cell as a number; blank is nan."""
    return float(text) if text else float("nan")


def score(rows: Iterable[Row]) -> Scored:
    """Read the rows and score the timetable and the straight line, each with the errors of the other cooks."""
    kept = tuple(rows)

    def column(name: str) -> Floats:
        return np.array([number(row[name]) for row in kept])

    truth, now, cap = column("truth"), column("now"), CAP_S / 60.0
    by_cut = [f"{row['mark']} {row['moment']} {row['cut']}" for row in kept]
    by_mark = [f"{row['mark']} {row['moment']}" for row in kept]
    table = baselines.of_others(column("timetable"), truth, by_cut, by_mark)
    by_line = [f"{row['mark']} {row['moment']} {row['line_by']}" for row in kept]
    line = baselines.of_others(column("line_left"), truth - now, by_line, by_mark)
    every = range(len(kept))
    return Scored(
        kept,
        truth,
        now,
        {name: column(name) for name in ("p05", "p25", "p50", "p75", "p95")},
        column("crps"),
        column("place"),
        column("prior_crps"),
        np.array([baselines.score_after(table[i], now[i], truth[i], cap) for i in every]),
        np.array([baselines.score_after(line[i] + now[i], now[i], truth[i], cap) for i in every]),
    )


@dataclass(frozen=True)
class Figures:
    """What a group of rows comes to. Widths and CRPS in minutes; ``gain``: share of the best baseline's CRPS saved."""

    count: int
    cover50: float
    cover90: float
    width50: float
    width90: float
    late: float
    crps: float
    prior: float
    timetable: float
    line: float
    gain: float
    ranks: tuple[int, ...]


def figures(group: Scored) -> Figures:
    """Coverage, width, CRPS, ranks. A straight line that has nothing to go by falls back on the timetable."""
    if not group.rows:
        nothing = float("nan")
        return Figures(0, *[nothing] * 10, ())
    p = group.p
    table = np.where(np.isnan(group.timetable), group.prior, group.timetable)
    line = np.where(np.isnan(group.line), table, group.line)
    has_line = bool(np.isfinite(group.line).any())
    means = {"prior": group.prior.mean(), "timetable": table.mean()} | ({"line": line.mean()} if has_line else {})
    width50, width90 = (np.median(_width(p[low], p[high])) for low, high in (("p25", "p75"), ("p05", "p95")))
    with np.errstate(invalid="ignore"):  # between an end and none there is no middle
        late = np.median(p["p50"] - group.truth)
    return Figures(
        count=len(group.rows),
        cover50=float(np.mean((p["p25"] <= group.truth) & (group.truth <= p["p75"]))),
        cover90=float(np.mean((p["p05"] <= group.truth) & (group.truth <= p["p95"]))),
        width50=float(width50),
        width90=float(width90),
        late=float(late),
        crps=float(group.crps.mean()),
        prior=float(means["prior"]),
        timetable=float(means["timetable"]),
        line=float(means.get("line", np.nan)),
        gain=1.0 - float(group.crps.mean()) / float(min(means.values())),
        ranks=tuple(int(n) for n in scores.histogram(group.place)),
    )


def _width(low: Floats, high: Floats) -> Floats:
    """What ends never is infinitely wide."""
    return np.where(np.isinf(high), 1e9, high - np.where(np.isinf(low), 0.0, low))


HEAD = (
    *("n", "50 % holds", "90 % holds", "50 % width", "90 % width", "median late", "CRPS", "prior", "timetable"),
    *("line", "better by", "ranks"),
)


def cells(f: Figures) -> list[str]:
    """A row of a table."""
    if not f.count:
        return ["0", *["" for _ in HEAD[1:]]]

    def minutes(value: float) -> str:
        return "" if np.isnan(value) else "no end" if abs(value) > 1e8 or np.isinf(value) else f"{value:.0f}"

    return [
        str(f.count),
        f"{100 * f.cover50:.0f} %",
        f"{100 * f.cover90:.0f} %",
        *(minutes(v) for v in (f.width50, f.width90, f.late)),
        f"{f.crps:.1f}",
        *("" if np.isnan(v) else f"{v:.1f}" for v in (f.prior, f.timetable, f.line)),
        f"{100 * f.gain:.0f} %",
        " ".join(str(n) for n in f.ranks),
    ]


def by_class(scored: Scored, marks: tuple[str, ...]) -> list[tuple[str, str, Figures]]:
    """(class, moment, figures) over these marks; "every" for all moments after put-on."""
    out = []
    for kind in CLASSES:
        for moment in (*MOMENTS, "after put-on"):
            those = scored.pick(
                lambda row, kind=kind, moment=moment: (
                    row["kind"] == kind
                    and row["mark"] in marks
                    and (row["moment"] == moment or (moment == "after put-on" and row["moment"] != "put-on"))
                )
            )
            out.append((kind, moment, figures(those)))
    return out


def by_cut(scored: Scored) -> list[tuple[str, Figures]]:
    """(cut, figures) of "done" after put-on, to see which cuts are wrong."""
    cuts = sorted({row["cut"] for row in scored.rows})
    return [
        (cut, figures(scored.pick(lambda row, cut=cut: row["cut"] == cut and row["moment"] != "put-on")))
        for cut in cuts
    ]


@dataclass(frozen=True)
class Target:
    """A target of the issue for one class, and what was measured. ``measured`` in the unit of ``wanted``."""

    says: str
    kind: str
    wanted: str
    measured: str
    hit: bool


def targets(scored: Scored) -> list[Target]:
    """Each target, for each class that it is for."""
    out = []
    for kind in CLASSES:
        every = figures(scored.pick(lambda row, kind=kind: row["kind"] == kind))
        covers = 100.0 * every.cover90
        out.append(Target("90 % intervals hold", kind, "85 to 95 %", f"{covers:.0f} %", 85.0 <= covers <= 95.0))
    for kind, most in (("looks", 35.0), ("probe", 25.0)):
        for level in (50, 90):
            near = figures(
                scored.pick(
                    lambda row, kind=kind: row["kind"] == kind and row["mark"] == "done" and row["moment"] == "60 min"
                )
            )
            width = near.width50 if level == 50 else near.width90
            says = f"median width of tender's {level} % interval an hour before"
            out.append(Target(says, kind, f"at most {most:.0f} min", f"{width:.0f} min", width <= most))
    for kind in CLASSES:
        later = figures(scored.pick(lambda row, kind=kind: row["kind"] == kind and row["moment"] != "put-on"))
        gain = 100.0 * later.gain
        says = "CRPS after put-on under the best baseline's"
        out.append(Target(says, kind, "at least 30 %", f"{gain:.0f} %", gain >= 30.0))
    return out


TRIP_HEAD = ("cooks", "trips a cook", "windows", "missed", "late in the median, min", "too late in all, min a cook")


def trip_table(rows: Iterable[Row]) -> list[list[str]]:
    """Class, way and figures of the replays; cooks that one of the ways did not finish are left out of both."""
    kept = list(rows)
    unfinished = {row["index"] for row in kept if not row["trips"]}
    kept = [row for row in kept if row["index"] not in unfinished]
    out = []
    for kind in (*CLASSES, "every"):
        for way in dict.fromkeys(row["way"] for row in kept):
            those = [row for row in kept if row["way"] == way and kind in {row["kind"], "every"}]
            if not those:
                continue
            windows, missed = (sum(int(row[name]) for row in those) for name in ("windows", "missed"))
            late = np.median([float(row["late"]) / int(row["windows"]) for row in those])
            out.append(
                [
                    *(SAID.get(kind, "every class"), way, str(len(those))),
                    f"{np.mean([int(row['trips']) for row in those]):.1f}",
                    *(str(windows), f"{100 * missed / windows:.0f} %", f"{late:.0f}"),
                    f"{np.mean([float(row['too_late']) for row in those]):.1f}",
                ]
            )
    return out
