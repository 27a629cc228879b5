"""``pitreckon batch``: a mix filled into jars that are sold, its sheet, its labels, its record, a recall."""

from pathlib import Path
from typing import Annotated, Literal

import typer

from pitreckon.cli.options import Form, Json, Ledger, Paper, SheetFile, Shown


def batch(
    mix_file: Annotated[Path | None, typer.Argument(metavar="MIX.toml", help="What is filled into jars.")] = None,
    jars: Annotated[int, typer.Option("--jars", min=1, max=100_000, help="How many jars are wanted.")] = 100,
    fill: Annotated[str, typer.Option("--fill", metavar="WEIGHT", help="What a jar's label says: '12 oz'.")] = "12 oz",
    scale: Annotated[
        str, typer.Option("--scale", metavar="STEP", help="The step of the scale, in the unit that it shows: '0.1 oz'.")
    ] = "1 g",
    at_a_time: Annotated[
        str | None, typer.Option("--at-a-time", metavar="WEIGHT", help="The most that is mixed at once: '20 kg'.")
    ] = None,
    loss: Annotated[
        str | None,
        typer.Option(
            metavar="SHARE", help="What stays in bowls and filler. By default 3 % of a rub, 5 % of what is wet."
        ),
    ] = None,
    filling: Annotated[
        str,
        typer.Option(metavar="HOW", help="Filled by hand or machine, or your own spread of a jar's weight: '0.8 %'."),
    ] = "hand",
    jar_cost: Annotated[
        float, typer.Option("--jar-cost", min=0.0, help="What an empty jar with lid and label costs.")
    ] = 0.0,
    margin: Annotated[
        str | None, typer.Option(metavar="SHARE", help="Also the price that leaves this share of itself: '60 %'.")
    ] = None,
    market: Annotated[
        Literal["us", "eu", "uk"],
        typer.Option(help="Where it is sold: whose net quantity, shortages and allergens."),
    ] = "us",
    lots: Annotated[
        Path | None, typer.Option(metavar="LOTS.toml", help="Lots of what goes in, with their dates.")
    ] = None,
    made: Annotated[str | None, typer.Option(metavar="DAY", help="When it is made. By default today.")] = None,
    lot: Annotated[
        str, typer.Option(metavar="LOT", help="The batch's own lot. By default the mix's initials and the day.")
    ] = "",
    maker: Annotated[str, typer.Option(metavar="TEXT", help="Name and place of business, for the labels.")] = "",
    nutrition: Annotated[
        bool, typer.Option("--nutrition", help="With --market eu or uk: the labels also say what 100 g have.")
    ] = False,
    labels: Annotated[
        Path | None, typer.Option("--labels", metavar="FILE.pdf", help="Also write the labels of all jars there.")
    ] = None,
    a_sheet: Annotated[
        int | None,
        typer.Option(
            "--a-sheet", metavar="COUNT", help="Labels on a sheet: 30, 20, 10 or 6 of letter; 24, 21, 14 or 8 of a4."
        ),
    ] = None,
    record: Annotated[bool, typer.Option("--record", help="Record it in the ledger, for good.")] = False,
    again: Annotated[
        bool, typer.Option("--again", help="With --record: anew, where its lot is recorded; the earlier record stays.")
    ] = False,
    filled: Annotated[
        int | None, typer.Option("--filled", min=1, help="With --record: how many jars were filled. By default --jars.")
    ] = None,
    signed: Annotated[str, typer.Option("--signed", metavar="NAME", help="Who signs.")] = "",
    recall: Annotated[
        str | None,
        typer.Option(
            "--recall", metavar="LOT|JAR", help="Instead: which jars hold a lot, or which lots went into a jar."
        ),
    ] = None,
    recorded: Annotated[bool, typer.Option("--recorded", help="Instead: all batches that are recorded.")] = False,
    ledger: Ledger = None,
    output: SheetFile = None,
    form: Form = None,
    paper: Paper = None,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """A mix filled into jars and sold: what to weigh, in which order, jars, cost, price, dates, and its label.

    Local law and a licensed practice decide what may be sold.
    """
    from datetime import UTC, datetime

    from pitreckon.cli.answers import PAPERS, ending_of, paper_of, put_out, put_sheet, reader_of, written
    from pitreckon.cli.screen import Screen
    from pitreckon.flavour.read import read_mix
    from pitreckon.flavour.sale.asking import asked_of
    from pitreckon.flavour.sale.batch import names_of, sale_of
    from pitreckon.flavour.sale.document import sale_document
    from pitreckon.flavour.sale.lots import read_lots
    from pitreckon.sheets.documents.batchsheet import batch_sheet
    from pitreckon.sheets.writers.labels import check_labels
    from pitreckon.sheets.writers.text import print_sheet

    if recall is not None or recorded:
        from pitreckon.cli.recalled import answer_recall

        ending = ending_of(output, PAPERS, "sheet", form, as_json=as_json)
        raise typer.Exit(answer_recall(recall, ledger, output, ending, paper, degrees, as_json=as_json))
    if mix_file is None:
        raise typer.BadParameter("Name a mix file, or ask for --recall or --recorded.")
    if labels is not None:
        check_labels(labels)
    ending = ending_of(output, PAPERS, "sheet", form, as_json=as_json)
    mix = read_mix(mix_file)
    now = datetime.now(UTC)
    asked = asked_of(
        jars=jars,
        fill=fill,
        scale=scale,
        at_a_time=at_a_time,
        loss=loss,
        filling=filling,
        jar_cost=jar_cost,
        margin=margin,
        market=market,
        made=made,
        lot=lot,
        maker=maker,
        nutrition=nutrition,
    )
    sale = sale_of(mix, asked, () if lots is None else read_lots(lots, names_of(mix)))
    link = ""
    if record:
        from pitreckon.cli.recalled import keep_record

        link = keep_record(sale, ledger, filled, signed, now, again=again)
    sheet = batch_sheet(sale, reader=reader_of("UTC", degrees), made_utc=now, recorded=link)
    if output is not None and ending is not None:
        put_sheet(sheet, output, ending, paper_of(degrees, paper))
    if labels is not None:
        from pitreckon.sheets.writers.labels import labels_pdf

        put_out(labels_pdf(sale, paper_of(degrees, paper), a_sheet), labels, "the labels")
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("batch", {**sale_document(sale), "recorded": link or None, "written": written(output)})
    elif output is None:
        print_sheet(Screen(degrees), sheet)
