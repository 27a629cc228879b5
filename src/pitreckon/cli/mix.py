"""The work behind ``pitreckon mix``: weights beside spoons, tastes as bars, a change towards targets, a label."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from pitreckon import catalog
from pitreckon.catalog.foods import Range, foods
from pitreckon.cli.answers import print_json
from pitreckon.cli.mixmeat import on_the_meat, print_on_the_meat
from pitreckon.errors import InputError
from pitreckon.flavour.batch import Batch, batch_of
from pitreckon.flavour.document import label_document, mix_document
from pitreckon.flavour.label import Label, label_of
from pitreckon.flavour.salting import SALT_TYPES, equilibrium_salt_g_per_kg, salt_volumes_m3
from pitreckon.flavour.scale import covers_words, factor_for, surface_m2
from pitreckon.flavour.target import measure, parse_targets, solve
from pitreckon.flavour.tastes import Taste, scoville_by_dry_mass, tastes_of
from pitreckon.intake.mixamounts import parse_cover
from pitreckon.intake.mixfile import read_mix
from pitreckon.ledger.mix import Cover
from pitreckon.units import format_percent, format_spoons, round_half_up

BAR = 24
FULL = {"sweet": 100.0, "salt": 50.0, "sour": 6.0}
HOTTEST_LOG10 = 5.0
"""A bar of pungency is in powers of ten, full at 100,000 units."""
SALT_WORDS = {"salt": "table", "rolled-salt": "rolled kosher", "flake-salt": "flaked kosher"}
MEAT_WATER = Range(0.60, 0.755)
"""Water in raw meat: spareribs 59.75 %, chicken without skin 75.5 %, USDA SR28 10088 and 05011."""


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
) -> None:
    """A mix on the screen, or as one JSON object."""
    batch = batch_of(read_mix(file))
    factor = 1.0 if wanted is None else _factor(batch, wanted)
    changed = batch if targets is None else solve(batch, parse_targets(targets), _meat_kg(batch))
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
    """Batches for ``7 racks``, ``3.2 kg``, ``0.6 m2``, ``2 batches``, or so many pieces of a cut by their surface."""
    try:
        cover = parse_cover(wanted)
        if cover.what == "batch":
            return cover.value
        known = {each.what for each in batch.mix.covers}
        if cover.what not in known and "area" in known:
            cut = wanted.split(maxsplit=1)[-1].strip().casefold()
            if cut in catalog.cuts():
                return factor_for(batch.mix, Cover(cover.value * surface_m2(cut), "area"))
        return factor_for(batch.mix, cover)
    except InputError as fault:
        raise fault.at(field="--for") from fault


def _meat_kg(batch: Batch) -> float | None:
    return next((cover.value for cover in batch.mix.covers if cover.what == "weight"), None)


def grams(mass_kg: float) -> str:
    """``7.4 g``, ``112 g``, ``1.24 kg``."""
    value = 1000.0 * mass_kg
    if value < 10.0:
        return f"{round_half_up(value, 1 if value >= 0.1 else 2):g} g"
    return f"{round_half_up(value):.0f} g" if value < 1000.0 else f"{round_half_up(mass_kg, 2):g} kg"


def spoons(volume_m3: float | None) -> str:
    """The same by the spoon, or a dash."""
    return "–" if volume_m3 is None else format_spoons(volume_m3)


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
        console.print(_moved(before, batch), style="dim", soft_wrap=True)
    console.print()


def _moved(before: Batch, after: Batch) -> str:
    """What the change does to each measure that the mix has."""
    parts = []
    for what in ("weight", "sugar", "salt", "heat", "calories"):
        was, now = measure(before.contents, what).middle, measure(after.contents, what).middle
        if was > 0.0:
            parts.append(f"{what} {format_percent(now / was)}")
    return "of what it was: " + ", ".join(parts)


def _print_salt(console: Console, batch: Batch, factor: float) -> None:
    salt_g = batch.contents.salt_g
    meat = _meat_kg(batch)
    if meat is not None:
        on = salt_g.times(1.0 / (meat * factor))
        if batch.mix.use == "brine":
            water = batch.contents.nutrients["water_g"].middle / 1000.0
            inside = equilibrium_salt_g_per_kg(salt_g.middle / 1000.0, water, meat * factor, MEAT_WATER)
            console.print(
                f"salt {_between(inside, 1)} g/kg of meat once it has the strength of the brine (without the bones)"
            )
        else:
            console.print(f"salt {_between(on, 1)} g/kg of meat, all of its sodium as salt")
    kinds = [each for each in batch.ingredients if each.line.food in SALT_TYPES]
    for each in kinds:
        volumes = salt_volumes_m3(each.mass_kg)
        ways = ", ".join(f"{SALT_WORDS[key]} {format_spoons(volumes[key])}" for key in SALT_TYPES)
        console.print(f"{grams(each.mass_kg)} of salt by the spoon: {ways}", soft_wrap=True)
    if meat is not None or kinds:
        console.print()


def _print_tastes(console: Console, batch: Batch) -> None:
    console.print("[bold]Tastes[/bold]  (100 g of it; solid: at least, shaded: may be)")
    for taste in tastes_of(batch):
        console.print(f"  {taste.name:<6} {bar(taste)}  {escape(taste_words(taste))}", soft_wrap=True)
    if scoville_by_dry_mass(batch).high > 0.0:
        console.print(f"  by dry mass {_between(scoville_by_dry_mass(batch), 0)} SHU", style="dim")
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


def bar(taste: Taste) -> str:
    """A taste as a bar: solid as far as it is at least, shaded as far as it may be."""

    def at(value: float) -> int:
        hot = taste.name == "hot"
        share = math.log10(max(value, 1.0)) / HOTTEST_LOG10 if hot else value / FULL[taste.name]
        return min(BAR, int(round_half_up(BAR * share)))

    if not _told(taste):
        return "?" + "·" * (BAR - 1)
    low, high = at(taste.value.low), at(taste.value.high)
    return "█" * low + "▒" * (high - low) + "·" * (BAR - high)


def taste_words(taste: Taste) -> str:
    """A taste in words: its range and unit, and of which foods it is not known."""
    if not _told(taste):
        return "not known"
    unit = {"sweet": "g as sugar", "salt": "g of salt", "hot": "SHU", "sour": "g of acid"}[taste.name]
    words = f"{_between(taste.value, 0 if taste.name == 'hot' else 1)} {unit}"
    if not taste.not_known:
        return words
    first, rest = taste.not_known[0], len(taste.not_known) - 1
    return f"{words}, and what {first}{f' and {rest} more' if rest else ''} may add"


def _told(taste: Taste) -> bool:
    """Is anything known of it?"""
    return taste.value.known and (taste.value.high > 0.0 or not taste.not_known)


def _between(value: Range, places: int) -> str:
    def write(each: float) -> str:
        return f"{round_half_up(each, places):,.{places}f}"

    if not value.known:
        return f"at least {write(value.low)}"
    low, high = write(value.low), write(value.high)
    return low if low == high else f"{low} to {high}"


def _print_label(console: Console, label: Label, factor: float) -> None:
    console.print(f"[bold]A serving[/bold]: {label.serving}; {label.servings * factor:.3g} in all", soft_wrap=True)
    console.print(label.standing, style="italic")
    table = Table(box=None, pad_edge=False, header_style="bold")
    for head, side in (("", "left"), ("amount", "right"), ("of a day", "right"), ("as analysed", "right")):
        table.add_column(head, justify="right" if side == "right" else "left")
    for line in label.lines:
        if line.declared is None:
            table.add_row("  " * line.depth + line.name, "not known", "", "")
            continue
        unit = {"mcg": "µg"}.get(line.unit, line.unit)
        least = "at least " if line.at_least else ""
        places = 0 if line.unit in {"mg", "kcal"} and line.nutrient != "iron_mg" else 1
        percent = "" if line.percent is None else f"{line.percent:.0f} %"
        amount = f"{least}{line.declared:g} {unit}"
        table.add_row("  " * line.depth + line.name, amount, percent, f"{_between(line.value, places)} {unit}")
    console.print(table)
    console.print(f"Contains: {', '.join(label.contains) or 'none of the allergens asked for'}", soft_wrap=True)
    if label.may_contain:
        console.print(f"Read the labels for: {'; '.join(label.may_contain)}", soft_wrap=True)
    if label.cost is not None:
        console.print(f"Cost of a serving: {label.cost:.2f} {escape(label.currency)}")
    for note in label.notes:
        console.print(note, style="dim", soft_wrap=True)
