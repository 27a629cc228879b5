"""Every text of the page through one catalogue of messages, in gettext's form: English in the source, the rest in .po.

A message is its English text, with names in braces for what is put in: ``say("Away until {at}", at="11:30")``.
"""

import re
from ast import literal_eval
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from gettext import NullTranslations
from pathlib import Path
from typing import Final

from pitreckon.text.said import Said, retold

LOCALE: Final = Path(__file__).parent / "locale"
LANGUAGES: Final = {"en": "English", "es": "español"}
"""What the page can be read in, each by its own name."""
MOST_FOUND: Final = 5000
LEAST_OWN: Final = 2
ENOUGH_OWN: Final = 8
"""A message with fewer letters of its own than this fits too much: never, or where what is put in is known too."""
DEEPEST: Final = 12
"""What is put into a text that is put into one, and so on."""
SHORT: Final = 160
"""Letters of a text that may be a name with something before or behind it."""
MOST_BARE: Final = 3
"""Words of a part that is told as it is, as a name."""
AS_TYPED: Final = "example"
"""The field of a message that has what is to be typed: that is the same in every language."""
SENTENCES: Final = (". ", "; ", ": ")
BETWEEN: Final = (*SENTENCES, ", ")
_ENDS_IN: Final = re.compile(r"(?<!\bSt)(?<!\bal)\. ")
"""A sentence ends in a text; St. Louis is none."""
_DAY: Final = re.compile(r"([A-Z][a-z]+day) (\d+) ([A-Z][a-z]+) (\d{4})")
_ABOUT: Final = re.compile(r"(\d+ (?:× )?)?([^\d(].*?)( \d[\d.,]* %| \([^()]*\))?")
ENDS: Final = (".", ";", ":")
_QUOTED: Final = re.compile(r"""'[^']*'|"[^"]*\"""")
"""What somebody typed."""
_FIELD: Final = re.compile(r"{([a-z_]+)}")
_LINE: Final = re.compile(r'(msgid|msgstr)?\s*(".*")')


class Texts(NullTranslations):
    """The messages of one language. What its file lacks stays English."""

    def __init__(self, language: str, messages: dict[str, str]) -> None:
        super().__init__()
        self.language, self.messages = language, messages
        self._patterns: list[_Pattern] | None = None
        self._found: dict[str, str] = {}

    def gettext(self, message: str) -> str:
        """A message in this language."""
        return self.messages.get(message) or message

    def __call__(self, message: str, **values: object) -> str:
        """A message in this language, with these values in its braces."""
        text = self.gettext(message)
        return text.format(**values) if values else text

    def found(self, text: str, deep: int = 0) -> str:
        """A finished English text in this language: by itself, by its message, or part by part; else as it is.

        For what was said below by rooms that know no languages: why an input is refused, a card, a safety record. Of
        several messages that fit the one with the most letters of its own is taken, of equal ones the later.
        """
        if not self.messages or deep > DEEPEST or not text.strip() or _QUOTED.fullmatch(text):
            return text
        if isinstance(text, Said):
            return retold(text, self.gettext, str)
        if text not in self._found:
            if len(self._found) >= MOST_FOUND:
                self._found.clear()
            self._found[text] = self._find(text, deep + 1)
        return self._found[text]

    def _find(self, text: str, deep: int) -> str:
        for ending in ("", *(each for each in ENDS if text.endswith(each))):
            whole = self._whole(text.removesuffix(ending), deep)
            if whole is not None:
                return whole + ending
        about = _ABOUT.fullmatch(text) if len(text) <= SHORT else None  # 12 racks; mushy 32 %; a name (of a source)
        core = "" if about is None else about[2]
        if about is not None and core != text:
            told = self._whole(core, deep)
            if told is not None:
                return f"{about[1] or ''}{told}{self._after(about[3] or '', deep)}"
        if not any(between in text for between in BETWEEN):
            either = self._fitting(text, deep, weak=True) or self._either(text)
            if either != text:
                return either
        day = _DAY.fullmatch(text)
        if day is not None:
            return " ".join(self.gettext(part) for part in day.groups())
        for between in BETWEEN:
            parts = _ENDS_IN.split(text) if between == ". " else text.split(between)
            if len(parts) > 1:
                each = [self.found(part, deep) for part in parts]
                if each != parts and (between in SENTENCES or all(map(_is_told, parts, each))):
                    return between.join(each)
        fits = self._fitting(text, deep, weak=True)
        if fits is not None:
            return fits
        end = next((each for each in ENDS if text.endswith(each)), "")
        return self.found(text[:-1], deep) + end if end else text

    def _either(self, text: str) -> str:
        """From a number to another, or one or another; else the text as it is."""
        for word in ("to", "or"):
            low, between, high = text.partition(f" {word} ")
            if between and low[:1].isdigit() and high[:1].isdigit():
                return f"{low} {self.gettext(word)} {self._either(high)}"
        return text

    def _after(self, text: str, deep: int) -> str:
        return f" ({self.found(text[2:-1], deep)})" if text.startswith(" (") else text

    def _whole(self, text: str, deep: int) -> str | None:
        """A text that is one message."""
        if text in self.messages:
            return self.messages[text]
        first, rest = text[:1], text[1:]
        if (told := self.messages.get(first.lower() + rest)) is not None:
            return told[:1].upper() + told[1:]
        if (told := self.messages.get(first.upper() + rest)) is not None:
            return told[:1].lower() + told[1:]
        if f"{text}." in self.messages:
            return self.messages[f"{text}."].removesuffix(".")
        if self._patterns is None:
            self._patterns = _patterns(self.messages)
        return self._fitting(text, deep, weak=False)

    def _fitting(self, text: str, deep: int, *, weak: bool) -> str | None:
        """A text by its message with fields. weak: one that says little itself, where all that is put in is known"""
        for each in self._patterns or ():
            if (each.own < ENOUGH_OWN) is not weak:
                continue
            values = each.fits(text)
            if values is None or (weak and not all(self._known(value, deep) for value in values.values())):
                continue
            told = _FIELD.split(each.told)
            told[1::2] = [
                self._either(values[name]) if name == AS_TYPED else self.found(values[name], deep)
                for name in told[1::2]
            ]
            return "".join(told)
        return None

    def _known(self, value: str, deep: int) -> bool:
        """A number, a word, what was typed, or a message: is nothing of it half told?"""
        plain = value[:1].isdigit() or " " not in value or _QUOTED.fullmatch(value) is not None
        return plain or self._whole(value, deep) is not None


@dataclass(frozen=True, slots=True)
class _Pattern:
    """What finished texts of a message look like: its words, and between them its fields.

    own: letters of the message itself; words: before, between and after the fields; told: in the other language
    """

    own: int
    words: tuple[str, ...]
    names: tuple[str, ...]
    told: str

    @classmethod
    def of(cls, message: str, told: str) -> "_Pattern":
        """The pattern of a message."""
        parts = _FIELD.split(message)
        own = sum(letter.isalpha() for part in parts[::2] for letter in part)
        return cls(own, tuple(parts[::2]), tuple(parts[1::2]), told)

    def fits(self, text: str) -> dict[str, str] | None:
        """What is in the fields, each as short as can be and no longer than a sentence; None: it is no such text.

        Without going back on a choice, so that the longest text takes no longer than its length.
        """
        if not (text.startswith(self.words[0]) and text.endswith(self.words[-1])):
            return None
        found: dict[str, str] = {}
        at, last = len(self.words[0]), len(text) - len(self.words[-1])
        for n, name in enumerate(self.names, 1):
            end = last if n == len(self.names) else text.find(self.words[n], at + 1, last)
            value = text[at:end]
            if end <= at or _ENDS_IN.search(value) or found.setdefault(name, value) != value:
                return None
            at = end + len(self.words[n])
        return found


def _is_told(part: str, told: str) -> bool:
    """Is nothing English left of a part of a text, as far as can be seen? A name of a few words or a number is none."""
    return part != told or len(part.split()) <= MOST_BARE or part[:1].isdigit() or _QUOTED.fullmatch(part) is not None


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


def _patterns(messages: dict[str, str]) -> list[_Pattern]:
    """Of each message with fields, those with the most words of their own first, of equal ones the later."""
    made = [_Pattern.of(message, told) for message, told in reversed(messages.items()) if _FIELD.search(message)]
    return sorted((each for each in made if each.own >= LEAST_OWN), key=lambda each: -each.own)


@cache
def texts_of(language: str) -> Texts:
    """The messages of a language; English for one that is not known."""
    path = LOCALE / f"{language}.po"
    if language not in LANGUAGES or not path.is_file():
        return Texts("en", {})
    return Texts(language, dict(messages_in(path.read_text(encoding="utf-8"))))
