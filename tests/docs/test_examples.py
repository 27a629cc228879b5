"""What the pages show is true: cook files and logs are read, commands and links are good."""

from __future__ import annotations

import json
import re
import shlex
import tomllib
from functools import cache
from pathlib import Path

import pytest
import typer
import yaml

from pitreckon import __version__
from pitreckon.alerts import alert_settings
from pitreckon.cli.main import app
from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.flavour.read import mix_from_text
from pitreckon.flavour.sale.lots import lots_from_text
from pitreckon.flavour.weigh.batch import batch_of
from pitreckon.intake.settings import settings_from_text
from pitreckon.ledger.log.read import log_from_text
from pitreckon.lessons.diagnosis.report import report_from_text
from pitreckon.plan.read import asks_for_a_plan, wishes_from_text
from pitreckon.study.file import study_from_text

ROOT = Path(__file__).parents[2]
OWN = ("CONTRIBUTING.md", "SECURITY.md", "examples/README.md")
PAGES = [ROOT / "README.md", *(ROOT / name for name in OWN), *sorted((ROOT / "docs").rglob("*.md"))]
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.DOTALL | re.MULTILINE)


def _name(page: Path) -> str:
    return page.relative_to(ROOT).as_posix()


@cache
def _blocks(page: Path, language: str) -> list[str]:
    return [text for kind, text in FENCE.findall(page.read_text(encoding="utf-8")) if kind == language]


def _cooks(page: Path) -> list[str]:
    return [text for text in _blocks(page, "toml") if "[cook]" in text]


def _all(language: str) -> list[tuple[Path, str]]:
    return [(page, text) for page in PAGES for text in _blocks(page, language)]


def _ids(cases: list[tuple[Path, str]]) -> list[str]:
    return [_name(page) for page, _ in cases]


def _prose(page: Path) -> str:
    return FENCE.sub("", page.read_text(encoding="utf-8"))


TOML, CSV = _all("toml"), _all("csv")


@pytest.mark.parametrize(("page", "text"), TOML, ids=_ids(TOML))
def test_cook_files_are_read(page: Path, text: str, tmp_path: Path) -> None:
    if "[cook]" in text and asks_for_a_plan(text, _name(page)):
        assert wishes_from_text(text, _name(page)).items
    elif "[cook]" in text:
        assert cook_from_text(text, _name(page)).items
    elif "[mqtt]" in text or "[alerts]" in text:  # a settings file, for the cook of the reference page
        cook = cook_from_text(_cooks(ROOT / "docs" / "reference" / "cook-file.md")[0], "cook.toml")
        assert settings_from_text(text, _name(page), cook).inputs or "[mqtt]" not in text
        assert alert_settings(text, _name(page), cook).urls
    elif "[mix]" in text:  # the first line of each names its file, so that one can be in another
        for other in _blocks(page, "toml"):
            (tmp_path / other.splitlines()[0].removeprefix("# ")).write_text(other, encoding="utf-8")
        assert batch_of(mix_from_text(text, _name(page), tmp_path)).mass_kg > 0.0
    elif "[[lot]]" in text:  # lots of what goes into a batch: of the mix whose foods they are
        foods = [(each["food"],) for each in tomllib.loads(text)["lot"]]
        assert len(lots_from_text(text, _name(page), foods)) == len(foods)
    elif "[study]" in text:  # its cook is an example's
        assert study_from_text(text, _name(page), ROOT / "examples" / "sunday-racks").cases >= 1
    elif "[did]" in text:  # a report of what went wrong
        assert report_from_text(text, _name(page)).faults
    else:  # an entry of the catalog, read by tests/catalog
        assert "key" in tomllib.loads(text), "neither a cook file nor an entry of the catalog"


@pytest.mark.parametrize(("page", "text"), CSV, ids=_ids(CSV))
def test_logs_are_read(page: Path, text: str) -> None:
    """A log belongs to the cook file on its page, the second to the second; else to the one of the reference page."""
    plans = _cooks(page) or _cooks(ROOT / "docs" / "reference" / "cook-file.md")
    plan = plans[_blocks(page, "csv").index(text)] if len(plans) > 1 else plans[0]
    cook: Cook = cook_from_text(plan, "cook.toml")
    ledger = log_from_text(text, _name(page), cook)
    assert len(ledger) == len(text.strip().splitlines()) - 1


def test_there_are_examples() -> None:
    assert sum("[cook]" in text for _, text in TOML) >= 2
    assert len(CSV) >= 3


def _commands(page: Path) -> list[str]:
    shown = [line[2:] for block in _blocks(page, "console") for line in block.splitlines() if line.startswith("$ ")]
    spans = [" ".join(span.split()) for span in re.findall(r"`([^`]+)`", _prose(page))]
    return [line for line in shown + spans if line.startswith("pitreckon ")]


COMMANDS = [(page, line) for page in PAGES for line in dict.fromkeys(_commands(page))]


@pytest.mark.parametrize(("page", "line"), COMMANDS, ids=_ids(COMMANDS))
def test_commands_are_valid(page: Path, line: str) -> None:
    """Each is parsed by the program itself, and not run. A bare command name is a mention of it."""
    group = typer.main.get_command(app)
    name, *arguments = shlex.split(line)[1:]
    if name.startswith("--"):
        assert name in {option for each in group.params for option in each.opts} | {"--help"}
        return
    assert name in group.commands, line
    command = group.commands[name]
    while arguments and hasattr(command, "commands"):  # a command of several, as in ledger check
        assert arguments[0] in command.commands, line
        name, command = arguments[0], command.commands[arguments.pop(0)]
    if arguments and arguments[0] in getattr(command, "more", {}):  # a command behind a command, as in card take-in
        command, arguments = command.more[arguments[0]], arguments[1:]
    if arguments and not re.fullmatch(r"pitreckon \w+ \d", line):  # that is the name of a form
        context = command.make_context(name, arguments)
        assert not context.args


def test_commands_were_found() -> None:
    assert len(COMMANDS) > 15


@pytest.mark.parametrize("page", PAGES, ids=_name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", _prose(page)):
        path, _, anchor = target.partition("#")
        goal = (page.parent / path).resolve() if path else page
        assert goal.exists(), target
        if anchor:
            heads = re.findall(r"^#+ (.+)$", goal.read_text(encoding="utf-8"), re.MULTILINE)
            assert anchor in {re.sub(r"[^\w-]", "", head.lower().replace(" ", "-")) for head in heads}, target


def test_links_were_found() -> None:
    assert sum(len(re.findall(r"\]\(", _prose(page))) for page in PAGES) > 100


def test_every_page_is_in_the_index() -> None:
    index = ROOT / "docs" / "index.md"
    linked = {(index.parent / target).resolve() for target in re.findall(r"\]\(([^)#]+)\)", index.read_text())}
    assert {page for page in PAGES if page.name not in {"index.md"} and page != ROOT / "README.md"} <= linked


@pytest.mark.parametrize("page", PAGES, ids=_name)
def test_make_targets_exist(page: Path) -> None:
    targets = set(re.findall(r"^(\w+):", (ROOT / "Makefile").read_text(), re.MULTILINE))
    text = page.read_text(encoding="utf-8")
    assert set(re.findall(r"(?:`|^)make (\w+)\b", text, re.MULTILINE)) <= targets


def test_the_readme_shows_what_the_picture_shows() -> None:
    """Both come from one run of scripts/make_readme_picture.py; half of it redrawn would be seen here."""
    (text,) = [block for block in _blocks(ROOT / "README.md", "text") if "members, seed" in block]
    picture = (ROOT / "docs" / "pictures" / "outlook.svg").read_text(encoding="utf-8")
    drawn = re.sub(r"<[^>]+>", " ", picture).replace("&#160;", " ")
    word = re.compile(r"\w+(?::\d\d)?")
    assert set(word.findall(text)) <= set(word.findall(drawn))


def test_the_readme_says_what_it_must() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    for words in ("make demo", "make test", "no promise of safety", "local food code", "department"):
        assert words in " ".join(text.split())


def test_the_version_is_the_same_everywhere() -> None:
    """The package, the top of the changelog, the citation and the page's own package."""
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    version, day = re.findall(r"^## (\S+) \((\d{4}-\d\d-\d\d)\)$", changelog, re.MULTILINE)[0]
    citation = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    page = json.loads((ROOT / "web-src" / "package.json").read_text(encoding="utf-8"))
    assert __version__ == version == citation["version"] == page["version"]
    assert str(citation["date-released"]) == day


def test_the_citation_has_what_it_must() -> None:
    """Citation File Format 1.2.0: cff-version, message, title and authors are needed; no other key than it knows."""
    citation = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    assert citation["cff-version"] == "1.2.0"
    assert {"cff-version", "message", "title", "authors"} <= citation.keys()
    known = {"cff-version", "message", "type", "title", "abstract", "authors", "version", "date-released"}
    assert citation.keys() <= known | {"license", "keywords", "doi", "repository-code", "url", "identifiers"}
    assert citation["type"] in {"software", "dataset"}
    assert citation["license"] == "MIT"
    assert all(each.keys() == {"name"} for each in citation["authors"])


def test_every_decision_has_its_date() -> None:
    text = (ROOT / "docs" / "why.md").read_text(encoding="utf-8")
    decisions = [each for each in text.split("\n\n") if each.startswith("**")]
    assert len(decisions) > 50
    for each in decisions:
        assert re.search(r"\*\d{4}-\d\d-\d\d(?:, mended \d{4}-\d\d-\d\d)*\*\n?$", each), each.splitlines()[0]
