"""Draws ``docs/pictures/butt-fields.png`` by the library: a butt cut through at six times.

Run ``.venv/bin/python scripts/make_library_picture.py`` after the model or the picture has changed.
"""

from __future__ import annotations

from pathlib import Path

import pitreckon as pr

PICTURE = Path(__file__).parents[1] / "docs" / "pictures" / "butt-fields.png"
AT_S = [3600 * hours for hours in (1, 2, 3, 5, 7, 9)]


def main() -> None:
    """Simulate, draw, write."""
    run = pr.simulate("Boston butt", "offset", members=64, seed=1, set_c=121.0, at_s=AT_S)
    figure = pr.plots.field(run, "temperature", at_s=AT_S)
    figure.savefig(PICTURE, dpi=110, metadata={"Software": None})
    print(f"wrote {PICTURE.relative_to(PICTURE.parents[2])}")


if __name__ == "__main__":
    main()
