"""What a server is started with."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from pitreckon.ledger import Ledger
from pitreckon.web.network import EVERYWHERE, is_own, own_address

LOOPBACK: Final = "127.0.0.1"
PORT: Final = 8025


@dataclass(frozen=True, slots=True)
class Clock:
    """The server's time. A replay starts at a moment of its own and runs ``speed`` times as fast.

    started: when the clock was set, by the machine's own time, UTC
    shows: what it showed then, UTC; None: the machine's own time
    """

    speed: float = 1.0
    started: datetime = field(default_factory=lambda: datetime.now(UTC))
    shows: datetime | None = None

    def now(self) -> datetime:
        """The moment, UTC."""
        own = datetime.now(UTC)
        return own if self.shows is None else self.shows + (own - self.started) * self.speed


@dataclass(frozen=True)
class Day:
    """A cook and all that happened in it, to be replayed; what is before the clock's start is there at once."""

    cook_id: str
    name: str
    plan: str
    ledger: Ledger


@dataclass(frozen=True, slots=True)
class WebSettings:
    """How the page is served.

    store: a file's path or a database's URL
    host, port: where it listens; loopback unless told otherwise
    public_url: what a phone types, for pairing links; None: made from host and port
    backup: folder for a copy of the ledger each night; None: none is made
    proxies: addresses and networks of proxies before it; only from these it believes whom they name and how they came
    certificate, key: files for HTTPS; None: plain HTTP
    members, seed: of each ensemble
    supposing: members of what-ifs; explaining: of what changed and why
    clock: the server's time
    argon_memory_kib: what hashing a password may take, less on a small board
    reckons: False leaves the compute process off, for tests of the doors
    settings_file: says what comes in from a broker, and where alerts go; None: nothing of that
    alive: where a sign of life goes again and again; None: nowhere
    workers: questions that are reckoned at once, at most; None: as many as the machine has cores, and no fewer than two
    cluster: address of a Dask scheduler whose workers reckon; None: processes of this machine
    day: a recorded day that comes in by itself, for a demonstration
    tell: is told the owner's first password and a pairing link, a line each; None: no owner is made
    """

    store: str
    host: str = LOOPBACK
    port: int = PORT
    public_url: str | None = None
    members: int = 256
    seed: int = 1
    supposing: int = 96
    explaining: int = 48
    clock: Clock = field(default_factory=Clock)
    argon_memory_kib: int = 65536
    reckons: bool = True
    workers: int | None = None
    cluster: str | None = None
    tell: Callable[[str], None] | None = None
    settings_file: Path | None = None
    alive: str | None = None
    backup: Path | None = None
    proxies: tuple[str, ...] = ()
    certificate: Path | None = None
    key: Path | None = None
    day: Day | None = None

    @property
    def address(self) -> str:
        """What a browser types to get here, without a slash at its end; the network's where it listens so."""
        if self.public_url is not None:
            return self.public_url.rstrip("/")
        named = (own_address() if self.host in EVERYWHERE else None) or self.host
        host = f"[{named}]" if ":" in named else named
        return f"{'http' if self.certificate is None else 'https'}://{host}:{self.port}"

    @property
    def phones_can(self) -> bool:
        """Can another machine open its address?"""
        return not is_own(urlsplit(self.address).hostname or "")


STATIC: Final = Path(__file__).parent / "static"
TEMPLATES: Final = Path(__file__).parent / "templates"
STREAMS_EACH: Final = 12
"""Streams that one person may have open: phones and pages."""
BODY_LIMIT: Final = 4 * 1024 * 1024
"""Bytes of a request's body: a thousand readings are a tenth of this; a day's log as CSV fits."""
