"""The twins' part of ``validation/README.md``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from validation.twins import tables
from validation.twins.store import Row

README = Path(__file__).parents[1] / "README.md"
BEGIN, END = "<!-- made by python -m validation.twins: begin -->", "<!-- end of twins -->"


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    """A table in Markdown."""
    yield "| " + " | ".join(head) + " |"
    yield "|" + "---|" * len(head)
    for row in rows:
        yield "| " + " | ".join(row) + " |"
    yield ""


def text(scored: tables.Scored, trips: Sequence[Row], *, seed: int, cooks: int, members: int) -> str:
    """The generated part."""
    attempts = sum(int(attempt) for attempt in {row["index"]: row["attempt"] for row in scored.rows}.values())
    lines = [
        f"{cooks} cooks, seed {seed}, {members} members, {len(scored.rows)} forecasts scored.",
        f"{attempts} cooks that would not have been done in 26 hours were dealt anew. Made by",
        "",
        "```",
        f"python -m validation.twins --cooks {cooks} --seed {seed} --members {members} --write",
        "```",
        "",
        "### Targets",
        "",
    ]
    lines += table(
        ["target", "class", "wanted", "measured", ""],
        [
            [t.says, tables.SAID[t.kind], t.wanted, t.measured, "hit" if t.hit else "miss"]
            for t in tables.targets(scored)
        ],
    )
    for marks in (tables.MARKS, *((mark,) for mark in tables.MARKS)):
        said = tables.SAID[marks[0]] if len(marks) == 1 else "all marks"
        lines += [f"### {said[0].upper()}{said[1:]}", ""]
        rows = [
            [tables.SAID[kind], tables.SAID.get(moment, moment), *tables.cells(figures)]
            for kind, moment, figures in tables.by_class(scored, marks)
            if figures.count
        ]
        lines += table(["class", "moment", *tables.HEAD], rows)
    lines += ["### By cut, all marks after put-on", ""]
    lines += table(["cut", *tables.HEAD], [[cut, *tables.cells(f)] for cut, f in tables.by_cut(scored)])
    if trips:
        lines += ["### Trips", ""]
        lines += table(["class", "way", *tables.TRIP_HEAD], tables.trip_table(trips))
    return "\n".join(lines)


def write(made: str, page: Path = README) -> None:
    """Put the generated part between its markers."""
    before, rest = page.read_text("utf-8").split(BEGIN)
    after = rest.split(END)[1]
    page.write_text(f"{before}{BEGIN}\n\n{made}\n{END}{after}", "utf-8")
