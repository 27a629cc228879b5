"""Routes, one file a family of pages: those that are served, and what stands in the menu."""

from typing import Final

from pitreckon.web.pages import card, cook, day, diagnosis, mixes, record, sessions, setup, sheets

ROUTERS: Final = tuple(each.router for each in (card, cook, day, diagnosis, mixes, record, sessions, setup, sheets))
MENU: Final = (("now", "Now"), ("look", "Look"), ("plan", "Plan"), ("ledger", "Ledger"), ("setup", "Set-up"))
"""By the name of its page; all but the last are a cook's."""
