"""What was done to the meat, as a safety record wants it; and the check of a record."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from rich.console import Console

from pitreckon.cli.envelope import print_json
from pitreckon.cli.run import log_of, one_from_a_pipe
from pitreckon.cli.unusual import warn_unusual
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError, Place
from pitreckon.ledger import Ledger
from pitreckon.safety.record.form import check_record, record_from_text, signer_of
from pitreckon.safety.record.kept import Kept, kept_of
from pitreckon.safety.record.sign import short_of
from pitreckon.safety.rules.meat import Handled, handled_from
from pitreckon.text.file import read_text
from pitreckon.units import Scale


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
                f"The items are: {listing}", Place(field="--handled"),
            )  # fmt: skip
        try:
            out[label] = handled_from(words)
        except InputError as fault:
            raise fault.put(Place(field="--handled")) from None
    return out


@dataclass(frozen=True)
class Rests:
    """What a record rests on: the plan's text and the cook of it, the ledger, and what is kept beside; None: a log."""

    plan: str
    cook: Cook
    ledger: Ledger
    kept: Kept | None = None


def rests_on(
    cook_file: Path, log_file: Path | None, *, set_aside: bool, dates: str | None = None, degrees: Scale = "F"
) -> Rests:
    """A cook file and its log, or the export of a ledger, which has it all.

    Raises InputError: something in them is wrong; a log is given with an export.
    """
    one_from_a_pipe(cook_file, log_file)
    if cook_file.suffix != ".jsonl":
        plan = read_text(cook_file)
        cook = cook_from_text(plan, str(cook_file))
        warn_unusual(cook, plan, str(cook_file), degrees)
        return Rests(plan, cook, log_of(log_file, cook, set_aside=set_aside, dates=dates) or Ledger())
    if log_file is not None:
        raise InputError("an export has its ledger in it", "Leave --log out", Place(field="--log"))
    from pitreckon.ledger.store import Store  # noqa: PLC0415  a log needs no database library

    with TemporaryDirectory() as folder, Store.open(Path(folder) / "ledger.sqlite") as store:
        cook_id = store.import_jsonl(io.StringIO(read_text(cook_file)), str(cook_file))
        plan = store.cook(cook_id).plan_toml
        return Rests(plan, cook_from_text(plan, "the plan"), store.ledger(cook_id), kept_of(store, cook_id))


def check_file(record_file: Path, rests: Rests, house: str, *, as_json: bool = False) -> int:
    """Say what differs from a record, and whose key has signed it; 0 when nothing speaks against it, else 1.

    house: the key that has to have signed it; "": any, or none
    """
    document = record_from_text(read_text(record_file), str(record_file))
    found = check_record(document, rests.plan, rests.ledger, rests.kept, house)
    signer = signer_of(document)
    faults = [each for each in found if each.fault]
    if as_json:
        differences = [{"fault": each.fault, "words": each.words} for each in found]
        told = {"holds": not faults, "found": differences, "signer": short_of(signer) if signer else None}
        print_json("record", told)
        return 1 if faults else 0
    console = Console(highlight=False)
    for each in found:
        console.print(f"{'differs' if each.fault else 'since'}  {each.words}", soft_wrap=True)
    if faults:
        console.print("The record and the files are not of one piece.")
        return 1
    console.print("The record holds: plan and entries are as they were when it was made.")
    if not signer:
        console.print("No key of a house has signed it: whoever made all of it anew would not be found out.")
    elif house:
        console.print(f"Signed by the house of that key, {short_of(signer)}.")
    else:
        console.print(
            f"Signed by the house whose key is {short_of(signer)}: hold that against 'pitreckon ledger key' there, or "
            "against a paper of it.", soft_wrap=True,
        )  # fmt: skip
    return 0
