"""The work behind ``pitreckon mix``: weights beside spoons, tastes as bars, a change towards targets, a label."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from pitreckon.catalog.foods import foods
from pitreckon.cli.answers import print_json
from pitreckon.cli.mixmeat import on_the_meat, print_on_the_meat
from pitreckon.cli.sources import Group, of_mixes, of_reckoning, print_sources
from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError
from pitreckon.flavour.label import Label, label_of
from pitreckon.flavour.mix import Cover
from pitreckon.flavour.read import read_mix
from pitreckon.flavour.taste.target import parse_targets, solve
from pitreckon.flavour.taste.tastes import Taste, scoville_by_dry_mass, tastes_of
from pitreckon.flavour.weigh.batch import Batch, batch_of
from pitreckon.flavour.weigh.document import label_document, mix_document
from pitreckon.flavour.weigh.scale import covers_words
from pitreckon.flavour.wording import (
    between,
    factor_wanted,
    grams,
    label_cells,
    meat_kg,
    moved_words,
    salt_lines,
    spoons,
    taste_ends,
    taste_words,
)
from pitreckon.units import format_spoons, round_half_up

BAR = 24


def show_mix(
    file: Path,
    wanted: str | None,
    against: Path | None,
    targets: str | None,
    on: Path | None = None,
    item: str | None = None,
    *,
    label: bool,
    rules: str,
    as_json: bool,
    sources: bool = False,
) -> None:
    """A mix on the screen, or as one JSON object."""
    batch = batch_of(read_mix(file))
    factor = 1.0 if wanted is None else _factor(batch, wanted)
    changed = batch if targets is None else solve(batch, parse_targets(targets), meat_kg(batch))
    other = None if against is None else batch_of(read_mix(against))
    whole = changed.times(factor)
    made = label_of(changed, rules) if label else None
    if as_json:
        document: dict[str, Any] = mix_document(whole, factor)
        if made is not None:
            document["label"] = label_document(made)
        if other is not None:
            document["against"] = mix_document(other)
        if targets is not None:
            document["before"] = mix_document(batch.times(factor), factor)
        if on is not None:
            document["on_the_meat"] = on_the_meat(changed, on, item)[0]
        print_json(document)
        if sources:
            print_sources(_sources(whole, other, on), as_json=True)
        return
    console = Console(highlight=False)
    _print_weights(console, whole, factor, batch.times(factor) if targets is not None else None)
    _print_salt(console, whole, factor)
    if other is None:
        _print_tastes(console, whole)
    else:
        _print_both(console, whole, other)
    if made is not None:
        _print_label(console, made, factor)
    if on is not None:
        print_on_the_meat(console, changed, on, item)
    if sources:
        print_sources(_sources(whole, other, on))


def _sources(batch: Batch, other: Batch | None, on: Path | None) -> list[Group]:
    """Of the foods, and of the meat's model where heat was asked for."""
    mixes = [each.mix for each in (batch, other) if each is not None]
    return [*of_mixes(mixes), *(() if on is None else of_reckoning(read_cook(on)))]


def list_foods() -> None:
    """Every food of the catalog: key, name, weight of a tablespoon, other spellings."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head in ("food", "name", "1 tbsp", "also"):
        table.add_column(head, overflow="fold", justify="right" if head == "1 tbsp" else "left")
    for food in foods().values():
        spoon = "" if food.density_kg_m3 is None else f"{food.density_kg_m3 * 14.78676e-3:.1f} g"
        table.add_row(food.key, food.name, spoon, ", ".join(food.also))
    Console(highlight=False).print(table)


def _factor(batch: Batch, wanted: str) -> float:
    try:
        return factor_wanted(batch, wanted)
    except InputError as fault:
        raise fault.at(field="--for") from fault


def _print_weights(console: Console, batch: Batch, factor: float, before: Batch | None) -> None:
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


def _print_salt(console: Console, batch: Batch, factor: float) -> None:
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


def _print_tastes(console: Console, batch: Batch) -> None:
    console.print("[bold]Tastes[/bold]  (100 g of it; solid: at least, shaded: may be)")
    for taste in tastes_of(batch):
        console.print(f"  {taste.name:<6} {bar(taste)}  {escape(taste_words(taste))}", soft_wrap=True)
    if scoville_by_dry_mass(batch).high > 0.0:
        console.print(f"  by dry mass {between(scoville_by_dry_mass(batch), 0)} SHU", style="dim")
    console.print()


def _print_both(console: Console, batch: Batch, other: Batch) -> None:
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


def _print_label(console: Console, label: Label, factor: float) -> None:
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
