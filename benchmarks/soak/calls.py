"""Every operation of the API, called one after the other as its links lead, with what is good and what is not.

The cases are schemathesis's: what an operation has answered goes into the next one's. Half of them know this house:
its labels, acts and looks, so that they are taken in and something is there to be asked for.
"""

from __future__ import annotations

import copy
import re
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
import schemathesis
from hypothesis import HealthCheck, seed, settings
from schemathesis.generation.stateful import run_state_machine_as_test
from tests.patience import PATIENCE_S
from tests.web.pit_server import NOW, PASSWORD, Server, fill

GOOD = (
    ("look", "racks", "colour", ["amber", "mahogany"]),
    ("look", "racks", "spot temperature", ["150 F", "71 C"]),
    ("look", "racks", "bone showing", ["1/4 in", "3 mm"]),
    ("act", "racks", "put on", [""]),
    ("act", "racks", "wrapped", ["", "foil"]),
    ("act", "barn pit", "lid open", ["", "2 min"]),
    ("act", "barn pit", "set pit", ["250 F"]),
)
STEPS = 12
"""Calls that follow each other."""


@dataclass
class House:
    """A client with a session and a device's token, and what its calls came to. known: statuses by operation"""

    client: httpx.Client
    person: dict[str, str]
    device: dict[str, str]
    answers: Counter[tuple[str, int]] = field(default_factory=Counter)

    @property
    def calls(self) -> int:
        """How many there were."""
        return sum(self.answers.values())


@contextmanager
def house(folder: Path, *, reckons: bool = False) -> Iterator[House]:
    """A server with a cook, somebody who is logged in, and a device."""
    path = folder / "ledger.sqlite"
    fill(path)
    server = Server(path, environment={"PIT_RECKONS": "1" if reckons else "0"}).start()
    try:
        with httpx.Client(base_url=server.place, timeout=PATIENCE_S, trust_env=False) as client:
            client.post("/login", data={"password": PASSWORD})
            token = re.findall(r'data-token="(\w+)"', client.get("/setup").text)[0]
            page = client.post("/setup/device", data={"label": "box", "form_token": token}).text
            bearer = re.findall(r"<code>([\w-]{40,})</code>", page)[0]
            yield House(client, {"X-Pitreckon-Form": token}, {"Authorization": f"Bearer {bearer}"})
    finally:
        server.close()


def document_of(house: House, *, at_home: bool) -> dict[str, Any]:
    """What the API says of itself. at_home: with the labels, acts and times of this house in the place of any text"""
    document: dict[str, Any] = house.client.get("/api/openapi.json").json()
    if not at_home:
        return document
    document = copy.deepcopy(document)
    plain = document["components"]["schemas"]["EventIn"]
    times = {"enum": [(NOW - timedelta(minutes=m)).isoformat() for m in (0, 1, 5, 20)]}
    ids = {"type": "string", "pattern": "^[a-z0-9]{8,16}$"}
    good = [
        {
            "type": "object",
            "additionalProperties": False,
            "required": ["id", "at", "kind", "on", "what", "value"],
            "properties": {
                "id": ids,
                "at": times,
                "kind": {"enum": [kind]},
                "on": {"enum": [on]},
                "what": {"enum": [what]},
            }
            | {"value": {"enum": values}, "note": {"type": "string", "maxLength": 40}, "piece": {"enum": [None, 1]}},
        }
        for kind, on, what, values in GOOD
    ]
    document["components"]["schemas"]["EventIn"] = {"anyOf": [*good, plain]}
    reading = document["paths"]["/api/readings"]["post"]["requestBody"]["content"]["application/json"]["schema"]
    one = reading["properties"]["readings"]["items"]
    sent = {
        "id": ids,
        "at": times,
        "on": {"enum": ["barn pit"]},
        "value": {"enum": [250, 271.5]},
        "unit": {"enum": ["F"]},
    }
    own = {"type": "object", "additionalProperties": False, "required": [*sent], "properties": sent}
    reading["properties"]["readings"]["items"] = {"anyOf": [own, one]}
    return document


def machine_of(house: House, *, at_home: bool) -> Any:
    """Calls that follow each other, as a state machine of hypothesis."""
    schema = schemathesis.openapi.from_dict(document_of(house, at_home=at_home))
    base: Any = schema.as_state_machine()

    class Calls(base):  # type: ignore[misc]
        def call(self, case: schemathesis.Case, **_more: Any) -> Any:
            path = case.path_parameters or {}
            if "cook_id" in path and (at_home or len(str(path["cook_id"])) % 2):
                path["cook_id"] = "supper"
            sent = case.as_transport_kwargs(base_url=str(house.client.base_url))
            parts = {key: sent[key] for key in ("method", "url", "params", "json") if sent.get(key) is not None}
            if at_home and case.path == "/api/readings":
                parts.pop("params", None)  # to the latest cook
            headers = {key: str(value) for key, value in (sent.get("headers") or {}).items()}
            headers |= house.device if case.path == "/api/readings" else house.person
            try:
                answer = house.client.request(**parts, content=sent.get("data"), headers=headers)
            except (httpx.InvalidURL, httpx.LocalProtocolError, UnicodeEncodeError):  # what no client can send
                answer = house.client.get("/health")
            house.answers[f"{case.method} {case.path}", answer.status_code] += 1
            return schemathesis.Response.from_any(answer)

        def validate_response(self, response: Any, case: schemathesis.Case, *_args: Any, **_more: Any) -> None:
            if response.status_code == 200 and response.json() == {"status": "up"}:
                return
            unreckoned = response.status_code == 503 and case.path.endswith("/outlook")  # nothing is reckoned here
            assert response.status_code < 500 or unreckoned, response.text
            assert str(response.status_code) in {*case.operation.definition.raw["responses"], "405"}, response.text
            if response.status_code >= 400:
                assert set(response.json()["error"]) == {"status", "trouble", "remedy", "field"}
            else:
                case.operation.validate_response(response)

    return Calls


def run(house: House, chains: int, begin: int, *, at_home: bool) -> None:
    """So many chains of calls. Raises AssertionError: an answer that is none."""
    machine = seed(begin)(machine_of(house, at_home=at_home))
    how = settings(
        max_examples=chains,
        stateful_step_count=STEPS,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(machine, settings=how)


def calls_rows(calls: int, begin: int = 1) -> list[dict[str, Any]]:
    """Chains of calls until there were so many; a row for each operation."""
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder, house(Path(folder)) as made:
        round_ = 0
        while made.calls < calls:
            run(made, 50, begin + round_, at_home=round_ % 2 == 0)
            round_ += 1
        took_s = time.perf_counter() - begun
        rows = []
        for operation in sorted({operation for operation, _ in made.answers}):
            by = {status: n for (name, status), n in made.answers.items() if name == operation}
            good = sum(n for status, n in by.items() if status < 300)
            bad = sum(n for status, n in by.items() if status >= 500 and not (status == 503 and "outlook" in operation))
            rows.append(
                {"operation": operation, "calls": sum(by.values()), "taken": good, "5xx": bad, "took_s": took_s}
            )
        return rows


if __name__ == "__main__":
    import sys

    for line in calls_rows(int(sys.argv[1])):
        print(line)
