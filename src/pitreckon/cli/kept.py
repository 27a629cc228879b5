"""What a command has kept so far, to be said when it is interrupted."""

from typing import Final

_KEPT: Final[dict[str, str]] = {}


def keep(what: str, instead_of: str = "") -> None:
    """Something was written whole and stays: the name of a file, or words such as ``200 readings in cook 'x'``.

    instead_of: what it tells more of: the last that was kept by this name is what is said
    """
    _KEPT[instead_of or what] = what


def forget() -> None:
    """Another command begins."""
    _KEPT.clear()


def kept_words() -> str:
    """What an interrupted command says, in one line."""
    if not _KEPT:
        return "interrupted; nothing was written, and what was there is as it was."
    return f"interrupted; kept: {', '.join(dict.fromkeys(_KEPT.values()))}. Nothing is half-written."
