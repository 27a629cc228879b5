"""The earlier cooks that a plan learns a pit's fuel from: of a ledger, or of files that were named."""

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import typer

from pitreckon.cook import Cook
from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError, Place, StoreError
from pitreckon.extras import MissingExtraError
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import read_log
from pitreckon.plan.fuel.earlier import earlier_in
from pitreckon.plan.wishes import Wishes

NONE: Final = "-"
OPTION: Final = "--learn-from"


def earlier_cooks(said: Sequence[str], wishes: Wishes) -> list[tuple[Cook, Ledger]]:
    """Earlier cooks of this day's pits, with what happened in them.

    said: ledgers and ``COOK.toml=LOG.csv``; nothing: the usual ledger, where there is one; ``-``: none

    Raises InputError, StoreError: what was named cannot be read.
    """
    if not said:
        return _of_the_usual(wishes)
    found: list[tuple[Cook, Ledger]] = []
    for each in said:
        if each == NONE:
            continue
        named = cook_and_log(each)
        found += _of_the_ledger(each, wishes) if named is None else [named]
    return found


def cook_and_log(said: str) -> tuple[Cook, Ledger] | None:
    """The cook of ``COOK.toml=LOG.csv`` and what happened in it; None: it is not of that form.

    Raises InputError: what was named cannot be read.
    """
    plan, equals, log = said.partition("=")
    if not equals or not plan.lower().endswith(".toml"):
        return None
    cook = read_cook(Path(plan))
    return cook, read_log(Path(log), cook)


def _of_the_usual(wishes: Wishes) -> list[tuple[Cook, Ledger]]:
    """A plan does not fail for a ledger that nobody has named, and makes none."""
    from pitreckon.ledger.store.place import place_of, usual_place  # noqa: PLC0415

    try:
        file = place_of(None).file
        return [] if file is not None and not file.exists() else _of_the_ledger(None, wishes)
    except MissingExtraError as fault:
        usual = usual_place()
        if "://" in usual or Path(usual).expanduser().exists():
            typer.echo(f"nothing is learned from earlier cooks: {fault}", err=True)
        return []
    except StoreError as fault:
        typer.echo(f"nothing is learned from earlier cooks: {fault}", err=True)
        return []


def _of_the_ledger(where: str | None, wishes: Wishes) -> list[tuple[Cook, Ledger]]:
    from pitreckon.ledger.store import Store  # noqa: PLC0415  not everybody keeps a ledger
    from pitreckon.ledger.store.place import place_of  # noqa: PLC0415

    file = place_of(where).file
    if file is not None and not file.is_file():
        raise InputError(
            f"there is no ledger '{where}'",
            f"Name a ledger, COOK.toml=LOG.csv, or {NONE} to learn from nothing",
            Place(field=OPTION),
        )
    with Store.open(where) as store:
        return earlier_in(store, wishes)
