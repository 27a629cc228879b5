"""The page on which a reader of a card answers five questions: one file, no network, nothing kept but what is typed."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from typing import Final

from pitreckon import catalog
from pitreckon.extras import loading
from pitreckon.lessons.answers.answer import AS_IT_SHOULD, END, FAULTS, HEAD, LONGEST_NOTE, THICKNESSES
from pitreckon.lessons.answers.kept import KeptCard
from pitreckon.lessons.card.words import do_words, look_words, range_words
from pitreckon.sheets.writers.html import HERE
from pitreckon.text.said import said
from pitreckon.units import Scale, format_temperature

THICKNESS_WORDS: Final = {
    "thinner": said("thinner than the card has it"),
    "usual": said("about as the card has it"),
    "thicker": said("thicker than the card has it"),
}


def answer_page(
    card: KeptCard, *, degrees: Scale = "F", language: str = "en", say: Callable[[str], str] = lambda text: text
) -> str:
    """The page as HTML. language: of its texts, as HTML names it; say: an English text in it

    What it makes is the text of ``lessons.answers.answer``, whose words are the same in every language.
    """
    with loading("jinja2", "the readers' page"):
        from jinja2 import Environment, FileSystemLoader, StrictUndefined  # noqa: PLC0415

    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    script = (HERE / "templates" / "answer.js").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    pits = sorted(((say(pit.name), key) for key, pit in catalog.pits().items()), key=lambda each: each[0].casefold())
    return made.get_template("answer.html").render(
        card=card,
        language=language,
        degrees=degrees,
        set_words=format_temperature(card.script.set_c, degrees),
        say=say,
        script=script,
        digest=digest,
        pits=pits,
        lines=_lines(card, degrees, say),
        faults=[(each, say(each)) for each in FAULTS],
        thicknesses=[(each, say(THICKNESS_WORDS[each])) for each in THICKNESSES],
        right=AS_IT_SHOULD,
        longest=LONGEST_NOTE,
        blank=blank_text(card),
    )


def blank_text(card: KeptCard) -> str:
    """An answer to fill in by hand."""
    lines = [HEAD, f"card: {card.code}", "pit: ", "set: ", "altitude: ", "thickness: usual"]
    lines += [f"line {n}: " for n in range(1, len(card.on_pit) + 1)]
    return "\n".join([*lines, f"came out: {AS_IT_SHOULD}", "note: ", END])


def _lines(card: KeptCard, degrees: Scale, say: Callable[[str], str]) -> list[tuple[int, str, str]]:
    """Number, what is done and until when, and how long it takes, of each line on the pit."""
    masses = "lb" if degrees == "F" else "kg"
    found, lines = [], card.script.lines
    for number, n in enumerate(card.on_pit, 1):
        line = lines[n]
        does = say(do_words(line, lines[n - 1] if n else None, masses))  # type: ignore[arg-type]
        if line.look is not None and not line.by_clock:
            does += f", {say('until')} {say(look_words(line.look, degrees))}"
        found.append((number, does, say(range_words(line))))
    return found
