"""Routes, one file a family of pages: those that are served, and what stands in the menu."""

from typing import Final

from pitreckon.web.pages import (
    alerts,
    answers,
    aside,
    batches,
    begin,
    card,
    cook,
    day,
    diagnosis,
    family,
    house,
    how,
    lasttime,
    mixes,
    people,
    photos,
    record,
    sessions,
    setup,
    sheets,
    story,
    suppers,
)

PAGES: Final = (
    *(alerts, answers, aside, batches, begin, card, cook, day, diagnosis, family),
    *(house, how, lasttime, mixes, people, photos, record, sessions, setup, sheets, story, suppers),
)
ROUTERS: Final = tuple(each.router for each in PAGES)
MENU: Final = (("now", "Now"), ("look", "Look"), ("plan", "Plan"), ("ledger", "Ledger"), ("setup", "Set-up"))
"""By the name of its page; all but the last are a cook's."""
