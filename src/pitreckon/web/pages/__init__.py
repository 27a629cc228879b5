"""Routes, one file a family of pages: those that are served, and what stands in the menu."""

from typing import Final

from pitreckon.web.pages import (
    aside,
    begin,
    card,
    cook,
    day,
    diagnosis,
    mixes,
    photos,
    record,
    sessions,
    setup,
    sheets,
)

PAGES: Final = (aside, begin, card, cook, day, diagnosis, mixes, photos, record, sessions, setup, sheets)
ROUTERS: Final = tuple(each.router for each in PAGES)
MENU: Final = (("now", "Now"), ("look", "Look"), ("plan", "Plan"), ("ledger", "Ledger"), ("setup", "Set-up"))
"""By the name of its page; all but the last are a cook's."""
