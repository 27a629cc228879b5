"""What comes before a command reads its arguments: old names of options, and what a person wants by default.

An option that once had another name still works by it, with a line on standard error.
"""

import os
from typing import Any, Final

import typer
from typer.core import TyperCommand

_LOG: Final = {"--ledger": "--log"}
RENAMED: Final[dict[str, dict[str, str]]] = {
    **dict.fromkeys(("reckon", "suppose", "alerts", "sheet", "card"), _LOG),
    "record": {**_LOG, "--meat": "--handled"},
    "cool": {"--at": "--core"},
    "why": {"--on": "--pit-time"},
    "mix": {"--on": "--heat"},
}
"""By command: its options' old names and what they are now. Each old name means something else elsewhere."""


class Command(TyperCommand):
    """A command that knows the old names of its options."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """As ever, the old names replaced and the defaults looked up first."""
        if any(each.name == "degrees" for each in self.params) and _may_say_units():
            from pitreckon.forms.defaults import degrees  # noqa: PLC0415

            said = degrees()
            ctx.default_map = {"degrees": said} if said is not None else None
        return super().parse_args(ctx, current(ctx.info_name or "", args))


def _may_say_units() -> bool:
    """Asked before anything is loaded for it."""
    return bool(os.environ.get("PITRECKON_UNITS")) or os.path.exists(defaults_file())  # noqa: PTH110


def defaults_file() -> str:
    """As ``forms.defaults.place``, which takes longer to load than ``--help`` may."""
    base = os.environ.get("XDG_CONFIG_HOME") or "~/.config"
    return os.path.join(os.path.expanduser(base), "pitreckon", "defaults.toml")  # noqa: PTH111, PTH118


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
