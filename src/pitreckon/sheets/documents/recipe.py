"""What a recipe card says, before it is set on paper: the meat, the mixes weighed for it, the stages in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from pitreckon import catalog
from pitreckon.errors import InputError
from pitreckon.flavour.amounts import piece_word
from pitreckon.flavour.forcard import Meal, Weighed, plate_label, serves_of, weighed_for
from pitreckon.flavour.label import Label
from pitreckon.flavour.mix import Mix
from pitreckon.flavour.weigh.batch import Batch
from pitreckon.flavour.wording import grams
from pitreckon.lessons.answers.kept import KeptCard, kept_card
from pitreckon.lessons.card.card import Card
from pitreckon.lessons.card.finished import FinishedItem
from pitreckon.lessons.card.script import Line
from pitreckon.lessons.card.words import do_words, look_words, range_words
from pitreckon.lessons.lasttime.history import History, history_of
from pitreckon.sheets.model import Stage
from pitreckon.sheets.reader import Reader
from pitreckon.units import format_about, format_duration, format_spoons

BEFORE = ("brine", "binder", "rub")
"""Uses of a mix that goes on before the fire, in this order."""
ON_STAGE = {"wrap": "wrapped", "glaze": "sauced", "sauce": "sauced", "spritz": "open"}
MOST_PIECES = 500


@dataclass(frozen=True, slots=True)
class Recipe:
    """A card for so many pieces.

    title: of the dish; meal: the meat; serves: heads; card: as reckoned; mixes: weighed for the meat
    label: of a serving; None: no table has this meat, or there is no mix
    history: how often it was cooked and what was otherwise; None: nothing is known of earlier times
    said: how it was, in the words of those who ate
    """

    title: str
    meal: Meal
    serves: int
    card: Card
    mixes: tuple[Weighed, ...]
    label: Label | None
    history: History | None = None
    said: tuple[str, ...] = ()

    @property
    def kept(self) -> KeptCard:
        """The card as answers are taken in with it, with its code."""
        return kept_card(self.card, self.title)


def recipe_of(
    card: Card,
    mixes: Sequence[Mix] = (),
    *,
    pieces: int | None = None,
    serves: int | None = None,
    title: str = "",
    rules: str = "us",
    earlier: Sequence[FinishedItem] = (),
    said: tuple[str, ...] = (),
) -> Recipe:
    """A card with its mixes. pieces: how many the reader cooks; None: as the cook did. rules: of allergens, us or eu.
    earlier: items of earlier cooks of the house; said: how it was, by those who ate


    Raises InputError: pieces or serves are below 1 or absurd, or a mix cannot be weighed.
    """
    item = card.finished.item
    count = item.pieces if pieces is None else pieces
    if not 1 <= count <= MOST_PIECES:
        raise InputError(f"a card for {count} pieces", f"Write a whole number between 1 and {MOST_PIECES}")
    if serves is not None and not 1 <= serves <= 100 * MOST_PIECES:
        raise InputError(f"a card that serves {serves}", "Write how many it serves, 1 or more")
    meal = Meal(item.cut, count, item.mass_kg, piece_word(item.label))
    weighed = weighed_for(mixes, meal)
    heads = serves or serves_of(meal)
    name = title or item.label[:1].upper() + item.label[1:]
    history = history_of(card.finished, earlier) if earlier else None
    return Recipe(name, meal, heads, card, weighed, plate_label(weighed, meal, heads, rules), history, said)


def step_of(recipe: Recipe, line: int) -> int:
    """The number of a stage on the card that belongs to a line from 1; line 0: the one that sets the pit."""
    before = sum(weighed.batch.mix.use in BEFORE for weighed in recipe.mixes)
    return before + 1 + line


def begin_s(card: Card) -> float:
    """How long before the meal to begin [s], to the next quarter of an hour."""
    return 900.0 * ceil(card.begin_s / 900.0)


def amount_words(mass_kg: float, volume_m3: float | None) -> str:
    """A weight with its spoons: ``24 g (2 tbsp)``."""
    spoons = "" if volume_m3 is None else f" ({format_spoons(volume_m3)})"
    return grams(mass_kg) + spoons


def ingredient_lines(recipe: Recipe, reader: Reader) -> list[tuple[str, str, str, str]]:
    """What one needs, the meat first: (weight, spoons, what, in which mix)."""
    meal = recipe.meal
    cut = catalog.cut(meal.cut).name
    each = reader.mass(meal.mass_kg)
    found = [(reader.mass(meal.raw_kg), "", f"{meal.pieces} × {cut}, about {each} each", "")]
    for weighed in recipe.mixes:
        for line in weighed.batch.ingredients:
            spoons = "" if line.volume_m3 is None else format_spoons(line.volume_m3)
            found.append((grams(line.mass_kg), spoons, line.name, weighed.batch.mix.name))
    return found


def stages_of(recipe: Recipe, reader: Reader) -> tuple[Stage, ...]:
    """The card's lines in the reader's words, what goes on before the fire first."""
    script, meal = recipe.card.script, recipe.meal
    stages = []
    for use in BEFORE:
        for weighed in recipe.mixes:
            if weighed.batch.mix.use == use:
                does = {"brine": "Brine it in", "binder": "Coat it thinly with", "rub": "Season it all over with"}[use]
                stages.append(Stage(f"{does} {weighed.batch.mix.name}", "", _a_piece(weighed.batch, meal)))
    where = "measured at the grate, beside the meat" if script.at_grate else "as it shows itself"
    heat = f"{reader.temperature(script.set_c)}, {where}"
    stages.append(Stage(f"Get the pit steady at {heat}", "", "before the meat goes on"))
    last = max(n for n, line in enumerate(script.lines) if line.on_pit)
    for n, line in enumerate(script.lines):
        before = script.lines[n - 1] if n else None
        look = "" if line.by_clock or line.look is None else look_words(line.look, reader.degrees)
        note = " ".join([*_mix_notes(recipe, line, n), *([_least(recipe, reader)] if n == last else [])])
        stages.append(Stage(do_words(line, before, reader.masses), look, _takes(line, script.every_s), note))
    return tuple(stages)


def _takes(line: Line, every_s: float) -> str:
    took = f"the cook's took {_rounded(line.stage.took_s)}"
    if line.look is None:
        return range_words(line)
    if line.by_clock:
        return f"{range_words(line)} by the clock"
    if line.plan.kind == "sauced":
        return f"stay with it: usually {range_words(line)}; {took}"
    every = format_duration(every_s)
    return (
        f"look first after {format_duration(line.from_s)}, then every {every}; usually {range_words(line)}, "
        f"half of the readers by {format_duration(line.middle_s)}; {took}"
    )


def _rounded(span_s: float) -> str:
    return format_about(span_s)


def _a_piece(batch: Batch, meal: Meal) -> str:
    volume = None if batch.volume_m3 is None else batch.volume_m3 / meal.pieces
    return f"{amount_words(batch.mass_kg / meal.pieces, volume)} a piece"


def _mix_notes(recipe: Recipe, line: Line, n: int) -> list[str]:
    found = []
    for weighed in recipe.mixes:
        mix = weighed.batch.mix
        if ON_STAGE.get(mix.use) == line.plan.kind and (mix.use != "spritz" or n == 0):
            does = {"wrap": "Put in", "glaze": "Brush on", "sauce": "Brush on", "spritz": "Spritz in all"}[mix.use]
            found.append(f"{does} {_a_piece(weighed.batch, recipe.meal)} of {mix.name}.")
    return found


def _least(recipe: Recipe, reader: Reader) -> str:
    """The official least, said where the piece comes off."""
    cut = catalog.cut(recipe.meal.cut)
    texture = cut.texture
    rest_s = texture.least_rest_s.value
    rest = f", then {format_duration(rest_s)} of rest" if rest_s else ""
    least = reader.temperature(texture.least_core_c.value)
    clear = ", clear of the bone" if cut.has_bone else ""
    return f"Whatever it looks like: {least} at the least in the coldest place{clear}{rest}."
