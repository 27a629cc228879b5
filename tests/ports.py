"""Ports for servers that tests start: nobody else gets one before its server has bound it, nor after a kill.

A port that is asked for and given back is anybody's: another program, or the other end of a client's connection to it,
may have it by the time a server wants it. So it is held, without listening, for as long as its server may come back.
Linux lets a server that says SO_REUSEADDR bind beside whoever says so too and does not listen; all of ours do.
"""

from __future__ import annotations

import atexit
import socket
from collections import deque

MOST = 100
"""Ports that are held at a time: more than tests have servers; the oldest is given back."""
_held: deque[socket.socket] = deque()


def free_port() -> int:
    """One of this machine's own address that nobody has, and that nobody gets but a server of ours."""
    while len(_held) >= MOST:
        _held.popleft().close()
    one = socket.socket()
    one.bind(("127.0.0.1", 0))
    one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # only now: the choice itself is of ports that are free
    _held.append(one)
    return int(one.getsockname()[1])


@atexit.register
def _give_back() -> None:
    while _held:
        _held.pop().close()
