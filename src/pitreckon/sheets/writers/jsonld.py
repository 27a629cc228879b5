"""A recipe card as schema.org JSON-LD (Recipe with NutritionInformation), and as a document with every number.

Names of types and properties are those of schema.org; durations are ISO 8601.
"""

from typing import Any, Final

from pitreckon import catalog
from pitreckon.flavour.label import STANDING, Label
from pitreckon.lessons.answers.kept import document_of
from pitreckon.lessons.card.words import short_words
from pitreckon.sheets.documents.cautions import FOOT
from pitreckon.sheets.documents.recipe import Recipe, begin_s, ingredient_lines, stages_of, step_of
from pitreckon.sheets.model import Stage
from pitreckon.sheets.reader import Reader
from pitreckon.units import round_half_up

NUTRITION: Final = {
    "energy_kcal": ("calories", "{} kcal"),
    "fat_g": ("fatContent", "{} g"),
    "satfat_g": ("saturatedFatContent", "{} g"),
    "trans_g": ("transFatContent", "{} g"),
    "cholesterol_mg": ("cholesterolContent", "{} mg"),
    "sodium_mg": ("sodiumContent", "{} mg"),
    "carb_g": ("carbohydrateContent", "{} g"),
    "fiber_g": ("fiberContent", "{} g"),
    "sugars_g": ("sugarContent", "{} g"),
    "protein_g": ("proteinContent", "{} g"),
}
"""Nutrient of a label, its property in NutritionInformation, and how that is written."""


def iso_duration(span_s: float) -> str:
    """A duration by ISO 8601, to the minute.

    >>> iso_duration(5400.0), iso_duration(600.0), iso_duration(0.0)
    ('PT1H30M', 'PT10M', 'PT0M')
    """
    minutes = int(round_half_up(span_s / 60.0))
    hours, rest = divmod(minutes, 60)
    return "PT" + (f"{hours}H" if hours else "") + (f"{rest}M" if rest or not hours else "")


def recipe_jsonld(recipe: Recipe, reader: Reader | None = None) -> dict[str, Any]:
    """The card as a schema.org Recipe."""
    card = recipe.card
    done = card.finished
    reader = reader or Reader(done.cook.zone)
    cut = catalog.cut(recipe.meal.cut)
    stages = stages_of(recipe, reader)
    spans = {step_of(recipe, n + 1): line.clock_s for n, line in enumerate(card.script.lines)}
    begin = begin_s(card)
    on_pit = card.table[0].total_s[1]
    document: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": recipe.title,
        "description": (
            f"{cut.name} as cooked on {reader.day(done.off_utc)}: what to look for comes first, times are ranges. "
            f"{round_half_up(100.0 * card.right.share):.0f} of 100 simulated readers get this plate. {FOOT}"
        ),
        "dateCreated": done.off_utc.astimezone(reader.zone_info).date().isoformat(),
        "inLanguage": "en",
        "recipeCategory": "Main course",
        "cookingMethod": "Barbecue",
        "recipeYield": [f"{recipe.serves} servings", f"{recipe.meal.pieces} × {cut.name}"],
        "cookTime": iso_duration(on_pit),
        "totalTime": iso_duration(begin),
        "recipeIngredient": [
            f"{weight} {f'({spoons}) ' if spoons else ''}{what}"
            for weight, spoons, what, _ in ingredient_lines(recipe, reader)
        ],
        "recipeInstructions": [_step(n, stage, spans.get(n)) for n, stage in enumerate(stages, 1)],
        "tool": [{"@type": "HowToTool", "name": name} for name in ("Pit with a lid", "Thermometer with a thin probe")],
    }
    if recipe.label is not None:
        document["nutrition"] = _nutrition(recipe.label)
    return document


def _step(n: int, stage: Stage, span_s: float | None) -> dict[str, Any]:
    until = f" Go on until {stage.look_for}." if stage.look_for else ""
    direction: dict[str, Any] = {"@type": "HowToDirection", "position": 1, "text": f"{stage.do}.{until}"}
    if span_s is not None:
        direction["performTime"] = iso_duration(span_s)
    tips = [f"{words[:1].upper()}{words[1:]}." for words in (stage.takes, stage.note.removesuffix(".")) if words]
    elements = [direction, *({"@type": "HowToTip", "position": k, "text": tip} for k, tip in enumerate(tips, 2))]
    return {"@type": "HowToStep", "position": n, "name": stage.do, "itemListElement": elements}


def _nutrition(label: Label) -> dict[str, Any]:
    found: dict[str, Any] = {"@type": "NutritionInformation", "servingSize": label.serving, "description": STANDING}
    for line in label.lines:
        if line.nutrient in NUTRITION and line.declared is not None:
            name, form = NUTRITION[line.nutrient]
            found[name] = form.format(f"{line.declared:g}")
    return found


def _cooked(recipe: Recipe) -> dict[str, Any] | None:
    """How often, and what was otherwise from time to time."""
    history = recipe.history
    if history is None:
        return None
    changes = [
        {
            "cook": each.cook,
            "put_on": each.at_utc.isoformat(),
            "otherwise": [str(word) for word in each.words],
            "on_the_pit_s": each.on_s,
            "before_s": each.before_s,
        }
        for each in history.changes
    ]
    return {"times": history.times, "changes": changes}


def recipe_document(recipe: Recipe) -> dict[str, Any]:
    """Every number of a card as plain values for ``json``: seconds, degrees Celsius, kilograms, shares."""
    card = recipe.card
    lines = [
        {
            "do": line.plan.kind,
            "wrap": line.plan.wrap,
            "until": None if line.look is None else line.look.ends_by,
            "value": None if line.look is None else line.look.core_c or line.look.level,
            "by_clock": line.by_clock,
            "from_s": line.from_s,
            "middle_s": line.middle_s,
            "to_s": line.to_s,
            "took_s": line.stage.took_s,
        }
        for line in card.script.lines
    ]
    return {
        "title": recipe.title,
        "cook": card.finished.cook.name,
        "item": card.finished.item.label,
        "cut": recipe.meal.cut,
        "pieces": recipe.meal.pieces,
        "piece_kg": recipe.meal.mass_kg,
        "serves": recipe.serves,
        "set_c": round(card.script.set_c, 2),
        "set_by": card.finished.set_by,
        "lines": lines,
        "readers": card.right.of,
        "cooked": _cooked(recipe),
        "how_it_was": list(recipe.said),
        "simulated": card.simulated,
        "seed": card.seed,
        "right": round(card.right.share, 4),
        "error": round(card.right.error, 4),
        "faults": {word: round(share, 4) for word, share in card.faults},
        "by_pit": {key: {"share": round(each.share, 4), "of": each.of} for key, each in card.by_pit},
        "change": None if card.change is None else card.change.key,
        "changes": [
            {"key": c.key, "line": c.line, "words": c.words, "share": round(c.share, 4), "gain": round(c.gain, 4)}
            for c in card.changes
        ],
        "table": [
            {
                "otherwise": moved.group or "nothing",
                "value": moved.value,
                "line_s": [_or_none(each) for each in moved.line_s],
                "total_s": [_or_none(each) for each in moved.total_s],
            }
            for moved in card.table
        ],
        "heads": [short_words(card.script, n) for n, line in enumerate(card.script.lines) if line.on_pit],
        "begin_s": begin_s(card),
        "notes": list(card.finished.notes),
        "card": document_of(recipe.kept),
        "jsonld": recipe_jsonld(recipe),
    }


def _or_none(span_s: float) -> float | None:
    return round(span_s) if span_s < float("inf") else None
