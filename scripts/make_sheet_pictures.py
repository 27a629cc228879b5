"""Draws the pictures of the run sheet in ``docs/pictures``: the pages that ``pitreckon sheet`` makes of the demo cook.

Run ``.venv/bin/python scripts/make_sheet_pictures.py`` after the sheet or the model has changed; the typeface has to be
there (``scripts/build_web.sh``).
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pypdfium2

from pitreckon.cli.demo import COOK_FILE
from pitreckon.cook.read import cook_from_text
from pitreckon.reckon import reckon
from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.pdf import faces_css, pdf_of

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
MADE = datetime(2026, 10, 16, 20, 0, tzinfo=UTC)
MEMBERS, SEED = 512, 1
DOTS_PER_POINT = 1.4
PAGES = 2


def main() -> None:
    """The first pages, as A4."""
    if not faces_css():
        raise SystemExit("the typeface is not there: run scripts/build_web.sh first")
    cook = cook_from_text(COOK_FILE, "harvest-table.toml")
    sheet = run_sheet(cook, reckon(cook, members=MEMBERS, seed=SEED), reader=Reader(cook.zone), made_utc=MADE)
    document = pypdfium2.PdfDocument(pdf_of(sheet, "a4"))
    for n in range(min(PAGES, len(document))):
        picture = document[n].render(scale=DOTS_PER_POINT, grayscale=True).to_pil()
        picture.quantize(16).save(PICTURES / f"run-sheet-{n + 1}.png", optimize=True)


if __name__ == "__main__":
    main()
