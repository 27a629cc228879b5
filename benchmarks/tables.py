"""The tables of ``README.md``: from the results' rows to Markdown, and into the places that the template leaves."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from pitreckon.section.tally import LANES

HERE = Path(__file__).resolve().parent
RESULTS, TEMPLATE, README = HERE / "results", HERE / "README.in.md", HERE / "README.md"
Row = Mapping[str, Any]
Cell = Callable[[Row], str]
Column = tuple[str, str | Cell]


KINDS_OF_SLOTS = ("multiply-add", "other arithmetic", "divide or root", "move", "scalar")


def number(value: Any, digits: int = 3) -> str:
    """A figure to so many digits; words and nothing as they are."""
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return f"{value:,}"
    if not isinstance(value, float):
        return str(value)
    if math.isnan(value):
        return "–"
    if value != 0.0 and (abs(value) < 1e-3 or abs(value) >= 1e6):
        return f"{value:.{digits - 1}e}"
    size = math.floor(math.log10(abs(value))) if value else 0
    return f"{value:,.{max(0, digits - 1 - size)}f}"


def pair(first: str, second: str) -> Cell:
    """Two figures of a row, best / median."""
    return lambda row: f"{number(row.get(first))} / {number(row.get(second))}"


def markdown(columns: Sequence[Column], rows: Sequence[Row]) -> str:
    """A table; a column is a heading and a key of the rows, or what to say of a row."""
    lines = ["| " + " | ".join(head for head, _ in columns) + " |", "|" + "---|" * len(columns)]
    for row in rows:
        cells = [number(row.get(key)) if isinstance(key, str) else key(row) for _, key in columns]
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines)


def _waits(row: Row) -> str:
    return f"{pair('ms_median', 'ms_p95')(row)} / {number(row.get('ms_most'))}"


ERRORS: tuple[Column, ...] = (
    ("core, median / worst member, K", pair("core_median", "core_max")),
    ("loss, worst, points", "loss_max"),
)

COLUMNS: dict[str, tuple[Column, ...]] = {
    "targets": (
        ("work", "work"),
        ("threads", "threads"),
        ("best / median, s", pair("best_s", "median_s")),
        ("ms a member", "median_ms_member"),
        ("over one thread", "over_one_thread"),
        ("target, s", "target_s"),
    ),
    "page": (
        ("readings asked for, 1/s", "asked_per_s"),
        ("taken in, 1/s", "per_s"),
        ("a batch of 500, ms", "post_ms_median"),
        ("looks", "looks"),
        ("on the other phone after, median / 95 %, ms", pair("update_ms_median", "update_ms_p95")),
        ("server, MB", "server_mb"),
        ("compute process, MB", "reckoning_mb"),
    ),
    "costs": (
        ("along", "along"),
        ("at", "at"),
        ("the whole anew, CPU s", "whole_s"),
        ("a look, CPU s", "look_s"),
        ("what-ifs, CPU s", "suppose_s"),
    ),
    "day": (
        ("cooks", "cooks"),
        ("items", "items"),
        ("hours", "hours"),
        ("readings", "readings"),
        ("looks and acts", lambda r: f"{r['looks']} and {r['acts']}"),
        ("outlooks told", "outlooks"),
        ("parts of pages fetched", "fetched"),
        ("all together at the peak, MB", lambda r: f"{r['peak_mb']:.0f} (hour {r['peak_h']:.1f})"),
        (
            "the server's and the workers' own peaks, MB",
            lambda r: f"{r['server_peak_mb']:.0f} / {r['workers_peak_mb']:.0f}",
        ),
        ("at the end, MB", lambda r: f"{r['end_mb']:.0f}"),
        ("target, MB", lambda r: f"{r['target_mb']:.0f}"),
    ),
    "phone": (
        ("the reckoning process then", "when"),
        ("looks", "looks"),
        ("the tap is seen, ms", "told_ms"),
        ("first new answer: same phone / the other, s", pair("first_one_s", "first_two_s")),
        ("slowest of them, s", "first_most_s"),
        ("full answer: same phone / the other, s", pair("full_one_s", "full_two_s")),
        ("slowest of them, s", "full_most_s"),
    ),
    "updates": (
        ("items", "items"),
        ("work", "work"),
        ("members", "members"),
        ("best / median, s", pair("best_s", "median_s")),
        ("target, s", lambda r: "–" if r["target_s"] is None else f"{r['target_s']:g}"),
    ),
    "peers": (
        ("case", "case"),
        ("method", "method"),
        ("tolerance or step, s", lambda r: f"{r['setting']:g}" if "setting" in r else "–"),
        *ERRORS,
        ("ms a member, best / median", pair("ms_best", "ms_median")),
        ("over ours, best / median", pair("ratio_best", "ratio_median")),
        ("rounds", "rounds"),
        ("", "failed"),
    ),
    "agreement": (
        ("case", "case"),
        ("method", "method"),
        ("tolerance", lambda r: f"{r['setting']:g}"),
        ("members", "members"),
        ("core, worst, K", "core_max"),
        ("loss, worst, points", "loss_max"),
        ("", "failed"),
    ),
    "accuracy": (
        ("case", "case"),
        ("precision", "precision"),
        ("members", "members"),
        (
            "core, median / p95 / worst member, K",
            lambda r: f"{pair('core_median', 'core_p95')(r)} / {number(r['core_max'])}",
        ),
        ("all times, median / p95, K", pair("core_all_median", "core_all_p95")),
        ("loss, median / worst, points", pair("loss_median", "loss_max")),
        (
            "marks, median / p95 / worst, min",
            lambda r: f"{pair('marks_median', 'marks_p95')(r)} / {number(r['marks_max'])}",
        ),
        ("worst by mark, min", lambda r: ", ".join(f"{k} {number(v)}" for k, v in r["by_mark"].items())),
        ("clear / unclear / missed marks", lambda r: f"{r['marks']} / {r['marks_unclear']} / {r['marks_missed']}"),
        ("water / heat not accounted for", pair("water_fault", "heat_fault")),
    ),
    "cells": (
        ("case", "case"),
        ("cells", "cells"),
        ("against", "fine_cells"),
        ("members", "members"),
        ("core, median / worst member, K", pair("core_median", "core_max")),
        ("loss, worst, points", "loss_max"),
        ("marks, median / worst, min", pair("marks_median", "marks_max")),
        ("worst by mark, min", lambda r: ", ".join(f"{k} {number(v)}" for k, v in r["by_mark"].items())),
    ),
    "machine": (
        ("what", "what"),
        ("precision", "precision"),
        ("threads", "threads"),
        ("best / median", pair("best", "median")),
        (
            "unit",
            lambda r: (
                "GB/s"
                if "triad" in r["what"]
                else "GFLOP/s"
                if r["what"] == "multiply-add"
                else "thousand million a second"
            ),
        ),
    ),
    "arithmetic": (
        ("case", "case"),
        ("steps of a member", "steps"),
        ("operations a cell and step", "operations_cell_step"),
        ("divisions of them", lambda r: number(r["each_step"]["div"] / r["cells"])),
        ("million operations a member", lambda r: number(r["operations_member"] / 1e6)),
        ("ms a member, best", "ms_member"),
        ("GFLOP/s", "gflops"),
        ("multiply-add limit, GFLOP/s", "limit_gflops"),
        (
            "at least, ms: divisions and roots + the rest at that limit",
            lambda r: f"{number(r['divide_ms'])} + {number(r['other_ms'])}",
        ),
        ("share of it", lambda r: f"{100.0 * r['share']:.0f} %"),
    ),
    "slots": (
        ("of the time", lambda r: f"{100.0 * r['share']:.1f} %"),
        ("instructions a turn", lambda r: r.get("what") or str(r["instructions"])),
        *(
            (f"{kind}s" if kind == "move" else kind, lambda r, kind=kind: str(r.get(kind, "–")))
            for kind in KINDS_OF_SLOTS
        ),
    ),
    "growth": (
        ("along", "along"),
        ("at", "at"),
        ("cells", "cells"),
        ("members", "members"),
        ("best / median, s", pair("best_s", "median_s")),
        ("ms a member", "best_ms_member"),
        ("ns a cell, member and hour", "ns_cell_member_hour"),
    ),
    "fields": (
        ("cut", "cut"),
        ("hours", "hours"),
        ("cells x times", lambda row: f"{row['cells']} x {row['times']}"),
        ("ms a member: records / fields, too", pair("once_ms_member", "fields_ms_member")),
        ("fields over records", "over_once"),
        ("in memory / as netCDF, MB", pair("memory_mb", "file_mb")),
        ("written / read, ms", pair("write_ms", "read_ms")),
    ),
    "memory": (
        ("case", "case"),
        ("kept", "kept"),
        ("input, KB a member", "input_kb_member"),
        ("held with the result, KB a member", "result_kb_member"),
        ("peak, KB a member", "peak_kb_member"),
        ("peak with 512 members, MB", "peak_mb"),
    ),
    "studies": (
        ("workers", "workers"),
        ("racks", "racks"),
        ("wall, s", "wall_s"),
        ("of it to begin, s", "start_s"),
        ("share of the cores that they got", lambda r: f"{100.0 * r['got']:.0f} %"),
        ("workers' processor time, s", "workers_s"),
        ("of it ms a rack", "ms_rack"),
        ("over one worker", lambda r: f"{r['over_one']:.2f}"),
        ("who hands out and keeps, ms a chunk", "own_ms_chunk"),
        ("results", lambda r: f"`{r['hash']}`"),
    ),
    "nodes": (
        ("workers with a core each", "workers"),
        ("a million racks, min", lambda r: number(r["wall_s"] / 60.0)),
        ("of what is linear", lambda r: f"{100.0 * r['linear']:.0f} %"),
    ),
    "million": (
        ("workers", "workers"),
        ("racks done", "racks"),
        ("stopped and gone on", lambda r: number(r["calls"] - 1)),
        ("wall, min", lambda r: number(r["wall_s"] / 60.0)),
        ("share of the cores that they got", lambda r: f"{100.0 * r['got']:.0f} %"),
        ("workers' processor time, min", lambda r: number(r["workers_s"] / 60.0)),
        ("of it ms a rack", "ms_rack"),
        ("results", lambda r: f"`{r['hash']}`"),
    ),
    "store": (
        ("work", "what"),
        ("senders", "senders"),
        ("readings a batch", "batch"),
        ("readings", "readings"),
        ("readings a second", lambda r: f"{r['per_s']:,.0f}"),
        ("wait for a receipt, median / p95 / most, ms", _waits),
        ("processors at work", "processor"),
    ),
    "toll": (
        ("what came in", "what"),
        ("killed", lambda r: number(r.get("kills"))),
        ("broker gone for, s", lambda r: number(r.get("gone_s"))),
        ("acknowledged", "acknowledged"),
        ("lost", "lost"),
        ("doubled", "doubled"),
        ("kept, their receipt lost", "extra"),
        ("took, s", "took_s"),
    ),
    "kills": (
        ("what came in", "what"),
        ("killed", "kills"),
        ("acknowledged", "acknowledged"),
        ("lost", "lost"),
        ("doubled", "doubled"),
        ("tries without an answer", lambda r: number(r.get("retries"))),
        ("entries kept whose receipt was lost", lambda r: number(r.get("known"))),
        ("took, s", "took_s"),
    ),
    "forms": (
        ("form", "form"),
        ("inputs", "inputs"),
        ("read", "read"),
        ("refused in so many ways", "ways"),
        ("neither read nor refused", "faults"),
        ("took, s of a core", "took_s"),
        ("", "what"),
    ),
    "calls": (("operation", "operation"), ("calls", "calls"), ("taken", "taken"), ("5xx", "5xx"), ("run, s", "took_s")),
    "load": (
        ("minutes", "minutes"),
        ("calls", "calls"),
        ("5xx", "5xx"),
        ("without an answer", "unanswered"),
        ("readings taken in, 1/s", "per_s"),
        ("looks", "looks"),
        ("on the other phone after, median / 95 %, s", pair("look_s_median", "look_s_p95")),
        ("a page, 95 %, s", "page_s_p95"),
        ("server, MB, halfway / at the end", pair("server_mb_half", "server_mb_end")),
        ("compute processes, MB", pair("reckoning_mb_half", "reckoning_mb_end")),
    ),
    "live": (
        ("who reckons", "what"),
        ("cooks", "cooks"),
        ("workers", "workers"),
        ("looks", "looks"),
        ("first answer, median / 95 %, s", pair("first_s_median", "first_s_p95")),
        ("whole answer, median / 95 %, s", pair("full_s_median", "full_s_p95")),
        ("on paper, s", pair("paper_s_median", "paper_s_p95")),
        ("most questions that waited", "most_waiting"),
        ("largest worker, MB", "worker_mb"),
    ),
    "livepaper": (
        ("cooks", "cooks"),
        ("workers", "workers"),
        ("at work", lambda r: f"{100.0 * r['busy']:.0f} %"),
        ("on paper, median / 95 %, s", pair("paper_s_median", "paper_s_p95")),
        ("in virtual time, median / 95 %, s", pair("tried_s_median", "tried_s_p95")),
    ),
    "start": (
        ("start", "start"),
        ("import, s", "import_s"),
        ("first run, s", "first_s"),
        ("to the first result, s", "to_first_result_s"),
        ("again, s", "again_s"),
    ),
}


FOOTPRINT: tuple[Column, ...] = (
    ("peak with 16 racks, MB", "peak_mb_16"),
    ("with 1,024", "peak_mb_1024"),
    ("KB a member between 256 and 1,024", "rss_kb_member"),
)


def of_part(part: str, rows: Sequence[Row]) -> str:
    """The table of a part; that of ``start`` has the memory of its processes below."""
    here = [row for row in rows if row.get("start") != "memory"]
    below = [row for row in rows if row.get("start") == "memory"]
    text = markdown(COLUMNS[part], here)
    return text + "\n\n" + markdown(FOOTPRINT, below) if below else text


def save(part: str, rows: Sequence[Row], about: Row) -> None:
    """Write the results of a part."""
    RESULTS.mkdir(exist_ok=True)
    text = json.dumps({"about": dict(about), "rows": [dict(row) for row in rows]}, indent=1)
    (RESULTS / f"{part}.json").write_text(text + "\n")


def load(part: str) -> dict[str, Any]:
    """Read them."""
    found: dict[str, Any] = json.loads((RESULTS / f"{part}.json").read_text())
    return found


def render() -> None:
    """Put the tables into the template: lines ``{table part}`` and ``{about part}``."""

    def table(part: str) -> str:
        if not (RESULTS / f"{part}.json").exists():
            return "*(not measured yet)*"
        return of_part(part, load(part)["rows"])

    def about(part: str) -> str:
        if not (RESULTS / f"{part}.json").exists():
            return "*(not measured yet)*"
        return "; ".join(f"{key} {value}" for key, value in load(part)["about"].items())

    text = TEMPLATE.read_text().replace("{lanes}", str(LANES))
    text = re.sub(r"^\{table (\w+)\}$", lambda m: table(m[1]), text, flags=re.MULTILINE)
    README.write_text(re.sub(r"\{about (\w+)\}", lambda m: about(m[1]), text))
