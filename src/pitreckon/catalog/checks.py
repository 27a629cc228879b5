"""What one field of a file alone cannot show: sums, orders, and names that must exist elsewhere."""

import re
from collections.abc import Mapping

from pitreckon.catalog.form import Document
from pitreckon.catalog.forms import Animal, Cut, Fuel, Pit, Wrap
from pitreckon.catalog.shapes import shape_fault

_UNTIL = re.compile(r"colour|tender|glaze|\d+(\.\d+)? ?(F|C|min|h)")


def check_pit(pit: Pit, document: Document, fuels: Mapping[str, Fuel]) -> None:
    """Raise InputError where a pit names a fuel that is not there, or its room or fire contradicts itself."""
    if pit.fuel not in fuels:
        raise document.refuse("fuel", f"there is no fuel '{pit.fuel}'", f"Use one of {', '.join(fuels)}")
    _check_room(pit, document)
    fire = pit.fire
    if fire is not None and fuels[pit.fuel].burns != (fire.usual_kg_h.value > 0):
        trouble = "burns" if fuels[pit.fuel].burns else "does not burn"
        raise document.refuse(
            "fire.usual_kg_h",
            f"{pit.fuel} {trouble}, usual_kg_h is {fire.usual_kg_h.value:g}",
            "Give what the pit burns in an hour at 107 C, and 0 where nothing burns",
        )
    if fire is not None and fire.usual_kg_h.value > 0 and fire.usual_kg_h.sd is None:
        raise document.refuse("fire.usual_kg_h", "the sd is missing", "Give sd = ..., from one pit and day to the next")


def _check_room(pit: Pit, document: Document) -> None:
    if pit.place and pit.room is None:
        raise document.refuse("place.1", "the pit has places and no room", "Add a [room]")
    if pit.room is None:
        return
    if pit.room.grates.value % 1:
        raise document.refuse("room.grates", f"{pit.room.grates.value:g} is no whole number", "Count the levels")
    if pit.room.across_m.value**2 < pit.room.grate_m2.value:
        raise document.refuse(
            "room.across_m",
            f"a grate of {pit.room.grate_m2.value:g} m2 is longer than {pit.room.across_m.value:g} m",
            "Give the longest straight way over the grate, in metres",
        )
    if pit.place:
        total = sum(place.share.value for place in pit.place)
        if abs(total - 1.0) > 0.01:
            raise document.refuse(
                "place.1.share",
                f"the shares of the places add up to {total:.3f}",
                "Give shares of the usable area that add up to 1",
            )


def check_cut(cut: Cut, document: Document, animals: Mapping[str, Animal], wraps: Mapping[str, Wrap]) -> None:
    """Raise InputError where a cut contradicts itself or its course names what is not there."""
    _check_animal(cut, document, animals)
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


def _check_animal(cut: Cut, document: Document, animals: Mapping[str, Animal]) -> None:
    if cut.animal not in animals:
        raise document.refuse(
            "animal",
            f"there is no animal '{cut.animal}'",
            f"Use one of {', '.join(animals)}, or say what it is in animals/{cut.animal}.toml",
        )
    family = animals[cut.animal].family
    if cut.kind != "ground" and (cut.kind == "poultry") != (family == "poultry"):
        raise document.refuse(
            "kind",
            f"'{cut.kind}' does not go with {cut.animal}, which is {family}",
            "Write poultry for a bird that is not ground, and intact, non-intact or ground for any other animal",
        )


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
