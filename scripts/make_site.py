"""Builds the documentation as a site in ``build/site``: ``make docs``, or ``.venv/bin/python -m scripts.make_site``.

The pages are those of the repository, which read well there too. They are laid out in ``build/site-pages`` as they
stand here, with three things more: a front page (the top of the README and the lists of ``docs/index.md``), the order
in which the pages hang together (the same lists), and pages of the API (``scripts/docsite/api.py``). Sphinx builds them
and takes each warning for an error. Nothing is fetched, when it is built or when it is read; the search works offline.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from scripts.docsite.api import api_pages
from sphinx.cmd.build import main as sphinx

ROOT: Final = Path(__file__).parents[1]
CONF: Final = ROOT / "scripts" / "docsite"
PAGES: Final = ROOT / "build" / "site-pages"
SITE: Final = ROOT / "build" / "site"
INDEX: Final = ROOT / "docs" / "index.md"
OF_ROOT: Final = ("README.md", "CONTRIBUTING.md", "SECURITY.md", "CHANGELOG.md")
BESIDE: Final = (*OF_ROOT, "examples/README.md", "validation/README.md", "benchmarks/README.md")
FENCE: Final = re.compile(r"(^```.*?^```$)", re.DOTALL | re.MULTILINE)
LINK: Final = re.compile(r"(\]\()([^)\s#]+)(#[^)\s]*)?(\))")


def sources() -> list[Path]:
    """Every page of the repository that the site has, but for its index."""
    return [
        *(ROOT / name for name in BESIDE),
        *(each for each in sorted((ROOT / "docs").rglob("*.md")) if each != INDEX),
    ]


def _local(page: Path, target: str) -> Path | None:
    """The file of the repository that a link of a page means; None: it is an address."""
    return None if "://" in target or target.startswith("mailto:") else (page.parent / target).resolve()


def moved(text: str, page: Path, to: Path) -> str:
    """The text of a page with its links as they are from another place; links to the index mean the front page."""

    def link(match: re.Match[str]) -> str:
        goal = _local(page, match[2])
        if goal is None:
            return match[0]
        if goal.is_dir():
            goal /= "README.md"
        if goal == INDEX:
            goal = ROOT / "index.md"
        return f"{match[1]}{os.path.relpath(goal, to.parent)}{match[3] or ''}{match[4]}"

    parts = FENCE.split(text)
    return "".join(part if part.startswith("```") else LINK.sub(link, part) for part in parts)


def _needed(page: Path) -> Iterator[Path]:
    """Pictures and files that a page shows or names, which go with it."""
    for match in LINK.finditer(FENCE.sub("", page.read_text(encoding="utf-8"))):
        goal = _local(page, match[2])
        if goal is not None and goal.is_file() and goal.suffix != ".md":
            yield goal


def parts_of_index() -> dict[str, list[tuple[str, str]]]:
    """The lists of the index by their titles: (what is written on the link, the page from the root, without ending)."""
    found: dict[str, list[tuple[str, str]]] = {"": []}
    title = ""
    for line in INDEX.read_text(encoding="utf-8").splitlines():
        if head := re.fullmatch(r"\*\*(.+)\*\*", line):
            title = head[1]
            found[title] = []
        for words, target in re.findall(r"\[([^]]+)\]\(([^)#]+\.md)\)", line):
            goal = (INDEX.parent / target).resolve().relative_to(ROOT)
            found[title].append((words, str(goal.with_suffix(""))))
    return found


def front_page(api: list[str]) -> str:
    """The top of the README, the lists of the index, and the order of all pages for Sphinx."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    top = moved(readme.split("\n## ")[0], ROOT / "README.md", ROOT / "index.md")
    lists = moved(INDEX.read_text(encoding="utf-8"), INDEX, ROOT / "index.md").partition("\n")[2]
    lists = re.sub(r"^\*\*(.+)\*\*$", r"## \1", lists, flags=re.MULTILINE)
    seen: set[str] = set()
    trees = []
    for title, links in parts_of_index().items():
        pages = [page for _, page in links if not (page in seen or seen.add(page))]  # type: ignore[func-returns-value]
        trees.append(_tree(title or "Begin", pages))
    rest = [str(path.relative_to(ROOT).with_suffix("")) for path in sources()]
    trees.append(_tree("API", api))
    trees.append(_tree("More", [page for page in rest if page not in seen]))
    return f"{top}\n{lists}\n## API\n\nFor whoever calls it from Python: [its rooms](api/index.md).\n\n{''.join(trees)}"


def _tree(caption: str, pages: list[str]) -> str:
    return f"```{{toctree}}\n:hidden:\n:caption: {caption}\n\n" + "".join(f"{page}\n" for page in pages) + "```\n\n"


def lay_out(folder: Path = PAGES) -> None:
    """Put every page, picture and named file where Sphinx finds it."""
    shutil.rmtree(folder, ignore_errors=True)
    for page in sources():
        to = folder / page.relative_to(ROOT)
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(moved(page.read_text(encoding="utf-8"), page, page), encoding="utf-8")
    for page in (*sources(), INDEX):
        for needed in _needed(page):
            to = folder / needed.relative_to(ROOT)
            to.parent.mkdir(parents=True, exist_ok=True)
            if not to.exists():
                shutil.copy(needed, to)
    api = api_pages()
    for name, text in api.items():
        to = folder / f"{name}.md"
        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_text(text, encoding="utf-8")
    (folder / "index.md").write_text(front_page(list(api)), encoding="utf-8")


def build(pages: Path = PAGES, site: Path = SITE) -> int:
    """Lay the pages out and build the site; Sphinx's exit code, which no warning leaves at 0."""
    lay_out(pages)
    shutil.rmtree(site, ignore_errors=True)
    told = ["-b", "html", "-W", "--keep-going", "-q", "-c", str(CONF), "-d", str(pages.parent / f"{pages.name}-trees")]
    return sphinx([*told, str(pages), str(site)])


def main() -> None:
    """Build it, into ``build`` or the folder that is named."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "build"
    folder.mkdir(parents=True, exist_ok=True)
    code = build(folder / PAGES.name, folder / SITE.name)
    if code == 0:
        print(f"the site is built: open {os.path.relpath(folder / SITE.name / 'index.html')}")
    sys.exit(code)


if __name__ == "__main__":
    main()
