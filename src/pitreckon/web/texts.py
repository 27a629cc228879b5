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

from pitreckon.text.said import Said, retold

LOCALE: Final = Path(__file__).parent / "locale"
LANGUAGES: Final = {"en": "English", "es": "español"}
"""What the page can be read in, each by its own name."""
MOST_FOUND: Final = 5000
LEAST_OWN: Final = 4
ENOUGH_OWN: Final = 8
"""A message with fewer letters of its own than this fits too much: never, or where what is put in is known too."""
MOST_BARE: Final = 3
"""Words of a part that is told as it is, as a name."""
SENTENCES: Final = (". ", "; ", ": ")
BETWEEN: Final = (*SENTENCES, ", ")
_RANGE: Final = re.compile(r"(\d[^a-z]*(?:[a-z]+ ?\d*[^a-z]*)*?) to (\d.*)")
_ABOUT: Final = re.compile(r"(\d+ (?:× )?)?([^\d(].*?)( \d[\d.,]* %| \([^()]*\))?")
ENDS: Final = (".", ";", ":")
_QUOTED: Final = re.compile(r"(['\"]).*\1", re.DOTALL)
"""What somebody typed."""
_FIELD: Final = re.compile(r"{([a-z_]+)}")
_LINE: Final = re.compile(r'(msgid|msgstr)?\s*(".*")')


class Texts(NullTranslations):
    """The messages of one language. What its file lacks stays English."""

    def __init__(self, language: str, messages: dict[str, str]) -> None:
        super().__init__()
        self.language, self.messages = language, messages
        self._patterns: list[tuple[int, re.Pattern[str], str]] | None = None
        self._found: dict[str, str] = {}

    def gettext(self, message: str) -> str:
        """A message in this language."""
        return self.messages.get(message) or message

    def __call__(self, message: str, **values: object) -> str:
        """A message in this language, with these values in its braces."""
        text = self.gettext(message)
        return text.format(**values) if values else text

    def found(self, text: str) -> str:
        """A finished English text in this language: by itself, by its message, or part by part; else as it is.

        For what was said below by rooms that know no languages: why an input is refused, a card, a safety record. Of
        several messages that fit the one with the most letters of its own is taken, of equal ones the later.
        """
        if not self.messages or not text.strip() or _QUOTED.fullmatch(text):
            return text
        if isinstance(text, Said):
            return retold(text, self.gettext, str)
        if text not in self._found:
            if len(self._found) >= MOST_FOUND:
                self._found.clear()
            self._found[text] = self._find(text)
        return self._found[text]

    def _find(self, text: str) -> str:
        whole = self._whole(text)
        if whole is not None:
            return whole
        about = _ABOUT.fullmatch(text)  # 12 racks; mushy 32 %; a name (of a source)
        core = "" if about is None else about[2]
        if about is not None and core != text:
            told = self._whole(core)
            if told is not None:
                return f"{about[1] or ''}{told}{self._after(about[3] or '')}"
        ends = _RANGE.fullmatch(text)
        if ends is not None:
            return f"{ends[1]} {self.gettext('to')} {self.found(ends[2])}"
        for between in BETWEEN:
            parts = text.split(between)
            if len(parts) > 1:
                each = [self.found(part) for part in parts]
                if each != parts and (between in SENTENCES or all(map(_is_told, parts, each))):
                    return between.join(each)
        end = next((each for each in ENDS if text.endswith(each)), "")
        return self.found(text[:-1]) + end if end else text

    def _after(self, text: str) -> str:
        return f" ({self.found(text[2:-1])})" if text.startswith(" (") else text

    def _whole(self, text: str) -> str | None:
        """A text that is one message."""
        for end in ("", *(each for each in ENDS if text.endswith(each))):
            bare = text.removesuffix(end)
            if bare in self.messages:
                return self.messages[bare] + end
            told = self.messages.get(bare[:1].lower() + bare[1:])
            if told is not None:
                return told[:1].upper() + told[1:] + end
            told = self.messages.get(bare[:1].upper() + bare[1:])
            if told is not None:
                return told[:1].lower() + told[1:] + end
        if self._patterns is None:
            self._patterns = sorted(reversed([*_patterns(self.messages)]), key=lambda each: -each[0])
        for own, pattern, told in self._patterns:
            fit = pattern.fullmatch(text)
            if fit is not None:
                values = {name: self.found(value) for name, value in fit.groupdict().items()}
                if own >= ENOUGH_OWN or all(_is_told(fit[name], value, 1) for name, value in values.items()):
                    return _FIELD.sub(lambda field, values=values: values[field[1]], told)
        return None


def _is_told(part: str, told: str, bare: int = MOST_BARE) -> bool:
    """Is nothing English left of a part of a text, as far as can be seen? A name of a few words or a number is none."""
    return part != told or len(part.split()) <= bare or part[:1].isdigit() or _QUOTED.fullmatch(part) is not None


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


def _patterns(messages: dict[str, str]) -> Iterator[tuple[int, re.Pattern[str], str]]:
    """What finished texts of each message with fields look like, and how many letters of its own it has."""
    for message, told in messages.items():
        parts = _FIELD.split(message)
        own = sum(each.isalpha() for part in parts[::2] for each in part)
        names = parts[1::2]
        if not names or own < LEAST_OWN:
            continue
        seen: set[str] = set()
        made = ""
        for n, part in enumerate(parts):
            if n % 2 == 0:
                made += re.escape(part)
            else:
                made += f"(?P={part})" if part in seen else f"(?P<{part}>(?:(?!\\. ).)+?)"
                seen.add(part)
        yield own, re.compile(made, re.DOTALL), told


@cache
def texts_of(language: str) -> Texts:
    """The messages of a language; English for one that is not known."""
    path = LOCALE / f"{language}.po"
    if language not in LANGUAGES or not path.is_file():
        return Texts("en", {})
    return Texts(language, dict(messages_in(path.read_text(encoding="utf-8"))))
