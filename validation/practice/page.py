"""The section of ``validation/README.md`` about practice, between its own markers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from pathlib import Path

from validation.practice.deal import SPLITS
from validation.practice.score import Scored, tally
from validation.practice.table import Row

README = Path(__file__).parent.parent / "README.md"
BEGIN, END = "<!-- made by python -m validation.practice: begin -->", "<!-- practice: end -->"
UNIT = {"degF": " °F", "degF/h": " °F/h", "h": " h", "min": " min", "%": " %", "1": ""}
SPLIT_SAYS = {"half": "**the committed deal**", "split1": "split 1", "split2": "split 2", "split3": "split 3"}
FORM_SAYS = {"value": "", "ratio": "over", "less": "less"}


def number(value: float, unit: str = "1") -> str:
    """Three figures and the unit."""
    return f"{value:.3g}{UNIT[unit]}" if isfinite(value) else "not reached"


def band(row: Row) -> str:
    """The band in words."""
    if not isfinite(row.low):
        return f"at most {row.high:g}"
    return f"at least {row.low:g}" if not isfinite(row.high) else f"{row.low:g} to {row.high:g}"


def says(row: Row) -> str:
    """What is compared."""
    return f"{row.setup}: {row.quantity}" + (f" {FORM_SAYS[row.form]} {row.against}" if row.against else "")


def mark(one: Scored) -> str:
    """Hit or miss, by how much, and a wrong sign."""
    text = "hit" if one.hit else f"miss ({one.half_bands:+.1f})" if one.row.bounded else "miss"
    return text + (", wrong sign" if one.sign_right is False else "")


def report(
    scored: Sequence[Scored],
    named: Sequence[Scored],
    dealt: Mapping[str, Mapping[str, str]],
    waiting: Mapping[str, str],
    worst: float,
) -> str:
    """The generated part of the page."""
    said = f"All rows: {tally(scored)}. By name: {sum(s.hit for s in named)} of {len(named)} that can be run hit."
    lines = [f"{said} Waiting for the catalog: {len(waiting)} rows and checks.", ""]
    lines += [f"Heat and water balance, worst of all these cooks: {worst:.0e}.", ""]
    rows = []
    for split in SPLITS:
        parts = [tally([s for s in scored if dealt[split][s.row.key] == half]) for half in ("fit", "test")]
        rows.append([SPLIT_SAYS[split], *(str(part) for part in parts)])
    lines += _table(["deal", "fit half", "test half"], rows)
    lines += ["### By name", ""]
    lines += _table(
        ["check", "compared", "wanted", "reckoned", ""],
        [[s.row.key, says(s.row), band(s.row), number(s.value, s.row.unit), mark(s)] for s in named],
    )
    for half, title in (("test", "Test half"), ("fit", "Fit half")):
        these = [s for s in scored if dealt["half"][s.row.key] == half]
        lines += [f"### {title}", "", f"{tally(these)}.", ""]
        lines += _table(
            ["row", "compared", "nine in ten", "reckoned", ""],
            [
                [
                    s.row.key + (" (conflict)" if s.row.status == "conflict" else ""),
                    says(s.row),
                    band(s.row),
                    number(s.value, s.row.unit),
                    mark(s),
                ]
                for s in these
            ],
        )
    if waiting:
        lines += ["### Waiting", ""]
        by_lack: dict[str, list[str]] = {}
        for key, lack in waiting.items():
            by_lack.setdefault(lack, []).append(key)
        lines += [f"- {lack}: {', '.join(keys)}" for lack, keys in by_lack.items()]
        lines.append("")
    return "\n".join(lines)


def _table(head: list[str], rows: list[list[str]]) -> Iterator[str]:
    yield "| " + " | ".join(head) + " |"
    yield "|" + "---|" * len(head)
    yield from ("| " + " | ".join(row) + " |" for row in rows)
    yield ""


def put(text: str, page: Path = README) -> None:
    """Put the generated part between its markers. Raises ValueError where the page lost them."""
    whole = page.read_text("utf-8")
    if BEGIN not in whole or END not in whole.split(BEGIN)[1]:
        raise ValueError(f"{page.name} has lost the markers '{BEGIN}' and '{END}'. Put them back")
    before, rest = whole.split(BEGIN, 1)
    after = rest.split(END, 1)[1]
    page.write_text(f"{before}{BEGIN}\n\n{text}\n{END}{after}", "utf-8")
