"""Which line of a card to change so that more readers get the plate: every change is tried on the same readers."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from pitreckon.cook import Until
from pitreckon.lessons.card.cooked import Cooked, Piece, cook_all
from pitreckon.lessons.card.readers import Readers
from pitreckon.lessons.card.script import Line, Script, round_set_c
from pitreckon.lessons.card.words import look_words, short_words
from pitreckon.lessons.marks import RAW, Marks
from pitreckon.units import PIT_STEP_K, format_both, format_duration, format_temperature

OFTEN_S: Final = 600.0
COLOUR_STEP, TENDER_STEP, CORE_STEP_K = 0.1, 0.06, 2.5
RAW_ALLOWED: Final = 0.002
"""No change is offered that leaves more readers with raw meat than this, or than the card as written does."""
WORTH: Final = 0.02
"""A change that helps fewer readers than this is not worth a line (common practice, no source)."""
Retimed = Callable[[Script], Script]


@dataclass(frozen=True, slots=True)
class LineChange:
    """A change and what it does.

    key; line: number of the line from 1, 0 for the one that sets the pit; words: what to write instead
    script: the card with it; share: of readers who get the plate with it [-]; raw: of those who take it off before its
    least temperature; gain: in the first, over the card as written
    """

    key: str
    line: int
    words: str
    script: Script
    share: float
    raw: float
    gain: float

    @property
    def helps(self) -> bool:
        """Is it worth it?"""
        return self.gain >= WORTH


def try_lines(
    piece: Piece,
    script: Script,
    readers: Readers,
    marks: Marks,
    base: Cooked,
    retimed: Retimed,
    grate_c: float,
    threads: int | None = None,
) -> tuple[LineChange, ...]:
    """Every change that makes sense, the most helpful first; who is left with raw meat counts twice.

    base: what the card as written gives these readers; retimed: writes a changed card's times anew
    grate_c: the air beside the meat when it was cooked [degC]
    """
    as_written = float(base.right(marks).mean())
    found = []
    for key, line, words, changed in changes_of(script, grate_c):
        ends = [[(line.look, line.by_clock) for line in each.lines] for each in (changed, script)]
        same = ends[0] == ends[1] and changed.set_c == script.set_c
        written = changed if same else retimed(changed)
        cooked = cook_all(piece, written, readers, threads=threads)
        share, raw = float(cooked.right(marks).mean()), _raw(cooked, marks)
        found.append(LineChange(key, line, words, written, share, raw, share - as_written))
    raw_before = _raw(base, marks)
    return best_first([each for each in found if each.raw <= max(raw_before, RAW_ALLOWED)])


def best_first(changes: Sequence[LineChange]) -> tuple[LineChange, ...]:
    """The most helpful first; who is left with raw meat counts twice."""
    return tuple(sorted(changes, key=lambda each: each.raw - each.share))


def _raw(cooked: Cooked, marks: Marks) -> float:
    return float(cooked.faults(marks)[RAW].mean())


def changes_of(script: Script, grate_c: float) -> Iterator[tuple[str, int, str, Script]]:
    """Key, line, words and the changed card."""
    looked = [line.look for line in script.lines if line.look is not None and not line.by_clock]
    for n, line in enumerate(script.lines):
        if line.look is None or not line.on_pit:
            continue
        if line.by_clock:
            new = script.with_line(n, replace(line, by_clock=False))
            instead = f"not by {format_duration(line.clock_s)} on the clock"
            yield f"look {n + 1}", n + 1, f"Go on until {_look(line.look)}, {instead}", new
            continue
        for key, look in _earlier_later(line):
            if look_words(look, "F") == look_words(line.look, "F"):
                continue  # nobody could tell the two apart
            new = script.with_line(n, replace(line, look=look, plan=replace(line.plan, until=look)))
            yield f"{key} {n + 1}", n + 1, f"Go on until {_look(look)}, not until {_look(line.look)}", new
    set_c = script.set_c
    for key, step in (("cooler", -PIT_STEP_K), ("hotter", PIT_STEP_K)):
        then = round_set_c(set_c + step)
        yield key, 0, f"Set the pit to {format_both(then)} instead of {format_both(set_c)}", replace(script, set_c=then)
    if not script.at_grate:
        there = round_set_c(grate_c)
        words = (
            f"Have the air measured beside the meat, and held at {format_both(there)} there, not where the pit shows it"
        )
        yield "at the grate", 0, words, replace(script, set_c=there, at_grate=True)
    if looked and script.every_s > OFTEN_S:
        words = f"Have it looked at every {format_duration(OFTEN_S)} from the first look on"
        first = next(n for n, line in enumerate(script.lines) if line.look is not None and not line.by_clock)
        yield "often", first + 1, words, replace(script, every_s=OFTEN_S)
    if any(look.ends_by == "core" for look in looked):
        n = max(n for n, line in enumerate(script.lines) if line.look is not None and line.look.ends_by == "core")
        words = f"{short_words(script, n).capitalize()}: have two or three places measured, the lowest reading counting"
        yield "places", n + 1, words, replace(script, places=True)


def _earlier_later(line: Line) -> Iterator[tuple[str, Until]]:
    """A shade sooner, and a shade later: who comes late to the mark is helped by an earlier one."""
    look = line.look
    if look is None or look.ends_by not in {"colour", "tender", "core"}:
        return
    if look.ends_by == "core":
        at_c = look.core_c or 0.0
        yield "later", Until("core", at_c + CORE_STEP_K)  # never sooner: a lower target is no advice of ours
        return
    step = COLOUR_STEP if look.ends_by == "colour" else TENDER_STEP
    yield "sooner", Until(look.ends_by, max(look.level - step, 0.05))
    yield "later", Until(look.ends_by, min(look.level + step, 1.5))


def _look(look: Until) -> str:
    """In both scales where it is a temperature."""
    words = look_words(look, "F")
    return words if look.core_c is None else f"{words} ({format_temperature(look.core_c, 'C')})"
