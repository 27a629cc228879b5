"""So many tries in so long a time, and then a wait."""

import time
from collections import OrderedDict, deque
from collections.abc import Callable

MOST_KEYS = 4096


class Tries:
    """Counts failures by key.

    most: failures that are let be; within_s: in which time [s]; clock: seconds, for tests
    """

    def __init__(self, most: int, within_s: float, clock: Callable[[], float] = time.monotonic) -> None:
        self._most, self._within_s, self._clock = most, within_s, clock
        self._failed: OrderedDict[str, deque[float]] = OrderedDict()

    def wait_s(self, key: str) -> float:
        """How long this key has to wait [s]; 0: not at all."""
        failed = self._failed.get(key)
        if failed is None:
            return 0.0
        since = self._clock() - self._within_s
        while failed and failed[0] <= since:
            failed.popleft()
        return failed[0] - since if len(failed) >= self._most else 0.0

    def failed(self, key: str) -> None:
        """One more failure of this key."""
        self._failed.setdefault(key, deque(maxlen=self._most)).append(self._clock())
        self._failed.move_to_end(key)
        while len(self._failed) > MOST_KEYS:
            self._failed.popitem(last=False)

    def forget(self, key: str) -> None:
        """It has got in."""
        self._failed.pop(key, None)
