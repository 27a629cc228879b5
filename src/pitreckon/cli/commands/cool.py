"""``pitreckon cool``: the ways to cool what is left over, those that make it first."""

from typing import Annotated

import typer

from pitreckon.cli.options import Json, Shown


def cool(
    cut: Annotated[str, typer.Argument(metavar="CUT", help="What is left over, as `pitreckon cuts` calls it.")],
    weight: Annotated[str, typer.Option(metavar="WEIGHT", help="Of one piece as it is now, such as '6 lb' or 2.7kg.")],
    core: Annotated[
        str, typer.Option("--core", metavar="TEMPERATURE", help="Of its thickest part when the cooling begins.")
    ] = "150 F",
    ago: Annotated[
        str | None,
        typer.Option(metavar="TIME", help="How long ago it fell below 135 °F, such as 40min, if it is colder already."),
    ] = None,
    altitude: Annotated[str, typer.Option(metavar="HEIGHT", help="Above the sea, such as '5000 ft'.")] = "0 m",
    fan: Annotated[bool, typer.Option("--fan", help="A cold room with a fan, in place of a refrigerator.")] = False,
    degrees: Shown = "F",
    as_json: Json = False,
) -> None:
    """How to cool what is left over: which ways make the limits of time, how likely, with how much work."""
    from pitreckon.cli.cool import document_of, print_cooling
    from pitreckon.cli.envelope import print_json
    from pitreckon.safety.cooling.plan import plan_cooling
    from pitreckon.units import parse_altitude, parse_duration, parse_mass, parse_temperature

    since_s = None if ago is None else parse_duration(ago)
    mass_kg, start_c, altitude_m = parse_mass(weight), parse_temperature(core), parse_altitude(altitude)
    plan = plan_cooling(cut, mass_kg, start_c, since_135_s=since_s, altitude_m=altitude_m, fan=fan)
    if as_json:
        print_json("cool", document_of(plan))
    else:
        print_cooling(plan, cut, mass_kg, start_c, degrees)
