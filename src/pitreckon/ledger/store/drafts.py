"""What people have begun, and what was asked for when a cook was planned."""

from typing import Final

from sqlalchemy import Connection, delete, select

from pitreckon.forms.checks import fault
from pitreckon.ledger.store.documents import check_long_text
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.reading import find_cook
from pitreckon.ledger.store.schema import drafts, people, wishes
from pitreckon.ledger.store.store import Store

_LONGEST: Final = 200_000
_LONGEST_KIND: Final = 40


def draft(store: Store, person_id: str, kind: str) -> str | None:
    """What this person has begun of a kind; None: nothing."""
    return store.read(lambda connection: _content(connection, person_id, kind))


def save_draft(store: Store, person_id: str, kind: str, content: str, *, before: str | None = None) -> None:
    """Keep what a person has begun, in place of what there was of its kind.

    before: the kind under which that is kept from now on; None: under none

    Raises InputError: no such person, a kind or a content that no store can keep.
    """
    if not 1 <= len(kind) <= _LONGEST_KIND:
        raise fault("kind", f"{kind[:60]!r} is no kind of draft", f"Write 1 to {_LONGEST_KIND} characters")
    check_long_text("draft", content, _LONGEST)

    def work(connection: Connection) -> None:
        _hold(connection, person_id)
        if before is not None:
            _put(connection, person_id, before, _content(connection, person_id, kind))
        _put(connection, person_id, kind, content)

    store.write(work)


def swap_drafts(store: Store, person_id: str, kind: str, before: str) -> bool:
    """Take back what was kept before, and keep what there is in its place; False: nothing was.

    Raises InputError: no such person.
    """

    def work(connection: Connection) -> bool:
        _hold(connection, person_id)
        now, then = _content(connection, person_id, kind), _content(connection, person_id, before)
        if then is None:
            return False
        _put(connection, person_id, kind, then)
        _put(connection, person_id, before, now)
        return True

    return store.write(work)


def wishes_of(store: Store, cook_id: str) -> str | None:
    """What was asked for when a cook was planned; None: it was not planned here."""
    asked = select(wishes.c.wish_toml).where(wishes.c.cook_id == cook_id)
    return store.read(lambda connection: connection.execute(asked).scalar())


def save_wishes(store: Store, cook_id: str, wish_toml: str) -> None:
    """Keep what was asked for with the cook that was made of it. Raises InputError: no such cook, a bad text."""
    check_long_text("wishes", wish_toml, _LONGEST)

    def work(connection: Connection) -> None:
        find_cook(connection, cook_id)
        put(connection, wishes, {"cook_id": cook_id, "wish_toml": wish_toml})

    store.write(work)


def _hold(connection: Connection, person_id: str) -> None:
    """Let nobody else change this person's drafts until the transaction ends."""
    if connection.execute(select(people.c.id).where(people.c.id == person_id).with_for_update()).first() is None:
        raise fault("person", "there is no such person", "Log in again")


def _content(connection: Connection, person_id: str, kind: str) -> str | None:
    asked = select(drafts.c.content).where(drafts.c.person_id == person_id, drafts.c.kind == kind)
    return connection.execute(asked).scalar()


def _put(connection: Connection, person_id: str, kind: str, content: str | None) -> None:
    if content is None:
        connection.execute(delete(drafts).where(drafts.c.person_id == person_id, drafts.c.kind == kind))
    else:
        put(connection, drafts, {"person_id": person_id, "kind": kind, "content": content})
