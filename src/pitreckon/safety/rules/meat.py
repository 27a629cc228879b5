"""What a piece is, as far as rules ask: its kind of meat, and what was done to it before it went on."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from pitreckon import catalog
from pitreckon.catalog import Cut
from pitreckon.errors import InputError

INTACT, NON_INTACT, GROUND = "intact", "non-intact", "ground"
STATES: Final = (INTACT, NON_INTACT, GROUND)
MIXED: Final = frozenset({"poultry", "mixed"})
"""Poultry of an unknown kind, and poultry with other meat: no animals, but judged as poultry."""
ASK: Final = "Say whether it was injected, bladed, tumbled, or rolled or folded"


@dataclass(frozen=True, slots=True)
class Handled:
    """What was done to the meat before it went on. None: not said, so that both ways are judged and the worse counts.

    ground: minced; injected: brine or marinade put inside by needles; bladed: mechanically tenderised; tumbled: in a
    vacuum; rolled: rolled, folded, or boned and tied, so that outside has become inside; stuffed: with a filling.
    """

    ground: bool = False
    injected: bool | None = None
    bladed: bool | None = None
    tumbled: bool | None = None
    rolled: bool | None = None
    stuffed: bool | None = None

    @property
    def states(self) -> tuple[str, ...]:
        """What it may be: one of the states, or intact and non-intact where somebody has yet to say."""
        if self.ground:
            return (GROUND,)
        done = (self.injected, self.bladed, self.tumbled, self.rolled, self.stuffed)
        if any(done):
            return (NON_INTACT,)
        return (INTACT,) if all(each is False for each in done) else (INTACT, NON_INTACT)


DONE: Final = ("ground", "injected", "bladed", "tumbled", "rolled", "stuffed")
"""What can be done to meat, as it is said; the fields of ``Handled``."""
UNTOUCHED: Final = Handled(False, False, False, False, False, False)
"""An intact piece whose cook has said so."""


def handled_from(words: str) -> Handled:
    """What was done, from words such as ``injected, bladed`` or ``intact``. Raises InputError: they say something else.

    >>> handled_from("Injected , bladed").injected, handled_from("intact") == UNTOUCHED
    (True, True)
    """
    given = {word.strip().casefold() for word in words.split(",") if word.strip()}
    if not given or not given <= {INTACT, *DONE} or (INTACT in given and len(given) > 1):
        raise InputError(
            f"'{words.strip()[:60]}' is nothing that is done to meat", f"Write intact, or any of {', '.join(DONE)}"
        )
    return UNTOUCHED if given == {INTACT} else replace(UNTOUCHED, **dict.fromkeys(given, True))


@dataclass(frozen=True, slots=True)
class Meat:
    """A piece before the rules.

    animal: key of the catalog; "poultry" for a bird of an unknown kind, "mixed" for poultry with other meat
    handled: what was done to it; born_non_intact: the cut itself is not intact
    fat_percent: of poultry [%]; None: not known
    air_c: of the place where it stands once it is off [degC]; None: not known
    cut: key of the catalog; "": not known
    marked: the time it came out of temperature control is written on it, under a written procedure
    """

    animal: str
    handled: Handled = Handled()
    born_non_intact: bool = False
    fat_percent: float | None = None
    air_c: float | None = None
    marked: bool = False
    cut: str = ""

    @classmethod
    def of(cls, cut: Cut, handled: Handled | None = None, air_c: float | None = None) -> Meat:
        """A piece of a cut of the catalog. Its fat is left unknown: tables of composition are not of this bird."""
        told = handled or Handled()
        ground = replace(told, ground=True) if cut.kind == GROUND else told
        return cls(cut.animal, ground, cut.kind == NON_INTACT, air_c=air_c, cut=cut.key)

    @property
    def family(self) -> str:
        """Poultry, fish or meat, as the rules tell them apart; an animal that the catalog does not know is meat."""
        if self.animal in MIXED:
            return "poultry"
        known = catalog.animals().get(self.animal)
        return "meat" if known is None else known.family

    @property
    def states(self) -> tuple[str, ...]:
        """What it may be. A bird is hollow and is judged at its middle, whatever was done to it."""
        states = self.handled.states
        inside = self.born_non_intact or self.family == "poultry"
        return (NON_INTACT,) if inside and states != (GROUND,) else states
