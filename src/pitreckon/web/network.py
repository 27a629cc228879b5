"""Where a phone finds this machine: its own address on the network, which loopback never is."""

import contextlib
import ipaddress
import socket
from typing import Final

EVERYWHERE: Final = ("0.0.0.0", "::")
_FAR: Final = {socket.AF_INET: "192.0.2.1", socket.AF_INET6: "2001:db8::1"}
"""Addresses of RFC 5737 and RFC 3849 that nobody has: a datagram socket is turned towards them, and nothing is sent."""


def own_address() -> str | None:
    """This machine's address on the network, as its way out has it; None: there is no network."""
    for family, far in _FAR.items():
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as turned:
            turned.connect((far, 9))
            found = str(turned.getsockname()[0])
            if not is_own(found):
                return found
    return None


def is_own(host: str) -> bool:
    """Is it a name of the machine for itself, which nobody else can open?

    >>> is_own("127.0.0.1"), is_own("localhost"), is_own("192.168.1.20"), is_own("barn.lan")
    (True, True, False, False)
    """
    if host == "localhost":
        return True
    with contextlib.suppress(ValueError):
        address = ipaddress.ip_address(host.partition("%")[0])
        return address.is_loopback or address.is_unspecified
    return False
