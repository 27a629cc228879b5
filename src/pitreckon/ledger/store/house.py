"""What the house has learned: lessons of finished cooks, cooks that are left out, and what people say of their pits."""

from __future__ import annotations

import hashlib
import json
import math
import secrets
from datetime import datetime
from typing import TYPE_CHECKING, Any, Final

from sqlalchemy import Connection, delete, insert, select

from pitreckon.errors import InputError
from pitreckon.forms.checks import fault, is_label, is_utc
from pitreckon.ledger.store.documents import check_long_text, check_text
from pitreckon.ledger.store.put import put
from pitreckon.ledger.store.reading import find_cook
from pitreckon.ledger.store.records import HouseRows, LearnedCook, LeftOut, PitAnew, PitSaid
from pitreckon.ledger.store.schema import house_lessons, left_out, pits_anew, pits_said, us_of, utc_of

if TYPE_CHECKING:
    from pitreckon.ledger.store.store import Store

_LONGEST_CONTENT: Final = 2_000_000
MOST_SAID: Final = 200


def house_rows(store: Store) -> HouseRows:
    """All of it, as of one moment: cooks by their end, pits by their label, what was said in its order."""
    return store.read(_rows)


def learned_so_far(store: Store) -> dict[str, tuple[int, int, str]]:
    """Of each cook that was learned from: number of the last entry, of the plan, and by which Pitreckon."""
    asked = select(*(house_lessons.c[name] for name in ("cook_id", "seq", "plan_version", "made_with")))
    return store.read(lambda connection: {row[0]: tuple(row[1:]) for row in connection.execute(asked)})


def house_stamp(store: Store, cook_id: str, before: datetime) -> str:
    """One word for all that other cooks and people had said before a moment; another one when any of it changes.

    "": nothing was said.
    """
    return store.read(lambda connection: _stamp(connection, cook_id, us_of(before)))


def keep_learned(store: Store, learned: LearnedCook) -> bool:
    """Keep what a cook taught, in place of what it taught before; False: the cook has gone meanwhile."""
    check_long_text("content", learned.content, _LONGEST_CONTENT)
    row = {
        "cook_id": learned.cook_id,
        "seq": learned.seq,
        "plan_version": learned.plan_version,
        "made_with": learned.made_with,
        "ended_us": us_of(learned.ended_utc),
        "learned_us": us_of(learned.learned_utc),
        "content": learned.content,
    }

    def work(connection: Connection) -> bool:
        try:
            find_cook(connection, learned.cook_id)
        except InputError:  # it was removed while it was being learned from
            return False
        put(connection, house_lessons, row)
        return True

    return store.write(work)


def forget_learned(store: Store, cook_id: str) -> None:
    """What a cook taught holds no longer: it goes on."""
    store.write(lambda connection: connection.execute(_of(house_lessons, cook_id)).rowcount)


def leave_out(store: Store, cook_id: str, by: str, now: datetime) -> None:
    """Learn nothing from a cook. Raises InputError: no such cook."""
    check_text("by", by)

    def work(connection: Connection) -> None:
        find_cook(connection, cook_id)
        add_left_out(connection, LeftOut(cook_id, now, by))

    store.write(work)


def take_in_again(store: Store, cook_id: str) -> None:
    """Learn from it after all."""
    store.write(lambda connection: connection.execute(_of(left_out, cook_id)).rowcount)


def start_anew(store: Store, pit: str, since: datetime, by: str, now: datetime) -> None:
    """A pit is another one since then; what was said of it so before gives way. Raises InputError: a bad label."""
    is_label("pit", pit)
    is_utc("since", since)
    check_text("by", by)
    row = {"pit": pit, "since_us": us_of(since), "said_us": us_of(now), "said_by": by}
    store.write(lambda connection: put(connection, pits_anew, row))


def as_before(store: Store, pit: str) -> None:
    """A pit is the one that it was, after all."""
    store.write(lambda connection: connection.execute(delete(pits_anew).where(pits_anew.c.pit == pit)).rowcount)


def say_of_pit(
    store: Store, of: tuple[str, str, str], amount: float, give: float, since: datetime, by: str, now: datetime
) -> PitSaid:
    """Keep what a person says of a pit.

    of: its label, its kind, and what of it; amount, give, since: see ``PitSaid``

    Raises InputError: it cannot be kept, or so much was said that there is no room for more.
    """
    pit, kind, what = of
    for name, text in (("pit", pit), ("kind", kind), ("what", what)):
        is_label(name, text)
    check_text("by", by)
    is_utc("since", since)
    if not (math.isfinite(amount) and math.isfinite(give) and give > 0.0):
        raise fault(
            "amount", "that is no number, or it may not be wrong at all", "Write how far, give or take how much"
        )
    said = PitSaid(secrets.token_hex(8), pit, kind, what, amount, give, since, now, by)

    def work(connection: Connection) -> PitSaid:
        if len(connection.execute(select(pits_said.c.id)).all()) >= MOST_SAID:
            raise fault("pit", f"{MOST_SAID} things were said of pits", "Take one back first")
        connection.execute(insert(pits_said), _row_of_said(said))
        return said

    return store.write(work)


def unsay(store: Store, said_id: str) -> None:
    """Take back what was said of a pit."""
    store.write(lambda connection: connection.execute(delete(pits_said).where(pits_said.c.id == said_id)).rowcount)


# --- for an export


def left_out_of(connection: Connection, cook_id: str) -> LeftOut | None:
    """Who left a cook out, and when; None: nobody did."""
    row = connection.execute(select(left_out).where(left_out.c.cook_id == cook_id)).first()
    return None if row is None else LeftOut(row.cook_id, utc_of(row.said_us), row.said_by)


def add_left_out(connection: Connection, mark: LeftOut) -> None:
    """Leave a cook out, unless it is: who did so first stays noted."""
    if left_out_of(connection, mark.cook_id) is None:
        row = {"cook_id": mark.cook_id, "said_us": us_of(mark.said_utc), "said_by": mark.by}
        connection.execute(insert(left_out), row)


def _of(table: Any, cook_id: str) -> Any:
    return delete(table).where(table.c.cook_id == cook_id)


def _stamp(connection: Connection, cook_id: str, before_us: int) -> str:
    kept = house_lessons.c
    out = {cook_id, *connection.execute(select(left_out.c.cook_id)).scalars()}
    asked = select(kept.cook_id, kept.seq, kept.plan_version, kept.made_with, kept.ended_us, kept.learned_us)
    learned = connection.execute(asked.where(kept.ended_us < before_us).order_by(kept.cook_id)).all()
    found = [list(row) for row in learned if row.cook_id not in out]
    of_pits = select(pits_said).where(pits_said.c.since_us < before_us).order_by(pits_said.c.id)
    said = [list(row) for row in connection.execute(of_pits)]
    if not found and not said:
        return ""
    anew = [list(row) for row in connection.execute(select(pits_anew).order_by(pits_anew.c.pit))]
    return hashlib.sha256(json.dumps([found, said, anew]).encode()).hexdigest()[:32]


def _rows(connection: Connection) -> HouseRows:
    learned = connection.execute(select(house_lessons).order_by(house_lessons.c.ended_us, house_lessons.c.cook_id))
    out = connection.execute(select(left_out).order_by(left_out.c.cook_id))
    anew = connection.execute(select(pits_anew).order_by(pits_anew.c.pit))
    said = connection.execute(select(pits_said).order_by(pits_said.c.said_us, pits_said.c.id))
    return HouseRows(
        tuple(
            LearnedCook(
                *(row.cook_id, row.seq, row.plan_version, row.made_with),
                *(utc_of(row.ended_us), utc_of(row.learned_us), row.content),
            )
            for row in learned
        ),
        tuple(LeftOut(row.cook_id, utc_of(row.said_us), row.said_by) for row in out),
        tuple(PitAnew(row.pit, utc_of(row.since_us), utc_of(row.said_us), row.said_by) for row in anew),
        tuple(
            PitSaid(
                *(row.id, row.pit, row.pit_kind, row.what, row.amount, row.give),
                *(utc_of(row.since_us), utc_of(row.said_us), row.said_by),
            )
            for row in said
        ),
    )


def _row_of_said(said: PitSaid) -> dict[str, Any]:
    return {
        "id": said.id,
        "pit": said.pit,
        "pit_kind": said.kind,
        "what": said.what,
        "amount": said.amount,
        "give": said.give,
        "since_us": us_of(said.since_utc),
        "said_us": us_of(said.said_utc),
        "said_by": said.by,
    }
