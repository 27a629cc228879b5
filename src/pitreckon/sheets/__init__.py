"""Paper: the run sheet, the calendar, the shopping list, the recipe card, all from one document model.

``model`` has the blocks, ``runsheet`` and ``shopping`` build sheets of them, ``text``, ``markdown``, ``page``, ``pdf``
and ``ics`` write any sheet; nothing but those five knows how a sheet looks.
"""

from __future__ import annotations

from pitreckon.sheets.documents.runsheet import Job, run_sheet
from pitreckon.sheets.documents.shopping import shopping_sheet
from pitreckon.sheets.model import (
    Blank,
    Block,
    Caution,
    Checklist,
    Heading,
    KeyFigure,
    KeyFigures,
    Line,
    Row,
    Sheet,
    Step,
    Table,
    Text,
    Timetable,
)
from pitreckon.sheets.reader import Reader
from pitreckon.sheets.writers.write import ENDINGS, write_sheet

__all__ = [
    "ENDINGS",
    "Blank",
    "Block",
    "Caution",
    "Checklist",
    "Heading",
    "Job",
    "KeyFigure",
    "KeyFigures",
    "Line",
    "Reader",
    "Row",
    "Sheet",
    "Step",
    "Table",
    "Text",
    "Timetable",
    "run_sheet",
    "shopping_sheet",
    "write_sheet",
]
