"""Of twenty what-ifs the few that help supper, and nothing lost of the others."""

from __future__ import annotations

from datetime import timedelta

import pytest
from supper import at, cook, racks

from pitreckon.cli.screen import Screen
from pitreckon.cli.supposed import document_of, print_options
from pitreckon.cook import PitPlan
from pitreckon.reckon.helping import MOST, helps, sifted, sooner_words
from pitreckon.reckon.whatif import LEAVE, WhatIf, _as_moved

MEATS = ("butt", "racks", "thighs", "turkey", "brisket", "salmon")
PITS = (PitPlan("drum", "upright-drum", 135.0), PitPlan("box", "pellet-cooker", 121.0))
SUPPER = cook(*(racks(label=meat) for meat in MEATS), pits=PITS)


def option(what: str, on: str, on_time: float | None, ready_min: float | None = 300.0) -> WhatIf:
    ready = None if ready_min is None else at(ready_min)
    return WhatIf(what, on, (), on_time, 2.0, 0.0, (), all_ready=(ready, ready, ready))


BASE = option(LEAVE, "", 0.4)
MANY = (
    option("wrap butt now", "butt", 0.7, 280.0),
    option("drum hotter", "drum", 0.6),
    option("unwrap racks now", "racks", 0.42),  # nobody can tell two points
    option("wrap brisket now", "brisket", 0.5),
    option("box hotter", "box", 0.45),
    BASE,
    option("hold thighs when ready", "thighs", 0.55),  # surer, and worse on the plate: after leaving it
    *(option(f"unwrap {meat} now", meat, 0.2) for meat in MEATS),
    option("box cooler", "box", 0.1),
)


def test_the_few_that_help_come_first_and_all_others_by_what_they_are_done_to():
    found = sifted(MANY, SUPPER)
    assert found.as_it_is is BASE
    assert [each.what for each in found.helping] == ["wrap butt now", "drum hotter", "wrap brisket now"]
    assert len(found.helping) == MOST
    assert [label for label, _ in found.rest] == ["box", *MEATS]
    told = [*found.helping, BASE, *(each for _, those in found.rest for each in those)]
    assert sorted(each.what for each in told) == sorted(each.what for each in MANY)
    assert found.left == len(MANY) - MOST - 1


@pytest.mark.parametrize(
    ("base", "other", "says"),
    [
        (option(LEAVE, "", 0.0, 400.0), option("x", "drum", 0.0, 380.0), True),  # late: sooner helps
        (option(LEAVE, "", 0.0, 400.0), option("x", "drum", 0.0, 397.0), False),
        (option(LEAVE, "", 0.0, 400.0), option("x", "drum", 0.0, None), False),
        (option(LEAVE, "", 0.8, 400.0), option("x", "drum", 0.8, 300.0), False),  # early is no help
        (option(LEAVE, "", 0.8), option("x", "drum", 0.9), True),
        (option(LEAVE, "", None, 400.0), option("x", "drum", None, 380.0), True),
    ],
)
def test_what_helps_a_supper(base, other, says):
    assert helps(other, base) is says


def test_six_meats_fit_a_screen_and_nothing_is_lost_in_json(capsys):
    together = (at(280), at(300), at(330))
    print_options(Screen("F"), SUPPER, MANY, at(60), "F", together)
    short = capsys.readouterr().out
    assert len(short.splitlines()) <= 24
    assert short.index("What helps supper most") < short.index("1  wrap butt now: 70 %, all of it 20 min sooner")
    assert "Tried and bringing less: 10; --all shows them." in short
    assert "unwrap turkey now" not in short
    print_options(Screen("F"), SUPPER, MANY, at(60), "F", together, everything=True)
    whole = capsys.readouterr().out
    assert all(each.what in whole for each in MANY)
    made = document_of(SUPPER, MANY, at(60), 96, 1, together)
    assert [each["what"] for each in made["options"]] == [each.what for each in MANY]
    assert [each["what"] for each in made["options"] if each["helps"]] == [
        *("wrap butt now", "drum hotter", "wrap brisket now", "box hotter")
    ]


def test_well_as_it_is_and_nothing_that_helps_are_two_things(capsys):
    worse = option("drum cooler", "drum", 0.1)
    for chance, says in ((0.95, "All is well as it is."), (0.6, "Nothing that can be done now helps supper")):
        print_options(Screen("F"), SUPPER, (option(LEAVE, "", chance), worse), at(60), "F", (None, None, None))
        out = capsys.readouterr().out
        assert says in out
        assert "What helps" not in out


def test_times_are_the_outlooks_moved_by_what_an_option_moves():
    whole, was, will = (tuple(at(minutes + n) for n in (0, 10, 20)) for minutes in (100, 105, 85))
    assert _as_moved(whole, was, will) == tuple(each - timedelta(minutes=20) for each in whole)
    assert _as_moved(whole, was, (None, *will[1:]))[0] is None
    base = option(LEAVE, "", 0.5, 300.0)
    assert sooner_words(option("x", "drum", 0.5, 320.0), base) == "all of it 20 min later"
    assert sooner_words(option("x", "drum", 0.5, 298.0), base) == ""
