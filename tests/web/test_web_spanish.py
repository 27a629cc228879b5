"""A cook that uses every page, walked in Spanish: no English sentence is left on any of them.

What people typed (names, notes) and what other programs read is left out. English shows by its small words: a text with
one that Spanish has not is English. The list is of the commonest function words of English (from memory; any
frequency list begins so), without those that Spanish writes alike ("a", "no", "he", "me", "son", "has", "once").
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser

import httpx
import pytest
from tests.patience import PATIENCE_S, until
from tests.web.many import ENDS, GATE, HEAD, LONG, fill_many
from tests.web.many import NOW as AT
from tests.web.phones import DAY, finish_a_cook
from tests.web.pit_server import PASSWORD, Server
from tests.web.taught import LATER, argue, fill_house

from pitreckon.ledger import Look
from pitreckon.ledger.store import Entry, Store

pytestmark = pytest.mark.servers

WORDS = """
the of and to in is it that for was on are with as at be this from or had by but not what all were we when your
can said there use an each which she do how their if will up other about out many then them these so some her
would make like him into time look two more write go see number way could people my than first been call who its
now find long down day did get come made may part over new sound take only little work know place years live
back give most very after things our just name good sentence think say where help through much before line right
too means old any same tell following came want show also around form three small set put end does another well
large must even such because turn here why ask went men need different off again nothing nobody every left
without between under until already hour hours minutes whole while yet
"""
ENGLISH = frozenset(WORDS.split()) - {"a", "no", "he", "me", "son", "has", "once", "come"}
SKIPPED = {"script", "style", "textarea", "pre", "code", "svg"}
READ_OUT = ("aria-label", "alt", "title", "placeholder", "data-says", "data-ask", "aria-description")


class Texts(HTMLParser):
    """What a reader or a screen reader is told, text by text."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._inside: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if found.get("translate") != "no":
            self.found += [str(found[key]) for key in READ_OUT if found.get(key)]
        self.found += [str(value) for key, value in attrs if key.startswith("data-word") and value]
        if tag in SKIPPED or "name" in str(found.get("class") or "").split():
            self._inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self._inside and self._inside[-1] == tag:
            self._inside.pop()

    def handle_data(self, data: str) -> None:
        if data.strip() and not self._inside:
            self.found.append(" ".join(data.split()))


def english(text: str) -> bool:
    """Is this text, or part of it, English?"""
    bare = re.sub(r"{[a-z]+}|'[^']*'", "", text)  # what was typed is told in quotes
    bare = re.sub(r"(uno|cualquiera|más) de: [^.]*", "", bare)  # words that are typed are those of the file
    bare = re.sub(r"\((FSIS|USDA|FDA|Food Code)[^)]*", "", bare)  # a source is named as its authority names it
    return bool(ENGLISH & set(re.findall(r"\b[a-záéíóúñü]+\b", bare.lower())))


MIX = """\
[mix]
name = "polvo de la casa"
use = "rub"
covers = ["2 racks", "1 kg"]

[[ingredient]]
food = "brown sugar"
amount = "40 g"

[[ingredient]]
food = "salt"
amount = "24 g"

[[ingredient]]
food = "paprika"
amount = "2 tbsp"
"""


class Guest:
    """Somebody who reads Spanish, degrees Celsius, kilograms and a clock of 12 hours."""

    def __init__(self, place: str) -> None:
        self.client = httpx.Client(base_url=place, headers={"Accept": "text/html"}, timeout=PATIENCE_S, trust_env=False)
        self.client.post("/login", data={"password": PASSWORD})
        self.token = re.findall(r'data-token="([0-9a-f]+)"', self.get("/setup"))[0]

    def get(self, path: str, status: int = 200) -> str:
        """A page, as the server sends it."""
        answer = self.client.get(path, follow_redirects=True)
        assert answer.status_code == status, (path, answer.text[-600:])
        return answer.text

    def post(self, path: str, **form: object) -> httpx.Response:
        """A form of a page, filled in."""
        return self.client.post(path, data={"form_token": self.token, **form}, follow_redirects=True)

    def there(self, path: str, without: str) -> str:
        """A page once it says no more that something is on its way."""
        found = [""]

        def is_there() -> bool:
            found[0] = self.get(path)
            return without not in found[0]

        until(is_there, path, every_s=0.3)
        return found[0]


NAMED = {LONG: "costillas largas", GATE: "horno del portal", HEAD: "mesa de cosecha", ENDS: "costillas enteras"}


@pytest.fixture(scope="module")
def guest(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Guest]:
    path = tmp_path_factory.mktemp("spanish") / "ledger.sqlite"
    with Store.open(path) as store:
        fill_house(store, pit="horno viejo", first=LATER, name="cena")
        argue(store, pit="horno viejo", by="Ana")
    fill_many(path, NAMED)
    with Store.open(path) as store:
        dark = Look(AT - timedelta(minutes=4), "costillas enteras", None, "colour", 1.3, "too dark")
        raw = Look(AT - timedelta(minutes=3), "thighs", None, "spot temperature", 30.0, "86 F")
        store.append("supper", [Entry("dark", dark, "Ana"), Entry("raw", raw, "Ana")])
    server = Server(path, shows=AT).start()
    try:
        finish_a_cook(server)
        made = Guest(server.place)
        made.post("/setup/me", language="es", degrees="C", mass="kg", hands="12", theme="auto")
        kept = made.post("/mixes/text", mix=MIX)
        assert kept.status_code == 200, kept.text[-3000:]
        assert made.post("/day/text", day=DAY).status_code == 200
        yield made
        made.client.close()
    finally:
        server.close()


def left_english(page: str) -> list[str]:
    parser = Texts()
    parser.feed(page)
    return sorted({text for text in parser.found if english(text)})


PAGES = {
    "/cook/supper/now": "first outlook",
    "/cook/supper/look": "",
    "/cook/supper/plan": 'class="waiting"',
    "/cook/supper/ledger?kind=": "",
    "/cook/supper/clock": "",
    "/cook/supper/how": "",
    "/cook/supper/sheet": "",
    "/cook/supper/record": "data-again",
    "/cook/orchard/card?item=racks": "data-again",
    "/cook/orchard/card/answers": "",
    "/cook/orchard/now": "",
    "/setup": "",
    "/people": "",
    "/sessions": "",
    "/alerts": "",
    "/suppers": "",
    "/house": "",
    "/start": "",
    "/new": "",
    "/day": "data-again",
    "/day/new": "",
    "/day/shopping": "",
    "/mixes": "",
    "/mixes/new": "",
    "/mixes/polvo-de-la-casa": "",
    "/mixes/polvo-de-la-casa/batch": "",
    "/batches?recall=S+11": "",
    "/why": "",
    "/why?cut=st-louis-ribs&set=135&on=5&came_out=tough&came_out=too+dark": "data-again",
}
"""Each page, and what it has as long as something on it is on its way."""
TYPED = ("the odd one", "lb, in")
"""A cook's name, and units: of no language."""


@pytest.mark.kernel
@pytest.mark.parametrize("path", PAGES)
def test_no_english_is_left_on_the_page(guest: Guest, path: str) -> None:
    page = guest.there(path, PAGES[path]) if PAGES[path] else guest.get(path)
    assert '<html lang="es"' in page
    for each in TYPED:
        page = page.replace(each, "")
    assert left_english(page) == []


def test_a_sheet_for_a_calendar_is_in_spanish(guest: Guest) -> None:
    text = guest.get("/cook/supper/sheet.ics").replace("\r\n ", "")
    said = [line.partition(":")[2] for line in text.splitlines() if line.startswith(("SUMMARY", "DESCRIPTION"))]
    assert len(said) > 10
    assert [each for each in said if english(each.replace("\\n", " "))] == []
    assert any("Mejor a las" in each for each in said)


@pytest.mark.parametrize(
    ("path", "form"),
    [
        ("/why?asked=1", None),
        ("/why?cut=st-louis-ribs&set=hot&came_out=tough", None),
        ("/cook/nowhere/now", None),
        ("/mixes/none", None),
        ("/cook/orchard/card?item=racks&pieces=many", None),
        ("/cook/supper/record", {"record": "look|spot temperature|spot-0", "spot-0": "tepid", "on": "butts"}),
        ("/cook/supper/record", {"record": "act|dance|", "on": "butts"}),
        ("/cook/supper/record", {"record": "look|colour|amber", "on": "nothing"}),
        ("/cook/supper/retime", {"of": "x", "at": "soon", "seq": "1"}),
        ("/mixes/text", {"mix": '[mix]\nname = "polvo"\nuse = "soup"\n'}),
        ("/mixes/text", {"mix": "[mix"}),
        ("/day/text", {"day": "[cook]\n"}),
        ("/setup/text", {"plan": '[cook]\nname = "x"\nzone = "Nowhere/Land"\n'}),
        ("/house/pits/say", {"pit": "horno viejo", "far": "much", "give": "2", "side": "under", "since": ""}),
        ("/cook/supper/how", {"rating": "99", "note": ""}),
    ],
)
def test_what_is_refused_is_refused_in_spanish(guest: Guest, path: str, form: dict[str, str] | None) -> None:
    answer = guest.client.get(path) if form is None else guest.post(path, **form)
    assert answer.status_code >= 400 or "trouble" in answer.text, answer.text[-900:]
    assert left_english(answer.text) == []
    assert "No funcionó" in answer.text or 'class="trouble"' in answer.text or 'class="fault"' in answer.text


def test_the_page_s_own_script_is_answered_in_spanish(guest: Guest) -> None:
    head = {"X-Pitreckon-Form": guest.token}
    event = {"id": "e1", "at": AT.isoformat(), "kind": "look", "on": "butts", "what": "colour", "value": "plaid"}
    answer = guest.client.post("/api/cooks/supper/events", json={"events": [event]}, headers=head)
    assert answer.status_code == 422
    error = answer.json()["error"]
    assert not english(error["trouble"]), error
    assert not english(error["remedy"].partition(":")[0]), error


def test_a_refusal_has_the_degrees_of_its_reader(guest: Guest) -> None:
    """From 60 to 300 degC, which is told as 140 to 572 degF elsewhere; 900 was typed."""
    page = guest.client.get("/why?cut=st-louis-ribs&set=900&came_out=tough").text
    assert "es 900 °C. Está entre 60 °C y 300 °C" in page
    assert "°F" not in page.partition('class="trouble"')[2].partition("</p>")[0]
