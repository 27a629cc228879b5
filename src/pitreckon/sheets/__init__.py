"""Paper: the run sheet, the calendar, the shopping list, the recipe card, all from one document model.

``model`` has the blocks, ``runsheet`` and ``shopping`` build sheets of them, ``text``, ``markdown``, ``page``, ``pdf``
and ``ics`` write any sheet; nothing but those five knows how a sheet looks.
"""

from pitreckon.sheets.documents.runsheet import run_sheet
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.reader import Reader

__all__ = ["Reader", "Sheet", "run_sheet"]
