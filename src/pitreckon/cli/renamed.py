"""Options that once had another name: the old one still works, with a line on standard error."""

from typing import Any, Final

import typer
from typer.core import TyperCommand

_LOG: Final = {"--ledger": "--log"}
RENAMED: Final[dict[str, dict[str, str]]] = {
    **dict.fromkeys(("reckon", "suppose", "alerts", "sheet", "card", "record"), _LOG),
    "cool": {"--at": "--core"},
    "why": {"--on": "--pit-time"},
}
"""By command: its options' old names and what they are now. Each old name means something else elsewhere."""


class Command(TyperCommand):
    """A command that knows the old names of its options."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """As ever, the old names replaced first."""
        return super().parse_args(ctx, current(ctx.info_name or "", args))


def current(command: str, args: list[str]) -> list[str]:
    """The arguments with new names for old ones; what stands behind ``--`` is left alone."""
    old, out, told = RENAMED.get(command, {}), list[str](), set[str]()
    for n, each in enumerate(args):
        if each == "--":
            return out + args[n:]
        name, equals, value = each.partition("=")
        if name in old:
            if name not in told:
                typer.echo(f"pitreckon: {name} of '{command}' is {old[name]} now; write that", err=True)
                told.add(name)
            out.append(f"{old[name]}{equals}{value}")
        else:
            out.append(each)
    return out
