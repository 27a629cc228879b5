"""``pitreckon card``: a finished cook as a recipe card, on the screen or in a file."""

import json
from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Allergens, CookFile, Json, Seed, SetAside, Shown, Sources


def card(
    cook_file: CookFile,
    ledger: Annotated[Path, typer.Option("--ledger", metavar="LOG.csv", help="The log of the finished cook.")],
    item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="Which item of it. By default the only one that is done.")
    ] = None,
    mix: Annotated[
        list[Path] | None, typer.Option(metavar="MIX.toml", help="A mix that was on it; as often as there are mixes.")
    ] = None,
    pieces: Annotated[
        int | None, typer.Option(metavar="N", help="For so many pieces. By default as many as were cooked.")
    ] = None,
    serves: Annotated[
        int | None, typer.Option(metavar="N", help="Heads that it serves. By default by yields and usual portions.")
    ] = None,
    title: Annotated[str, typer.Option(metavar="WORDS", help="Of the dish. By default the item's name.")] = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="There: .pdf, .html, .md, .txt, .json, .jsonld."),
    ] = None,
    readers: Annotated[int, typer.Option(metavar="N", help="How many readers are simulated.")] = 2000,
    pit: Annotated[
        str | None, typer.Option(metavar="KIND", help="All readers have this kind of pit. By default as they come.")
    ] = None,
    before: Annotated[
        list[str] | None,
        typer.Option(
            metavar="COOK.toml=LOG.csv",
            help="An earlier cook of the same cut: the card says what was otherwise; as often as need be.",
        ),
    ] = None,
    seed: Seed = 1,
    set_aside: SetAside = False,
    degrees: Shown = "F",
    allergens: Allergens = "us",
    as_json: Json = False,
    sources: Sources = False,
) -> None:
    """A finished cook as a recipe card for other pits: what to look for, times as ranges, how many would succeed."""
    from rich.console import Console

    from pitreckon.cli.answers import PAPERS, ending_of, paper_of, print_json, reader_of
    from pitreckon.cli.lasttime import finished_before
    from pitreckon.cli.run import progress_line
    from pitreckon.cook.read import read_cook
    from pitreckon.errors import InputError
    from pitreckon.flavour.read import read_mix
    from pitreckon.forms.names import KnownNames
    from pitreckon.ledger.log.read import read_log
    from pitreckon.lessons.card.finished import finished_item
    from pitreckon.sheets.documents.recipe import recipe_of
    from pitreckon.sheets.documents.recipecard import recipe_sheet
    from pitreckon.sheets.writers.html import page_of, script_element
    from pitreckon.sheets.writers.jsonld import recipe_document, recipe_jsonld
    from pitreckon.sheets.writers.text import print_sheet
    from pitreckon.sheets.writers.write import write_sheet, write_whole

    ending = ending_of(output, (*PAPERS, ".json", ".jsonld"), "card")
    cook = read_cook(cook_file)
    known = read_log(ledger, cook, set_aside=set_aside)
    mixes = [read_mix(path) for path in mix or ()]
    try:
        kind = None if pit is None else KnownNames.from_catalog().pit(pit)
    except InputError as error:
        raise error.at(field="--pit") from error
    done = finished_item(cook, known, item)
    earlier = finished_before(done, before or ())
    with progress_line() as progress:
        progress.add_task("readers are cooking", total=None)
        from pitreckon.lessons.card.card import card_of  # the kernel

        made = card_of(done, readers=readers, seed=seed, pit=kind)
    recipe = recipe_of(made, mixes, pieces=pieces, serves=serves, title=title, rules=allergens, earlier=earlier)
    reader = reader_of(cook.zone, degrees)
    if as_json:
        print_json(recipe_document(recipe))
    elif output is None:
        print_sheet(Console(highlight=False), recipe_sheet(recipe, reader=reader))
    else:
        if ending in {".json", ".jsonld"}:
            document = recipe_document(recipe) if ending == ".json" else recipe_jsonld(recipe, reader)
            text = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
            write_whole(text.encode(), output, "the card")
        elif ending == ".html":
            head = script_element(recipe_jsonld(recipe, reader))
            page = page_of(recipe_sheet(recipe, reader=reader), paper_of(degrees), head=head)
            write_whole(page.encode(), output, "the card")
        else:
            write_sheet(recipe_sheet(recipe, reader=reader), output, paper_of(degrees))
        typer.echo(f"{output} is written", err=True)
    if sources:
        from pitreckon.cli.sources import of_mixes, of_reckoning, print_sources

        print_sources([*of_reckoning(cook), *of_mixes(mixes)], as_json=as_json)
