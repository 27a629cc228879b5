"""Photos of looks: sent by the page, shown to whoever may look, and taken away with the ledger."""

import io
import zipfile
from typing import Annotated

from fastapi import APIRouter, File, Path, UploadFile
from starlette.concurrency import run_in_threadpool
from starlette.responses import FileResponse, JSONResponse, Response

from pitreckon.ledger.events import PHOTO
from pitreckon.ledger.store import StoredEntry
from pitreckon.web.api import CookId, find_cook
from pitreckon.web.errors import RefusalError
from pitreckon.web.pages.visit import HandVisit, ViewerVisit, Visit, taken_away

router = APIRouter(include_in_schema=False)
PAGE = 1000


@router.post("/cook/{cook_id}/photo")
async def keep_photo(cook_id: CookId, visit: HandVisit, photo: Annotated[UploadFile, File()]) -> Response:
    """Take a photo in; the answer names it. Raises InputError: it is none."""
    await run_in_threadpool(find_cook, visit.app_state, cook_id)
    given = await photo.read()
    return JSONResponse({"photo": await run_in_threadpool(visit.app_state.photos.keep, given)})


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
