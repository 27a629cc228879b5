"""Photos of looks: sent by the page, measured, shown to whoever may look, and taken away with the ledger."""

import io
import zipfile
from typing import Annotated, Final

from fastapi import APIRouter, File, Form, Path, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, JSONResponse, Response

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.ledger import Look
from pitreckon.ledger.events import PHOTO
from pitreckon.ledger.store import StoredEntry
from pitreckon.photo.words import LOOK, measured_words, value_of
from pitreckon.reckon.moved import moved_words
from pitreckon.text.said import capital
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.photo import Tapped, refusal
from pitreckon.web.live.plans import cook_of
from pitreckon.web.pages.visit import HandVisit, ViewerVisit, Visit, taken_away
from pitreckon.web.views.reader import ClockWords

router = APIRouter(include_in_schema=False)
PAGE = 1000
MOVED_S: Final = 4.0
"""How long one who has measured a colour waits to hear what it would move [s]."""


@router.post("/cook/{cook_id}/photo")
async def keep_photo(cook_id: CookId, visit: HandVisit, photo: Annotated[UploadFile, File()]) -> Response:
    """Take a photo in; the answer names it. Raises InputError: it is none."""
    await run_in_threadpool(find_cook, visit.app_state, cook_id)
    given = await photo.read()
    return JSONResponse({"photo": await run_in_threadpool(visit.app_state.photos.keep, given)})


@router.post("/cook/{cook_id}/photo/colour")
async def photo_colour(
    cook_id: CookId,
    visit: HandVisit,
    tapped: Tapped,
    on: Annotated[str, Form(max_length=60)],
    piece: Annotated[int | None, Form(ge=1, le=500)] = None,
) -> Response:
    """The colour of the meat in a photo, and how it would move the forecast; nothing is kept."""
    cook = await run_in_threadpool(_cook_of, visit, cook_id)
    clock = ClockWords(cook.zone_info, visit.now, visit.preferences)
    try:
        measured, where = await tapped.measured()
    except InputError as fault:
        return refusal(fault, clock)
    value = value_of(measured)
    moved: tuple[str, ...] = ()
    if on in {item.label for item in cook.items}:
        look = Look(visit.now, on, piece, LOOK, round(measured.step.level, 2), value)
        found = await visit.app_state.live.if_seen(cook_id, look, MOVED_S)
        moved = () if found is None else moved_words(*found, cook.zone_info)
    lines = [clock.retold(line) for line in (*measured_words(measured), *(capital(line) for line in moved))]
    return JSONResponse({"value": value, "note": where, "lines": lines, "moved": bool(moved)})


@router.get("/photo/{name}.jpg")
def photo(visit: ViewerVisit, name: Annotated[str, Path(pattern="^[0-9a-f]{64}$")]) -> Response:
    """One photo. Raises RefusalError: it is not here, or not what its name says."""
    path = visit.app_state.photos.path(name)
    if path is None:
        raise RefusalError(404, "there is no such photo", "Look for it in the export of the cook")
    return FileResponse(
        path, media_type="image/jpeg", headers={"Cache-Control": "private, max-age=31536000, immutable"}
    )


@router.get("/cook/{cook_id}/export.zip")
def export_zip(cook_id: CookId, visit: ViewerVisit) -> Response:
    """The cook, its whole ledger and its photos in one file."""
    find_cook(visit.app_state, cook_id)
    lines = [line if line.endswith("\n") else f"{line}\n" for line in visit.app_state.store.export_jsonl(cook_id)]
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as out:
        out.writestr(f"{cook_id}.jsonl", "".join(lines))
        for name in _named(visit, cook_id):
            path = visit.app_state.photos.path(name)
            if path is not None:
                out.write(path, f"photos/{name}.jpg", zipfile.ZIP_STORED)
    return Response(made.getvalue(), media_type="application/zip", headers=taken_away(f"{cook_id}.zip"))


def _cook_of(visit: Visit, cook_id: str) -> Cook:
    return cook_of(find_cook(visit.app_state, cook_id).plan_toml)


def _named(visit: Visit, cook_id: str) -> list[str]:
    """The photos that entries of a cook name, each once."""
    names: dict[str, None] = {}
    after = 0
    while page := visit.app_state.store.entries(cook_id, after, PAGE, kinds=("look", "act")):
        names |= dict.fromkeys(name for stored in page for name in photos_of(stored))
        after = page[-1].seq
    return list(names)


def photos_of(stored: StoredEntry) -> list[str]:
    """The photos that an entry names."""
    return PHOTO.findall(getattr(stored.event, "note", ""))
