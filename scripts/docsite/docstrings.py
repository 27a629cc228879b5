"""Our docstrings as Sphinx shows them: what is said of each argument and error becomes a list.

They are written to be read in the code: ``name: what it is``, a line each, and ``Raises InputError: when``. As
reStructuredText that is one paragraph run together.
"""

from __future__ import annotations

import re
from typing import Any, Final

SAID: Final = re.compile(r"^(?P<name>[a-z_]\w*(?:, [a-z_]\w*)*): (?P<says>\S.*)$")
RAISES: Final = re.compile(r"^Raises (?P<name>[A-Z]\w*(?:, [A-Z]\w*)*)(?P<rest>[:.].*|)$")
ARRAY: Final = re.compile(r"~?(?:\w+\.)*ndarray\[tuple\[~?(?:\w+\.)*Any, \.\.\.\], ~?(?:\w+\.)*dtype\[[^]]*\]\]")
KEY: Final = re.compile(r"\[(\w+)\]_")


def listed(lines: list[str]) -> list[str]:
    """The lines of a docstring with lists where it says names or errors, and keys of the bibliography as code.

    >>> listed(["Do it.", "", "members: how many;", "    at least one", "seed: of the draws"])
    ['Do it.', '', '- **members**: how many;', '      at least one', '- **seed**: of the draws']
    >>> listed(["Raises InputError: it is wrong", "See [wagner_2011]_."])
    ['- **raises InputError**: it is wrong', '', 'See ``[wagner_2011]``.']
    """
    made: list[str] = []
    in_list = False
    lines = _without_titles(lines)
    for line in (KEY.sub(r"``[\1]``", each) for each in lines):
        said, raises = SAID.match(line), RAISES.match(line)
        if said or raises:
            if not in_list and made and made[-1].strip():
                made.append("")
            name, rest = (said["name"], f": {said['says']}") if said else (f"raises {raises['name']}", raises["rest"])  # type: ignore[index]
            made.append(f"- **{name}**{rest}")
            in_list = True
        elif in_list and line.strip():
            if line[:1].isspace():
                made.append(f"  {line}")
            else:
                made += ["", line]
                in_list = False
        else:
            in_list = in_list and not line.strip()
            made.append(line)
    return made


def _without_titles(lines: list[str]) -> list[str]:
    """``Parameters`` over a line of dashes as bold words: a title would stand among those of the page."""
    over = [n for n, line in enumerate(lines[1:]) if re.fullmatch(r"-{3,}", line) and lines[n].strip()]
    kept = [f"**{line}**" if n in over else line for n, line in enumerate(lines)]
    return ["" if n - 1 in over else line for n, line in enumerate(kept)]


def as_lists(_app: Any, _what: str, _name: str, _thing: Any, _options: Any, lines: list[str]) -> None:
    """Sphinx's event ``autodoc-process-docstring``."""
    lines[:] = listed(lines)


def short_types(  # the arguments of Sphinx's event autodoc-process-signature
    _app: Any, _what: str, _name: str, _thing: Any, _options: Any, signature: str | None, returns: str | None
) -> tuple[str | None, str | None]:
    """Arrays by their one word: what is in them stands in the docstring."""
    return tuple(None if each is None else ARRAY.sub("array", each) for each in (signature, returns))  # type: ignore[return-value]
