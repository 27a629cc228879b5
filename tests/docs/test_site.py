"""The site of the documentation: built, and every page walked for links, anchors, and whatever would be fetched."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

import pytest
import yaml
from scripts.docsite.api import ROOMS
from scripts.docsite.docstrings import listed
from scripts.make_site import ROOT, moved, parts_of_index, sources

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [pytest.mark.servers, pytest.mark.slow]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    paths = os.pathsep.join((str(ROOT / "src"), str(ROOT)))
    done = subprocess.run(
        [sys.executable, "-m", "scripts.make_site", str(folder)],
        cwd=ROOT, env=os.environ | {"PYTHONPATH": paths}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, ""), "Sphinx warns of nothing"
    return folder / "site"


@dataclass
class Page(HTMLParser):
    """What a page has and asks for. ids: its anchors; links: where it leads; loads: what a browser fetches with it"""

    path: Path
    ids: set[str] = field(default_factory=set)
    links: list[str] = field(default_factory=list)
    loads: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__()
        self.feed(self.path.read_text(encoding="utf-8"))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        self.ids |= {said[name] for name in ("id", "name") if name in said}
        if tag == "a" and "href" in said:
            self.links.append(said["href"])
        elif tag == "link" and "href" in said:
            self.loads.append(said["href"])
        if "src" in said:
            self.loads.append(said["src"])


@pytest.fixture(scope="module")
def pages(site: Path) -> dict[Path, Page]:
    return {path: Page(path) for path in sorted(site.rglob("*.html"))}


def goals(page: Page, addresses: list[str]) -> Iterator[tuple[str, Path, str]]:
    """What is meant inside the site: as it is written, the file, the anchor."""
    for address in addresses:
        parts = urlsplit(address)
        if not parts.scheme and not address.startswith("data:"):
            file = (page.path.parent / unquote(parts.path)).resolve() if parts.path else page.path
            yield address, file, unquote(parts.fragment)


def test_every_link_and_anchor_leads_somewhere(site: Path, pages: dict[Path, Page]) -> None:
    lost = []
    seen = 0
    for page in pages.values():
        for address, file, anchor in goals(page, page.links + page.loads):
            seen += 1
            there = file.is_file() and (not anchor or file not in pages or anchor in pages[file].ids)
            if not there:
                lost.append(f"{page.path.relative_to(site)}: {address}")
    assert seen > 5000
    assert not lost


def test_every_page_can_be_reached_from_the_first(site: Path, pages: dict[Path, Page]) -> None:
    reached, todo = set(), [site / "index.html"]
    while todo:
        path = todo.pop()
        if path not in reached:
            reached.add(path)
            todo += [file for _, file, _ in goals(pages[path], pages[path].links) if file in pages]
    assert pages.keys() - reached == {site / "search.html"}, "to which the search box leads"
    for source in sources():
        assert site / source.relative_to(ROOT).with_suffix(".html") in reached
    assert {site / "api" / f"{room}.html" for room in ROOMS} <= reached


def test_nothing_is_fetched_from_anywhere(site: Path, pages: dict[Path, Page]) -> None:
    for page in pages.values():
        assert not [address for address in page.loads if re.match(r"(?:\w+:)?//", address)], page.path
    for sheet in site.rglob("*.css"):
        assert not re.search(r"(?:url\(|@import)[ '\"]*(?:https?:)?//", sheet.read_text(encoding="utf-8")), sheet


def test_the_search_finds_without_a_network(site: Path, browser: Browser) -> None:
    """From the files as they are, in a real browser."""
    page = browser.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto((site / "search.html").as_uri() + "?q=stall")
    page.wait_for_selector("ul.search li a")
    assert "Words of the cook" in page.locator("ul.search").inner_text()
    assert not [url for url in asked if not url.startswith(("file:", "data:"))]
    for word in ("hold", "wrap", "brisket"):
        page.goto((site / "search.html").as_uri() + f"?q={word}")
        page.wait_for_function("document.querySelector('#search-results > p')?.innerText.includes('found')")
        page.wait_for_function(  # they come one by one
            "Number(document.querySelector('#search-results > p').innerText.match(/\\d+/)[0])"
            " <= document.querySelectorAll('ul.search > li').length"
        )
        found = page.locator("ul.search > li > a").all_inner_texts()
        code = [n for n, title in enumerate(found) if title.startswith(("pitreckon.", "Changelog", "Modules"))]
        assert found.index("Words of the cook") < min(code, default=999), "what a cook asks for, before the code"
        assert found.index("Words of the cook") < 6, found[:8]
    page.close()


def test_the_public_rooms_say_what_they_do(site: Path) -> None:
    text = {room: (site / "api" / f"{room}.html").read_text(encoding="utf-8") for room in ROOMS}
    assert 'id="pitreckon.reckon.forecast.reckon"' in text["reckon"]
    assert 'id="pitreckon.plan.schedule.solve.plan"' in text["plan"]
    assert "<strong>members</strong>" in text["reckon"], "arguments are lists"
    for room, each in text.items():
        assert each.count("sig-object") >= 5, room


def test_the_words_of_docstrings_become_lists() -> None:
    given = [
        "Do it.",
        "members: how many;",
        "    at least one",
        "seed: of the draws",
        "",
        "Raises InputError: no",
        "So.",
    ]
    assert listed(given) == [
        "Do it.", "", "- **members**: how many;", "      at least one", "- **seed**: of the draws", "",
        "- **raises InputError**: no", "", "So.",
    ]  # fmt: skip
    assert listed(["Parameters", "----------", "x: it"])[0] == "**Parameters**"


def test_links_to_the_index_lead_to_the_front_page() -> None:
    page = ROOT / "docs" / "tutorial.md"
    assert moved("[all](index.md), [a](how-to/install.md#x), `[b](index.md)`", page, page).startswith(
        "[all](../index.md), [a](how-to/install.md#x)"
    )
    assert moved("```\n[a](index.md)\n```", page, page) == "```\n[a](index.md)\n```"
    assert set(parts_of_index()) == {"", "How to", "Reference", "Behind it"}


def test_every_picture_is_in_the_gallery() -> None:
    text = (ROOT / "docs" / "gallery.md").read_text(encoding="utf-8")
    pictures = [path for path in (ROOT / "docs" / "pictures").rglob("*") if path.suffix in {".png", ".svg"}]
    assert len(pictures) > 20
    assert not [path.name for path in pictures if f"(pictures/{path.parent.name}/{path.name})".replace(
        "/pictures/", "/") not in text]  # fmt: skip


def test_the_page_of_citing_says_what_the_citation_file_says() -> None:
    text = (ROOT / "docs" / "cite.md").read_text(encoding="utf-8")
    said = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    for words in (said["title"], str(said["version"]), str(said["date-released"]), said["authors"][0]["name"]):
        assert words in text
