"""Batches for sale on the page: reckoned from a mix, their sheets and labels as files, recorded, recalled."""

from typing import Annotated, Any, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Query
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from pitreckon.errors import InputError
from pitreckon.flavour.sale.batch import Sale
from pitreckon.flavour.sale.fill import FILLINGS, MARKETS
from pitreckon.flavour.sale.record import made_of, recall, record_text
from pitreckon.ledger.store.batches import add_batch, all_batches
from pitreckon.sheets import Sheet
from pitreckon.sheets.documents.batchsheet import batch_sheet
from pitreckon.sheets.documents.recallsheet import recall_sheet, recorded_sheet
from pitreckon.sheets.writers.html import fragment_of
from pitreckon.sheets.writers.labels import LAYOUTS, labels_pdf
from pitreckon.sheets.writers.write import require_for
from pitreckon.web.errors import RefusalError
from pitreckon.web.forms.batch import filled_of, food_rows, jars_of, sale_from
from pitreckon.web.pages.mixes import MixKey, found_mix
from pitreckon.web.pages.sheets import KnownEnding, one_at_a_time, paper_file, paper_for
from pitreckon.web.pages.visit import Filled, HandVisit, ViewerVisit, Visit, taken_away

router = APIRouter(include_in_schema=False)
MARKET_WORDS: Final = {"us": "the United States", "eu": "the European Union", "uk": "the United Kingdom"}
FILLING_WORDS: Final = {"hand": "by hand", "machine": "by machine"}
ZONE: Final = "UTC"
MOST_LABELS: Final = 1000
"""A file of more holds up the page; the command writes it."""


def _sale(visit: Visit, key: str, form: Any) -> Sale:
    """The batch that the form asks for. Raises RefusalError: there is no such mix; InputError: it cannot be made."""
    mix = found_mix(visit, key).mix
    return sale_from(mix, filled_of(form), food_rows(mix, form), visit.now.date())


def _paper(visit: Visit, sale: Sale) -> Sheet:
    made = batch_sheet(sale, reader=visit.reader(ZONE), made_utc=visit.now)
    return visit.paper(made, (sale.lot, sale.net, *(part.name for part in sale.parts)))


def _page(visit: Visit, key: str, form: Any, fault: InputError | None = None) -> Response:
    """The form, and what the batch comes to; a fault that a record had, or what was typed has."""
    kept = found_mix(visit, key)
    rows, sale = food_rows(kept.mix, form), None
    try:
        sale = _sale(visit, key, form)
    except InputError as wrong:
        fault = fault or wrong
    mine = {name: text for name, text in form.items() if isinstance(text, str) and name != "form_token"}
    paper = paper_for(None, visit.preferences)
    return visit.page(
        "batch.html",
        "mixes",
        status=200 if fault is None else 422,
        kept=kept,
        filled=filled_of(form),
        rows=rows,
        fault=fault,
        lot="" if sale is None else sale.lot,
        paper=None if sale is None else Markup(fragment_of(_paper(visit, sale))),
        query=urlencode(mine),
        markets={each: MARKET_WORDS[each] for each in MARKETS},
        fillings={each: FILLING_WORDS[each] for each in FILLINGS},
        counts=tuple(each.count for each in LAYOUTS[paper]),
    )


@router.get("/mixes/{key}/batch")
def batch_page(key: MixKey, visit: ViewerVisit) -> Response:
    """A batch of a mix, reckoned from what the address says."""
    return _page(visit, key, visit.request.query_params)


@router.get("/mixes/{key}/batch.{ending}")
def batch_file(key: MixKey, visit: ViewerVisit, kind: KnownEnding) -> Response:
    """Its sheet as a file."""
    if kind == ".ics":
        raise RefusalError(404, "a batch is no calendar", "Ask for pdf, html, md or txt")
    sale = _sale(visit, key, visit.request.query_params)
    return paper_file(_paper(visit, sale), kind, f"batch {sale.lot}", paper_for(None, visit.preferences))


@router.get("/mixes/{key}/labels.pdf")
def batch_labels(
    key: MixKey, visit: ViewerVisit, a_sheet: Annotated[int | None, Query(ge=1, le=100)] = None
) -> Response:
    """Its labels."""
    require_for(".pdf")
    sale = _sale(visit, key, visit.request.query_params)
    if sale.asked.jars > MOST_LABELS:
        trouble = f"{sale.asked.jars} labels are too many for the page"
        raise RefusalError(422, trouble, f"Ask for up to {MOST_LABELS} jars, or use the command")
    with one_at_a_time:
        body = labels_pdf(sale, paper_for(None, visit.preferences), a_sheet)
    return Response(body, media_type="application/pdf", headers=taken_away("labels.pdf"))


@router.post("/mixes/{key}/batch")
def record_batch(key: MixKey, visit: HandVisit, form: Filled) -> Response:
    """Record it, for good."""
    try:
        sale = _sale(visit, key, form)
        content = record_text(sale, jars_of(form.get("counted") or filled_of(form)["jars"]))
        again = form.get("again") == "yes"
        add_batch(visit.app_state.store, sale.lot, content, visit.visitor.person.name, visit.now, again=again)
    except InputError as fault:
        return _page(visit, key, form, fault)
    return RedirectResponse(f"/batches?{urlencode({'recall': sale.lot})}", 303)


@router.get("/batches")
def recall_page(visit: ViewerVisit, asked: Annotated[str, Query(alias="recall", max_length=80)] = "") -> Response:
    """All recorded batches; or which jars hold a lot, and which lots went into a jar."""
    made, how = made_of(all_batches(visit.app_state.store)), {"reader": visit.reader(ZONE), "made_utc": visit.now}
    fault, sheet = None, recorded_sheet(made, **how)  # type: ignore[arg-type]
    if asked.strip():
        try:
            sheet = recall_sheet(recall(asked, made), made, **how)  # type: ignore[arg-type]
        except InputError as wrong:
            fault = wrong
    names = {name for each in made for name in (each.lot, each.mix, *(lot.food for lot in each.lots), *each.unlotted)}
    paper = Markup(fragment_of(visit.paper(sheet, names)))
    status = 200 if fault is None else 422
    return visit.page("batches.html", "mixes", status=status, asked=asked, fault=fault, paper=paper)
