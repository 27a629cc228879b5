"""A photo with places tapped on it, as the page sends it."""

from typing import Annotated, Final

from fastapi import Depends, File, Form, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response

from pitreckon.errors import InputError
from pitreckon.photo.decode import decoded
from pitreckon.photo.measure import MOST_PLACES, Measured, measure
from pitreckon.photo.places import place_of
from pitreckon.photo.words import places_words
from pitreckon.text.said import capital
from pitreckon.web.errors import body_of
from pitreckon.web.views.reader import ClockWords

MOST: Final = 20


class TappedPhoto:
    """What was sent: the picture, places on the meat and one on the white, as shares ``0.41,0.52``."""

    def __init__(
        self,
        photo: Annotated[UploadFile, File()],
        meat: Annotated[list[str], Form(max_length=MOST_PLACES)],
        white: Annotated[str, Form(max_length=MOST)],
    ) -> None:
        self._photo, self._meat, self._white = photo, meat, white

    async def measured(self) -> tuple[Measured, str]:
        """Its colour, and where that was measured. Raises InputError: it cannot be read."""
        given = await self._photo.read()

        def read() -> tuple[Measured, str]:
            picture = decoded(given)
            spots = [place_of(each[:MOST], picture.whole) for each in self._meat]
            reference = place_of(self._white, picture.whole)
            return measure(picture.pixels, spots, reference), places_words(spots, reference)

        return await run_in_threadpool(read)


Tapped = Annotated[TappedPhoto, Depends()]


def refusal(fault: InputError, clock: ClockWords) -> Response:
    """Why a photo cannot be read and what to do, in somebody's language."""
    trouble, remedy = (clock.retold(capital(text)) for text in (fault.trouble, fault.remedy))
    return JSONResponse(body_of(422, trouble, remedy, fault.place), 422)
