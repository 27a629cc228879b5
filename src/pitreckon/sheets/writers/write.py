"""A sheet into a file, by the ending of its name; whole or not at all."""

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from pitreckon.errors import InputError, Place
from pitreckon.extras import require
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.writers.html import Paper, page_of
from pitreckon.sheets.writers.ics import calendar_of
from pitreckon.sheets.writers.markdown import markdown_of
from pitreckon.sheets.writers.pdf import pdf_of
from pitreckon.sheets.writers.text import text_of

ENDINGS: Final[dict[str, Callable[[Sheet, Paper], bytes]]] = {
    ".pdf": pdf_of,
    ".ics": lambda sheet, _paper: calendar_of(sheet),
    ".html": lambda sheet, paper: page_of(sheet, paper).encode(),
    ".md": lambda sheet, _paper: markdown_of(sheet).encode(),
    ".txt": lambda sheet, _paper: text_of(sheet).encode(),
}
NEEDS: Final = {".pdf": "weasyprint", ".ics": "icalendar", ".html": "jinja2", ".md": "jinja2"}
"""The library that writes an ending; none for plain text."""


def check_ending(path: Path) -> str:
    """The ending of the name, one of ``ENDINGS``, for which all is there that writes it.

    Raises InputError: another
    Raises MissingExtraError: what writes it is not installed
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        trouble = f"'{ending}' is no kind of sheet" if ending else "the name has no ending that says what to write"
        raise InputError(trouble, f"End the name in one of: {', '.join(ENDINGS)}", Place(str(path)))
    require_for(ending)
    return ending


def require_for(ending: str) -> None:
    """Ask for what writes this ending. Raises MissingExtraError: it is not installed."""
    if ending in NEEDS:
        require(NEEDS[ending], f"a {ending} file")


def write_sheet(sheet: Sheet, path: Path, paper: Paper = "a4") -> None:
    """Write a sheet to a file; a file that was there is replaced in one step, or left as it was.

    Raises InputError: an unknown ending; the file cannot be written
    Raises PaperError: a PDF cannot be made on this machine
    """
    write_whole(ENDINGS[check_ending(path)](sheet, paper), path, "the sheet")


def write_whole(content: bytes, path: Path, what: str = "the file") -> None:
    """Write a file in one step: what was there before stays as it was if anything goes wrong.

    A link goes on leading to the file that it names. A device, or a pipe with a name, is written to, and stays.

    Raises InputError: it cannot be written.
    """
    try:
        if path.exists() and not (path.is_file() or path.is_dir()):
            path.write_bytes(content)
        else:
            _replace(Path(os.path.realpath(path)) if path.is_symlink() else path, content)
    except OSError as fault:
        raise InputError(
            f"{what} cannot be written: {fault.strerror}",
            "Name a file in a folder that is there and is your own",
            Place(str(path)),
        ) from fault


def _replace(path: Path, content: bytes) -> None:
    if path.is_dir():
        raise IsADirectoryError(21, "it is a folder")
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(content)
            out.flush()
            os.fsync(out.fileno())
        kept = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
        beside.chmod(kept)
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise


def _umask() -> int:
    """What this process keeps from new files; there is no asking without setting."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
