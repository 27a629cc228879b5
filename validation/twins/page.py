"""The twins' part of ``validation/README.md``."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from validation.marked import put
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


def text(worlds: Mapping[str, tables.Scored], trips: Sequence[Row], *, seed: int, members: int) -> str:
    """The generated part; ``worlds``: the scores of each."""
    lines = ["Made by", "", "```", f"python -m validation.twins --seed {seed} --members {members} --write", "```", ""]
    for world, scored in worlds.items():
        attempts = sum(int(attempt) for attempt in {row["index"]: row["attempt"] for row in scored.rows}.values())
        cooks = len({row["index"] for row in scored.rows})
        lines += [
            f"World *{world}*: {cooks} cooks, {len(scored.rows)} forecasts scored;",
            f"{attempts} cooks that would not have been done in 26 hours were dealt anew.",
            "",
        ]
    lines += ["### Targets", ""]
    lines += table(
        ["world", "target", "of", "wanted", "measured", ""],
        [
            [world, t.says, tables.SAID.get(t.kind, t.kind), t.wanted, t.measured, "hit" if t.hit else "miss"]
            for world, scored in worlds.items()
            for t in tables.targets(scored, world)
        ],
    )
    scored = next(iter(worlds.values()))
    lines += [f"The tables below are of the world *{next(iter(worlds))}*.", ""]
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
    put(made, BEGIN, END, page)
