"""``pitreckon mix``: weights beside spoons, tastes as bars, a change towards targets, a label."""

from pathlib import Path
from typing import Annotated

import typer

from pitreckon.cli.options import Allergens, Json, Shown, Sources


def mix(
    mix_file: Annotated[
        Path | None, typer.Argument(metavar="MIX.toml", help="A rub, binder, wrap, spritz, sauce, glaze or brine.")
    ] = None,
    wanted: Annotated[
        str | None,
        typer.Option(
            "--for",
            metavar="HOW MUCH",
            help="Scale it: '7 racks', '3.2 kg', '0.6 m2', '2 batches', or pieces of a cut by their surface.",
        ),
    ] = None,
    against: Annotated[Path | None, typer.Option(metavar="OTHER.toml", help="Show another mix beside it.")] = None,
    want: Annotated[
        str | None,
        typer.Option(
            metavar="TARGETS",
            help="Change it as little as can be, as in 'sugar half; heat same; salt at most 1.2 %' of the meat.",
        ),
    ] = None,
    on: Annotated[
        Path | None,
        typer.Option(
            "--heat",
            metavar="COOK.toml",
            help="Also what heat does to it on that cook: setting, dripping, scorching.",
        ),
    ] = None,
    item: Annotated[
        str | None, typer.Option(metavar="ITEM", help="Which item of the cook. By default the only one.")
    ] = None,
    label: Annotated[bool, typer.Option("--label", help="Also a nutrition label, an estimate.")] = False,
    allergens: Allergens = "us",
    foods: Annotated[bool, typer.Option("--foods", help="List the foods that a mix file may name, and end.")] = False,
    degrees: Shown = "F",
    as_json: Json = False,
    sources: Sources = False,
) -> None:
    """A mix in weights beside spoons for any amount of meat: what it tastes of, changed to a target, its label."""
    from pitreckon.cli import mix as screen
    from pitreckon.cli.envelope import print_json
    from pitreckon.cli.screen import Screen
    from pitreckon.cook.read import read_cook
    from pitreckon.errors import InputError
    from pitreckon.flavour.heat.meatwords import on_the_meat
    from pitreckon.flavour.label import label_of
    from pitreckon.flavour.read import read_mix
    from pitreckon.flavour.taste.target import parse_targets, solve
    from pitreckon.flavour.weigh.batch import batch_of
    from pitreckon.flavour.weigh.document import label_document, mix_document
    from pitreckon.flavour.wording import factor_wanted, meat_kg

    if foods:
        if as_json:
            print_json("mix", screen.foods_document())
        else:
            screen.list_foods()
        return
    if mix_file is None:
        raise typer.BadParameter("Name a mix file, or ask for --foods.")
    batch = batch_of(read_mix(mix_file))
    try:
        factor = 1.0 if wanted is None else factor_wanted(batch, wanted)
    except InputError as fault:
        raise fault.at(field="--for") from fault
    changed = batch if want is None else solve(batch, parse_targets(want), meat_kg(batch))
    other = None if against is None else batch_of(read_mix(against))
    whole = changed.times(factor)
    before = None if want is None else batch.times(factor)
    made = label_of(changed, allergens) if label else None
    cook = None if on is None else read_cook(on)
    if as_json:
        document = mix_document(whole, factor)
        if made is not None:
            document["label"] = label_document(made)
        if other is not None:
            document["against"] = mix_document(other)
        if before is not None:
            document["before"] = mix_document(before, factor)
        if cook is not None:
            document["on_the_meat"] = on_the_meat(changed, cook, item)[0]
        print_json("mix", document)
    else:
        console = Screen(degrees)
        screen.print_weights(console, whole, factor, before)
        screen.print_salt(console, whole, factor)
        if other is None:
            screen.print_tastes(console, whole)
        else:
            screen.print_both(console, whole, other)
        if made is not None:
            screen.print_label(console, made, factor)
        if cook is not None:
            _, lines = on_the_meat(changed, cook, item)
            console.print("[bold]On the meat[/bold]")
            for line in lines:
                console.print(f"  {line}", soft_wrap=True, markup=False)
    if sources:
        from pitreckon.cli.sources import of_mixes, of_reckoning, print_sources

        mixes = [each.mix for each in (whole, other) if each is not None]
        print_sources([*of_mixes(mixes), *(() if cook is None else of_reckoning(cook))], as_json=as_json)
