"""The mixes of the house: kept as the texts of mix files, by a key that stands in their address."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Mix
from pitreckon.flavour.read import mix_from_tables, mix_from_text
from pitreckon.forms.toml_write import Table, toml_text
from pitreckon.ledger.store import MixRow, Store
from pitreckon.ledger.store.mixes import all_mixes, change_mixes
from pitreckon.text.words import plain

__all__ = ["MOST_MIXES", "SavedMix", "drop_mix", "save_mix", "saved_mix", "saved_mixes"]

MOST_MIXES: Final = 200


@dataclass(frozen=True, slots=True)
class SavedMix:
    """A mix as it is kept, with its key, under which it stands in the address of its page."""

    key: str
    text: str
    mix: Mix


def _named(rows: Mapping[str, MixRow], name: str) -> str | None:
    """The text of the mix of this name, else of one whose name is compared as the same."""
    for same in (lambda each: each == name, lambda each: plain(each) == plain(name)):
        found = next((row.mix_toml for row in rows.values() if same(row.name)), None)
        if found is not None:
            return found
    return None


def _read(rows: Mapping[str, MixRow], text: str, name: str) -> Mix:
    return mix_from_text(text, name, lambda asked: _named(rows, asked))


def saved_mixes(store: Store) -> tuple[SavedMix, ...]:
    """Every mix, by name."""
    rows = all_mixes(store)
    found = [SavedMix(row.id, row.mix_toml, _read(rows, row.mix_toml, row.name)) for row in rows.values()]
    return tuple(sorted(found, key=lambda each: each.mix.name.casefold()))


def saved_mix(store: Store, key: str) -> SavedMix:
    """One mix. Raises KeyError: there is none of this key."""
    rows = all_mixes(store)
    text = rows[key].mix_toml
    return SavedMix(key, text, _read(rows, text, "the mix"))


def save_mix(store: Store, key: str | None, given: str | Table) -> str:
    """Keep a mix, in place of the one of this key if it is given; its key. given: a mix file's text, or its tables.

    Raises InputError: it cannot be read, it is in itself, there are too many, another has its name, or another has it
    inside under the name that it had; KeyError: there is no such key.
    """
    while True:
        rows = all_mixes(store)
        row = _row_of(rows, key, given)
        if change_mixes(store, rows, save=row):  # else somebody else was quicker: what is in what may be another now
            return row.id


def _row_of(rows: Mapping[str, MixRow], key: str | None, given: str | Table) -> MixRow:
    """The row to keep, if all holds together with those that there are."""
    before = None if key is None else rows[key]
    others = {each: row for each, row in rows.items() if each != key}
    read: Any = mix_from_text if isinstance(given, str) else mix_from_tables
    mix = read(given, "the mix", lambda asked: _named(others, asked))
    text = given if isinstance(given, str) else toml_text(given)
    if any(plain(row.name) == plain(mix.name) for row in others.values()):
        raise InputError(f"there is a mix called '{mix.name}' already", "Give this one another name")
    if before is not None and plain(before.name) != plain(mix.name):
        _not_inside(others, before.name)
    if key is None and len(rows) >= MOST_MIXES:
        raise InputError(f"there are {MOST_MIXES} mixes here, and no room for more", "Throw one away first")
    parts = tuple(line.mix.name for line in mix.lines if line.mix is not None)
    made = MixRow(key or _free_key(mix.name, rows), mix.name, text, parts)
    changed = {**rows, made.id: made}
    for row in _around(changed, made):  # those that have it inside must still be readable
        _read(changed, row.mix_toml, row.name)
    return made


def _around(rows: Mapping[str, MixRow], made: MixRow) -> list[MixRow]:
    """Those that have a mix inside, and those that have one of them inside."""
    found: dict[str, MixRow] = {made.id: made}
    names, grown = {plain(made.name)}, True
    while grown:
        more = {key: row for key, row in rows.items() if key not in found and names & set(map(plain, row.parts))}
        found |= more
        names |= {plain(row.name) for row in more.values()}
        grown = bool(more)
    return list(found.values())


def drop_mix(store: Store, key: str) -> None:
    """Throw a mix away. Raises KeyError: there is none of this key; InputError: another mix has it inside."""
    while True:
        rows = all_mixes(store)
        _not_inside({each: row for each, row in rows.items() if each != key}, rows[key].name)
        if change_mixes(store, rows, drop=key):
            return


def _not_inside(rows: Mapping[str, MixRow], name: str) -> None:
    for row in rows.values():
        if any(plain(each) == plain(name) for each in row.parts):
            raise InputError(f"'{name}' is in '{row.name}'", "Take it out of there first")


def _free_key(name: str, taken: Mapping[str, object]) -> str:
    start = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:36] or "mix"
    key, n = start, 2
    while key in taken or key == "new":
        key, n = f"{start}-{n}", n + 1
    return key
