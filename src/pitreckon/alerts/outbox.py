"""What waits to go out, by address: each is sent to in a thread of its own, so that a dead one holds no other up."""

import hashlib
import logging
import threading
import time
from collections.abc import Callable, Sequence
from typing import Final

from pitreckon.alerts.alert import Alert
from pitreckon.errors import PitreckonError

log = logging.getLogger(__name__)

FIRST_WAIT_S: Final = 15.0
LONGEST_WAIT_S: Final = 900.0
"""An address that did not take a message is tried again after the first, then twice as long, up to the second [s]."""

Send = Callable[[Sequence[Alert], Sequence[str]], Sequence[Alert]]
Told = Callable[[str, str, Sequence[str]], object]


def address_key(url: str) -> str:
    """What is kept of an address, which holds secrets.

    >>> address_key("json://127.0.0.1")[:12]
    '152096c54f01'
    """
    return hashlib.sha256(url.encode()).hexdigest()


class Outbox:
    """One line to each address.

    send: as ``alerts.send.send``, waits for the network
    told: is told ``(cook_id, address_key, keys)`` of what went out
    waits_s: the first wait after a failure, and the longest [s]
    """

    def __init__(self, send: Send, told: Told, waits_s: tuple[float, float] = (FIRST_WAIT_S, LONGEST_WAIT_S)) -> None:
        self._send, self._told, self._waits_s = send, told, waits_s
        self._lines: dict[str, _Line] = {}

    def put(self, cook_id: str, url: str, alerts: Sequence[Alert]) -> None:
        """What is due to an address of a cook now, in the place of what was; returns at once.

        What nobody needs to be told any more, because it is no longer among these, is not sent late.
        """
        line = self._lines.get(url)
        if line is None:
            if not alerts:
                return
            line = self._lines[url] = _Line(url, self._send, self._told, self._waits_s)
        line.put(cook_id, alerts)

    def close(self) -> None:
        """Send nothing more; a message that is on its way is not waited for."""
        for line in self._lines.values():
            line.close()


class _Line:
    """The thread of one address."""

    def __init__(self, url: str, send: Send, told: Told, waits_s: tuple[float, float]) -> None:
        self._url, self._key, self._send, self._told = url, address_key(url), send, told
        self._first_s, self._longest_s = waits_s
        self._waiting: dict[str, list[Alert]] = {}
        self._sent: dict[str, set[str]] = {}
        self._failed = 0
        self._change = threading.Condition()
        self._closed = False
        threading.Thread(target=self._run, name="alerts out", daemon=True).start()

    def put(self, cook_id: str, alerts: Sequence[Alert]) -> None:
        """What is due in a cook now."""
        with self._change:
            sent = self._sent.setdefault(
                cook_id, set()
            )  # an outlook that was begun before it went out knows nothing of it
            self._waiting[cook_id] = [alert for alert in alerts if not sent.issuperset(alert.keys)]
            self._change.notify()

    def close(self) -> None:
        """End, soon."""
        with self._change:
            self._closed = True
            self._change.notify()

    def _run(self) -> None:
        while (next_one := self._take()) is not None:
            self._try(*next_one)

    def _take(self) -> tuple[str, Alert] | None:
        """The next message, once there is one and the wait is over; None: the end."""
        wait_s = min(self._first_s * 2.0 ** (self._failed - 1), self._longest_s) if self._failed else 0.0
        until = time.monotonic() + wait_s
        with self._change:
            while not self._closed:
                left_s = until - time.monotonic()
                found = next(((cook_id, alerts[0]) for cook_id, alerts in self._waiting.items() if alerts), None)
                if found is not None and left_s <= 0.0:
                    return found
                self._change.wait(None if found is None else left_s)
        return None

    def _try(self, cook_id: str, alert: Alert) -> None:
        try:
            went = bool(self._send([alert], [self._url]))
        except PitreckonError as fault:
            log.warning("an alert is not sent: %s", fault)
            went = False
        except Exception:  # whatever a service's own code does, the next message is tried
            log.exception("sending an alert")
            went = False
        if went:
            self._note(cook_id, alert)
        with self._change:
            self._failed = 0 if went else self._failed + 1
            waiting = self._waiting.get(cook_id, [])
            there = [each for each in waiting if each.keys != alert.keys]
            if not went and len(there) < len(
                waiting
            ):  # behind the others: it may be this message alone that will not go
                there.append(alert)
            self._waiting[cook_id] = there
            if went:
                self._sent.setdefault(cook_id, set()).update(alert.keys)

    def _note(self, cook_id: str, alert: Alert) -> None:
        try:
            self._told(cook_id, self._key, alert.keys)
        except PitreckonError as fault:  # it went out; this thread knows, a restarted server will tell it once more
            log.warning("what was told is not kept: %s", fault)
