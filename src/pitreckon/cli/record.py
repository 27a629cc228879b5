"""What was done to the meat, as a safety record wants it; and the check of a record."""

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from rich.console import Console

from pitreckon.cook import Cook
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.safety.record.form import check_record
from pitreckon.safety.rules.meat import UNTOUCHED, Handled
from pitreckon.text.file import read_text

DONE = ("ground", "injected", "bladed", "tumbled", "rolled", "stuffed")


def handled_of(said: Sequence[str], cook: Cook) -> dict[str, Handled]:
    """What was done to the meat, from texts such as ``butt: injected, bladed`` or ``racks: intact``.

    Raises InputError: an item that the cook does not have, or a word that is none.
    """
    out: dict[str, Handled] = {}
    labels = {item.label.casefold(): item.label for item in cook.items}
    for text in said:
        name, colon, words = text.partition(":")
        label = labels.get(name.strip().casefold())
        if label is None or not colon:
            listing = ", ".join(labels.values())
            raise InputError(
                f"'{text}' does not begin with an item", f"Write it as in '{next(iter(labels.values()))}: intact'. "
                f"The items are: {listing}", Place(field="--meat"),
            )  # fmt: skip
        given = {word.strip().casefold() for word in words.split(",") if word.strip()}
        if not given or not given <= {"intact", *DONE} or ("intact" in given and len(given) > 1):
            raise InputError(
                f"'{words.strip()}' is nothing that is done to meat", f"Write intact, or any of {', '.join(DONE)}",
                Place(field="--meat"),
            )  # fmt: skip
        out[label] = UNTOUCHED if given == {"intact"} else replace(UNTOUCHED, **dict.fromkeys(given, True))
    return out


def check_file(record_file: Path, plan: str, ledger: Ledger) -> int:
    """Say what differs from a record; 0 when nothing speaks against it, else 1."""
    try:
        document = json.loads(read_text(record_file))
    except ValueError as fault:
        raise InputError(
            "it is no JSON", "Name the .json file that pitreckon record has written", Place(str(record_file))
        ) from fault
    found = check_record(document, plan, ledger)
    console = Console(highlight=False)
    faults = [each for each in found if each.fault]
    for each in found:
        console.print(f"{'differs' if each.fault else 'since'}  {each.words}", soft_wrap=True)
    if faults:
        console.print("The record and the files are not of one piece.")
        return 1
    console.print("The record holds: plan and entries are as they were when it was made.")
    return 0
