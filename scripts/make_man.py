"""Writes the manual pages in ``packaging/man``, from the commands themselves.

Run ``.venv/bin/python scripts/make_man.py`` after a command or an option has changed (``scripts/make_reference.py``
calls it too); ``tests/cli/test_cli_packaging.py`` fails until it was done. The wheel carries them (``pyproject.toml``).

The form is that of man(7): one page for the program, one for each command.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import typer

from pitreckon import __version__
from pitreckon.cli.main import app

ROOT: Final = Path(__file__).parents[1]
MAN: Final = ROOT / "packaging" / "man"
CODES: Final = {
    "0": "Done.",
    "1": "It was looked at, and is not as it was or not whole.",
    "2": "Something in a file or on the command line is wrong, or an extra is not installed; one message names it.",
    "3": "The day cannot be planned as it was asked; what can be is shown.",
    "70": "A fault of the program itself; one line says so.",
    "130": "Interrupted; one line says what is kept.",
}
ONLY: Final = {"1": {"pitreckon record", "pitreckon ledger check", "pitreckon ledger salvage"}, "3": {"pitreckon plan"}}
"""Commands that alone end with a code."""
FILES: Final = (
    ("$PITRECKON_LEDGER, $XDG_DATA_HOME/pitreckon/ledger.sqlite", "The ledger, where no other is named."),
    ("$PITRECKON_CATALOG", "A folder of your own cuts, pits, wraps and fuels."),
    ("$XDG_CACHE_HOME/pitreckon", "The compiled model; it is made anew where it is gone."),
)
CAUTION: Final = (
    "A forecast is no promise of safety. Check the thickest part with a thermometer, and follow your local food code "
    "and your health department."
)


def _plain(text: str) -> str:
    """Text as troff takes it: nothing in it is a request, and each dash is the one that is typed."""
    text = " ".join(text.split()).replace("\\", "\\e").replace("-", "\\-").replace("'", "\\(aq").replace("`", "\\(ga")
    return f"\\&{text}" if text.startswith((".", "'")) else text


def _lines(text: str) -> str:
    """A paragraph on lines that stay readable in a change; one that begins with a dot is no request."""
    filled = textwrap.wrap(_plain(text), 100, break_long_words=False, break_on_hyphens=False)
    return "".join(f"\\&{line}\n" if line.startswith((".", "'")) else f"{line}\n" for line in filled)


def _head(name: str, about: str) -> str:
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    (day,) = re.findall(rf"^## {re.escape(__version__)} \(([\d-]+)\)$", changelog, re.MULTILINE)
    title = name.upper().replace("-", "\\-")
    return (
        '.\\" Made from the code by .venv/bin/python scripts/make_man.py; change the code, not this page.\n'
        f'.TH "{title}" 1 "{day}" "pitreckon {__version__}" "Pitreckon"\n'
        f".SH NAME\n{_plain(name)} \\- {_plain(about)}\n"
    )


def _terms(pairs: Iterable[tuple[str, str]]) -> str:
    return "".join(f".TP\n.B {_plain(term)}\n{_lines(means)}" for term, means in pairs)


def _first(text: str) -> str:
    """The first sentence, as a name line has it: without its full stop, and no capital that is only a beginning."""
    said = " ".join(text.split()).split(". ")[0].rstrip(".")
    return said[:1].lower() + said[1:] if said[1:2].islower() else said


def _option(each: Any, context: Any) -> tuple[str, str]:
    shown = (each.get_help_record(context) or ("",))[0]
    if not each.opts[0].startswith("-"):
        shown = each.metavar or each.name.upper()
    shown = shown.replace("<int range>", "N").replace("<float range>", "N")
    means = str(each.help or "")
    if isinstance(each.default, (int, float, str, Path)) and not isinstance(each.default, bool):
        means += f" Left out: {each.default}."
    return shown, f"{means} Needed." if each.required and each.opts[0].startswith("-") else means


def _codes(words: str) -> list[tuple[str, str]]:
    return [(code, means) for code, means in CODES.items() if words in ONLY.get(code, {words})]


def _synopsis(words: str, command: Any) -> str:
    given = [each.metavar or each.name.upper() for each in command.params if not each.opts[0].startswith("-")]
    return f".SH SYNOPSIS\n.B {_plain(words)}\n{_plain(' '.join(['[OPTION]...', *given]))}\n"


def command_page(words: str, command: Any) -> str:
    """The page of one command. words: as it is called, ``pitreckon ledger check``"""
    context = typer.Context(command)
    options = [_option(each, context) for each in command.params if each.name != "help"]
    return "".join(
        (
            _head(words.replace(" ", "-"), _first(command.help)),
            _synopsis(words, command),
            f".SH DESCRIPTION\n{_paragraphs(command.help)}",
            f".SH OPTIONS\n{_terms([*options, ('--help', 'Say what there is.')])}",
            f".SH EXIT STATUS\n{_terms(_codes(words))}",
            f".SH CAUTION\n{_lines(CAUTION)}",
            ".SH SEE ALSO\n.BR pitreckon (1)\n",
        )
    )


def _paragraphs(text: str) -> str:
    return ".PP\n".join(_lines(part) for part in text.split("\n\n"))


def program_page(group: Any, names: Iterable[tuple[str, str]]) -> str:
    """The page of the program. names: of each command, and what it is for"""
    every = list(names)
    pages = ",\n".join(f".BR {_plain(name.replace(' ', '-'))} (1)" for name, _ in every).replace(" (1),", " (1),")
    return "".join(
        (
            _head("pitreckon", "where each piece of meat on the pit stands, and when it will be ready"),
            ".SH SYNOPSIS\n.B pitreckon\n[OPTION]... COMMAND [ARGUMENT]...\n",
            f".SH DESCRIPTION\n{_paragraphs(group.help)}",
            f".SH COMMANDS\n{_terms((name.removeprefix('pitreckon '), about) for name, about in every)}",
            f".SH OPTIONS\n{_terms([_option(each, typer.Context(group)) for each in group.params])}",
            f".SH EXIT STATUS\n{_terms(CODES.items())}",
            f".SH FILES\n{_terms(FILES)}",
            f".SH SEE ALSO\n{pages}\n",
        )
    )


def pages() -> dict[Path, str]:
    """Every file that follows from the commands, with its text."""
    group: Any = typer.main.get_command(app)
    named: list[tuple[str, Any]] = []
    for name, each in group.commands.items():
        inner = getattr(each, "commands", None)
        named += (
            [(f"pitreckon {name}", each)]
            if inner is None
            else [(f"pitreckon {name} {below}", command) for below, command in inner.items()]
        )
        named += [(f"pitreckon {name} {below}", command) for below, command in getattr(each, "more", {}).items()]
    found = {MAN / f"{words.replace(' ', '-')}.1": command_page(words, command) for words, command in named}
    found[MAN / "pitreckon.1"] = program_page(group, [(words, _sentence(command.help)) for words, command in named])
    return found


def _sentence(text: str) -> str:
    return " ".join(text.split("\n\n", maxsplit=1)[0].split())


def main() -> None:
    """Write them, and take away pages of commands that are gone."""
    made = pages()
    MAN.mkdir(parents=True, exist_ok=True)
    for path in set(MAN.iterdir()) - made.keys():
        path.unlink()
    for path, text in made.items():
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
            print(f"wrote {path.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
