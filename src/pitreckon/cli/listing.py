"""The catalog's lists: cuts, pits and wraps, on the screen or as JSON."""

from collections.abc import Iterable
from typing import Any

from rich.console import Console
from rich.table import Table

from pitreckon import catalog
from pitreckon.catalog import Cut, Pit, Wrap
from pitreckon.cli.envelope import print_json
from pitreckon.cli.screen import print_table
from pitreckon.errors import InputError
from pitreckon.units import (
    Scale,
    format_difference,
    format_mass,
    format_percent,
    format_temperature,
    parse_temperature,
)


def cuts(degrees: Scale, *, as_json: bool) -> None:
    """Every cut with its usual course, animal by animal."""
    ranked = sorted(catalog.cuts().values(), key=lambda cut: (cut.animal, cut.name))
    if as_json:
        print_json("cuts", {"cuts": [_cut(cut) for cut in ranked]})
        return
    console = Console(highlight=False)
    animal = ""
    for cut in ranked:
        if cut.animal != animal:
            animal = cut.animal
            console.print(f"\n{catalog.animal(animal).name}", style="underline")
        done = format_temperature(cut.texture.done_core_c.value, degrees)
        how = "probe slides in, about " if cut.texture.done_by == "tender" else "core "
        mass = format_mass(cut.shape.mass_kg.value, "lb" if degrees == "F" else "kg")
        console.print(f"[bold]{cut.key:<20}[/bold] {cut.name}, {mass}; done: {how}{done}", soft_wrap=True)
        course = ", ".join(
            f"{stage.do}{f' in {stage.wrap}' if stage.wrap else ''} until {_until(stage.until, degrees)}"
            for stage in cut.course
        )
        console.print(f"  {course}", style="dim", soft_wrap=True)
    console.print("\nUsual courses are common practice, no source. Every other number names its own in the data files.")


def _until(until: str, degrees: Scale) -> str:
    """What ends a stage, a temperature in the degrees that were asked for."""
    try:
        return format_temperature(parse_temperature(until), degrees)
    except InputError:  # tender, colour, a time
        return until


def pits(degrees: Scale, *, as_json: bool) -> None:
    """Every kind of pit and how its air behaves."""
    if as_json:
        print_json("pits", {"pits": [_pit(pit) for pit in catalog.pits().values()]})
        return
    table = _table("kind", "name", "fuel", "wanders by", "lid costs", "air")
    for pit in catalog.pits().values():
        table.add_row(
            pit.key,
            pit.name,
            pit.fuel,
            "± " + format_difference(pit.air.swing_k.value, degrees).lstrip("+"),
            format_difference(pit.air.lid_dip_k.value, degrees).lstrip("+"),
            "fan" if pit.fan else "still",
        )
    print_table(Console(highlight=False), table)


def wraps(*, as_json: bool) -> None:
    """Every wrap: what it keeps in, what it covers, how else it may be written."""
    every = catalog.wraps().values()
    if as_json:
        print_json("wraps", {"wraps": [_wrap(wrap) for wrap in every]})
        return
    table = _table("wrap", "name", "juice", "breathes", "covers", "also written")
    for wrap in every:
        table.add_row(
            wrap.key,
            wrap.name,
            "stays in" if wrap.holds_liquid else "runs off",
            "yes" if wrap.vapour_permeance_kg_m2_s_pa.value > 0.0 else "no",
            _covers(wrap),
            ", ".join(wrap.also),
        )
    console = Console(highlight=False)
    print_table(console, table)
    console.print('In a cook file: do = "wrapped" with wrap = and the first word.', style="dim")


def _covers(wrap: Wrap) -> str:
    shares = {"top": wrap.cover_top, "sides": wrap.cover_side, "under": wrap.cover_under}
    if all(share.value >= 1.0 for share in shares.values()):
        return "all round"
    told = [
        name if share.value >= 1.0 else f"{format_percent(share.value)} of {name}"
        for name, share in shares.items()
        if share.value > 0.0
    ]
    return ", ".join(told)


def _table(*heads: str) -> Table:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in heads:
        table.add_column(head, overflow="fold")
    return table


def _cut(cut: Cut) -> dict[str, Any]:
    return {
        "key": cut.key,
        "name": cut.name,
        "animal": cut.animal,
        "kind": cut.kind,
        "mass_kg": cut.shape.mass_kg.value,
        "done_by": cut.texture.done_by,
        "done_core_c": cut.texture.done_core_c.value,
        "course": [{"do": stage.do, "until": stage.until, "wrap": stage.wrap} for stage in cut.course],
    }


def _pit(pit: Pit) -> dict[str, Any]:
    return {
        "key": pit.key,
        "name": pit.name,
        "fuel": pit.fuel,
        "fan": pit.fan,
        "swing_k": pit.air.swing_k.value,
        "lid_dip_k": pit.air.lid_dip_k.value,
    }


def _wrap(wrap: Wrap) -> dict[str, Any]:
    sheet: Iterable[str] = ("vapour_permeance_kg_m2_s_pa", "leak_kg_m2_s_pa", "cover_top", "cover_side", "cover_under")
    told = {name: getattr(wrap, name).value for name in sheet}
    return {
        "key": wrap.key,
        "name": wrap.name,
        "also": list(wrap.also),
        "holds_liquid": wrap.holds_liquid,
        **told,
    }
