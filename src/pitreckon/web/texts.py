"""Every text of the page through one catalogue of messages, in gettext's form: English in the source, the rest in .po.

A message is its English text, with names in braces for what is put in: ``say("Away until {at}", at="11:30")``.
"""

import re
from ast import literal_eval
from collections.abc import Iterator
from functools import cache
from gettext import NullTranslations
from pathlib import Path
from typing import Final

LOCALE: Final = Path(__file__).parent / "locale"
LANGUAGES: Final = {"en": "English", "es": "español"}
"""What the page can be read in, each by its own name."""
_LINE: Final = re.compile(r'(msgid|msgstr)?\s*(".*")')


class Texts(NullTranslations):
    """The messages of one language. What its file lacks stays English."""

    def __init__(self, language: str, messages: dict[str, str]) -> None:
        super().__init__()
        self.language, self.messages = language, messages

    def gettext(self, message: str) -> str:
        """A message in this language."""
        return self.messages.get(message) or message

    def __call__(self, message: str, **values: object) -> str:
        """A message in this language, with these values in its braces."""
        text = self.gettext(message)
        return text.format(**values) if values else text


def messages_in(po: str) -> Iterator[tuple[str, str]]:
    r"""Message and translation of each entry of a .po text; the head, whose message is empty, is left out.

    >>> list(messages_in('msgid "Look"\nmsgstr "Mi"\n"rar"\n'))
    [('Look', 'Mirar')]
    """
    entry = {"msgid": "", "msgstr": ""}
    at = ""
    for line in [*po.splitlines(), 'msgid ""']:
        found = _LINE.fullmatch(line.strip())
        if found is None:
            continue
        if found[1] == "msgid":
            if entry["msgid"]:
                yield entry["msgid"], entry["msgstr"]
            entry = {"msgid": "", "msgstr": ""}
        at = found[1] or at
        entry[at] += literal_eval(found[2])


@cache
def texts_of(language: str) -> Texts:
    """The messages of a language; English for one that is not known."""
    path = LOCALE / f"{language}.po"
    if language not in LANGUAGES or not path.is_file():
        return Texts("en", {})
    return Texts(language, dict(messages_in(path.read_text(encoding="utf-8"))))
