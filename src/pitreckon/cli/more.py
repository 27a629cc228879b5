"""Commands that have one behind them: ``pitreckon card`` writes a card, ``pitreckon card take-in`` reads answers to it.

What stands behind the name is either what the command works on or the second one's name; the first keeps its own
arguments, so that nothing that was called before is called otherwise.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

import typer
from typer.core import TyperCommand

from pitreckon.cli.renamed import Command


class WithMore(Command):
    """A command with others behind it. behind: their functions, by the word that they are called by"""

    behind: ClassVar[dict[str, Callable[..., None]]] = {}

    @property
    def more(self) -> dict[str, TyperCommand]:
        """The commands behind it."""
        found = {}
        for name, function in self.behind.items():
            inner = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
            inner.command(name, cls=Command)(function)
            made = typer.main.get_command(inner)
            assert isinstance(made, TyperCommand)
            made.name = name
            found[name] = made
        return found

    def make_context(self, info_name: str | None, args: list[str], parent: Any = None, **extra: Any) -> Any:
        """That of the command whose name comes first, if one of them does."""
        if args and args[0] in self.behind:
            return self.more[args[0]].make_context(f"{info_name} {args[0]}", args[1:], parent=parent, **extra)
        return super().make_context(info_name, args, parent=parent, **extra)


def with_more(**behind: Callable[..., None]) -> type[WithMore]:
    """A class of commands with these behind them, ``take_in`` for ``take-in``."""
    known = {name.replace("_", "-"): function for name, function in behind.items()}
    return type("WithMore", (WithMore,), {"behind": known})
