"""Warnings of a command: said on standard error as they come, and among the ``warnings`` of its JSON answer."""

from typing import Final

import typer

_SAID: Final[list[str]] = []


def warn(sentence: str) -> None:
    """Say it once."""
    if sentence not in _SAID:
        _SAID.append(sentence)
        typer.echo(f"warning: {sentence}", err=True)


def said() -> list[str]:
    """What was said so far, in order."""
    return list(_SAID)


def forget() -> None:
    """Another command begins."""
    _SAID.clear()
