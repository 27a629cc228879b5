"""The sheet of a batch for sale: what is weighed, in which order, how the jars are filled, what it costs, who signs."""

from datetime import date, datetime
from typing import Final

from pitreckon.flavour.label import STANDING, label_of
from pitreckon.flavour.sale.batch import Sale
from pitreckon.flavour.sale.cost import Bought
from pitreckon.flavour.sale.scale import scale_words
from pitreckon.flavour.wording import label_cells
from pitreckon.sheets.model import (
    Blank,
    Block,
    Caution,
    Checklist,
    Heading,
    KeyFigure,
    KeyFigures,
    Line,
    Sheet,
    Table,
    Text,
)
from pitreckon.sheets.reader import Reader
from pitreckon.text.said import joined, said
from pitreckon.units import format_percent

FOOT: Final = said("Local law and a licensed practice decide; this is reckoned, and promises nothing.")


def batch_sheet(sale: Sale, *, reader: Reader, made_utc: datetime, recorded: str = "") -> Sheet:
    """The sheet. recorded: the link of its record in the ledger, "" where it was not recorded"""
    blocks: list[Block] = [KeyFigures(_figures(sale, reader))]
    blocks += _weigh(sale, reader)
    blocks += [Heading(said("Order")), Checklist(tuple(Line(step) for step in sale.order))]
    blocks += _filling(sale)
    blocks += _money(sale, reader)
    blocks += _dates(sale)
    blocks += _label(sale)
    blocks += [
        Blank(said("Jars weighed"), (said("jar"), said("weight"), said("name"), said("day, time")), 6),
        Blank(said("Made, checked, released"), (said("what"), said("name"), said("signature"), said("day, time")), 4),
    ]
    if recorded:
        blocks.append(Text(said("Recorded in the ledger: {link}", link=recorded[:16]), "fine"))
    blocks.append(sale_caution(sale))
    return Sheet(
        title=sale.batch.mix.name,
        subtitle=said("Batch {lot}, {jars} jars", lot=sale.lot, jars=sale.asked.jars),
        blocks=tuple(blocks),
        reader=reader,
        name=f"{sale.batch.mix.name} {sale.lot}",
        made_utc=made_utc,
        foot=FOOT,
    )


def sale_caution(sale: Sale) -> Caution:
    """What law and practice decide. From memory; local rules go first."""
    texts = [
        said(
            "Selling food wants what your local law says: a registered or licensed kitchen, a checked label, "
            "records. Ask your authority before the first jar is sold."
        ),
        said(
            "The label's figures are reckoned; scale, filler and tare are yours to check, on a scale that may be used "
            "for trade."
        ),
        said("Jars, lids, hands and tools clean and dry; nobody who is ill; allergens apart, or said on the label."),
    ]
    if sale.batch.mix.use != "rub":
        texts.append(
            said(
                "What is wet in a shut jar can grow what kills and cannot be smelled. Acid, heat and lid need a "
                "process that a process authority has set for this very mix (in the US acidified foods, 21 CFR 114)."
            )
        )
    return Caution(said("Before it is sold"), tuple(texts))


def _figures(sale: Sale, reader: Reader) -> tuple[KeyFigure, ...]:
    low, _, high = sale.jars
    figures = [
        KeyFigure(said("batch"), reader.mass(sale.mass_kg), _rounds(sale)),
        KeyFigure(said("jars"), f"{low}–{high}", said("that it fills, 5 to 95 %")),
        KeyFigure(said("net"), sale.net),
        KeyFigure(said("lot"), sale.lot),
        KeyFigure(said("best before"), said("none promised") if sale.date.day is None else day_words(sale.date.day)),
    ]
    cost = sale.cost
    if cost.of_jar is not None:
        figures.append(KeyFigure(said("cost a jar"), _money_words(cost.of_jar, cost.currency)))
    if cost.price is not None:
        note = said("for a margin of {share}", share=format_percent(cost.margin or 0.0))
        figures.append(KeyFigure(said("price a jar"), _money_words(cost.price, cost.currency), note))
    return tuple(figures)


def _rounds(sale: Sale) -> str:
    rounds = sale.weights.rounds
    return "" if rounds == 1 else said("in {n} rounds of the same", n=rounds)


def _weigh(sale: Sale, reader: Reader) -> list[Block]:
    weights, asked = sale.weights, sale.asked

    def scale(mass_kg: float) -> str:
        return scale_words(mass_kg, asked.step_kg, asked.unit)

    head = said("Weigh") if weights.rounds == 1 else said("Weigh, {n} times", n=weights.rounds)
    lots = {
        food: ", ".join(each.lot for each in sale.lots if each.food == food) for food in (p.name for p in sale.parts)
    }
    lots |= {each.name: lots[each.of] for each in weights.premixes}
    rows = [
        (scale(each.shown_kg), reader.mass(each.shown_kg), each.name, lots.get(each.name, ""), "")
        for each in weights.weighed
    ]
    whole = sum(each.shown_kg for each in weights.weighed)
    rows.append((scale(whole), reader.mass(whole), said("together"), "", ""))
    columns = (said("scale"), said("about"), said("of"), said("lot"), said("weighed by"))
    blocks: list[Block] = [Heading(head), Table(columns, tuple(rows), ("right", "right", "left", "left", "left"))]
    if weights.premixes:
        blocks += [
            Heading(said("Premix first"), 3),
            Text(
                said(
                    "Below {least} this scale weighs nothing truly (20 of its steps): these are spread in more of the "
                    "mix first.",
                    least=scale(weights.least_kg),
                )
            ),
            Table(
                (said("own"), said("into"), said("take each time"), said("left")),
                tuple(
                    (
                        f"{scale(each.own_kg)} {each.of}",
                        f"{scale(each.carrier_kg)} {each.carrier}",
                        scale(each.taken_kg),
                        scale(each.left_kg),
                    )
                    for each in weights.premixes
                ),
            ),
        ]
    if weights.too_little:
        blocks.append(
            Text(
                said(
                    "Too little for this scale, and for a premix: {names}. Weigh it on a finer scale, or make more.",
                    names=joined("; ", weights.too_little),
                ),
                "lead",
            )
        )
    blocks.append(
        Text(
            said(
                "Rounded to {step}: together as reckoned; the most that one of them changed is {share}.",
                step=scale(weights.step_kg),
                share=f"{100.0 * weights.widest:.2g} %",
            ),
            "fine",
        )
    )
    return blocks


def _filling(sale: Sale) -> list[Block]:
    fill, low, middle, high = sale.fill, *sale.jars
    usual = said("{share}, common practice, no source", share=format_percent(sale.loss))
    lost = usual if sale.loss_usual else format_percent(sale.loss)
    limit_kg = fill.nominal_kg - fill.short_kg
    return [
        Heading(said("Fill")),
        Text(
            said(
                "Fill to {mean} g net, on average no less; no jar below {limit} g. A jar's weight spreads by "
                "{spread} g.",
                mean=f"{1000.0 * fill.mean_kg:.1f}",
                limit=f"{1000.0 * limit_kg:.1f}",
                spread=f"{1000.0 * fill.spread_kg:.1f}",
            )
        ),
        Text(
            said(
                "Jars that can be filled: {low} in 95 of 100 batches, {middle} in half of them, {high} in 5.",
                low=low,
                middle=middle,
                high=high,
            )
        ),
        Text(
            said(
                "Lost in bowls, sieves and filler: {lost}; it may be half or twice as much.",
                lost=lost,
            ),
            "fine",
        ),
    ]


def _money(sale: Sale, reader: Reader) -> list[Block]:
    cost = sale.cost
    rows = tuple(_row(each, reader) for each in cost.bought)
    columns = (said("buy"), said("need"), said("packs"), said("paid"), said("left over"))
    blocks: list[Block] = [
        Heading(said("Cost")),
        Table(columns, rows, ("left", "right", "right", "right", "right")),
    ]
    if cost.unpriced:
        names = joined("; ", cost.unpriced)
        blocks.append(Text(said("No cost: there is no price for {names}. Write one in the mix file.", names=names)))
        return blocks
    wasted = cost.of_jar_if_wasted or 0.0
    blocks.append(
        Text(
            said(
                "What goes in {used}, whole packs {paid}. A jar costs {jar}, and {wasted} if what is left over is of "
                "no use; work, rent and taxes are not in it.",
                used=_money_words(cost.used or 0.0, cost.currency),
                paid=_money_words(cost.paid or 0.0, cost.currency),
                jar=_money_words(cost.of_jar or 0.0, cost.currency),
                wasted=_money_words(wasted, cost.currency),
            )
        )
    )
    return blocks


def _row(each: Bought, reader: Reader) -> tuple[str, ...]:
    packs = "–" if each.packs is None or each.pack_kg is None else f"{each.packs} × {reader.mass(each.pack_kg)}"
    paid = "–" if each.paid is None else f"{each.paid:.2f}"
    return each.name, reader.mass(each.need_kg), packs, paid, reader.mass(each.left_kg) if each.packs else "–"


def _dates(sale: Sale) -> list[Block]:
    when = sale.date
    if when.day is not None:
        words = said("Best before {day}: the earliest, of {lot}.", day=day_words(when.day), lot=when.decides)
    else:
        names = joined("; ", when.missing)
        words = said("No date is promised: there is no lot, or no date, for {names}.", names=names)
    rows = tuple(
        (each.food, each.lot, "–" if each.best_before is None else day_words(each.best_before), each.supplier or "–")
        for each in sale.lots
    )
    blocks: list[Block] = [Heading(said("Lots"))]
    if rows:
        blocks.append(Table((said("of"), said("lot"), said("best before"), said("from")), rows))
    return [*blocks, Text(words)]


def _label(sale: Sale) -> list[Block]:
    blocks: list[Block] = [Heading(said("On the label"))]
    blocks += [Text(line) for line in label_lines(sale)]
    if sale.bought_mixes:
        names = joined("; ", sale.bought_mixes)
        blocks.append(Text(said("What is in {names} stands on its own label: name it in brackets.", names=names)))
    if not sale.asked.maker:
        blocks.append(Text(said("Name and place of business are missing: the label needs them.")))
    if sale.may_contain:
        blocks.append(Text(said("Read the labels for: {names}.", names=joined("; ", sale.may_contain))))
    if sale.asked.market != "us":
        return [*blocks, *_in_100_g(sale)]
    made = label_of(sale.batch, "us")
    rows = [(cells[0], *cells[1:3]) for line in made.lines for cells in (label_cells(line),)]
    blocks += [
        Heading(said("A serving, as a label has it"), 3),
        Text(joined(". ", [made.serving, said(STANDING)]), "fine"),
        Table((said("of"), said("amount"), said("of a day")), tuple(rows), ("left", "right", "right")),
    ]
    return blocks


def _in_100_g(sale: Sale) -> list[Block]:
    """The nutrition declaration of the EU and the UK."""
    rows = tuple(
        (f"{'– ' * each.depth}{each.name}", each.words or said("not known well enough")) for each in sale.declared
    )
    return [
        Heading(said("In 100 g, as a nutrition declaration has it"), 3),
        Text(
            said(
                "Reckoned from composition tables and the labels of what is bought, by the factors and the rounding of "
                "the EU; an authority may want it analysed."
            ),
            "fine",
        ),
        Table((said("of"), said("in 100 g")), rows, ("left", "right")),
    ]


def nutrition_line(sale: Sale) -> str:
    """The nutrition declaration in a line, as on a label without room for a table (article 34(2), from memory)."""
    parts = ""
    for each in sale.declared:
        parts += ("" if not parts else ", " if each.depth else "; ") + f"{each.name} {each.words}"
    return f"Nutrition per 100 g: {parts}."


def label_lines(sale: Sale) -> tuple[str, ...]:
    """What the label of a jar says below the name, in English: net, ingredients, allergens, lot, date."""
    lines = [sale.net, f"Ingredients: {'; '.join(sale.ingredients)}."]
    if sale.contains:
        lines.append(f"Contains: {', '.join(sale.contains)}.")
    if sale.asked.nutrition:
        lines.append(nutrition_line(sale))
    lines.append(f"Lot {sale.lot}")
    if sale.asked.maker:
        lines.append(sale.asked.maker)
    if sale.date.day is not None:
        lines.append(f"Best before {day_words(sale.date.day)}")
    return tuple(lines)


def day_words(day: date) -> str:
    """A day as every land reads it."""
    return day.isoformat()


def _money_words(sum_: float, currency: str) -> str:
    return f"{sum_:.2f} {currency}"
