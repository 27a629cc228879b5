"""The recipe card as a sheet: what to look for before any time, who would succeed with it, how the times move."""

from datetime import UTC, datetime
from math import isfinite
from typing import Final

from pitreckon import catalog
from pitreckon.flavour.label import Label, LabelLine
from pitreckon.flavour.wording import label_cells
from pitreckon.lessons.card.card import Card, Share
from pitreckon.lessons.card.sensitivity import Moved
from pitreckon.lessons.card.words import short_words
from pitreckon.lessons.marks import RAW
from pitreckon.sheets.documents.cautions import FOOT, fire_caution, food_caution
from pitreckon.sheets.documents.recipe import Recipe, begin_s, ingredient_lines, stages_of, step_of
from pitreckon.sheets.model import Align, Block, Caution, Heading, KeyFigure, KeyFigures, Sheet, Stages, Table, Text
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import said
from pitreckon.units import (
    format_about,
    round_half_up,
)

MOST_FAULTS: Final = 4
WORTH_A_WORD: Final = 0.01
TABLE_WORDS: Final = (
    "Hours and minutes: the middle time of each line, of the whole, and between which times eight readers in ten are, "
    "over readers' pits; one thing otherwise at a time, everybody looking all the time."
)
FAULT_WORDS: Final = {RAW: "not hot enough inside"}


def recipe_sheet(recipe: Recipe, *, reader: Reader | None = None, made_utc: datetime | None = None) -> Sheet:
    """The card on paper. reader: how it is read; None: the cook's zone, °F and pounds; made_utc: None: now."""
    card = recipe.card
    cook = card.finished.cook
    reader = reader or Reader(cook.zone)
    blocks: list[Block] = [_figures(recipe, reader), Text(_code_words(recipe), "fine"), Heading("What you need")]
    need = tuple(ingredient_lines(recipe, reader))
    blocks.append(Table(("weight", "spoons", "of what", "for"), need, ("right", "left", "left", "left")))
    blocks += [Text(note, "fine") for note in _mix_notes(recipe)]
    blocks += [Heading("What to do"), Stages(stages_of(recipe, reader))]
    blocks.append(Text("The meat decides, not the clock: what is not there yet gets more time.", "fine"))
    blocks += [Heading("Mind"), *_raw(card), food_caution(reader), fire_caution()]
    blocks += [Heading("Who gets this plate"), *_shares(recipe)]
    blocks += [Heading("How the times move"), _table(recipe, reader), Text(TABLE_WORDS, "fine")]
    blocks += _history(recipe, reader)
    if recipe.label is not None:
        blocks += [Heading("A serving"), *_label(recipe.label)]
    elif recipe.mixes:
        blocks.append(Text("No composition table has this meat: there is no label.", "fine"))
    blocks += [Text(f"{note}.", "fine") for note in card.finished.notes]
    return Sheet(
        title=recipe.title,
        subtitle=_subtitle(recipe, reader),
        blocks=tuple(blocks),
        reader=reader,
        name=f"{recipe.title}, recipe card",
        made_utc=(made_utc or datetime.now(UTC)).astimezone(UTC),
        foot=FOOT,
    )


def _subtitle(recipe: Recipe, reader: Reader) -> str:
    meal, done = recipe.meal, recipe.card.finished
    what = f"{meal.pieces} × {catalog.cut(meal.cut).name}, {reader.mass(meal.raw_kg)}"
    return f"Recipe card for {what}. Written from '{done.cook.name}', {reader.day(done.off_utc)}"


def _code_words(recipe: Recipe) -> str:
    return said(
        "Card {code}. The code stands for what it says: give it when you say how it came out.", code=recipe.kept.code
    )


def _figures(recipe: Recipe, reader: Reader) -> KeyFigures:
    card = recipe.card
    low, _, high = card.table[0].total_s
    return KeyFigures(
        (
            KeyFigure("serves", f"{recipe.serves}"),
            KeyFigure("pit", reader.temperature(card.script.set_c), "at the grate" if card.script.at_grate else ""),
            KeyFigure("on the pit", f"{_span(low)} to {_span(high)}"),
            KeyFigure("begin before the meal", _span(begin_s(card)), "what is early is held warm"),
            KeyFigure("readers who get it", _percent(card.right.share), f"of {card.right.of:,} simulated"),
        )
    )


def _mix_notes(recipe: Recipe) -> list[str]:
    notes = ["Weights are meant; spoons stand beside them for who has no scale."] if recipe.mixes else []
    for weighed in recipe.mixes:
        if not weighed.by:
            name = weighed.batch.mix.name
            notes.append(f"'{name}' does not say how much meat a batch covers: it stands here as it is in its file.")
    return notes


def _raw(card: Card) -> list[Block]:
    raw = dict(card.faults).get(RAW, 0.0)
    beside = ", beside the bone and not on it" if card.finished.cut.has_bone else ""
    if raw < WORTH_A_WORD:
        return []
    return [
        Caution(
            "Raw inside",
            (
                f"{_percent(raw)} of the simulated readers took it off before it was hot enough inside.",
                f"Measure in two or three places{beside}; the lowest reading counts.",
            ),
        )
    ]


def _shares(recipe: Recipe) -> list[Block]:
    card = recipe.card
    right = card.right
    words = f"{_percent(right.share)} of {right.of:,} simulated readers get this plate, following the card as written."
    wrong = [f"{FAULT_WORDS.get(word, word)} {_percent(share)}" for word, share in card.faults[:MOST_FAULTS]]
    blocks: list[Block] = [Text(words, "lead")]
    if wrong:
        blocks.append(Text(f"What goes wrong for the others, some of it together: {', '.join(wrong)}."))
    change = card.change
    if change is None:
        blocks.append(Text("No single line, written otherwise, helps many more of them."))
    else:
        blocks.append(
            Text(
                f"The line to change is {step_of(recipe, change.line)}. {change.words}. It takes the share from "
                f"{_percent(change.share - change.gain)} to {_percent(change.share)} of the same readers."
            )
        )
        more = [each for each in card.changes[1:] if each.helps]
        if more:
            rows = tuple((f"{step_of(recipe, e.line)}", e.words, _percent(e.share)) for e in more[:3])
            blocks.append(Table(("or line", "instead", "get it"), rows, ("right", "left", "right")))
    if len(card.by_pit) > 1:
        kinds = catalog.pits()
        pits = "; ".join(f"{kinds[key].name.lower()} {_share(share)}" for key, share in card.by_pit)
        blocks.append(Text(f"By kind of pit: {pits}."))
    blocks.append(
        Text(
            "Right is: tender, of this colour, not dry, not bitter, hot enough inside, done in time. Readers have "
            "other pits, thicker and thinner pieces, live higher, see and feel with an error, come late; one in seven "
            "goes by the clock whatever is written (common practice, no source). By their number the share is known "
            f"to ± {100 * right.error:.0f} in a hundred; the model has errors of its own.",
            "fine",
        )
    )
    return blocks


def _history(recipe: Recipe, reader: Reader) -> list[Block]:
    """How often it was cooked, what was otherwise from time to time, and what those who ate said."""
    history, blocks = recipe.history, list[Block]()
    if history is not None and history.times > 1:
        blocks.append(Heading("How often it was cooked"))
        blocks.append(Text(f"{history.times} times in this house. What was otherwise, and the time on the pit:"))
        for each in history.changes:
            words = "; ".join(reader.told(word) for word in each.words) or "nothing that was written down"
            took = f"{_span(each.on_s)}, {_span(each.before_s)} the time before"
            blocks.append(Text(f"{reader.day(each.at_utc)}: {words}: {took}."))
    if recipe.said:
        blocks += [Heading("How it was"), *(Text(line) for line in recipe.said)]
    return blocks


def _table(recipe: Recipe, reader: Reader) -> Table:
    card = recipe.card
    script = card.script
    lines = [n for n, line in enumerate(script.lines) if line.on_pit]
    head = (
        "what is otherwise",
        *(f"{step_of(recipe, n + 1)} {short_words(script, n)}" for n in lines),
        "on the pit",
        "8 in 10",
    )
    rows = []
    for moved in card.table:
        each = moved.line_s if len(moved.line_s) == len(lines) else (float("nan"),) * len(lines)
        low, middle, high = moved.total_s
        cells = (_otherwise(moved, reader), *map(_hours, each), _hours(middle), f"{_hours(low)}–{_hours(high)}")
        rows.append(cells)
    times: list[Align] = ["right"] * (len(head) - 1)
    return Table(head, tuple(rows), ("left", *times))


def _otherwise(moved: Moved, reader: Reader) -> str:
    value = moved.value
    if moved.group == "wrap":
        words = {"none": "no wrap at all", "foil": "in foil instead", "paper": "in paper instead"}
        return words.get(str(value), f"in {value} instead")
    if not moved.group:
        return "as written"
    number = float(value)
    if moved.group == "pit":
        step = f"{abs(number) * 1.8:.0f} °F" if reader.degrees == "F" else f"{abs(number):.0f} °C"
        return f"pit {step} {'cooler' if number < 0.0 else 'hotter'}"
    if moved.group == "thickness":
        return f"piece {abs(100 * (number - 1.0)):.0f} % {'thinner' if number < 1.0 else 'thicker'}"
    return f"at {number:,.0f} m, {round_half_up(number / 0.3048 / 100.0) * 100.0:,.0f} ft"


def _label(label: Label) -> list[Block]:
    rows = [_cells(line) for line in label.lines if line.declared is not None]
    half = (len(rows) + 1) // 2
    beside = [*rows[half:], ("", "", "")][:half]
    head = ("", "amount", "of a day")
    blocks: list[Block] = [
        Text(f"{label.serving}. {label.standing}"),
        Table(
            (*head, *head),
            tuple((*one, *other) for one, other in zip(rows[:half], beside, strict=True)),
            ("left", "right", "right", "left", "right", "right"),
        ),
        Text(f"Contains: {', '.join(label.contains) or 'none of the allergens asked for'}."),
    ]
    if label.may_contain:
        blocks.append(Text(f"Read the labels for: {'; '.join(label.may_contain)}."))
    if label.cost is not None:
        blocks.append(Text(f"The mixes cost {label.cost:.2f} {label.currency} a serving."))
    return [*blocks, *(Text(note, "fine") for note in label.notes)]


def _cells(line: LabelLine) -> tuple[str, str, str]:
    name, amount, day, _ = label_cells(line)
    return "– " * line.depth + name, amount, day


def _span(span_s: float) -> str:
    """To five minutes; a dash for what is not known, and "never" for what does not end."""
    if span_s != span_s:  # noqa: PLR0124  nan
        return "–"
    if not isfinite(span_s):
        return "never"
    return format_about(span_s)


def _hours(span_s: float) -> str:
    """As ``2:55``, to five minutes, for a table."""
    if not isfinite(span_s):
        return _span(span_s)
    minutes = int(5 * round_half_up(max(span_s, 300.0) / 300.0))
    return f"{minutes // 60}:{minutes % 60:02d}"


def _percent(share: float) -> str:
    return f"{round_half_up(100.0 * share):.0f} %"


def _share(share: Share) -> str:
    return _percent(share.share)
