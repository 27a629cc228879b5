"""A real server: news come as they happen, reckoning survives its process, and a stream keeps nothing from ending."""

from __future__ import annotations

import contextlib
import json
import os
import re
import signal
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from queue import Empty, Queue

import httpx
import pytest
from tests.patience import PATIENCE_S
from tests.web.pit_server import NOW, PASSWORD, PUT_ON, Server, fill

pytestmark = pytest.mark.servers


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    path = tmp_path_factory.mktemp("live") / "ledger.sqlite"
    fill(path)
    made = Server(path).start()
    yield made
    made.close()


class Phone:
    """A client with a session, and the news of its stream."""

    def __init__(self, server: Server) -> None:
        self.client = httpx.Client(base_url=server.place, timeout=PATIENCE_S, trust_env=False)
        answer = self.client.post("/login", data={"password": PASSWORD})
        assert answer.status_code == 303
        self.token = re.findall(r'data-token="(\w+)"', self.client.get("/setup").text)[0]
        self.news: Queue[tuple[str, dict[str, object]]] = Queue()
        self.ended = threading.Event()
        self._thread: threading.Thread | None = None
        self._stream: httpx.Response | None = None

    def close(self) -> None:
        """Hang up."""
        if self._stream is not None:
            raw = self._stream.extensions["network_stream"].get_extra_info("socket")
            with contextlib.suppress(OSError):
                raw.shutdown(socket.SHUT_RDWR)  # wakes the thread that reads it
        if self._thread is not None:
            self._thread.join(PATIENCE_S)
        self.client.close()

    def listen(self) -> Phone:
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()
        self.until("hello")
        return self

    def _listen(self) -> None:
        kind = ""
        try:
            with self.client.stream("GET", "/cook/supper/stream") as stream:
                self._stream = stream
                for line in stream.iter_lines():
                    if line.startswith("event: "):
                        kind = line[7:]
                    elif line.startswith("data: "):
                        self.news.put((kind, json.loads(line[6:])))
        except httpx.TransportError:
            pass
        self.ended.set()

    def until(self, kind: str, holds: Callable[[dict[str, object]], bool] = lambda _: True) -> dict[str, object]:
        """The next news of a kind for which something holds."""
        ends = time.monotonic() + PATIENCE_S
        while time.monotonic() < ends:
            try:
                got, data = self.news.get(timeout=1.0)
            except Empty:
                continue
            if got == kind and holds(data):
                return data
        raise AssertionError(f"no {kind} has come")

    def look(self, entry_id: str, value: str = "amber") -> None:
        event = {"id": entry_id, "at": NOW.isoformat(), "kind": "look", "on": "racks", "what": "colour", "value": value}
        answer = self.client.post(
            "/api/cooks/supper/events", json={"events": [event]}, headers={"X-Pitreckon-Form": self.token}
        )
        assert answer.status_code == 200, answer.text


@pytest.fixture
def phone() -> Iterator[Callable[[Server], Phone]]:
    """Makes phones, and hangs them up in the end."""
    made: list[Phone] = []

    def make(server: Server) -> Phone:
        made.append(Phone(server))
        return made[-1]

    yield make
    for each in made:
        each.close()


NewPhone = Callable[[Server], Phone]


def test_a_second_phone_hears_of_a_look_and_of_the_new_outlook(server: Server, phone: NewPhone) -> None:
    one, two = phone(server).listen(), phone(server).listen()
    before = two.client.get("/api/cooks/supper/outlook").json()
    assert before["items"][0]["item"] == "racks"
    one.look("look-1", "amber")
    two.until("ledger")

    def darker(_: object) -> bool:  # an outlook that was under way when the look came in is told of first
        after = two.client.get("/api/cooks/supper/outlook").json()
        return bool(after["items"][0]["colour"]["p50"] > before["items"][0]["colour"]["p50"])

    two.until("outlook", darker)
    assert "amber" in two.client.get("/cook/supper/now/part").text


def test_what_ifs_come_after_the_outlook(server: Server, phone: NewPhone) -> None:
    one = phone(server).listen()
    one.look("look-2", "red-brown")
    one.until("what-ifs")
    page = one.client.get("/cook/supper/plan/part").text
    assert "leave it as it is" in page
    assert "all ready, done and still good" in page


def test_the_chart_has_what_was_measured_and_what_is_reckoned(server: Server, phone: NewPhone) -> None:
    chart = phone(server).client.get("/api/cooks/supper/chart").json()
    (pit,) = [line for line in chart["measured"] if line["what"] == "pit air"]
    assert pit["at"][0] == PUT_ON.timestamp()
    assert {(band["what"], band["on"]) for band in chart["bands"]} == {
        ("pit", "barn pit"),
        ("core", "racks"),
        ("core", "wings"),
    }
    for band in chart["bands"]:
        known = [row for row in zip(band["low"], band["mid"], band["high"], strict=True) if None not in row]
        assert len(known) > 10
        assert all(low <= mid <= high for low, mid, high in known)


def test_the_reckoning_process_may_die(server: Server, phone: NewPhone) -> None:
    one = phone(server).listen()
    assert server.process is not None
    tasks = Path(f"/proc/{server.process.pid}/task").glob("*/children")  # a thread of the server has started it
    children = [pid for task in tasks for pid in task.read_text().split()]
    reckoning = [pid for pid in children if b"spawn_main" in Path(f"/proc/{pid}/cmdline").read_bytes()]
    assert len(reckoning) == 1
    os.kill(int(reckoning[0]), signal.SIGKILL)
    one.look("look-3", "amber")
    one.until("outlook")
    assert one.client.get("/api/cooks/supper/outlook").status_code == 200


def test_whoever_has_logged_out_hears_nothing(server: Server, phone: NewPhone) -> None:
    one = phone(server)
    assert one.client.get("/cook/supper/now").status_code == 200
    one.client.post("/logout", data={"form_token": one.token})
    assert one.client.get("/cook/supper/stream").status_code == 401


def test_sigterm_with_open_streams(tmp_path: Path, phone: NewPhone) -> None:
    """Whoever listens is told and let go, and then it ends by itself; uvicorn alone would cut them off."""
    path = tmp_path / "ledger.sqlite"
    fill(path)
    server = Server(path).start()
    try:
        phones = [phone(server).listen() for _ in range(4)]
        server.stop()
        for each in phones:
            assert each.ended.wait(PATIENCE_S)
            each.until("closing")
    finally:
        server.close()
