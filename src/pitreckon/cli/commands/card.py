"""``pitreckon card``: a finished cook as a recipe card; ``card take-in``: what its readers answer."""

import json
from pathlib import Path
from typing import Annotated, Literal

import typer

from pitreckon.cli.options import (
    Allergens,
    CookFile,
    Dates,
    Form,
    Json,
    Paper,
    Seed,
    SetAside,
    SheetFile,
    Shown,
    Sources,
)


def card(
    cook_file: CookFile,
    log: Annotated[
        Path,
        typer.Option(
            "--log", metavar="LOG.csv", help="What has happened: readings, looks and acts. All of the finished cook."
        ),
    ],
    item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="Which item of the cook. By default the only one that is done.")
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
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Write it there. Its name ends in .pdf, .html, .md, .txt, .json or .jsonld; - is standard output.",
        ),
    ] = None,
    form: Form = None,
    answers: Annotated[
        Path | None,
        typer.Option(
            "--answers",
            metavar="PAGE.html",
            help="Also write the page on which readers answer five questions. It is one file that works offline.",
        ),
    ] = None,
    language: Annotated[
        Literal["en", "es"], typer.Option("--language", help="Of the page for readers: English or Spanish.")
    ] = "en",
    readers: Annotated[int, typer.Option(metavar="N", help="How many readers are simulated.")] = 2000,
    pit: Annotated[
        str | None,
        typer.Option(
            metavar="KIND",
            help="Kind of pit, as 'pitreckon pits' calls it. All readers have it; by default as they come.",
        ),
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
    dates: Dates = None,
    degrees: Shown = "F",
    allergens: Allergens = "us",
    as_json: Json = False,
    sources: Sources = False,
) -> None:
    """A finished cook as a recipe card for other pits: what to look for, times as ranges, how many would succeed.

    'pitreckon card take-in FOLDER' reads what its readers answer.
    """
    from pitreckon.cli.answered import check_page, put_page
    from pitreckon.cli.answers import PAPERS, ending_of, is_pipe, paper_of, put_out, put_sheet, reader_of, written
    from pitreckon.cli.lasttime import finished_before
    from pitreckon.cli.run import kernel_ahead, log_of, progress_line, read_plan
    from pitreckon.cli.screen import Screen
    from pitreckon.errors import InputError
    from pitreckon.flavour.read import read_mix
    from pitreckon.forms.names import KnownNames
    from pitreckon.lessons.answers.kept import kept_card
    from pitreckon.lessons.card.finished import finished_item
    from pitreckon.sheets.documents.recipe import recipe_of
    from pitreckon.sheets.documents.recipecard import recipe_sheet
    from pitreckon.sheets.writers.html import page_of, script_element
    from pitreckon.sheets.writers.jsonld import recipe_document, recipe_jsonld
    from pitreckon.sheets.writers.text import print_sheet

    ending = ending_of(output, (*PAPERS, ".json", ".jsonld"), "card", form, as_json=as_json)
    check_page(answers)
    cook = read_plan(cook_file, degrees, log)
    known = log_of(log, cook, set_aside=set_aside, dates=dates)
    mixes = [read_mix(path) for path in mix or ()]
    try:
        kind = None if pit is None else KnownNames.from_catalog().pit(pit)
    except InputError as error:
        raise error.at(field="--pit") from error
    done = finished_item(cook, known, item)
    earlier = finished_before(done, before or ())
    with progress_line() as progress:
        progress.add_task("readers are cooking", total=None)
        kernel_ahead()
        from pitreckon.lessons.card.card import card_of  # the kernel

        made = card_of(done, readers=readers, seed=seed, pit=kind)
    recipe = recipe_of(made, mixes, pieces=pieces, serves=serves, title=title, rules=allergens, earlier=earlier)
    reader = reader_of(cook.zone, degrees)
    if output is not None and ending is not None:
        if ending in {".json", ".jsonld"}:
            document = recipe_document(recipe) if ending == ".json" else recipe_jsonld(recipe, reader)
            text = json.dumps(document, indent=1, ensure_ascii=False) + "\n"
            put_out(text.encode(), output, "the card")
        elif ending == ".html":
            head = script_element(recipe_jsonld(recipe, reader))
            page = page_of(recipe_sheet(recipe, reader=reader), paper_of(degrees), head=head)
            put_out(page.encode(), output, "the card")
        else:
            put_sheet(recipe_sheet(recipe, reader=reader), output, ending, paper_of(degrees))
    if answers is not None:
        put_page(kept_card(made, recipe.title), answers, language, degrees)
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("card", {**recipe_document(recipe), "written": written(output)})
    elif output is None:
        print_sheet(Screen(degrees), recipe_sheet(recipe, reader=reader))
    if sources:
        from pitreckon.cli.sources import of_mixes, of_reckoning, print_sources

        print_sources([*of_reckoning(cook), *of_mixes(mixes)], as_json=as_json or is_pipe(output))


def take_in(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where the answers are: texts whose names end in .txt.")
    ],
    card_file: Annotated[
        Path | None,
        typer.Option(
            "--card",
            metavar="CARD.json",
            help="The card that they answer, as 'pitreckon card -o CARD.json' wrote it. By default the one in the "
            "folder.",
        ),
    ] = None,
    changed: Annotated[
        Path | None,
        typer.Option(
            "--changed", metavar="NEW.json", help="Also write the changed card there, with a code of its own."
        ),
    ] = None,
    answers: Annotated[
        Path | None,
        typer.Option(
            "--answers",
            metavar="PAGE.html",
            help="Also write the page on which readers answer five questions. Here it is about the changed card.",
        ),
    ] = None,
    language: Annotated[
        Literal["en", "es"], typer.Option("--language", help="Of the page for readers: English or Spanish.")
    ] = "en",
    output: SheetFile = None,
    form: Form = None,
    paper: Paper = None,
    seed: Seed = 1,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """What a card's readers answer: how many got the plate, which line fails and for whom, and the card as changed."""
    from pitreckon.cli.answered import take_in_answers

    take_in_answers(
        folder,
        card_file,
        changed=changed,
        page=answers,
        language=language,
        output=output,
        form=form,
        paper=paper,
        seed=seed,
        degrees=degrees,
        as_json=as_json,
    )
