"""Labels of jars as PDF, so many to a sheet of A4 or US Letter, each with its jar's number.

Sizes are common ones of label sheets, by their count; print one on plain paper first and hold it against the sheet.
"""

import re
from dataclasses import dataclass
from html import escape
from math import ceil, sqrt
from pathlib import Path
from typing import Final

from pitreckon.errors import InputError, Place
from pitreckon.flavour.sale.batch import Sale
from pitreckon.flavour.sale.lots import jar_code
from pitreckon.flavour.sale.net import least_figure_mm
from pitreckon.sheets.documents.batchsheet import day_words, nutrition_line
from pitreckon.sheets.writers.html import Paper
from pitreckon.sheets.writers.pdf import FAMILY, faces_css, pdf_of_page
from pitreckon.sheets.writers.write import require_for

_INCH: Final = 25.4
_EM_WIDTH: Final = 0.56
"""Mean width of a letter of the typeface, on the safe side."""
_X_HEIGHT: Final = 0.5
_CAPITAL: Final = 0.66
_LINE: Final = 1.16
MOST_LABELS: Final = 5000


@dataclass(frozen=True, slots=True)
class Layout:
    """A sheet of labels [mm]. across, down: how many; left, top: where the first begins; step_x: to the one beside"""

    across: int
    down: int
    width: float
    height: float
    left: float
    top: float
    step_x: float

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.across * self.down


def _letter(across: int, down: int, width: float, height: float, left: float, top: float, step_x: float) -> Layout:
    return Layout(across, down, *(_INCH * each for each in (width, height, left, top, step_x)))


LAYOUTS: Final[dict[Paper, tuple[Layout, ...]]] = {
    "a4": (
        Layout(3, 8, 70.0, 37.0, 0.0, 0.5, 70.0),
        Layout(3, 7, 63.5, 38.1, 7.25, 15.15, 66.0),
        Layout(2, 7, 99.1, 38.1, 4.65, 15.15, 101.6),
        Layout(2, 4, 99.1, 67.7, 4.65, 13.1, 101.6),
    ),
    "letter": (
        _letter(3, 10, 2.625, 1.0, 0.1875, 0.5, 2.75),
        _letter(2, 10, 4.0, 1.0, 0.15625, 0.5, 4.1875),
        _letter(2, 5, 4.0, 2.0, 0.15625, 0.5, 4.1875),
        _letter(2, 3, 4.0, 10.0 / 3.0, 0.15625, 0.5, 4.1875),
    ),
}
"""Common sizes, from memory."""
_USUAL: Final = {"a4": 8, "letter": 10}
_LARGER: Final = (1.6, 1.4, 1.2, 1.1, 1.0)
_PAD: Final = 2.5
_SIZES: Final = {"a4": (210.0, 297.0), "letter": (8.5 * _INCH, 11.0 * _INCH)}


def check_labels(path: Path) -> None:
    """Raises InputError: the name is of no PDF; MissingExtraError: what writes it is not installed."""
    if path.suffix.lower() != ".pdf":
        raise InputError("labels are written as PDF", "End the name in .pdf", Place(str(path), field="--labels"))
    require_for(".pdf")


def labels_pdf(sale: Sale, paper: Paper, count: int | None = None) -> bytes:
    """Labels for all jars that were asked for, numbered. count: on a sheet; None: the usual

    Raises InputError: there are no such sheets, or the words do not fit on a label of this size in letters that the
    rules allow; PaperError, MissingExtraError: no PDF can be made here.
    """
    return pdf_of_page(labels_page(sale, paper, count))


def layout_of(paper: Paper, count: int | None) -> Layout:
    """The sheet of so many labels. Raises InputError: there is none."""
    wanted = count or _USUAL[paper]
    for each in LAYOUTS[paper]:
        if each.count == wanted:
            return each
    known = ", ".join(str(each.count) for each in LAYOUTS[paper])
    where = Place(field="--a-sheet")
    raise InputError(f"no sheet of {paper} has {wanted} labels here", f"Ask for one of: {known}", where)


def labels_page(sale: Sale, paper: Paper, count: int | None = None) -> str:
    """The same as HTML."""
    layout = layout_of(paper, count)
    jars = sale.asked.jars
    if jars > MOST_LABELS:
        raise InputError(f"{jars} labels are too many for one file", f"Ask for up to {MOST_LABELS} jars")
    letters, figures = _fitting(sale, layout)
    width, height = _SIZES[paper]
    sheets = []
    for first in range(1, jars + 1, layout.count):
        cells = [
            _label(sale, number, layout, number - first) for number in range(first, min(first + layout.count, jars + 1))
        ]
        sheets.append(f'<section class="labels">{"".join(cells)}</section>')
    style = (
        f"{faces_css()} @page {{ size: {width:.2f}mm {height:.2f}mm; margin: 0 }} body {{ margin: 0 }}"
        f" .labels {{ position: relative; width: {width:.2f}mm; height: {height - 0.1:.2f}mm; break-after: page }}"
        " .labels:last-child { break-after: auto }"
        f" div {{ position: absolute; box-sizing: border-box; padding: {_PAD}mm; overflow: hidden;"
        f' font: {letters:.2f}mm/{_LINE} "{FAMILY}", sans-serif; width: {layout.width:.2f}mm;'
        f" height: {layout.height:.2f}mm }}"
        f" h1 {{ font-size: {figures:.2f}mm; line-height: {_LINE}; margin: 0 }} p {{ margin: 0 }}"
        f" .net {{ font-size: {figures:.2f}mm; font-weight: 700 }}"
    )
    title = escape(f"{sale.batch.mix.name}, labels of {sale.lot}")
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{title}</title>'
        f"<style>{style}</style></head><body>{''.join(sheets)}</body></html>"
    )


def _label(sale: Sale, number: int, layout: Layout, place: int) -> str:
    row, column = divmod(place, layout.across)
    left, top = layout.left + column * layout.step_x, layout.top + row * layout.height
    lines = "".join(f"<p>{line}</p>" for line in _lines(sale, number))
    return (
        f'<div style="left:{left:.2f}mm;top:{top:.2f}mm"><h1>{escape(sale.batch.mix.name)}</h1>'
        f'<p class="net">{escape(sale.net)}</p>{lines}</div>'
    )


def _lines(sale: Sale, number: int) -> list[str]:
    """Below name and net, as HTML: allergens stand out in the list in the EU and the UK, in a line of their own in
    the US.
    """
    us = sale.asked.market == "us"
    listed = [
        escape(name) if us or name not in sale.allergenic else f"<b>{escape(name.upper())}</b>"
        for name in sale.ingredients
    ]
    lines = [f"Ingredients: {'; '.join(listed)}."]
    if us and sale.contains:
        lines.append(f"<b>Contains: {escape(', '.join(sale.contains))}.</b>")
    if sale.asked.nutrition:
        together = re.sub(r"(?<=[0-9/]) (?=[a-z/0-9])", "\u00a0", nutrition_line(sale))  # a number and its unit
        lines.append(escape(together))
    last = f"Lot {escape(jar_code(sale.lot, number, sale.asked.jars))}"
    if sale.date.day is not None:
        last += f" &nbsp; Best before {day_words(sale.date.day)}"
    lines.append(last)
    if sale.asked.maker:
        lines.append(escape(sale.asked.maker))
    return lines


def _letters_mm(sale: Sale) -> float:
    """Size of the letters: small ones 1/16 inch high in the US (21 CFR 101.2(c)), 1.2 mm in the EU and the UK
    (Regulation (EU) 1169/2011, article 13), both from memory.
    """
    return (_INCH / 16.0 if sale.asked.market == "us" else 1.2) / _X_HEIGHT


def _figures_mm(sale: Sale, layout: Layout) -> float:
    """Size of the net quantity: by the label's area in the US (21 CFR 101.7(h), from memory), by weight elsewhere."""
    if sale.asked.market != "us":
        return least_figure_mm(sale.fill.nominal_kg) / _CAPITAL
    square_in = layout.width * layout.height / _INCH**2
    sixteenths = 1.0 if square_in <= 5.0 else 2.0 if square_in <= 25.0 else 3.0
    return max(_INCH / 16.0 * sixteenths / _CAPITAL, _letters_mm(sale))


def _fitting(sale: Sale, layout: Layout) -> tuple[float, float]:
    """Sizes of letters and figures [mm], as large as there is room. Raises where not even the least ones have it."""
    least = _letters_mm(sale), _figures_mm(sale, layout)
    high = layout.height - 2.0 * _PAD
    for times in _LARGER:
        if _need_mm(sale, layout, least[0] * times, least[1] * times) <= high:
            return least[0] * times, least[1] * times
    raise InputError(
        f"the words need {_need_mm(sale, layout, *least):.0f} mm, and a label of this size has {high:.0f} mm",
        "Take fewer labels a sheet: smaller letters are not allowed",
        Place(field="--a-sheet"),
    )


def _need_mm(sale: Sale, layout: Layout, letters: float, figures: float) -> float:
    """Height that the words need, by the width that letters have at most."""
    inside = layout.width - 2.0 * _PAD

    def rows(text: str, size: float) -> int:
        return ceil(len(text) * size * _EM_WIDTH / inside + 0.15 * sqrt(len(text)) * size / inside)

    need = sum(rows(each, figures) for each in (sale.batch.mix.name, sale.net)) * figures * _LINE
    written = "\n".join(_lines(sale, sale.asked.jars)).replace("&nbsp;", " ")
    small = written.replace("<b>", "").replace("</b>", "").split("\n")
    return need + sum(rows(each, letters) for each in small) * letters * _LINE
