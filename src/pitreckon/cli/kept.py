"""What a command has kept so far, to be said when it is interrupted."""

from typing import Final

_KEPT: Final[list[str]] = []


def keep(what: str) -> None:
    """Something was written whole and stays: the name of a file, or words such as ``200 readings in cook 'x'``."""
    _KEPT.append(what)


def forget() -> None:
    """Another command begins."""
    _KEPT.clear()


def kept_words() -> str:
    """What an interrupted command says, in one line."""
    if not _KEPT:
        return "interrupted; nothing was written, and what was there is as it was."
    return f"interrupted; kept: {', '.join(dict.fromkeys(_KEPT))}. Nothing is half-written."
