"""A real server learns from a cook that is served, anew when somebody adds to it, and the next cook is told so."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from tests.patience import PATIENCE_S, until
from tests.web.pit_server import PASSWORD, Server
from tests.web.taught import FIRST, plan_of
from tests.web.test_web_learned import TODAY, told

from pitreckon.ledger import Act, Look
from pitreckon.ledger.store import Entry, LearnedCook, Store
from pitreckon.ledger.store.house import house_rows, keep_learned
from pitreckon.lessons.house.form import lessons_of_text

pytestmark = pytest.mark.servers


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A supper of September that is over, and what an older Pitreckon made of it."""
    with Store.open(tmp_path / "ledger.sqlite") as made:
        made.add_cook(plan_of("supper", FIRST), "supper", cook_id="supper")
        made.append("supper", told(FIRST))
        made.append("supper", [Entry("served", Act(FIRST, "racks", "served"), "Ana")])
        made.add_cook(plan_of("today", TODAY), "today", cook_id="today")
        made.append("today", told(TODAY)[:8])
        old = LearnedCook("supper", made.last_seq("supper"), 1, "0.0.1", FIRST, FIRST, "cannot be read any more")
        assert keep_learned(made, old)
        yield made


@pytest.fixture
def server(store: Store, tmp_path: Path) -> Iterator[Server]:
    made = Server(tmp_path / "ledger.sqlite", shows=TODAY - timedelta(hours=6)).start()
    yield made
    made.close()


def seen(store: Store) -> int:
    """Entries that the supper's lesson rests on; 0: none can be read."""
    (row,) = house_rows(store).learned
    return sum(each.seen for each in lessons_of_text(row.content, row.cook_id).lessons) if row.content[0] == "{" else 0


def test_a_cook_that_is_over_is_learned_from_and_the_next_one_uses_it(server: Server, store: Store) -> None:
    with httpx.Client(base_url=server.place, timeout=PATIENCE_S, trust_env=False) as client:
        assert client.post("/login", data={"password": PASSWORD}).status_code == 303
        token = re.findall(r'data-token="(\w+)"', client.get("/setup").text)[0]
        until(lambda: seen(store) > 0, "learned anew, as another Pitreckon had made it", every_s=0.2)
        first = seen(store)

        def now_says(words: str, *, so: bool = True) -> Callable[[], bool]:
            def holds() -> bool:
                page = client.get("/cook/today/now").text
                return "As of" in page and (words in page) is so

            return holds

        until(now_says("with what one earlier cook told"), "the next cook is told so", every_s=0.2)
        look = Look(FIRST - timedelta(hours=1.5), "racks", None, "colour", 0.9, "red-brown")
        store.append("supper", [Entry("later", look, "Ben")])  # as another program does
        until(lambda: seen(store) == first + 1, "learned anew with what was added", every_s=0.2)
        answer = client.post("/house/cooks/supper/out", data={"form_token": token})
        assert answer.status_code == 303
        until(now_says("earlier cook told", so=False), "it is as if the supper had not been", every_s=0.2)
        assert "left out by owner" in client.get("/house").text
