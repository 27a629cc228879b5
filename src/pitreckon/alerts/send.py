"""Sends alerts by Apprise, which is an extra: addresses of mail, phones and chat rooms are its own."""

from collections.abc import Sequence
from typing import Protocol

from pitreckon.alerts.alert import Alert
from pitreckon.errors import InputError, Place
from pitreckon.extras import loading


class _Sender(Protocol):
    def notify(self, *, body: str, title: str) -> object: ...


def check_urls(urls: Sequence[str], field: str = "urls") -> None:
    """Raises InputError: Apprise is not installed, or knows no such address (said without its secrets).

    field: where they stand, for the message
    """
    _sender(urls, field)


def send(alerts: Sequence[Alert], urls: Sequence[str]) -> list[Alert]:
    """Send each alert to every address; gives back those that all of them took. It waits for the network.

    Raises InputError: as :func:`check_urls`.
    """
    sender = _sender(urls)
    return [alert for alert in alerts if sender.notify(body=alert.text, title=alert.title)]


def _sender(urls: Sequence[str], field: str = "urls") -> _Sender:
    with loading("apprise", "sending"):
        import apprise  # noqa: PLC0415  an extra
    sender = apprise.Apprise()
    for n, url in enumerate(urls, start=1):
        if not sender.add(url):
            raise InputError(
                f"address {n} ({url.partition('://')[0][:20]}://...) is none that can be sent to",
                "Write it as Apprise does",
                Place(field=field),
            )
    return sender
