"""A photo that a command is given, with places on the meat and one on the white; it needs no ledger."""

from collections.abc import Sequence
from pathlib import Path

from pitreckon.errors import InputError, Place
from pitreckon.photo.decode import Picture, decoded
from pitreckon.photo.measure import Measured, measure
from pitreckon.photo.places import place_of
from pitreckon.photo.words import places_words
from pitreckon.text.file import read_bytes


def taken(file: Path, meat: Sequence[str], white: str) -> tuple[Picture, Measured, str]:
    """The photo made anew, its colour, and a note of where. Raises InputError: file and option, and what to do."""
    given = read_bytes(file)
    try:
        picture = decoded(given)
    except InputError as fault:
        raise fault.at(file=str(file)) from None
    spots = [_place("--meat", each, picture) for each in meat]
    reference = _place("--white", white, picture)
    try:
        measured = measure(picture.pixels, spots, reference)
    except InputError as fault:
        field = fault.place.field
        raise fault.put(Place(file=str(file), field=f"--{field}" if field else None)) from None
    return picture, measured, places_words(spots, reference)


def _place(option: str, text: str, picture: Picture) -> tuple[float, float]:
    try:
        return place_of(text, picture.whole)
    except InputError as fault:
        raise fault.at(field=option) from None
