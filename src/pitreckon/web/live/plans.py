"""Plans of cooks, each text read once in a process."""

import json
import re
from functools import lru_cache
from typing import Final

from pitreckon.cook import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.text.toml import Lines

MOST: Final = 64
_NAME: Final = re.compile(r"""^([ \t]*name[ \t]*=[ \t]*)(?:"(?:[^"\\]|\\.)*"|'[^']*')([ \t]*(?:#.*)?\r?\n?)$""")


@lru_cache(MOST)
def cook_of(plan_toml: str) -> Cook:
    """The cook of a plan's text, which many ask for as long as no other is put in its place.

    Raises InputError: it cannot be read (line and field); that is found out anew each time.
    """
    return cook_from_text(plan_toml, "the plan")


def renamed(plan_toml: str, name: str) -> str:
    """A plan's text with another name for the cook; all else stays as it was written.

    Raises InputError: it cannot be read, or its name stands where it cannot be changed.
    """
    cook_of(plan_toml)
    lines = plan_toml.splitlines(keepends=True)
    at = Lines(plan_toml).of(("cook", "name")) - 1
    quoted = json.dumps(name, ensure_ascii=False)
    lines[at] = _NAME.sub(lambda found: f"{found[1]}{quoted}{found[2]}", lines[at], count=1)
    text = "".join(lines)
    if cook_of(text).name != name:
        raise InputError("the plan is written so that its name cannot be changed here", "Change it in the plan's text")
    return text
