"""Who reckons for the page: the ``[reckoning]`` of a settings file, and the options of ``serve`` that go before it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from pitreckon.errors import InputError, Place
from pitreckon.forms.checks import fault
from pitreckon.forms.keys import WHOLE, Key, Keys, text
from pitreckon.intake.settings import top_of
from pitreckon.ledger.store.place import place_of
from pitreckon.text.file import read_text
from pitreckon.units import shown
from pitreckon.web.network import is_own

MOST_WORKERS: Final = 256
_ADDRESS: Final = re.compile(r"(tcp|tls|ucx)://\S+:\d{1,5}")


def _address(given: str) -> str:
    if not _ADDRESS.fullmatch(given.strip()):
        raise InputError(f"{shown(given)} is no address of a cluster", "Write it as in tcp://10.0.0.5:8786")
    return given.strip()


@dataclass(frozen=True, slots=True)
class WhoReckons:
    """workers: questions at once, at most; None: as is usual. cluster: a scheduler's address; None: this machine"""

    workers: int | None = None
    cluster: str | None = None

    def __post_init__(self) -> None:
        if self.workers is not None and not 1 <= self.workers <= MOST_WORKERS:
            raise fault("workers", f"workers is {self.workers}", f"Write how many reckon at once, 1 to {MOST_WORKERS}")


KEYS: Final = Keys(WhoReckons, Key("workers", WHOLE, "4"), Key("cluster", text(_address), '"tcp://10.0.0.5:8786"'))


def who_reckons(settings: Path | None, workers: int | None, on: str | None, ledger: str) -> WhoReckons:
    """What holds: the options, then the settings file. ledger: where it is kept, a file or a database's URL

    Raises InputError: one of them is wrong, no cluster answers, or one elsewhere is to read a ledger that is a file.
    MissingExtraError.
    """
    told, place = WhoReckons(), Place(field="--on")
    if settings is not None:
        fields = top_of(read_text(settings), str(settings)).table("reckoning")
        if fields is not None:
            told = KEYS.read(fields)
            if on is None and told.cluster is not None:
                place = fields.place("cluster")
    try:
        asked = WhoReckons(workers, None if on is None else _address(on))
    except InputError as error:
        raise error.put(Place(field="--workers") if error.place.field == "workers" else place) from None
    told = replace(told, workers=asked.workers or told.workers, cluster=asked.cluster or told.cluster)
    if told.cluster is not None and not is_own(urlsplit(told.cluster).hostname or "") and place_of(ledger).file:
        raise InputError(
            "the workers of a cluster elsewhere cannot read a ledger that is a file on this machine",
            "Keep it in a database: --ledger postgresql://cook@server/ledger",
            place,
        )
    if told.cluster is not None:
        from pitreckon.work.pools import connected  # noqa: PLC0415  (only where there is one)

        try:
            with connected(told.cluster):
                pass
        except InputError as error:
            raise error.put(place) from None
    return told
