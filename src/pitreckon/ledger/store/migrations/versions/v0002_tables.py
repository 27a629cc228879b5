"""The second state: what lay in settings and in preferences has tables of its own.

A mix of the house, a pairing link, an alert that was told, a draft, the wishes of a cook: each was a part of one JSON
text that was read, changed and written back whole. Plans that were replaced are kept from here on.

Written out and not made from the tables' module, as the first. What the first state has no place for goes, on the way
back to it, into settings of names that it does not know; from there it comes again.
"""

import json
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

import sqlalchemy as sa
from alembic import op

from pitreckon.ledger.store.migrations import run_sql

revision = "0002"
down_revision = "0001"

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY = {"day": "day", "day_before": "day before"}  # a preference, and the kind of the draft that it is now
_OTHERS, _PLANS = "drafts/", "plan versions/"

_settings = sa.table("settings", sa.column("name"), sa.column("content"))
_people = sa.table("people", sa.column("id"), sa.column("prefs"))
_cooks = sa.table("cooks", sa.column("id"))
_mixes = sa.table("mixes", sa.column("id"), sa.column("name"), sa.column("mix_toml"))
_parts = sa.table("mix_parts", sa.column("mix_id"), sa.column("place"), sa.column("part_name"))
_links = sa.table("pairing_links", sa.column("id_hash"), sa.column("role"), sa.column("expires_us"))
_told = sa.table("told_alerts", sa.column("cook_id"), sa.column("alert_key"))
_drafts = sa.table("drafts", sa.column("person_id"), sa.column("kind"), sa.column("content"))
_wishes = sa.table("wishes", sa.column("cook_id"), sa.column("wish_toml"))
_VERSION = ("cook_id", "plan_version", "plan_toml", "replaced_us", "replaced_by")
_versions = sa.table("plan_versions", *(sa.column(name) for name in _VERSION))


def upgrade() -> None:
    """Make the tables, and move into them what is theirs."""
    run_sql("0002")
    _mixes_in()
    _links_in()
    _of_cooks_in()
    _drafts_in()


def downgrade() -> None:
    """Move all of it back, and drop the tables."""
    _mixes_out()
    _links_out()
    _of_cooks_out()
    _drafts_out()
    for table in ("mix_parts", "mixes", "told_alerts", "pairing_links", "drafts", "wishes", "plan_versions"):
        op.drop_table(table)


# --- into the tables


def _rows(asked: Any) -> list[Any]:
    return list(op.get_bind().execute(asked).all())


def _add(table: Any, rows: Iterable[dict[str, Any]]) -> None:
    found = list(rows)
    if found:
        op.get_bind().execute(sa.insert(table), found)


def _taken(name: str) -> Any:
    """A setting's value, which is a setting no longer; None: it was never set."""
    content = op.get_bind().execute(sa.select(_settings.c.content).where(_settings.c.name == name)).scalar()
    op.get_bind().execute(sa.delete(_settings).where(_settings.c.name == name))
    return None if content is None else json.loads(content)


def _mixes_in() -> None:
    found = _taken("mixes") or {}
    _add(_mixes, ({"id": key, "name": mix["name"], "mix_toml": mix["text"]} for key, mix in found.items()))
    for key, mix in found.items():
        _add(_parts, ({"mix_id": key, "place": n, "part_name": name} for n, name in enumerate(mix["inside"])))


def _links_in() -> None:
    for id_hash, link in (_taken("pairing") or {}).items():
        until_us = (datetime.fromisoformat(link["until"]) - _EPOCH) // timedelta(microseconds=1)
        _add(_links, [{"id_hash": id_hash, "role": link["role"], "expires_us": until_us}])


def _of_cooks_in() -> None:
    """What is kept of a cook; settings of a cook that is not there stay as they are."""
    for (cook_id,) in _rows(sa.select(_cooks.c.id)):
        told = sorted(set(_taken(f"told:{cook_id}") or ()))
        _add(_told, ({"cook_id": cook_id, "alert_key": key} for key in told))
        wished = _taken(f"day/{cook_id}")
        if isinstance(wished, str):
            _add(_wishes, [{"cook_id": cook_id, "wish_toml": wished}])
        plans = _taken(f"{_PLANS}{cook_id}") or ()
        _add(_versions, (dict(zip(_VERSION, (cook_id, *each), strict=True)) for each in plans))


def _drafts_in() -> None:
    for person_id, content in _rows(sa.select(_people.c.id, _people.c.prefs)):
        prefs, kept = json.loads(content), _taken(f"{_OTHERS}{person_id}") or {}
        kept |= {kind: prefs[key] for key, kind in _DAY.items() if isinstance(prefs.get(key), str) and prefs[key]}
        _add(_drafts, ({"person_id": person_id, "kind": kind, "content": each} for kind, each in kept.items()))
        _set_prefs(person_id, {key: value for key, value in prefs.items() if key not in _DAY})


def _set_prefs(person_id: str, prefs: dict[str, Any]) -> None:
    op.get_bind().execute(sa.update(_people).where(_people.c.id == person_id).values(prefs=json.dumps(prefs)))


# --- and back


def _set(name: str, value: Any) -> None:
    """Set a setting that is not set: as it was moved into a table, or never was there."""
    if value:
        _add(_settings, [{"name": name, "content": json.dumps(value)}])


def _mixes_out() -> None:
    inside: dict[str, list[str]] = {}
    for key, _, name in _rows(sa.select(_parts).order_by(_parts.c.mix_id, _parts.c.place)):
        inside.setdefault(key, []).append(name)
    found = _rows(sa.select(_mixes).order_by(_mixes.c.id))
    _set("mixes", {key: {"name": name, "text": text, "inside": inside.get(key, [])} for key, name, text in found})


def _links_out() -> None:
    _set(
        "pairing",
        {
            id_hash: {"role": role, "until": (_EPOCH + timedelta(microseconds=us)).isoformat()}
            for id_hash, role, us in _rows(sa.select(_links).order_by(_links.c.id_hash))
        },
    )


def _of_cooks_out() -> None:
    for (cook_id,) in _rows(sa.select(_cooks.c.id)):
        keys = _rows(sa.select(_told.c.alert_key).where(_told.c.cook_id == cook_id))
        _set(f"told:{cook_id}", sorted(key for (key,) in keys))
        plans = sa.select(_versions).where(_versions.c.cook_id == cook_id).order_by(_versions.c.plan_version)
        _set(f"{_PLANS}{cook_id}", [list(row[1:]) for row in _rows(plans)])
    for cook_id, text in _rows(sa.select(_wishes)):
        _set(f"day/{cook_id}", text)


def _drafts_out() -> None:
    for person_id, content in _rows(sa.select(_people.c.id, _people.c.prefs)):
        asked = sa.select(_drafts.c.kind, _drafts.c.content).where(_drafts.c.person_id == person_id)
        kept = dict(_rows(asked))
        days = {key: kept.pop(kind) for key, kind in _DAY.items() if kind in kept}
        _set_prefs(person_id, json.loads(content) | days)
        _set(f"{_OTHERS}{person_id}", kept)
