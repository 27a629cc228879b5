"""The catalog on the screen."""

from __future__ import annotations

from typing import Literal, cast

from rich.console import Console
from rich.table import Table

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.units import format_difference, format_mass, format_temperature

Scale = Literal["F", "C"]


def _course(cut: Cut) -> str:
    return ", ".join(
        f"{stage.do}{f' in {stage.wrap}' if stage.wrap else ''} until {stage.until}" for stage in cut.course
    )


def print_cuts(degrees: str) -> None:
    """Every cut by its animal: key, name, usual weight, when it is done, its usual course."""
    scale = cast(Scale, degrees)
    console = Console(highlight=False)
    animal = ""
    for cut in sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)):
        if cut.animal != animal:
            animal = cut.animal
            console.print(f"\n{catalog.animal(animal).name}", style="underline")
        done = format_temperature(cut.texture.done_core_c.value, scale)
        how = "probe slides in, about " if cut.texture.done_by == "tender" else "core "
        mass = format_mass(cut.shape.mass_kg.value, "lb" if scale == "F" else "kg")
        console.print(f"[bold]{cut.key:<20}[/bold] {cut.name}, {mass}; done: {how}{done}", soft_wrap=True)
        console.print(f"  {_course(cut)}", style="dim", soft_wrap=True)
    console.print("\nUsual courses are common practice, no source. Every other number names its own in the data files.")


def print_pits(degrees: str) -> None:
    """Every kind of pit: key, name, fuel and how its air behaves."""
    scale = cast(Scale, degrees)
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in ("kind", "name", "fuel", "wanders by", "lid costs", "air"):
        table.add_column(head, overflow="fold")
    for pit in catalog.pits().values():
        table.add_row(
            pit.key,
            pit.name,
            pit.fuel,
            "± " + format_difference(pit.air.swing_k.value, scale).lstrip("+"),
            format_difference(pit.air.lid_dip_k.value, scale).lstrip("+"),
            "fan" if pit.fan else "still",
        )
    Console(highlight=False).print(table)
