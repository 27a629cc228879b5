"""``pitreckon cuts`` and ``pits``: the catalog on the screen."""

from pitreckon.cli.options import Shown


def cuts(degrees: Shown = "F") -> None:
    """List the cuts of the catalog, yours included."""
    from rich.console import Console

    from pitreckon import catalog
    from pitreckon.units import format_mass, format_temperature

    console = Console(highlight=False)
    animal = ""
    for cut in sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name)):
        if cut.animal != animal:
            animal = cut.animal
            console.print(f"\n{catalog.animal(animal).name}", style="underline")
        done = format_temperature(cut.texture.done_core_c.value, degrees)
        how = "probe slides in, about " if cut.texture.done_by == "tender" else "core "
        mass = format_mass(cut.shape.mass_kg.value, "lb" if degrees == "F" else "kg")
        console.print(f"[bold]{cut.key:<20}[/bold] {cut.name}, {mass}; done: {how}{done}", soft_wrap=True)
        course = ", ".join(
            f"{stage.do}{f' in {stage.wrap}' if stage.wrap else ''} until {stage.until}" for stage in cut.course
        )
        console.print(f"  {course}", style="dim", soft_wrap=True)
    console.print("\nUsual courses are common practice, no source. Every other number names its own in the data files.")


def pits(degrees: Shown = "F") -> None:
    """List the kinds of pit of the catalog, yours included."""
    from rich.console import Console
    from rich.table import Table

    from pitreckon import catalog
    from pitreckon.units import format_difference

    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in ("kind", "name", "fuel", "wanders by", "lid costs", "air"):
        table.add_column(head, overflow="fold")
    for pit in catalog.pits().values():
        table.add_row(
            pit.key,
            pit.name,
            pit.fuel,
            "± " + format_difference(pit.air.swing_k.value, degrees).lstrip("+"),
            format_difference(pit.air.lid_dip_k.value, degrees).lstrip("+"),
            "fan" if pit.fan else "still",
        )
    Console(highlight=False).print(table)
