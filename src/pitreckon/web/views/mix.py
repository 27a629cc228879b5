"""A mix in a page's words: weights beside spoons, tastes as bars, salt, what a change moves, a label."""

from dataclasses import dataclass

from pitreckon.flavour.label import Label, label_of
from pitreckon.flavour.mix import Cover, Mix
from pitreckon.flavour.taste.target import parse_targets, solve
from pitreckon.flavour.taste.tastes import scoville_by_dry_mass, tastes_of
from pitreckon.flavour.weigh.batch import Batch, batch_of, covers_words
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

__all__ = ["Bar", "MixView", "Row", "changed_batch", "mix_view"]


@dataclass(frozen=True, slots=True)
class Row:
    """One ingredient. was, change: before a change towards a target, "" where there was none"""

    weight: str
    spoons: str
    name: str
    was: str = ""
    change: str = ""
    cost: str = ""


@dataclass(frozen=True, slots=True)
class Bar:
    """A taste. low, high: how far it is full at least and may be [%]; None: not known; of: whose it is"""

    name: str
    of: str
    low: int | None
    high: int | None
    words: str


@dataclass(frozen=True, slots=True)
class MixView:
    """What a page says of a mix.

    lead: how much it makes, for what; rows: of its weights; salt: lines; bars: tastes; moved: what a change moves
    label: (depth, name, amount, of a day); label_words: lines below it
    """

    lead: str
    rows: tuple[Row, ...]
    cost: str
    salt: tuple[str, ...]
    bars: tuple[Bar, ...]
    hot: str
    moved: str
    label: tuple[tuple[int, str, str, str], ...]
    label_lead: str
    label_words: tuple[str, ...]


def changed_batch(mix: Mix, want: str) -> Batch:
    """The mix, weighed, changed towards targets where there are any. Raises InputError: a target cannot be met."""
    batch = batch_of(mix)
    return solve(batch, parse_targets(want), meat_kg(batch)) if want.strip() else batch


def mix_view(mix: Mix, other: Mix | None, wanted: str, want: str, rules: str) -> MixView:
    """A mix for so much (``wanted``, "" as it is), changed towards ``want``, beside another.

    rules: whose allergens its label names, ``us`` | ``eu``

    Raises InputError: field ``for`` or ``want`` is at fault.
    """
    plain, changed = batch_of(mix), changed_batch(mix, want)
    factor = factor_wanted(plain, wanted) if wanted.strip() else 1.0
    whole, before = changed.times(factor), plain.times(factor) if want.strip() else None
    label = label_of(changed, rules)
    dry = scoville_by_dry_mass(whole)
    return MixView(
        lead=_lead(whole, factor),
        rows=_rows(whole, before),
        cost="" if whole.cost is None else f"{whole.cost:.2f} {mix.currency}",
        salt=tuple(salt_lines(whole, factor)),
        bars=_bars(whole, None if other is None else batch_of(other)),
        hot=f"by dry mass {between(dry, 0)} SHU" if dry.high > 0.0 else "",
        moved="" if before is None else moved_words(before, whole),
        label=tuple((line.depth, *label_cells(line)[:3]) for line in label.lines),
        label_lead=f"{label.serving}; {label.servings * factor:.3g} in all. {label.standing}",
        label_words=_label_words(label),
    )


def _lead(batch: Batch, factor: float) -> str:
    covers = [covers_words(Cover(each.value * factor, each.what)) for each in batch.mix.covers]
    made = grams(batch.mass_kg) + ("" if batch.volume_m3 is None else f", about {spoons(batch.volume_m3)}")
    return f"{made}, for {', '.join(covers)}" if covers else made


def _rows(batch: Batch, before: Batch | None) -> tuple[Row, ...]:
    old = {} if before is None else {each.name: each.mass_kg for each in before.ingredients}
    rows = []
    for each in batch.ingredients:
        was, change = "", ""
        if before is not None:
            mass = old.pop(each.name)
            moved = each.mass_kg / mass - 1.0
            was, change = grams(mass), "–" if abs(moved) < 0.005 else f"{100.0 * moved:+.0f} %"
        cost = "" if each.cost is None else f"{each.cost:.2f}"
        rows.append(Row(grams(each.mass_kg), spoons(each.volume_m3), each.name, was, change, cost))
    rows += [Row("none", "–", name, grams(mass), "-100 %") for name, mass in old.items()]
    return tuple(rows)


def _bars(batch: Batch, other: Batch | None) -> tuple[Bar, ...]:
    bars = []
    sides = [batch] if other is None else [batch, other]
    for several in zip(*(tastes_of(side) for side in sides), strict=True):
        for side, taste in zip(sides, several, strict=True):
            ends = taste_ends(taste)
            low, high = (None, None) if ends is None else (round(100.0 * ends[0]), round(100.0 * ends[1]))
            bars.append(Bar(taste.name, side.mix.name if other is not None else "", low, high, taste_words(taste)))
    return tuple(bars)


def _label_words(label: Label) -> tuple[str, ...]:
    lines = [f"Contains: {', '.join(label.contains) or 'none of the allergens asked for'}"]
    if label.may_contain:
        lines.append(f"Read the labels for: {'; '.join(label.may_contain)}")
    if label.cost is not None:
        lines.append(f"Cost of a serving: {label.cost:.2f} {label.currency}")
    return (*lines, *label.notes)
