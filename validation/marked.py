"""The parts of a page that a command makes: each between two markers of its own."""

from pathlib import Path


def put(made: str, begin: str, end: str, page: Path) -> None:
    """Put a made part between its markers; all else of the page stays as it is."""
    before, rest = page.read_text("utf-8").split(begin)
    page.write_text(f"{before}{begin}\n\n{made}\n{end}{rest.split(end)[1]}", "utf-8")
