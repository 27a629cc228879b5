"""The first lines of an outlook: the two sentences, the next trip, the later ones."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from conftest import Call
from rich.console import Console

from pitreckon.cli.show import print_trips
from pitreckon.reckon import Outlook, Task, Trip
from pitreckon.reckon.words import sentences, task_words
from pitreckon.units import format_clock

NOW = datetime(2026, 10, 17, 20, 30, tzinfo=UTC)  # 15:30 in Chicago
ZONE = ZoneInfo("America/Chicago")
CLOCK = partial(format_clock, zone=ZONE, seen_from=NOW)
WRAP = Task("racks", 4, "wrap", "foil", "barn pit", "the colour is set", None, 0.6, NOW + timedelta(minutes=25))
PULL = Task("thighs", 12, "take off", None, "barn pit", "175 °F at the core", 79.444, 1.0, None)
HOLD = Task("butt", 1, "hold", None, None, "the 45 min are over", None, 0.97, None)
PUT_ON = Task("wings", 24, "put on", None, "kettle", "", None, 1.0, None)


def minutes(n: float) -> datetime:
    return NOW + timedelta(minutes=n)


def trip(free: float, at: float, back: float, *tasks: Task) -> Trip:
    return Trip(minutes(at), minutes(free), minutes(back), tasks or (WRAP,))


def outlook(*trips: Trip) -> Outlook:
    return Outlook("supper", "America/Chicago", NOW, None, 8, 1, (), (), trips)


@pytest.mark.parametrize(
    ("trips", "words"),
    [
        ((), "Nothing waits for you at the pit: you are free."),
        ((trip(45, 50, 62.9),), "You are free until 16:15. Be back by 16:32."),  # to the safe side
        ((trip(45, 50, 24 * 60),), "You are free until 16:15. Be back by Sun 15:30."),
        ((trip(0, 10, 20),), "You are not free: something is due. Be back by 15:50."),
        ((trip(0, 0, 1.5),), "You are not free: be back now."),
    ],
)
def test_the_two_sentences(trips: tuple[Trip, ...], words: str) -> None:
    assert sentences(outlook(*trips), CLOCK) == words


@pytest.mark.parametrize(
    ("task", "several", "words"),
    [
        (WRAP, False, "racks: wrap in foil when the colour is set (60 % likely by then; if not yet, again at 15:55)"),
        (PULL, True, "thighs (barn pit): take off when the core is at 175 °F"),
        (HOLD, True, "butt: put in the hold when the 45 min are over"),
        (PUT_ON, False, "wings: put on"),
    ],
)
def test_what_to_do(task: Task, several: bool, words: str) -> None:
    assert task_words(task, CLOCK, "F", several_pits=several, coming_next=True) == words


def test_a_later_trip_has_no_second_time() -> None:
    words = task_words(WRAP, CLOCK, "F", several_pits=False, coming_next=False)
    assert words.endswith("when the colour is set (60 % likely by then)")


def test_degrees_celsius() -> None:
    assert "79 °C" in task_words(PULL, CLOCK, "C", several_pits=False, coming_next=True)


def test_the_next_trip_and_the_later_ones() -> None:
    console = Console(record=True, width=150)
    print_trips(
        console, outlook(trip(0, 0, 10, WRAP, HOLD), trip(60, 65, 70, PULL), trip(80, 85, 90, PUT_ON)), ZONE, "F"
    )
    first, *rows = [line.split("  ") for line in console.export_text().splitlines()]
    assert first[0].startswith("You are not free")
    heads = [[cell for cell in (part.strip() for part in row) if cell] for row in rows]
    assert [head[:-1] for head in heads] == [["next trip", "now"], [], ["later", "16:35"], ["16:55"]]
    assert [head[-1].split(":")[0] for head in heads] == [
        "racks (barn pit)",
        "butt",
        "thighs (barn pit)",
        "wings (kettle)",
    ]


@pytest.mark.kernel
def test_they_come_before_the_items(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    plan = pitreckon("reckon", cook_file, "--members", "8").out.splitlines()
    assert plan[1].startswith("You are not free: ")
    assert plan[2].split() == ["next", "trip", "now", "wings:", "put", "on"]
    on = pitreckon("reckon", cook_file, "--log", log_file, "--members", "8").out
    assert on.splitlines()[1].startswith("You are free until 17:")
    assert "Be back by 17:" in on.splitlines()[1]
    assert "wings: sauce when the core is at 175 °F" in on.splitlines()[2]
    assert "sauce    too late: dried out" in on
    log_file.write_text(log_file.read_text() + "17:30,act,wings,,sauced,,\n17:40,act,wings,,took off,,\n")
    off = pitreckon("reckon", cook_file, "--log", log_file, "--members", "8").out
    assert off.splitlines()[1] == "Nothing waits for you at the pit: you are free."


@pytest.mark.kernel
def test_the_weights_are_heard(pitreckon: Call, cook_file: Path, log_file: Path) -> None:
    """Who minds being late more is called earlier."""
    ask = ("reckon", cook_file, "--log", log_file, "--members", "32")
    back = []
    for late in ("30 s", "10 min"):
        text = cook_file.read_text().partition("\n[trips]")[0]
        cook_file.write_text(f'{text}\n[trips]\nlate = "{late}"\ntoo_late = "{late}"\n')
        back.append(pitreckon(*ask).out.splitlines()[1].partition("back by ")[2])
    assert back[1] < back[0]


def test_an_act_that_is_not_in_sight() -> None:
    assert "reckon again" in sentences(replace(outlook(), items=(_unseen(),)), CLOCK)


def _unseen():  # type: ignore[no-untyped-def]
    from types import SimpleNamespace

    return SimpleNamespace(windows=("one",))
