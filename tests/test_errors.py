"""The tree of errors that ``pitreckon.errors`` draws is the tree that there is."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

from pitreckon import errors

ROOM = Path(errors.__file__).parent
OUTSIDE = {"Exception", "ValueError"}


def drawn() -> dict[str, str]:
    """Each error of the drawing with the one that it hangs on."""
    above: dict[int, str] = {}
    found = {}
    for line in (errors.__doc__ or "").splitlines():
        branch = re.fullmatch(r"    ((?:│   |    )*)(?:[├└]── )?(\w*(?:Error|Exception))\b.*", line)
        if branch is None:
            continue
        depth = len(branch[1]) // 4 + ("── " in line)
        above[depth] = branch[2]
        if depth:
            found[branch[2]] = above[depth - 1]
    return found


@cache
def written() -> dict[str, set[str]]:
    """Each class of the package that is an error, with its bases; read, so that no module has to be loaded."""
    classes = {
        node.name: {ast.unparse(base).rpartition(".")[2] for base in node.bases}
        for path in ROOM.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
    }
    reached = set(OUTSIDE)
    while more := {name for name, bases in classes.items() if bases & reached} - reached:
        reached |= more
    return {name: classes[name] & reached for name in reached - OUTSIDE}


def test_the_tree_is_drawn_as_it_is() -> None:
    is_drawn, is_written = drawn(), written()
    assert {"InputError", "UnsureError", "_CommitError"} <= is_drawn.keys()
    assert is_drawn.keys() == is_written.keys() - {"PitreckonError"}, "draw it in the docstring of pitreckon.errors"
    for name, base in is_drawn.items():
        assert base in is_written[name], f"{name} hangs on {' and '.join(sorted(is_written[name]))}"


def test_whatever_is_meant_is_one_of_ours() -> None:
    ours = set(written()) - {"_CommitError"}
    assert len(ours) > 5
    for name in ours - {"PitreckonError"}:
        bases = written()[name]
        assert bases & ours, f"{name} is no PitreckonError"
