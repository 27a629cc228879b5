"""The mixes of the house: kept as the texts of mix files, by a key that stands in their address."""

from __future__ import annotations

import re
import threading
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from pitreckon.errors import InputError
from pitreckon.flavour.mix import Mix
from pitreckon.flavour.read import mix_from_tables, mix_from_text
from pitreckon.forms.toml_write import Table, toml_text
from pitreckon.ledger.store import Store, accounts
from pitreckon.text.words import plain

__all__ = ["MOST_MIXES", "SavedMix", "drop_mix", "read_saved", "save_mix", "saved_mix", "saved_mixes"]

SETTING: Final = "mixes"
MOST_MIXES: Final = 200
_turn = threading.Lock()
"""They are one setting: who changes it reads it first."""


@dataclass(frozen=True, slots=True)
class SavedMix:
    """A mix as it is kept, with its key, under which it stands in the address of its page."""

    key: str
    text: str
    mix: Mix


@dataclass(frozen=True, slots=True)
class _Entry:
    """As it is stored. inside: names of the mixes in it."""

    name: str
    text: str
    inside: tuple[str, ...]


def _all(store: Store) -> dict[str, _Entry]:
    found = accounts.setting(store, SETTING, {})
    return {key: _Entry(each["name"], each["text"], tuple(each["inside"])) for key, each in found.items()}


def _save_all(store: Store, entries: Mapping[str, _Entry]) -> None:
    accounts.set_setting(store, SETTING, {key: asdict(entry) for key, entry in entries.items()})


def _named(entries: Mapping[str, _Entry], name: str) -> str | None:
    """The text of the mix of this name."""
    return next((entry.text for entry in entries.values() if plain(entry.name) == plain(name)), None)


def read_saved(store: Store, text: str, name: str = "the mix") -> Mix:
    """The mix of a text that may name others that are kept. Raises InputError (field and line)."""
    entries = _all(store)
    return mix_from_text(text, name, lambda asked: _named(entries, asked))


def saved_mixes(store: Store) -> tuple[SavedMix, ...]:
    """Every mix, by name."""
    entries = _all(store)
    found = [
        SavedMix(key, entry.text, mix_from_text(entry.text, entry.name, lambda asked: _named(entries, asked)))
        for key, entry in entries.items()
    ]
    return tuple(sorted(found, key=lambda each: each.mix.name.casefold()))


def saved_mix(store: Store, key: str) -> SavedMix:
    """One mix. Raises KeyError: there is none of this key."""
    text = _all(store)[key].text
    return SavedMix(key, text, read_saved(store, text))


def save_mix(store: Store, key: str | None, given: str | Table) -> str:
    """Keep a mix, in place of the one of this key if it is given; its key. given: a mix file's text, or its tables.

    Raises InputError: it cannot be read, it is in itself, there are too many, another has its name, or another has it
    inside under the name that it had; KeyError: there is no such key.
    """
    with _turn:
        entries = _all(store)
        before = None if key is None else entries[key]
        others = {each: kept for each, kept in entries.items() if each != key}
        read: Any = mix_from_text if isinstance(given, str) else mix_from_tables
        mix = read(given, "the mix", lambda asked: _named(others, asked))
        text = given if isinstance(given, str) else toml_text(given)
        if _named(others, mix.name) is not None:
            raise InputError(f"there is a mix called '{mix.name}' already", "Give this one another name")
        if before is not None and plain(before.name) != plain(mix.name):
            _not_inside(others, before.name)
        if key is None and len(entries) >= MOST_MIXES:
            raise InputError(f"there are {MOST_MIXES} mixes here, and no room for more", "Throw one away first")
        own = key or _free_key(mix.name, entries)
        inside = tuple(line.mix.name for line in mix.lines if line.mix is not None)
        changed = {**entries, own: _Entry(mix.name, text, inside)}
        for each in changed.values():  # those that have it inside must still be readable
            mix_from_text(each.text, each.name, lambda asked: _named(changed, asked))
        _save_all(store, changed)
        return own


def drop_mix(store: Store, key: str) -> None:
    """Throw a mix away. Raises KeyError: there is none of this key; InputError: another mix has it inside."""
    with _turn:
        entries = _all(store)
        gone = entries.pop(key)
        _not_inside(entries, gone.name)
        _save_all(store, entries)


def _not_inside(entries: Mapping[str, _Entry], name: str) -> None:
    for entry in entries.values():
        if any(plain(each) == plain(name) for each in entry.inside):
            raise InputError(f"'{name}' is in '{entry.name}'", "Take it out of there first")


def _free_key(name: str, taken: Mapping[str, object]) -> str:
    start = re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:36] or "mix"
    key, n = start, 2
    while key in taken or key == "new":
        key, n = f"{start}-{n}", n + 1
    return key
