"""Plans of cooks, each text read once in a process."""

from functools import lru_cache
from typing import Final

from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text

MOST: Final = 64


@lru_cache(MOST)
def cook_of(plan_toml: str) -> Cook:
    """The cook of a plan's text, which many ask for as long as no other is put in its place.

    Raises InputError: it cannot be read (line and field); that is found out anew each time.
    """
    return cook_from_text(plan_toml, "the plan")
