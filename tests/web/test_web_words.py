"""Every text of the page goes through one catalogue; Spanish is complete enough to be cooked with."""

from __future__ import annotations

import ast
import re
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from pathlib import Path
from string import Formatter

import pytest
import pytest_asyncio
from conftest import COOK
from tests.web.house import Town, settings, town
from tests.web.test_web_now import task, with_trip
from tests.web.test_web_strips import HANDS, scene

from pitreckon.cook.looks import KINDS as LOOK_KINDS
from pitreckon.lessons.diagnosis.report import FAULTS
from pitreckon.reckon.fires import DONE_AS
from pitreckon.reckon.statements import HARDLY, REMEDIES, STANDS_READY, SURE
from pitreckon.reckon.whatif import COSTS
from pitreckon.reckon.words import CAUTION, DOING, LOOK_JOINS, LOOK_LINE, LOOK_WORDS, STANDING
from pitreckon.safety.rules.meat import DONE, INTACT
from pitreckon.web import texts
from pitreckon.web.access.accounts import ROLE_NAMES, ROLE_WORDS
from pitreckon.web.pages.how import RATINGS
from pitreckon.web.pages.mixes import RULES, USE_WORDS
from pitreckon.web.texts import LANGUAGES, messages_in, texts_of
from pitreckon.web.views.look import DONE_WORDS, PIT_TAPS
from pitreckon.web.views.now import now_view
from pitreckon.web.views.reader import Preferences
from pitreckon.web.views.supper import ASKS
from pitreckon.web.views.wrong import WORDS as WRONG

WEB = Path(texts.__file__).parent
IN_PAGES = re.compile(r"""(?<![A-Za-z])_\(\s*('(?:[^'\\]|\\.)*'|"(?:[^"\\]|\\.)*")""")


NO_LANGUAGE = {
    "Pitreckon",
    "POST /api/readings",
    "Authorization: Bearer",
    "openapi.json",
    '{"error": {"status", "trouble", "remedy", "field"}}',
}


def in_templates() -> set[str]:
    found: set[str] = set()
    for path in WEB.glob("templates/*.html"):
        found |= {ast.literal_eval(text) for text in IN_PAGES.findall(path.read_text(encoding="utf-8"))}
    return found


def in_code() -> Iterator[str]:
    for path in WEB.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                if name == "say" and isinstance(node.args[0].value, str):
                    yield node.args[0].value


def chosen_from_lists() -> set[str]:
    """Messages that the code picks by what is so: states, acts, looks, chances, what is wrong."""
    words = {*STANDING.values(), *DOING.values(), *DONE_WORDS.values(), *WRONG.values(), *(word for _, word in SURE)}
    words |= {HARDLY, STANDS_READY, *REMEDIES.values(), *ASKS}
    words |= {*DONE_AS.values(), *(says for says, _, _ in PIT_TAPS)}
    words |= {*ROLE_WORDS.values(), *ROLE_NAMES.values(), *COSTS.values(), *USE_WORDS.values(), *RULES.values()}
    words |= {*RATINGS, *FAULTS, INTACT, *DONE, CAUTION}
    words |= {*LOOK_WORDS.values(), *LOOK_JOINS, LOOK_LINE}
    for kind in LOOK_KINDS:
        if kind.page is not None:
            words |= {kind.page.heading, *kind.scale}
    return words


def braces(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_every_text_of_the_page_is_said_in_every_language(language: str) -> None:
    known = texts_of(language).messages
    wanted = in_templates() | set(in_code()) | chosen_from_lists()
    assert len(wanted) > 600
    assert sorted(wanted - set(known)) == []


def test_no_template_says_anything_past_the_catalogue() -> None:
    """Letters between two tags are a message, or a thing that has no language."""
    for path in WEB.glob("templates/*.html"):
        text = re.sub(r"{%.*?%}|{{.*?}}|{#.*?#}", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        bare = re.sub(r"""<[^>]*>|[a-z-]+="[^"]*\"""", "\n", text)
        left = {line.strip() for line in bare.splitlines() if re.search(r"[A-Za-z]{3}", line)}
        assert left - NO_LANGUAGE == set(), path.name


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_a_translation_puts_in_what_its_message_does(language: str) -> None:
    messages = texts_of(language).messages
    assert messages
    assert [(text, said) for text, said in messages.items() if braces(text) != braces(said)] == []
    assert all(said.strip() for said in messages.values())


def test_po_files_are_gettext_s_own() -> None:
    """GNU gettext's manual, "The Format of PO Files": entries of msgid and msgstr, no message twice."""
    for path in WEB.glob("locale/*.po"):
        messages = [message for message, _ in messages_in(path.read_text(encoding="utf-8"))]
        assert len(messages) == len(set(messages)) > 300


def test_now_is_read_in_spanish() -> None:
    clock = replace(HANDS, preferences=Preferences(hands="24", language="es"))
    whole = with_trip(task("wrap", "the colour is set", wrap="foil", chance=0.41))
    view = now_view(replace(scene(), outlook=whole), whole, clock)
    assert view.next is not None
    (job,) = view.next.jobs
    assert (job.do, job.wait) == ("envolver en papel de aluminio", "el color está hecho")
    assert job.chance == "quizá aún no; si no, mira otra vez 15:50"
    assert view.items[0].state == "en el humo"
    assert view.supper is not None
    assert view.supper.promises[0].asks == "Listo a las 18:00"


@pytest_asyncio.fixture
async def pit(tmp_path: Path) -> AsyncIterator[Town]:
    async with town(settings(tmp_path)) as made:
        made.app.state.app_state.store.add_cook(COOK, "harvest table", cook_id="wings")
        yield made


@pytest.mark.asyncio
async def test_each_reads_in_their_own_language(pit: Town) -> None:
    owner, hand = await pit.owner(), await pit.somebody("cook", "hand")
    assert (await hand.post("/setup/me", {"language": "es"})).status_code == 303
    theirs, ours = (await hand.get("/cook/wings/look")).text, (await owner.get("/cook/wings/look")).text
    assert '<html lang="es"' in theirs
    assert "¿Qué ves?" in theirs
    assert ">ámbar<" in theirs.replace("</svg>ámbar</button>", ">ámbar<")
    assert 'value="look|colour|amber"' in theirs  # what is recorded is the same in every language
    assert '<html lang="en"' in ours
    assert "What do you see?" in ours
