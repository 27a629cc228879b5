"""Whatever is sent to the API, it neither stumbles nor answers in another shape than it says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import httpx
import pytest
import schemathesis
from benchmarks.soak import calls
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis.generation import GenerationMode
from tests.patience import PATIENCE_S
from tests.sparing import examples
from tests.web.pit_server import PASSWORD, Server, fill

pytestmark = pytest.mark.servers


@dataclass
class House:
    """A client with a session and a device's token."""

    client: httpx.Client
    person: dict[str, str]
    device: dict[str, str]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    path = tmp_path_factory.mktemp("fuzz") / "ledger.sqlite"
    fill(path)
    server = Server(path).start()
    with httpx.Client(base_url=server.place, timeout=PATIENCE_S, trust_env=False) as client:
        client.post("/login", data={"password": PASSWORD})
        token = re.findall(r'data-token="(\w+)"', client.get("/setup").text)[0]
        page = client.post("/setup/device", data={"label": "box", "form_token": token}).text
        bearer = re.findall(r"<code>([\w-]{40,})</code>", page)[0]
        assert client.get("/api/cooks/supper/outlook").status_code == 200
        yield House(client, {"X-Pitreckon-Form": token}, {"Authorization": f"Bearer {bearer}"})
    server.close()


PATHS = [
    ("POST", "/api/readings"),
    ("POST", "/api/cooks/{cook_id}/events"),
    ("GET", "/api/cooks"),
    ("GET", "/api/cooks/{cook_id}/outlook"),
    ("GET", "/api/cooks/{cook_id}/entries"),
    ("GET", "/api/cooks/{cook_id}/chart"),
]
MODES = [GenerationMode.POSITIVE, GenerationMode.NEGATIVE]


@pytest.mark.parametrize("mode", MODES, ids=lambda mode: mode.value)
@pytest.mark.parametrize(("method", "path"), PATHS)
def test_the_api_holds(house: House, method: str, path: str, mode: GenerationMode) -> None:
    document = house.client.get("/api/openapi.json").json()
    operation = schemathesis.openapi.from_dict(document)[path][method]

    @given(operation.as_strategy(generation_mode=mode))
    @settings(max_examples=examples(25), suppress_health_check=list(HealthCheck), database=None)
    def holds(case: schemathesis.Case) -> None:
        send(case, house)

    try:
        holds()
    except Unsatisfiable:  # nothing about it can be wrong
        assert (method, path) == ("GET", "/api/cooks")


def test_calls_that_follow_each_other(tmp_path: Path) -> None:
    """A cut of ``make soak``: as the links lead, with what earlier calls have answered."""
    with calls.house(tmp_path) as made:
        for at_home in (True, False):
            calls.run(made, 12, 20261017, at_home=at_home)
    assert {operation for operation, _ in made.answers} == {f"{method} {path}" for method, path in PATHS}
    assert made.answers["POST /api/cooks/{cook_id}/events", 200], "some were taken in"
    assert made.calls > 50


def test_all_of_it_is_tried(house: House) -> None:
    described = house.client.get("/api/openapi.json").json()["paths"]
    assert {(method.upper(), path) for path, ways in described.items() for method in ways} == set(PATHS)


def send(case: schemathesis.Case, house: House) -> None:
    """Send one case as whoever may; its answer is one of those described, in the shape described."""
    path = case.path_parameters or {}
    if len(str(path.get("cook_id", ""))) % 2:  # half of them ask for the cook that is there
        path["cook_id"] = "supper"
    sent = case.as_transport_kwargs(base_url=str(house.client.base_url))
    given_parts = {key: sent[key] for key in ("method", "url", "params", "json") if sent.get(key) is not None}
    headers = {key: str(value) for key, value in (sent.get("headers") or {}).items()}
    headers |= house.device if case.path == "/api/readings" else house.person
    try:
        answer = house.client.request(**given_parts, content=sent.get("data"), headers=headers)
    except (httpx.InvalidURL, httpx.LocalProtocolError, UnicodeEncodeError):
        return  # what no client can send
    assert answer.status_code < 500, answer.text
    assert str(answer.status_code) in {*case.operation.definition.raw["responses"], "405"}, answer.text
    if answer.status_code >= 400:
        ((key, error),) = answer.json().items()
        assert key == "error"
        assert set(error) == {"status", "trouble", "remedy", "field"}
    else:
        case.operation.validate_response(schemathesis.Response.from_any(answer))
