"""Photos that entries name by their hash: which there are, whether they are what they were, and copies of them."""

import hashlib
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from sqlalchemy import select

from pitreckon.errors import InputError
from pitreckon.ledger.events import PHOTO
from pitreckon.ledger.store import Store
from pitreckon.ledger.store.place import place_of
from pitreckon.ledger.store.schema import events
from pitreckon.text.said import said

MOST_KEPT: Final = 5000
"""Photos beside one ledger: about 2 GB."""
BESIDE: Final = "photos"
"""The folder beside a copy of a ledger; copies share it, since a photo never changes."""


def folder_of(place: str | Path | None) -> Path | None:
    """Where a ledger's photos lie; None: it is no file, and has none."""
    file = place_of(place).file
    return None if file is None else file.with_name(f"{file.name}.photos")


def keep_photo(folder: Path, jpeg: bytes) -> str:
    """Keep the file of a photo by its hash, which is its name. Raises InputError: there are too many already."""
    name = hashlib.sha256(jpeg).hexdigest()
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.jpg"
    if not path.exists():
        if sum(1 for _ in folder.glob("*.jpg")) >= MOST_KEPT:
            raise InputError(
                said("there are {n} photos beside the ledger already", n=MOST_KEPT),
                said("Move some of them into a safe place, with a copy of the ledger"),
            )
        half = path.with_suffix(".half")
        half.write_bytes(jpeg)
        half.replace(path)
    return name


def named_in(store: Store) -> dict[str, str]:
    """The cook of each photo that an entry names."""
    asked = select(events.c.cook_id, events.c.body).where(events.c.body.contains("[photo "))
    rows = store.read(lambda connection: connection.execute(asked).all())
    return {name: cook_id for cook_id, body in rows for name in PHOTO.findall(body)}


def photo_faults(place: str | Path | None) -> tuple[str, ...]:
    """Photos that entries name and that are missing or are other pictures."""
    folder = folder_of(place)
    if folder is None:
        return ()
    with Store.open(place) as store:
        named = named_in(store)
    out = []
    for name, cook_id in sorted(named.items()):
        path = folder / f"{name}.jpg"
        if not path.is_file():
            out.append(f"{cook_id}: the photo {name[:12]} is missing")
        elif not _is(path):
            out.append(f"{cook_id}: the photo {name[:12]} is another picture than it was")
    return tuple(out)


def copy_photos(source: Path | None, to: Path | None) -> int:
    """Copy what is whole and not there yet; how many were."""
    count = 0
    if source is None or to is None:
        return 0
    for path in _whole(source):
        there = to / path.name
        if not there.is_file() or not _is(there):
            to.mkdir(parents=True, exist_ok=True)
            part = to / f".{path.name}.part"
            shutil.copyfile(path, part)
            part.replace(there)
            count += 1
    return count


def _whole(folder: Path) -> Iterator[Path]:
    yield from (path for path in sorted(folder.glob("*.jpg")) if _is(path))


def _is(path: Path) -> bool:
    return hashlib.sha256(path.read_bytes()).hexdigest() == path.stem
