"""A mix on the screen: weights beside spoons, tastes as bars, a label."""

from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from pitreckon.catalog.foods import foods
from pitreckon.flavour.label import Label
from pitreckon.flavour.mix import Cover
from pitreckon.flavour.taste.tastes import Taste, scoville_by_dry_mass, tastes_of
from pitreckon.flavour.weigh.batch import Batch, covers_words
from pitreckon.flavour.wording import (
    between,
    grams,
    label_cells,
    moved_words,
    salt_lines,
    spoons,
    taste_ends,
    taste_words,
)
from pitreckon.units import format_spoons, round_half_up

BAR = 24


def list_foods() -> None:
    """Every food of the catalog: key, name, weight of a tablespoon, other spellings."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in ("food", "name", "1 tbsp", "also"):
        table.add_column(head, overflow="fold", justify="right" if head == "1 tbsp" else "left")
    for food in foods().values():
        spoon = "" if food.density_kg_m3 is None else f"{food.density_kg_m3 * 14.78676e-3:.1f} g"
        table.add_row(food.key, food.name, spoon, ", ".join(food.also))
    Console(highlight=False).print(table)


def foods_document() -> dict[str, Any]:
    """Every food of the catalog, for ``print_json``."""
    return {
        "foods": [
            {"key": each.key, "name": each.name, "also": list(each.also), "density_kg_m3": each.density_kg_m3}
            for each in foods().values()
        ]
    }


def print_weights(console: Console, batch: Batch, factor: float, before: Batch | None) -> None:
    """Every ingredient: its weight, its spoons, what it was, its cost."""
    mix = batch.mix
    covers = [Cover(each.value * factor, each.what) for each in mix.covers]
    whom = f" for {', '.join(map(covers_words, covers))}" if covers else ""
    volume = batch.volume_m3
    size = grams(batch.mass_kg) + ("" if volume is None else f", about {format_spoons(volume)}")
    console.print(f"[bold]{escape(mix.name)}[/bold] ({mix.use}){escape(whom)}: {size}", soft_wrap=True)
    if factor != 1.0:
        console.print(f"{factor:.4g} times the batch of the file", style="dim")
    console.print()
    table = Table(box=None, pad_edge=False, header_style="bold")
    heads = [
        "weight",
        "spoons",
        "",
        *(["was", "change"] if before else []),
        *(["cost"] if batch.cost is not None else []),
    ]
    for head in heads:
        table.add_column(head, justify="left" if head in {"spoons", ""} else "right")
    old = {} if before is None else {each.name: each.mass_kg for each in before.ingredients}
    for each in batch.ingredients:
        row = [grams(each.mass_kg), spoons(each.volume_m3), escape(each.name)]
        if before is not None:
            was = old.pop(each.name)
            change = each.mass_kg / was - 1.0
            row += [grams(was), "–" if abs(change) < 0.005 else f"{100.0 * change:+.0f} %"]
        if batch.cost is not None:
            row.append(f"{each.cost:.2f}")
        table.add_row(*row)
    for name, was in old.items():
        table.add_row("none", "–", escape(name), grams(was), "-100 %", *([""] if batch.cost is not None else []))
    console.print(table)
    if batch.cost is not None:
        console.print(f"cost {batch.cost:.2f} {escape(mix.currency)}")
    if before is not None:
        console.print(moved_words(before, batch), style="dim", soft_wrap=True)
    console.print()


def print_salt(console: Console, batch: Batch, factor: float) -> None:
    """How salty the meat gets."""
    lines = salt_lines(batch, factor)
    for line in lines:
        console.print(line, soft_wrap=True)
    if lines:
        console.print()


def bar(taste: Taste) -> str:
    """A taste as a bar: solid as far as it is at least, shaded as far as it may be."""
    ends = taste_ends(taste)
    if ends is None:
        return "?" + "·" * (BAR - 1)
    low, high = (int(round_half_up(BAR * end)) for end in ends)
    return "█" * low + "▒" * (high - low) + "·" * (BAR - high)


def print_tastes(console: Console, batch: Batch) -> None:
    """What it tastes of, as bars."""
    console.print("[bold]Tastes[/bold]  (100 g of it; solid: at least, shaded: may be)")
    for taste in tastes_of(batch):
        console.print(f"  {taste.name:<6} {bar(taste)}  {escape(taste_words(taste))}", soft_wrap=True)
    if scoville_by_dry_mass(batch).high > 0.0:
        console.print(f"  by dry mass {between(scoville_by_dry_mass(batch), 0)} SHU", style="dim")
    console.print()


def print_both(console: Console, batch: Batch, other: Batch) -> None:
    """Two mixes beside each other."""
    console.print("[bold]Side by side[/bold]  (100 g of each; solid: at least, shaded: may be)")
    width = max(len(batch.mix.name), len(other.mix.name))
    for one, two in zip(tastes_of(batch), tastes_of(other), strict=True):
        for n, (mix, taste) in enumerate(((batch.mix, one), (other.mix, two))):
            head = taste.name if n == 0 else ""
            console.print(
                f"  {head:<6} {escape(f'{mix.name:<{width}}')} {bar(taste)}  {escape(taste_words(taste))}",
                soft_wrap=True,
            )
    console.print()


def print_label(console: Console, label: Label, factor: float) -> None:
    """A nutrition label, an estimate."""
    console.print(f"[bold]A serving[/bold]: {label.serving}; {label.servings * factor:.3g} in all", soft_wrap=True)
    console.print(label.standing, style="italic")
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head, side in (("", "left"), ("amount", "right"), ("of a day", "right"), ("as analysed", "right")):
        table.add_column(head, justify="right" if side == "right" else "left")
    for line in label.lines:
        name, *cells = label_cells(line)
        table.add_row("  " * line.depth + name, *cells)
    console.print(table)
    console.print(f"Contains: {', '.join(label.contains) or 'none of the allergens asked for'}", soft_wrap=True)
    if label.may_contain:
        console.print(f"Read the labels for: {'; '.join(label.may_contain)}", soft_wrap=True)
    if label.cost is not None:
        console.print(f"Cost of a serving: {label.cost:.2f} {escape(label.currency)}")
    for note in label.notes:
        console.print(note, style="dim", soft_wrap=True)
