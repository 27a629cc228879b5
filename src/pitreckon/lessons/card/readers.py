"""Readers of a card: what pits they have, what pieces they buy, how they follow what is written.

They are dealt by even strata, so that a thousand of them cover every spread; the same seed gives the same readers
whatever they read, so that two wordings of a card differ by the wording alone.
"""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from pitreckon.arrays import Bools, Floats
from pitreckon.errors import InputError
from pitreckon.reckon.draws import hypercube, prior, stream


@dataclass(frozen=True, slots=True)
class Audience:
    """Who reads a card: the numbers of ``data/readers.toml``; [K], [s] and shares as the names say."""

    pits: tuple[tuple[str, float], ...]
    altitudes: tuple[tuple[float, float], ...]
    mass_sd: float
    tempered_share: float
    tempered_k: float
    held_fan_k: float
    held_hand_k: float
    clock_share: float
    clock_sd: float
    late_s: float
    look_gap_sd: float
    glaze_gap_s: float
    alarm_share: float
    colour_sd: float
    feel_sd: float
    tip_k: float
    patience: float
    grate_sd_k: float


@cache
def audience() -> Audience:
    """The usual readers."""
    text = (files("pitreckon.lessons") / "data" / "readers.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    pits = tuple((str(key), float(share)) for key, share in raw["pits"].items())
    altitudes = tuple((float(each["metres"]), float(each["share"])) for each in raw["altitude"])
    return Audience(pits, altitudes, **raw["piece"], **raw["fire"], **raw["following"])


@dataclass(frozen=True, slots=True)
class Habits:
    """How each reader goes about it, shape (readers,).

    mass: of the piece over the card's [-]; tempered: it stood out; clocked: goes by the clock, whatever is written
    clock: factor on a time that is kept; late: 0 to 1, of ``late_s``; gap: factor on the time between two looks
    wait: 0 to 1, of the gap, from what is due to the next look; alarm: hears one
    colour, feel: factor on the level at which it is seen or felt; tip, grate, held: standard normal
    """

    mass: Floats
    tempered: Bools
    clocked: Bools
    clock: Floats
    late: Floats
    gap: Floats
    wait: Floats
    alarm: Bools
    colour: Floats
    feel: Floats
    tip: Floats
    grate: Floats
    held: Floats


@dataclass(frozen=True, slots=True)
class Group:
    """Readers with one kind of pit at one altitude. z: the model's unknowns of their pieces and pits.

    set_k: what they set their pits to, over the card [K]; thicker: factor on the thickness of their pieces
    """

    pit: str
    altitude_m: float
    z: Floats
    habits: Habits
    seed: int
    set_k: float = 0.0
    thicker: float = 1.0

    @property
    def size(self) -> int:
        """How many."""
        return int(self.z.shape[1])


@dataclass(frozen=True, slots=True)
class Readers:
    """All of them, by groups."""

    who: Audience
    groups: tuple[Group, ...]

    @property
    def size(self) -> int:
        """How many."""
        return sum(group.size for group in self.groups)


def deal(n: int, seed: int, who: Audience | None = None, pit: str | None = None) -> Readers:
    """Deal ``n`` readers. pit: all of them have this kind (catalog key); None: as they come.

    Raises InputError: fewer than 100, which tell no share.
    """
    if n < 100:
        raise InputError(f"{n} readers are too few to tell a share", "Ask for 100 or more")
    who = who or audience()
    pits = ((pit, 1.0),) if pit is not None else who.pits
    cells = [(key, metres, share * part) for key, share in pits for metres, part in who.altitudes]
    counts = _counts([share for *_, share in cells], n)
    groups = []
    for k, ((key, metres, _), count) in enumerate(zip(cells, counts, strict=True)):
        if count:
            groups.append(group_of(who, key, metres, count, seed + 1009 * (k + 1)))
    return Readers(who, tuple(groups))


def group_of(
    who: Audience, pit: str, altitude_m: float, n: int, seed: int, *, set_k: float = 0.0, thicker: float = 1.0
) -> Group:
    """``n`` readers with this pit (catalog key) at this altitude [m]; set_k, thicker: as ``Group`` has them."""
    return Group(pit, altitude_m, prior("piece", "pit", n, seed), habits_of(who, n, seed), seed, set_k, thicker)


def _counts(shares: list[float], n: int) -> list[int]:
    """Whole numbers in these shares that add up to ``n``: the largest remainders get what is left."""
    exact = np.array(shares) / sum(shares) * n
    whole = np.floor(exact).astype(int)
    for index in np.argsort(whole - exact)[: n - int(whole.sum())]:
        whole[index] += 1
    return [int(each) for each in whole]


def habits_of(who: Audience, n: int, seed: int) -> Habits:
    """How each of ``n`` readers goes about it."""
    rng = stream(seed, "habits")
    z = hypercube(rng, ("mass", "clock", "colour", "gap", "feel", "tip", "grate", "held"), n)

    def even() -> Floats:
        return np.asarray((rng.permutation(n) + rng.random(n)) / n)

    return Habits(
        mass=np.exp(who.mass_sd * z["mass"]),
        tempered=even() < who.tempered_share,
        clocked=even() < who.clock_share,
        clock=np.exp(who.clock_sd * z["clock"]),
        late=even(),
        gap=np.exp(who.look_gap_sd * z["gap"]),
        wait=even(),
        alarm=even() < who.alarm_share,
        colour=np.exp(who.colour_sd * z["colour"]),
        feel=1.0 + who.feel_sd * z["feel"],
        tip=z["tip"],
        grate=z["grate"],
        held=z["held"],
    )
