"""Readings of which it is not clear whose they are: somebody says so, and what has waited goes there."""

from typing import Annotated

from fastapi import APIRouter, Form
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from pitreckon.ledger.store import Entry
from pitreckon.web.access.login import inside
from pitreckon.web.api import find_cook, record
from pitreckon.web.pages.visit import HandVisit

router = APIRouter(include_in_schema=False)


@router.post("/aside")
async def settle(
    visit: HandVisit,
    device: Annotated[str, Form(max_length=60)],
    cook: Annotated[str, Form(max_length=64)] = "",
    to: Annotated[str, Form(max_length=200)] = "/",
) -> Response:
    """Into which cook a device's readings go; "": into none. Raises RefusalError: there is no such cook."""
    app_state = visit.app_state

    def work() -> list[Entry]:
        if cook:
            find_cook(app_state, cook)
        return app_state.whose.settle(device, cook)

    entries = await run_in_threadpool(work)
    if entries:
        await record(app_state, cook, entries)
    return RedirectResponse(inside(to), 303)
