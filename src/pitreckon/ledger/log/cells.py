"""Texts in the cells of a log that a table program would take for a formula, and back.

A cell that begins with one of ``= + - @`` is reckoned by such a program, whoever wrote it. A quote before it makes it
a text there; the reader takes that quote off again, so a log holds the same whoever opened it on the way.
"""

import re
from typing import Final

_SIGNS: Final = "=+\\-@\uff1d\uff0b\uff0d\uff20"  # the last four are their full-width forms
_FORMULA: Final = re.compile(rf"[\s']*[{_SIGNS}]")
_QUOTED: Final = re.compile(rf"'[\s']*[{_SIGNS}]")
_NUMBER: Final = re.compile(r"[+-]\d+([.,]\d+)?( ?[°A-Za-z%]{1,5})?")


def guarded(text: str) -> str:
    """A text as a cell.

    >>> [guarded(each) for each in ("=1+1", "-5 F", "'=", "amber")]
    ["'=1+1", '-5 F', "''=", 'amber']
    """
    return "'" + text if _FORMULA.match(text) and not _NUMBER.fullmatch(text) else text


def unguarded(cell: str) -> str:
    """The text of a cell.

    >>> [unguarded(each) for each in ("'=1+1", "-5 F", "''=", "amber")]
    ['=1+1', '-5 F', "'=", 'amber']
    """
    return cell[1:] if cell.startswith("'") and _QUOTED.match(cell) else cell
