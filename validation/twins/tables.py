"""From rows to the tables of ``validation/README.md``: coverage, width, CRPS and ranks by class and moment."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from validation.twins import baselines, regression, scores
from validation.twins.deal import CLASSES
from validation.twins.judge import CAP_S, LEARN
from validation.twins.store import Row

Floats = NDArray[np.float64]

MOMENTS = ("put-on", "half-way", "60 min", "30 min")
MARKS = ("done", "colour_set")
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
    learnt: Floats

    def pick(self, chosen: Callable[[Row], bool]) -> Scored:
        """Those rows."""
        at = np.array([chosen(row) for row in self.rows], dtype=bool)
        return Scored(
            tuple(row for row, there in zip(self.rows, at, strict=True) if there),
            *(a[at] for a in (self.truth, self.now)),
            {k: v[at] for k, v in self.p.items()},
            *(a[at] for a in (self.crps, self.place, self.prior, self.timetable, self.line, self.learnt)),
        )


def number(text: str) -> float:
    """A cell as a number; blank is nan."""
    return float(text) if text else float("nan")


def score(rows: Iterable[Row]) -> Scored:
    """Read the rows and score the plain ways, each with the errors of the other cooks, and what was learnt on them."""
    every_row = tuple(rows)
    kept = tuple(row for row in every_row if row["moment"] != LEARN)
    lessons = tuple(row for row in every_row if row["moment"] == LEARN)

    def column(name: str) -> Floats:
        return np.array([number(row[name]) for row in kept])

    truth, now, cap = column("truth"), column("now"), CAP_S / 60.0
    by_cut = [f"{row['mark']} {row['moment']} {row['cut']}" for row in kept]
    by_mark = [f"{row['mark']} {row['moment']}" for row in kept]
    table = baselines.of_others(column("timetable"), truth, by_cut, by_mark)
    by_line = [f"{row['mark']} {row['moment']} {row['line_by']}" for row in kept]
    line = baselines.of_others(column("line_left"), truth - now, by_line, by_mark)
    learnt = _learnt(kept, lessons, truth, now)
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
        np.array([baselines.score_after(learnt[i] + now[i], now[i], truth[i], cap) for i in every]),
    )


def _learnt(rows: tuple[Row, ...], lessons: tuple[Row, ...], truth: Floats, now: Floats) -> list[Floats]:
    """What the regression says of the time left [min], for the rows that it is asked of."""
    out = [np.zeros(0) for _ in rows]
    at = [i for i, row in enumerate(rows) if row["features"] and row["moment"] != "put-on"]
    if at and lessons:
        asked = [rows[i] for i in at]
        said = regression.of_others(_cases(lessons), _cases(asked))
        for i, samples in zip(at, said, strict=True):
            out[i] = samples / 60.0
    return out


def _cases(rows: Sequence[Row]) -> regression.Cases:
    return regression.Cases(
        np.array([json.loads(row["features"]) for row in rows]),
        np.array([60.0 * (number(row["truth"]) - number(row["now"])) for row in rows]),
        [int(row["index"]) for row in rows],
        [f"{group_of(row)} {row['kind']}" for row in rows],
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
    learnt: float
    share90: float
    gain: float
    ranks: tuple[int, ...]


def figures(group: Scored) -> Figures:
    """Coverage, width, CRPS, ranks. A straight line that has nothing to go by falls back on the timetable."""
    if not group.rows:
        nothing = float("nan")
        return Figures(0, *[nothing] * 12, ())
    p = group.p
    table = np.where(np.isnan(group.timetable), group.prior, group.timetable)
    line = np.where(np.isnan(group.line), table, group.line)
    known = np.isfinite(group.learnt)
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
        learnt=float(np.mean(np.where(np.isnan(group.learnt), line, group.learnt))) if known.any() else float("nan"),
        share90=float(np.median(_width(p["p05"], p["p95"]) / group.truth)),
        gain=1.0 - float(group.crps.mean()) / float(min(means.values())),
        ranks=tuple(int(n) for n in scores.histogram(group.place)),
    )


def _width(low: Floats, high: Floats) -> Floats:
    """What ends never is infinitely wide."""
    return np.where(np.isinf(high), 1e9, high - np.where(np.isinf(low), 0.0, low))


HEAD = (
    *("n", "50 % holds", "90 % holds", "50 % width", "90 % width", "of its time", "median late", "CRPS", "prior"),
    *("timetable", "line", "learnt", "better by", "ranks"),
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
        *(minutes(v) for v in (f.width50, f.width90)),
        f"{100 * f.share90:.0f} %" if f.share90 < 1e3 else "no end",
        minutes(f.late),
        f"{f.crps:.1f}",
        *("" if np.isnan(v) else f"{v:.1f}" for v in (f.prior, f.timetable, f.line, f.learnt)),
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


GROUPS = {
    "racks": ("st-louis-ribs", "back-ribs", "spareribs", "beef-back-ribs", "country-style-ribs"),
    "big cuts": ("boston-butt", "brisket-flat", "brisket-point", "brisket-whole", "beef-plate-ribs"),
    "quick poultry": ("chicken-thigh", "chicken-wing", "chicken-half"),
    "roasts": ("turkey-breast", "pork-loin"),
}
"""Cuts that are asked for together."""
WIDEST = {
    ("racks", "60 min"): {"looks": 30.0, "probe": 30.0, "all": 26.0},
    ("big cuts", "60 min"): {"looks": 28.0, "probe": 30.0, "all": 26.0},
}
"""Most that the median 90 % width may be, in hundredths of the piece's whole time."""
AT_PUT_ON = {"racks": 45.0, "big cuts": 45.0, "quick poultry": 55.0}
SHORT_MIN = 40.0
EVERY = "every"


def group_of(row: Row) -> str:
    """The group of a row's cut."""
    return next(name for name, cuts in GROUPS.items() if row["cut"] in cuts)


def targets(scored: Scored, world: str = "calibrated") -> list[Target]:
    """Each target, for each class and group that it is for; ``world``: that the rows are of."""
    if world != "calibrated":
        return _covered(scored, 80.0, 100.0)
    return [*_covered(scored, 85.0, 95.0), *_narrow(scored), *_better(scored)]


def _covered(scored: Scored, least: float, most: float) -> list[Target]:
    wanted = f"{least:.0f} to {most:.0f} %" if most < 100.0 else f"at least {least:.0f} %"
    of = {kind: scored.pick(lambda row, kind=kind: row["kind"] == kind) for kind in CLASSES}
    of |= {name: scored.pick(lambda row, name=name: group_of(row) == name) for name in GROUPS}
    out = []
    for name, group in of.items():
        if group.rows:
            covers = 100.0 * figures(group).cover90
            out.append(Target("90 % intervals hold", name, wanted, f"{covers:.0f} %", least <= covers <= most))
    return out


def _narrow(scored: Scored) -> list[Target]:
    out = []
    done = scored.pick(lambda row: row["mark"] == "done")
    for group, most in AT_PUT_ON.items():
        share = figures(
            done.pick(lambda row, group=group: group_of(row) == group and row["moment"] == "put-on")
        ).share90
        says = "median 90 % width at put-on, of the whole time"
        out.append(Target(says, group, f"at most {most:.0f} %", f"{100 * share:.0f} %", 100.0 * share <= most))
    for (group, moment), of in WIDEST.items():
        for kind, most in of.items():
            near = figures(
                done.pick(
                    lambda row, kind=kind, group=group, moment=moment: (
                        row["kind"] == kind and group_of(row) == group and row["moment"] == moment
                    )
                )
            )
            share = 100.0 * near.share90
            says = f"median 90 % width of tender {SAID[moment]}, of the whole time, {group}"
            out.append(Target(says, kind, f"at most {most:.0f} %", f"{share:.0f} %", share <= most))
    for kind in ("looks", "probe", "all"):
        near = figures(
            done.pick(
                lambda row, kind=kind: (
                    row["kind"] == kind and group_of(row) == "quick poultry" and row["moment"] == "30 min"
                )
            )
        )
        says = "median 90 % width of done 30 min before, quick poultry"
        wide = near.width90
        out.append(Target(says, kind, f"at most {SHORT_MIN:.0f} min", f"{wide:.0f} min", wide <= SHORT_MIN))
    return out


def _better(scored: Scored) -> list[Target]:
    out = []
    for kind in CLASSES:
        mine = scored.pick(lambda row, kind=kind: row["kind"] == kind)
        first = figures(mine.pick(lambda row: row["moment"] == "put-on"))
        gain = 100.0 * (1.0 - first.crps / first.timetable)
        out.append(Target("CRPS at put-on under the timetable's", kind, "at least 15 %", f"{gain:.0f} %", gain >= 15.0))
        later = figures(mine.pick(lambda row: row["moment"] != "put-on"))
        gain = 100.0 * later.gain
        says = "CRPS half-way and later under the best of timetable, line and prior"
        out.append(Target(says, kind, "at least 40 %", f"{gain:.0f} %", gain >= 40.0))
        for moment, least in (("half-way", 20.0), ("60 min", 0.0), ("30 min", 0.0)):
            there = figures(mine.pick(lambda row, moment=moment: row["moment"] == moment and row["mark"] == "done"))
            gain = 100.0 * (1.0 - there.crps / there.learnt)
            says = f"CRPS {SAID[moment]} under the regression's"
            wanted = f"at least {least:.0f} %" if least else "not above"
            out.append(Target(says, kind, wanted, f"{gain:.0f} %", gain >= least))
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
