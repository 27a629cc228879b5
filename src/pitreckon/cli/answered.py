"""The work behind ``pitreckon card take-in``, and the page for readers that both card commands write."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from pitreckon.cli.answers import PAPERS, ending_of, paper_of, put_out, put_sheet, reader_of, written
from pitreckon.cli.run import kernel_ahead, progress_line
from pitreckon.errors import InputError, Place
from pitreckon.text.file import decode, read_bytes

if TYPE_CHECKING:
    from pitreckon.lessons.answers.kept import KeptCard
    from pitreckon.sheets.writers.html import Paper
    from pitreckon.units import Scale

MOST_CARD_BYTES: Final = 2_000_000
MOST_CARDS: Final = 50


def check_page(page: Path | None) -> None:
    """Raises InputError: the page's name does not end in .html; MissingExtraError: what writes it is missing."""
    if page is not None:
        if page.suffix.lower() != ".html":
            raise InputError("the readers' page is one of HTML", "End its name in .html", Place(str(page)))
        from pitreckon.sheets.writers.write import require_for  # noqa: PLC0415

        require_for(".html")


def check_changed(changed: Path | None) -> None:
    """Raises InputError: the changed card's name does not end in .json."""
    if changed is not None and changed.suffix.lower() != ".json":
        raise InputError("a card is kept as JSON", "End its name in .json", Place(str(changed)))


def put_page(card: KeptCard, page: Path, language: str, degrees: Scale) -> None:
    """Write the page on which readers answer. Raises InputError: it cannot be written."""
    from pitreckon.sheets.writers.answerpage import answer_page  # noqa: PLC0415
    from pitreckon.web.texts import texts_of  # noqa: PLC0415

    made = answer_page(card, degrees=degrees, language=language, say=texts_of(language).found)
    put_out(made.encode(), page, "the readers' page")


def take_in_answers(
    folder: Path,
    card_file: Path | None,
    *,
    changed: Path | None,
    page: Path | None,
    language: str,
    output: Path | None,
    form: str | None,
    paper: Paper | None,
    seed: int,
    degrees: Scale,
    as_json: bool,
) -> None:
    """Read, reckon, say."""
    from pitreckon.cli.screen import Screen  # noqa: PLC0415
    from pitreckon.lessons.answers.folder import files_in, take_in  # noqa: PLC0415
    from pitreckon.lessons.answers.kept import document_of  # noqa: PLC0415
    from pitreckon.sheets.documents.answersheet import answer_sheet, answers_document  # noqa: PLC0415
    from pitreckon.sheets.writers.text import print_sheet  # noqa: PLC0415

    ending = ending_of(output, PAPERS, "sheet", form, as_json=as_json)
    check_page(page)
    check_changed(changed)
    files = files_in(folder)
    card = card_in(folder, card_file)
    taken = take_in(((each.name, read_bytes(each)) for each in files), card)
    with progress_line() as progress:
        task = progress.add_task("readers are cooking", total=None)
        kernel_ahead()
        from pitreckon.lessons.answers.outcome import outcome_of  # noqa: PLC0415  the kernel

        outcome = outcome_of(card, taken, seed, tell=lambda words: progress.update(task, description=words))
    sheet = answer_sheet(outcome, reader=reader_of("UTC", degrees))
    if output is not None and ending is not None:
        put_sheet(sheet, output, ending, paper_of(degrees, paper))
    if changed is not None:
        text = json.dumps(document_of(outcome.again.card), indent=1, ensure_ascii=False) + "\n"
        put_out(text.encode(), changed, "the changed card")
    if page is not None:
        put_page(outcome.again.card, page, language, degrees)
    if as_json:
        from pitreckon.cli.envelope import print_json  # noqa: PLC0415

        print_json("card take-in", {**answers_document(outcome), "written": written(output)})
    elif output is None:
        print_sheet(Screen(degrees), sheet)


def card_in(folder: Path, card_file: Path | None) -> KeptCard:
    """The card that was named, else the only one in the folder.

    Raises InputError: there is none, or more than one and none was named; it is no card.
    """
    if card_file is not None:
        return _card(card_file, needed=True)
    found = []
    for each in sorted(folder.glob("*.json"))[:MOST_CARDS]:
        try:
            found.append(_card(each, needed=False))
        except LookupError:
            continue
    if len(found) == 1:
        return found[0]
    if found:
        codes = ", ".join(each.code for each in found)
        raise InputError(
            f"there is more than one card in the folder: {codes}", "Name one with --card", Place(str(folder))
        )
    raise InputError(
        "no card is in the folder",
        "Put the .json there that 'pitreckon card -o CARD.json' wrote, or name it with --card",
        Place(str(folder)),
    )


def _card(path: Path, *, needed: bool) -> KeptCard:
    """The card in a file, the whole of what ``pitreckon card`` wrote or its part. Raises LookupError: it has none."""
    from pitreckon.lessons.answers.kept import card_from  # noqa: PLC0415

    raw = read_bytes(path)
    remedy = "Give the .json that 'pitreckon card -o CARD.json' wrote"
    if len(raw) > MOST_CARD_BYTES:
        raise InputError("it is too large for a card", remedy, Place(str(path)))
    try:
        document: Any = json.loads(decode(raw, str(path)))
    except (ValueError, RecursionError):
        raise InputError("it is no JSON", remedy, Place(str(path))) from None
    kept = document.get("card", document) if isinstance(document, dict) else None
    if not isinstance(kept, dict) or "form" not in kept:
        if not needed:
            raise LookupError
        raise InputError("it holds no card that answers can be taken in with", remedy, Place(str(path)))
    return card_from(kept, str(path))
