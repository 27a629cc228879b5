"""One shape for every refusal: JSON for programs, a page for people."""

import logging
from typing import Final
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse, Response

from pitreckon.errors import InputError, PitreckonError, Place, StoreError
from pitreckon.extras import MissingExtraError
from pitreckon.web.texts import LANGUAGES, texts_of

log = logging.getLogger(__name__)

REMEDIES: Final = {
    400: "Send what the API page describes",
    404: "Go back to the first page",
    408: "Send it again, all at once",
    405: "Use the method that the API page names",
    413: "Send less at a time",
    415: "Send JSON, with Content-Type: application/json",
}


class FaultPart(BaseModel):
    """What is wrong, and what would be right."""

    status: int = Field(description="the HTTP status once more")
    trouble: str = Field(description="what is wrong, one clause")
    remedy: str = Field(description="what would be right")
    field: str | None = Field(description="which part of what was sent, if it is one")


class Fault(BaseModel):
    """The body of every answer that is an error."""

    error: FaultPart


class RefusalError(PitreckonError):
    """A door stays shut, or there is nothing behind it."""

    def __init__(self, status: int, trouble: str, remedy: str, wait_s: float = 0.0) -> None:
        self.status, self.trouble, self.remedy, self.wait_s = status, trouble, remedy, wait_s
        super().__init__(trouble)


def body_of(status: int, trouble: str, remedy: str, place: Place | None = None) -> dict[str, object]:
    """The JSON of a refusal."""
    where = None if place is None or place == Place() else str(Place(None, place.line, place.field))
    return Fault(error=FaultPart(status=status, trouble=trouble, remedy=remedy, field=where or None)).model_dump()


def wants_page(request: Request) -> bool:
    """Is it a person who asked, or a program?"""
    if request.url.path.startswith("/api/") or "x-pitreckon-form" in request.headers:
        return False
    return "text/html" in request.headers.get("accept", "")


def spoken_by(request: Request) -> str:
    """The language of the person who asks; of one who is not known, the first of their browser's that there is."""
    chosen = getattr(request.state, "spoken", None)
    header = request.headers.get("accept-language", "")
    wanted = (each.split(";")[0].strip().split("-")[0] for each in header.split(","))
    return next((language for language in (chosen, *wanted) if language in LANGUAGES), "en")


def answer(request: Request, status: int, trouble: str, remedy: str, place: Place | None = None) -> Response:
    """A refusal in the shape that the one who asked can read."""
    if "x-pitreckon-form" in request.headers:  # the page's own script shows it to a person
        say = texts_of(spoken_by(request))
        trouble, remedy = say.found(trouble), say.found(remedy)
    if not wants_page(request):
        return JSONResponse(body_of(status, trouble, remedy, place), status)
    fault = {"status": status, "place": place or Place(), "trouble": trouble, "remedy": remedy}
    templates = request.app.state.app_state.templates
    page: Response = templates.TemplateResponse(request, "fault.html", {"fault": fault}, status)
    return page


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, RefusalError)
    if error.status == 401 and wants_page(request) and request.method == "GET":
        back = request.url.path + (f"?{request.url.query}" if request.url.query else "")
        return RedirectResponse(f"/login?to={quote(back)}", 303)
    response = answer(request, error.status, error.trouble, error.remedy)
    if error.wait_s:
        response.headers["Retry-After"] = str(int(error.wait_s) + 1)
    if error.status == 401:
        response.headers["WWW-Authenticate"] = "Bearer"
    return response


def _input(request: Request, error: Exception) -> Response:
    assert isinstance(error, InputError)
    status = 503 if isinstance(error, MissingExtraError) else 422
    return answer(request, status, error.trouble, error.remedy, error.place)


def _house(request: Request, error: Exception) -> Response:
    """Trouble of our own that has words: the store cannot be written, say. Only its log says where that lies."""
    if isinstance(error, StoreError):
        log.error("%s", error)
        return answer(request, 503, f"the ledger cannot be used: {error.trouble}", error.remedy)
    return answer(request, 503, str(error), "Try again in a minute; the server's own messages may say more")


def _invalid(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0] if error.errors() else {"loc": (), "msg": "it cannot be read"}
    where = ".".join(str(step) for step in first["loc"] if step != "body")
    place = Place(field=where) if where else None
    return answer(request, 422, str(first["msg"]), REMEDIES[400], place)


def _http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    trouble = str(error.detail or "").rstrip(".") or "that did not work"
    response = answer(request, error.status_code, trouble, REMEDIES.get(error.status_code, REMEDIES[400]))
    response.headers.update(error.headers or {})
    return response


def _bug(request: Request, _error: Exception) -> Response:
    return answer(request, 500, "something went wrong in the program itself", "Look at the server's own messages")


def install(app: FastAPI) -> None:
    """Every error of the app ends here."""
    app.add_exception_handler(RefusalError, _refused)
    app.add_exception_handler(InputError, _input)
    app.add_exception_handler(PitreckonError, _house)
    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _http)
    app.add_exception_handler(Exception, _bug)
