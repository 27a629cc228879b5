"""A sheet as print-ready PDF, by WeasyPrint, which comes with the extra ``paper``."""

from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote, urlsplit
from urllib.request import url2pathname

from pitreckon.errors import PitreckonError
from pitreckon.extras import loading
from pitreckon.sheets.model import Sheet
from pitreckon.sheets.writers.html import Paper, page_of

FAMILY: Final = "Atkinson Hyperlegible"
FOLDER: Final = Path(__file__).parents[1] / "static"


def faces_css(folder: Path = FOLDER) -> str:
    """``@font-face`` rules for the files that are there; "" when none is."""
    rules = []
    for path in sorted(folder.glob("atkinson-hyperlegible-*-normal.woff2")):
        weight = path.stem.split("-")[-2]
        rules.append(
            f'@font-face {{ font-family: "{FAMILY}"; font-weight: {weight}; font-style: normal; '
            f'src: url("{path.as_uri()}") format("woff2") }}'
        )
    return "\n".join(rules)


class PaperError(PitreckonError):
    """A PDF cannot be made on this machine."""


def pdf_of(sheet: Sheet, paper: Paper = "a4") -> bytes:
    """The sheet as PDF of A4 or US Letter pages, its typeface embedded, its parts tagged for readers aloud.

    Raises MissingExtraError: WeasyPrint is not installed
    Raises PaperError: the system's text libraries are missing; it says what to install
    """
    return pdf_of_page(page_of(sheet, paper, faces_css()))


def pdf_of_page(page: str) -> bytes:
    """A page of HTML as PDF; nothing is fetched but the typeface. Raises as ``pdf_of``."""
    weasyprint = _weasyprint()

    class OwnFiles(weasyprint.urls.URLFetcher):  # type: ignore[misc,name-defined]
        """Hands out the typeface and nothing else: a sheet asks nobody for anything."""

        def fetch(self, url: str, headers: dict[str, str] | None = None) -> Any:
            parts = urlsplit(url)
            path = Path(url2pathname(unquote(parts.path)))
            if parts.scheme != "file" or path.parent != FOLDER:
                raise ValueError(f"a sheet does not fetch {parts.scheme}: addresses")
            return super().fetch(url, headers)

    made = weasyprint.HTML(string=page, url_fetcher=OwnFiles(allowed_protocols=("file",)))
    return bytes(made.write_pdf(pdf_tags=True))


def _weasyprint() -> Any:
    try:
        with loading("weasyprint", "a PDF"):
            import weasyprint  # type: ignore[import-untyped]  # noqa: PLC0415  slow to load, and not everybody has it
            import weasyprint.urls  # type: ignore[import-untyped]  # noqa: PLC0415
    except OSError as fault:  # cffi says so when Pango and its company are not there
        raise PaperError(
            "a PDF needs the text libraries of the system. On Debian: apt install libpango-1.0-0 "
            "libpangoft2-1.0-0 libharfbuzz-subset0; or write .html and print that."
        ) from fault
    return weasyprint
