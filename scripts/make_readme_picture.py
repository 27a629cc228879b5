"""Draws the picture of real output: ``docs/pictures/outlook.svg``, and one item of it as text in the README.

It reckons the harvest table of ``examples/`` at one moment, by the command that stands beside it in the README;
``tests/docs/test_readme_sample.py`` runs that command and holds every byte against it. Run
``.venv/bin/python scripts/make_readme_picture.py`` after the output or the model has changed (some minutes).
"""

from __future__ import annotations

import io
import re
from pathlib import Path

from rich.console import Console

from pitreckon.cli.run import read_files
from pitreckon.cli.show import print_outlook
from pitreckon.reckon import reckon

ROOT = Path(__file__).parents[1]
PICTURE = ROOT / "docs" / "pictures" / "outlook.svg"
README = ROOT / "README.md"
DAY = ROOT / "examples" / "harvest-table"
FILES = (DAY / "harvest-table.toml", DAY / "day.csv")
AT = "15:50"
MEMBERS, SEED, WIDTH = 512, 1, 92
ITEM = "racks"
BEGIN, END = "<!-- outlook: made by scripts/make_readme_picture.py -->\n```text\n", "```\n<!-- end of outlook -->"

# The library's own frame fetches a font from the web; this one takes what the reader has.
FRAME = """\
<svg class="{unique_id}" xml:space="preserve" viewBox="0 0 {terminal_width} {terminal_height}" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{ font-family: monospace; font-size: {char_height}px; line-height: {line_height}px; }}
{styles}
</style>
<defs>{lines}</defs>
<rect width="100%" height="100%" rx="8" fill="#17191c"/>
<g transform="translate(8, 8)">{backgrounds}<g class="{unique_id}-matrix">{matrix}</g></g>
</svg>
"""


def outlook_of_the_day() -> Console:
    """A console that has printed the outlook, as the command in the README does."""
    cook, known, now = read_files(*FILES, AT, set_aside=False)
    outlook = reckon(cook, known, now=now, members=MEMBERS, seed=SEED)
    console = Console(
        record=True, highlight=False, width=WIDTH, file=io.StringIO(), force_terminal=True, color_system="truecolor"
    )
    print_outlook(console, outlook, cook, "F")
    return console


def excerpt(text: str, item: str = ITEM) -> str:
    """The title, the trips, one item, its windows and the small print of an outlook."""
    title, rest = text.split("\n", 1)
    parts = rest.strip("\n").split("\n\n")
    about = next(part for part in parts if part.startswith(f"{item} "))
    axis, *drawn = next(part for part in parts if f"\n{item}\n" in part).split("\n")
    bands, mine = [], False
    for line in drawn:
        mine = line == item if not line.startswith(" ") else mine
        if mine or line.startswith(" " * 8):
            bands.append(line)
    return "\n\n".join([f"{title}\n{parts[0]}", about, "\n".join([axis, *bands]), parts[-1]]) + "\n"


def with_excerpt(readme: str, text: str) -> str:
    """The README with the text of the outlook between its two marks."""
    before, rest = readme.split(BEGIN)
    _, after = rest.split(END)
    return before + BEGIN + text + END + after


def main() -> None:
    """Write the picture and the text."""
    console = outlook_of_the_day()
    text = "\n".join(line.rstrip() for line in console.export_text(clear=False).splitlines())
    console.print()  # room below the last line
    svg = console.export_svg(title="", code_format=FRAME, unique_id="outlook")
    PICTURE.parent.mkdir(exist_ok=True)
    PICTURE.write_text(re.sub(r"[ \t]+$", "", svg, flags=re.MULTILINE), encoding="utf-8")
    README.write_text(with_excerpt(README.read_text(encoding="utf-8"), excerpt(text)), encoding="utf-8")


if __name__ == "__main__":
    main()
