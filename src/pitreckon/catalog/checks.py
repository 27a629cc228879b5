"""What one field of a file alone cannot show: sums, orders, and names that must exist elsewhere."""

from __future__ import annotations

import re
from collections.abc import Mapping

from pitreckon.catalog.document import Document
from pitreckon.catalog.forms import Cut, Fuel, Pit, Wrap
from pitreckon.catalog.shapes import shape_fault

_UNTIL = re.compile(r"colour|tender|glaze|\d+(\.\d+)? ?(F|C|min|h)")


def check_pit(pit: Pit, document: Document, fuels: Mapping[str, Fuel]) -> None:
    """Raise InputError where a pit names a fuel that is not there."""
    if pit.fuel not in fuels:
        raise document.refuse("fuel", f"there is no fuel '{pit.fuel}'", f"Use one of {', '.join(fuels)}")


def check_cut(cut: Cut, document: Document, wraps: Mapping[str, Wrap]) -> None:
    """Raise InputError where a cut contradicts itself or its course names what is not there."""
    parts = cut.composition
    total = parts.water.value + parts.protein.value + parts.fat.value + parts.ash.value
    if not 0.95 <= total <= 1.03:
        raise document.refuse(
            "composition",
            f"water, protein, fat and ash add up to {total:.3f}",
            "Give mass fractions of the raw edible part (not percent) that add up to about 1",
        )
    fault = shape_fault(cut.shape)
    if fault:
        raise document.refuse(f"shape.{fault[0]}", fault[1], fault[2])
    _check_order(cut, document)
    _check_course(cut, document, wraps)


def _check_order(cut: Cut, document: Document) -> None:
    texture, colour = cut.texture, cut.colour
    if texture.past_conversion.value <= texture.tender_conversion.value:
        raise document.refuse(
            "texture.past_conversion",
            "it is not above tender_conversion",
            "Tender comes before past its best",
        )
    if texture.done_core_c.value < texture.least_core_c.value:
        raise document.refuse(
            "texture.done_core_c", "it is below least_core_c", "Finish at or above the official minimum"
        )
    if colour.dark_level.value <= colour.set_level.value:
        raise document.refuse("colour.dark_level", "it is not above set_level", "Set comes before too dark")


def _check_course(cut: Cut, document: Document, wraps: Mapping[str, Wrap]) -> None:
    choice = f"Use one of {', '.join(wraps)}"
    for n, stage in enumerate(cut.course, start=1):
        if not _UNTIL.fullmatch(stage.until):
            raise document.refuse(
                f"course.{n}.until",
                f"'{stage.until}' does not say when the stage ends",
                'Write "colour", "tender", "glaze", a core temperature ("203 F") or a time ("20 min")',
            )
        if stage.do == "wrapped" and not stage.wrap:
            raise document.refuse(f"course.{n}.wrap", "a wrapped stage names no wrap", choice)
        if stage.wrap and stage.wrap not in wraps:
            raise document.refuse(f"course.{n}.wrap", f"there is no wrap '{stage.wrap}'", choice)
