"""``pitreckon defaults``: which file says what a person wants where nothing else is said, and what holds."""

import typer

from pitreckon.cli.options import Json


def defaults(as_json: Json = False) -> None:
    """Say which file is read for units, ledger and people, and what holds; an option of a command goes before all."""
    from pitreckon.forms.defaults import ENVIRONMENT, place, told
    from pitreckon.ledger.store.place import usual_place

    file, found = place(), {name: told(name) for name in ENVIRONMENT}
    usual = {"units": "us", "ledger": usual_place(), "people": None}
    if as_json:
        from pitreckon.cli.envelope import print_json

        holds = {
            name: {"value": usual[name] if each.value is None else each.value, "whence": each.whence or None}
            for name, each in found.items()
        }
        print_json("defaults", {"file": str(file), "there": file.exists(), **holds})
        return
    typer.echo(f"{file}{'' if file.exists() else ' (there is none)'}")
    for name, each in found.items():
        if each.value is not None:
            typer.echo(f"  {name:<7} {each.value}   (from {each.whence})")
        else:
            typer.echo(
                f"  {name:<7} {usual[name] or 'asked each time'}   (nobody says; ${ENVIRONMENT[name]} or the file can)"
            )
