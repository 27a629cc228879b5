"""Every text of the page goes through one catalogue; Spanish is complete enough to be cooked with."""

from __future__ import annotations

import ast
import copy
import json
import pickle
import re
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from string import Formatter

import pytest
import pytest_asyncio
from conftest import COOK
from tests.web.house import Town, settings, town
from tests.web.test_web_now import task, with_trip
from tests.web.test_web_spanish import english
from tests.web.test_web_strips import HANDS, outlook, scene

from pitreckon.catalog import cuts, fuels, pits, wraps
from pitreckon.cook.looks import KINDS as LOOK_KINDS
from pitreckon.intake.plausible import Judge
from pitreckon.ledger import Look, Reading
from pitreckon.ledger.events import ACTS, CHANNELS
from pitreckon.ledger.store import Entry
from pitreckon.lessons.diagnosis.report import FAULTS
from pitreckon.photo.unreadable import REASONS
from pitreckon.photo.words import places_words
from pitreckon.plan.schedule.daybefore import COOLING, REHEATING
from pitreckon.plan.schedule.fires import SELF_FED
from pitreckon.plan.schedule.infeasible import FAMILY_WORDS
from pitreckon.plan.schedule.leaving import LEAVE
from pitreckon.plan.schedule.schedule import ACT_WORDS
from pitreckon.reckon.fires import BEFORE, DONE_AS, SHUT
from pitreckon.reckon.statements import HARDLY, REMEDIES, STANDS_READY, SURE, Statement
from pitreckon.reckon.turning import BY_TURNING, COALS, SPLITS
from pitreckon.reckon.whatif import COSTS
from pitreckon.reckon.words import CAUTION, DOING, LOOK_JOINS, LOOK_LINE, LOOK_WORDS, STANDING
from pitreckon.safety.forecast import do_for
from pitreckon.safety.rules.meat import DONE, INTACT
from pitreckon.safety.rules.rule import rules
from pitreckon.safety.wording import with_values
from pitreckon.sheets.documents.cautions import FOOT
from pitreckon.sheets.documents.runsheet import WRITE
from pitreckon.sheets.documents.visits import CUES, RIB_CUES
from pitreckon.sheets.reader import MONTHS, WEEKDAYS, Reader
from pitreckon.text.said import Said, bulk, capital, instant, joined, said, temperature
from pitreckon.units import format_clock, format_temperature
from pitreckon.web import texts
from pitreckon.web.access.accounts import ROLE_NAMES, ROLE_WORDS
from pitreckon.web.pages.batches import FILLING_WORDS, MARKET_WORDS
from pitreckon.web.pages.how import RATINGS
from pitreckon.web.pages.mixes import RULES, USE_WORDS
from pitreckon.web.texts import LANGUAGES, messages_in, texts_of
from pitreckon.web.views.entries import event_words
from pitreckon.web.views.look import DONE_WORDS, PIT_TAPS
from pitreckon.web.views.now import now_view
from pitreckon.web.views.reader import ClockWords, Preferences
from pitreckon.web.views.supper import ASKS, promises_of
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


DOCUMENTED = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
NO_MESSAGE = {"{limit}", "{value}"}


def in_templates() -> set[str]:
    found: set[str] = set()
    for path in WEB.parent.glob("sheets/templates/*"):
        found |= set(re.findall(r"say\('([^']*)'\)", path.read_text(encoding="utf-8")))
    for path in WEB.glob("templates/*.html"):
        found |= {ast.literal_eval(text) for text in IN_PAGES.findall(path.read_text(encoding="utf-8"))}
    return found


def in_code() -> Iterator[str]:
    """What is said by the page and below it: written there, chosen of two there, or a constant of its module."""
    for path in WEB.parent.rglob("*.py"):
        if "said(" not in (text := path.read_text(encoding="utf-8")) and "say(" not in text:
            continue
        tree = ast.parse(text)
        constants = dict(_constants(tree))
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and node.args:
                name = getattr(node.func, "id", getattr(node.func, "attr", ""))
                if name in {"say", "said"}:
                    yield from _texts(node.args[0], constants)
                if name == "_heads":
                    yield from (text for each in node.args for text in _texts(each, constants))
        if "pitreckon.text.said" in text:
            yield from _with_fields(tree)


def _with_fields(tree: ast.Module) -> Iterator[str]:
    """Every text of a module with names in braces, but for its docstrings."""
    documents = {ast.get_docstring(n, clean=False) for n in ast.walk(tree) if isinstance(n, DOCUMENTED)}
    for node in ast.walk(tree):
        value = getattr(node, "value", None) if isinstance(node, ast.Constant) else None
        if isinstance(value, str) and value not in documents | NO_MESSAGE and re.search(r"{[a-z]+}", value):
            yield value


def _constants(tree: ast.Module) -> Iterator[tuple[str, str]]:
    for node in tree.body:
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        value = getattr(node, "value", None)
        if isinstance(value, ast.Constant) and isinstance(value.value, str):
            yield from ((each.id, value.value) for each in targets if isinstance(each, ast.Name))


def _texts(node: ast.expr, constants: dict[str, str]) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from (*_texts(node.body, constants), *_texts(node.orelse, constants))
    elif isinstance(node, ast.Name) and node.id in constants:
        yield constants[node.id]


def chosen_from_lists() -> set[str]:
    """Messages that the code picks by what is so: states, acts, looks, chances, what is wrong."""
    words = {*STANDING.values(), *DOING.values(), *DONE_WORDS.values(), *WRONG.values(), *(word for _, word in SURE)}
    words |= {HARDLY, STANDS_READY, *(each.message for each in REMEDIES.values() if isinstance(each, Said)), *ASKS}
    words |= {*DONE_AS.values(), *(says for says, _, _ in PIT_TAPS)}
    words |= {*ROLE_WORDS.values(), *ROLE_NAMES.values(), *COSTS.values(), *USE_WORDS.values(), *RULES.values()}
    words |= {*MARKET_WORDS.values(), *FILLING_WORDS.values()}
    words |= {*RATINGS, *FAULTS, INTACT, *DONE, CAUTION}
    words |= {text for both in REASONS.values() for text in both}
    words |= {*LOOK_WORDS.values(), *LOOK_JOINS, LOOK_LINE}
    words |= {*BY_TURNING.values(), *SPLITS.values(), *COALS.values(), *BEFORE.values(), *SHUT.values()}
    words |= {with_values(text)[0][:1].lower() + with_values(text)[0][1:] for rule in rules() for text in do_for(rule)}
    words |= {each.name for shelf in (cuts(), pits(), wraps()) for each in shelf.values()}
    words |= {cut.animal for cut in cuts().values()} | {fuel.name.lower() for fuel in fuels().values()}
    words |= {
        *(*WEEKDAYS, *MONTHS, *CUES.values(), *RIB_CUES.values(), *WRITE, "do", "from", "too late", FOOT),
        *ACTS,
        *CHANNELS,
        *SELF_FED.values(),
        *FAMILY_WORDS.values(),
        *ACT_WORDS.values(),
        "serve",
        "foil",
        "paper",
        "too soft",
        "dried out",
        "the glaze burns",
        "gone cold",
        "in the open",
        "glazed",
        "rest",
        "hold",
    }
    for kind in LOOK_KINDS:
        words |= {kind.name, *kind.scale} | ({kind.within.replace("{}", "{value}")} if kind.within else set())
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
    cold = Statement("still at its best", "hardly", 0.03, "racks 3 %", REMEDIES["gone cold"], "18:00")
    metric = replace(clock, preferences=Preferences("C", hands="24", mass="kg", language="es"))
    assert promises_of([cold], metric)[0].remedy == "se enfría: a una caja caliente, y cuida que no baje de 60 °C"


def test_what_a_plan_wrote_into_a_cook_file_is_told_as_its_reader_has_it() -> None:
    """Cooling the day before, and a tray that leaves: the file has them in English, in degrees Fahrenheit."""
    metric = replace(MORE, preferences=Preferences("C", hands="24", mass="kg", language="es"))
    assert metric.of_task(REHEATING) == "recalienta con su jugo, tapado: 73.9 °C por dentro del todo, en 2 h"
    assert "de 57.2 °C a 21.1 °C en 2 h" in metric.of_task(COOLING)
    leave = LEAVE.format(at="14:00")
    assert metric.of_task(leave) == "envásalo caliente y sal, para que esté en la mesa a las 14:00"
    assert HANDS.of_task(leave) == leave
    assert metric.of_task("dress the slaw") == "dress the slaw"


def test_a_reading_that_is_not_believed_says_why_in_the_reader_s_language() -> None:
    """The verdict was kept with the reading, in English, when it came in."""
    begun = HANDS.now
    values = [(0, 121.0), (1, 350.0), *((2 + 5 * n, 121.0) for n in range(40)), (210, 900.0), (215, float("nan"))]
    readings = [Reading(begun + timedelta(minutes=m), "pit air", "barn pit", None, c) for m, c in values]
    judged = Judge().judged([Entry(f"e{n}", each, "box") for n, each in enumerate(readings)])
    why = {each.event.rejected for each in judged if isinstance(each.event, Reading) and each.event.rejected}
    kinds = ("it jumps from", "it has not moved", "1652 °F is outside", "no number is outside")
    assert all(any(kind in each for each in why) for kind in kinds), why
    clock = replace(HANDS, preferences=Preferences("C", hands="24", mass="kg", language="es"))
    for each in why:
        assert not english(clock.of_task(each)), clock.of_task(each)
    gone = replace(outlook(), rejected=tuple(f"barn pit: {each}" for each in why if "moved" in each))
    ((line, n),) = now_view(replace(scene(), outlook=gone), gone, clock).rejected
    assert line.startswith("barn pit: no se ha movido")
    assert n == len(gone.rejected) > 1


def test_what_a_record_says_was_put_right_is_told_whole_in_spanish() -> None:
    found = texts_of("es").found
    right = found("put right: butt: put on; now butt: put on (of Ann) (its time put right)")
    assert right == "corregido: butt: poner; ahora butt: poner (de Ann) (su hora corregida)"
    assert found("taken back: butt: put on (of Ann)") == "retirado: butt: poner (de Ann)"


def test_a_note_is_told_without_what_a_machine_wrote_into_it() -> None:
    """Where a photo was tapped and how it is called stay in the ledger."""
    note = f"by the fire; {places_words([(0.3, 0.3), (0.4, 0.6)], (0.85, 0.5))} [photo {64 * 'a'}]"
    look = Look(HANDS.now, "racks", None, "colour", 0.5, "amber", note=note)
    assert event_words(look, HANDS.preferences) == "colour amber (by the fire)"
    assert event_words(replace(look, note=note.removeprefix("by the fire; ")), HANDS.preferences) == "colour amber"


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


MORE = ClockWords(HANDS.zone, HANDS.now, Preferences("C", hands="12", language="es"))


def test_a_text_that_was_made_once_is_read_by_everybody_in_their_own_way() -> None:
    at = HANDS.now + timedelta(minutes=20)
    hotter = "its core cannot come to {wanted} in a pit at {set}: run it hotter"
    wanted, pit = (temperature(temp_c, format_temperature(temp_c)) for temp_c in (62.8, 60.0))
    note = said("{what} at {at}", what=said("the probe"), at=instant(at, format_clock(at, HANDS.zone)))
    text = joined("; ", [note, capital(said(hotter, wanted=wanted, set=pit))])
    english = "Its core cannot come to 145 °F in a pit at 140 °F: run it hotter"
    assert text == f"the probe at {format_clock(at, HANDS.zone)}; {english}"
    assert HANDS.retold(text) == text
    for each in (text, pickle.loads(pickle.dumps(text)), copy.deepcopy(text)):
        assert MORE.retold(each) == (
            f"la sonda a las {MORE(at)}; Su centro no puede llegar a 63 °C con el asador a 60 °C: súbelo"
        )
    metric = ClockWords(HANDS.zone, HANDS.now, Preferences("C", mass="kg", language="es"))
    fuel = said("fill it up, about {mass} of {fuel}", mass=bulk(5.56), fuel=said("wood pellets"))
    assert HANDS.retold(fuel) == fuel == "fill it up, about 12 lb of wood pellets"
    assert metric.retold(fuel) == "llénalo, unos 5.5 kg de pellets de madera"
    assert MORE.retold("butts: 17:05") == "butts: 5:05 pm", "one that has lost its message has its hours at least"
    assert json.loads(json.dumps([text])) == [text]
    assert repr(text) == repr(str(text))


REFUSED_BY = {"InputError", "RefusalError", "StoreError", "fault", "refuse"}
REACHED = (
    *("flavour/sale", "ledger/store/batches.py", "sheets/writers/labels.py"),
    *("web", "units", "forms", "text", "flavour/read.py", "flavour/mix.py", "flavour/amounts.py"),
    *("flavour/taste/target.py", "flavour/weigh/batch.py", "cook/labels.py", "cook/until.py", "plan/read.py"),
    *("plan/wishes.py", "plan/keys.py", "lessons/diagnosis/report.py", "lessons/card/finished.py"),
    *("lessons/answers/code.py", "lessons/answers/answer.py", "lessons/answers/folder.py"),
    *("ledger/log/acts.py", "ledger/log/values.py", "ledger/store/removal.py", "sheets/documents/recipe.py"),
)
"""Rooms and modules that read what a form of the page holds."""
OF_THE_COMMAND = {"web/serve.py", "web/whoreckons.py", "forms/defaults.py", "text/table.py"}


def refusals() -> Iterator[tuple[str, str]]:
    """Where something is refused, and a text of it: what was typed stands in it in quotes, so that it is no word."""
    for place in REACHED:
        path = WEB.parent / place
        for module in [path] if path.is_file() else sorted(path.rglob("*.py")):
            name = str(module.relative_to(WEB.parent))
            if name in OF_THE_COMMAND:
                continue
            for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
                called = getattr(node, "func", None)
                if isinstance(node, ast.Call) and getattr(called, "id", getattr(called, "attr", "")) in REFUSED_BY:
                    yield from ((name, text) for each in node.args if (text := _sample(each)))


def _sample(node: ast.expr) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and " " in node.value:
        return node.value
    if not isinstance(node, ast.JoinedStr):
        return ""
    parts = [each.value if isinstance(each, ast.Constant) else "'x'" for each in node.values]
    return "".join(map(str, parts))


@pytest.mark.parametrize("language", [each for each in LANGUAGES if each != "en"])
def test_every_refusal_that_a_form_can_meet_is_said_in_every_language(language: str) -> None:
    texts = texts_of(language)
    found = set(refusals())
    assert len(found) > 250
    assert sorted(each for each in found if texts.found(each[1]) == each[1]) == []


def test_a_finished_text_is_known_by_its_message_and_what_was_typed_stays() -> None:
    found = texts_of("es").found
    assert found("'the road to town' is no time") == "'the road to town' no es una hora"
    assert found("Write one of: colour, probe feel") == "Escribe uno de: colour, probe feel"
    assert found("item 3: weight") == "pieza 3: peso"
    assert found("3 h 35 min to 5 h 10 min") == "3 h 35 min a 5 h 10 min"
    assert found("mushy 32 %, too dark 21 %") == "pasado 32 %, demasiado oscuro 21 %"
    nothing = "nobody here has ever said such a thing, and nobody will"
    assert found(nothing) == nothing, "all of it or nothing"
    assert texts_of("en").found("'x' is no time") == "'x' is no time"


def test_a_sheet_made_in_english_is_told_but_for_what_people_called_things() -> None:
    found = texts_of("es").found
    english = Reader("America/Chicago", say=found, find=found, names=frozenset({"paper"}))
    assert english.told("Raw inside") == "Crudo por dentro"
    assert english.told("paper") == "paper", "an item of that name"
    of_messages = Reader("America/Chicago", say=found)
    assert of_messages.told(said("foil")) == "papel de aluminio"
    assert of_messages.told("foil") == "foil", "what is no message there is a name"
