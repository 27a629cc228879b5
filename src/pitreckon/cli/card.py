"""The work behind ``pitreckon card``: a finished cook as a recipe card, on the screen or in a file."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import typer
from rich.console import Console

from pitreckon.cli.answers import paper_of, print_json, reader_of
from pitreckon.cli.run import progress_line
from pitreckon.cli.sources import of_mixes, of_reckoning, print_sources
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError, Place
from pitreckon.flavour.read import read_mix
from pitreckon.forms.names import KnownNames
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.card.finished import finished_item
from pitreckon.sheets.documents.recipe import Recipe, recipe_of
from pitreckon.sheets.documents.recipecard import recipe_sheet
from pitreckon.sheets.writers.html import Paper, page_of, script_element
from pitreckon.sheets.writers.jsonld import recipe_document, recipe_jsonld
from pitreckon.sheets.writers.text import print_sheet
from pitreckon.sheets.writers.write import ENDINGS, write_sheet, write_whole
from pitreckon.text.file import read_text

__all__ = ["make_card"]

KINDS: Final = (*(kind for kind in ENDINGS if kind != ".ics"), ".json", ".jsonld")


def make_card(
    cook_file: Path,
    log_file: Path,
    item: str | None,
    mix_files: Sequence[Path],
    pieces: int | None,
    serves: int | None,
    title: str,
    output: Path | None,
    readers: int,
    pit: str | None,
    seed: int,
    degrees: str,
    rules: str,
    *,
    set_aside: bool,
    as_json: bool,
    sources: bool = False,
) -> None:
    """Make the card; a name that cannot be written is refused before anything is reckoned."""
    ending = None if output is None else output.suffix.lower()
    if ending is not None and ending not in KINDS:
        raise InputError(
            f"'{ending}' is no kind of card", f"End the name in one of: {', '.join(KINDS)}", Place(str(output))
        )
    cook = cook_from_text(read_text(cook_file), str(cook_file))
    ledger = log_from_text(read_text(log_file), str(log_file), cook, set_aside=set_aside)
    mixes = [read_mix(path) for path in mix_files]
    kind = None if pit is None else _kind(pit)
    done = finished_item(cook, ledger, item)
    with progress_line() as progress:
        progress.add_task("readers are cooking", total=None)
        from pitreckon.lessons.card.card import card_of  # noqa: PLC0415  the kernel

        card = card_of(done, readers=readers, seed=seed, pit=kind)
    recipe = recipe_of(card, mixes, pieces=pieces, serves=serves, title=title, rules=rules)
    if as_json:
        print_json(recipe_document(recipe))
    elif output is None:
        print_sheet(Console(highlight=False), recipe_sheet(recipe, reader=reader_of(cook.zone, degrees)))
    else:
        _write(recipe, output, degrees, paper_of(degrees))
        typer.echo(f"{output} is written", err=True)
    if sources:
        print_sources([*of_reckoning(cook), *of_mixes(mixes)], as_json=as_json)


def _kind(pit: str) -> str:
    try:
        return KnownNames.from_catalog().pit(pit)
    except InputError as error:
        raise error.at(field="--pit") from error


def _write(recipe: Recipe, output: Path, degrees: str, paper: Paper) -> None:
    reader = reader_of(recipe.card.finished.cook.zone, degrees)
    ending = output.suffix.lower()
    if ending in {".json", ".jsonld"}:
        document = recipe_document(recipe) if ending == ".json" else recipe_jsonld(recipe, reader)
        text = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
        write_whole(text.encode(), output, "the card")
        return
    sheet = recipe_sheet(recipe, reader=reader)
    if ending == ".html":
        head = script_element(recipe_jsonld(recipe, reader))
        write_whole(page_of(sheet, paper, head=head).encode(), output, "the card")
        return
    write_sheet(sheet, output, paper)
