"""This time against last time in one person's words: the picture, both courses, and what the differences were worth."""

from __future__ import annotations

from dataclasses import dataclass
from zoneinfo import ZoneInfo

from pitreckon.lessons.lasttime.lines import headline, worth_lines
from pitreckon.lessons.lasttime.picture import Words, picture
from pitreckon.lessons.lasttime.run import Run
from pitreckon.lessons.lasttime.worth import Against
from pitreckon.reckon.words import STANDING
from pitreckon.units import format_about
from pitreckon.web.views.reader import ClockWords, Preferences


@dataclass(frozen=True, slots=True)
class RunView:
    """One of the two. when: its day; course: its stages with their times; looks: time since put-on, of what, what"""

    when: str
    name: str
    course: str
    looks: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True, slots=True)
class AgainstView:
    """All of it in words. lines: what was otherwise and what it was worth"""

    head: str
    lines: tuple[str, ...]
    runs: tuple[RunView, RunView]
    picture: str


def against_view(found: Against, preferences: Preferences, zone: ZoneInfo) -> AgainstView:
    """For one reader. zone: in which days are days"""
    say = preferences.say
    clock = ClockWords(zone, found.this.finished.off_utc, preferences)

    def stage(kind: str, wrap: str | None) -> str:
        return say(wrap) if kind == "wrapped" and wrap else say(STANDING[kind])

    def view(run: Run) -> RunView:
        parts = [
            f"{stage(e.record.plan.kind, e.record.plan.wrap)} {format_about(e.record.took_s)}" for e in run.stretches
        ]
        looks = tuple((format_about(at_s), say(look.kind), say(look.text)) for at_s, look in run.looks)
        day = run.finished.put_on_utc.astimezone(run.finished.cook.zone_info).strftime("%Y-%m-%d")
        return RunView(day, run.name, ", ".join(parts), looks)

    head, lines = clock.retold(headline(found)), tuple(clock.retold(line) for line in worth_lines(found))
    words = Words(say("this time"), say("last time"), " ".join([head, *lines]), stage, preferences.degrees)
    return AgainstView(head, lines, (view(found.this), view(found.last)), picture(found.this, found.last, words))
