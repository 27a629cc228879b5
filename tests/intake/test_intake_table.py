"""Tables of any logger: separators, marks and encodings, times, °F and °C, columns; asked when unsure."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.intake.day import COOK, SMALL, after

from pitreckon.cook import Cook
from pitreckon.errors import InputError
from pitreckon.intake.table.columns import Answers, scale_in_header
from pitreckon.intake.table.read import ColumnMap, guess_map, table_entries
from pitreckon.ledger import Reading
from pitreckon.text.table import UnsureError, decode_table

PIT_F = (70.0, 120.0, 190.0, 240.0, 262.0, 270.0, 276.0, 273.0, 275.0, 277.0)
MEAT_F = (39.0, 39.5, 41.0, 44.0, 49.0, 55.0, 62.0, 70.0, 79.0, 88.0)


def celsius(values: Iterable[float]) -> list[float]:
    return [(value - 32.0) / 1.8 for value in values]


def table(header: str, rows: Iterable[str], end: str = "\n") -> str:
    return end.join([header, *rows]) + end


def rows(
    pit: Iterable[float] = PIT_F, meat: Iterable[float] = MEAT_F, *, sep: str = ",", comma: bool = False
) -> list[str]:
    def number(value: float) -> str:
        return f"{value:.1f}".replace(".", "," if comma else ".")

    return [
        sep.join([f"2026-10-10 13:{5 * n:02}", number(p), number(m)])
        for n, (p, m) in enumerate(zip(pit, meat, strict=True))
    ]


PLAIN = table("Time,Pit,Probe 1", rows())


def guess(text: str, cook: Cook = SMALL, **answers: Any) -> ColumnMap:
    return guess_map(text, "log.csv", cook, Answers(**answers))


def readings(text: str, cook: Cook = SMALL, **answers: Any) -> list[Reading]:
    found = table_entries(text, "log.csv", guess(text, cook, **answers), cook, "logger")
    return [entry.event for entry in found if isinstance(entry.event, Reading)]


def asked(text: str, cook: Cook = SMALL, **answers: Any) -> UnsureError:
    with pytest.raises(UnsureError) as caught:
        guess(text, cook, **answers)
    return caught.value


def values(text: str, channel: str = "pit air", **answers: Any) -> list[float]:
    return [round(each.value_c, 2) for each in readings(text, **answers) if each.channel == channel]


EXPECTED = [round(value, 2) for value in celsius(PIT_F)]


def test_what_is_taken_for_what() -> None:
    assert guess(PLAIN).words == (
        ("Time", "time: moment, year first"),
        ("Pit", "pit air of big box in F"),
        ("Probe 1", "probe of racks 1 in F"),
    )
    first, second = readings(PLAIN)[:2]
    assert (first.at_utc, first.channel, first.on, first.piece) == (after(0), "pit air", "big box", None)
    assert (second.channel, second.on, second.piece, second.source_line) == ("probe", "racks", 1, 2)
    assert second.value_c == pytest.approx(3.889, abs=1e-3)


@pytest.mark.parametrize("sep", [";", "\t", "|"])
def test_separators_and_decimal_commas(sep: str) -> None:
    head = sep.join(["Time", "Pit", "Probe 1"])
    assert values(table(head, rows(sep=sep))) == EXPECTED
    assert values(table(head, rows(sep=sep, comma=True))) == EXPECTED


def test_a_comma_in_quotes() -> None:
    quoted = [f'"{a}","{b}","{c}"' for a, b, c in (row.split(";") for row in rows(sep=";", comma=True))]
    assert values(table('"Time","Pit","Probe 1"', quoted)) == EXPECTED


def test_points_and_commas_are_not_mixed() -> None:
    mixed = [*rows(sep=";")[:5], *rows(sep=";", comma=True)[5:]]
    with pytest.raises(InputError, match="decimal comma"):
        guess(table("Time;Pit;Probe 1", mixed))


@pytest.mark.parametrize(
    "raw",
    [
        PLAIN.encode("utf-8-sig"),
        PLAIN.replace("Pit", "Pit °F").encode("utf-8"),
        PLAIN.replace("Pit", "Pit °F").encode("cp1252"),
        PLAIN.encode("utf-16"),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace("\n", "\r").encode(),
    ],
    ids=["mark", "utf-8", "eight bits", "utf-16", "crlf", "cr"],
)
def test_encodings_and_line_ends(raw: bytes) -> None:
    assert values(decode_table(raw, "log.csv")) == EXPECTED


def test_what_is_no_text() -> None:
    with pytest.raises(InputError, match="not text"):
        decode_table(b"PK\x03\x04\x00\x00", "log.csv")


def test_lines_before_the_header_and_odd_columns() -> None:
    text = "Logger 7 export\nserial,4711\n\n" + table(
        "Time,Pit,Probe 1,Fan %,Battery,Note",
        (f"{row},40,3.9,{'lit' if n == 0 else ''}" for n, row in enumerate(rows())),
    )
    assert values(text) == EXPECTED
    left = {header for header, words in guess(text).words if words.startswith("left out")}
    assert left == {"Fan %", "Battery", "Note"}


@pytest.mark.parametrize(
    ("header", "cells", "kind"),
    [
        ("Date,Time,Pit,Probe", lambda n, at: f"{at:%m/%d/%y},{at:%I:%M:%S %p}", "date and clock, month first"),
        ("Date,Time,Pit,Probe", lambda n, at: f"{at:%d.%m.%Y},{at:%H:%M}", "date and clock, day first"),
        ("When,Pit,Probe", lambda n, at: f"{at:%Y-%m-%dT%H:%M:%S}-05:00", "moment, year first"),
        ("When,Pit,Probe", lambda n, at: f"{at:%Y-%m-%d %H:%M:%S}.250", "moment, year first"),
        ("When,Pit,Probe", lambda n, at: str(int(at.timestamp()) + 5 * 3600), "epoch in seconds"),
        ("When,Pit,Probe", lambda n, at: str(1000 * (int(at.timestamp()) + 5 * 3600)), "epoch in milliseconds"),
    ],
)  # fmt: skip
def test_ways_to_write_the_time(header: str, cells: Any, kind: str) -> None:
    local = datetime(2026, 10, 11, 13, 0, tzinfo=UTC)
    text = table(
        header,
        (
            f"{cells(n, local + timedelta(minutes=5 * n))},{p},{m}"
            for n, (p, m) in enumerate(zip(PIT_F, MEAT_F, strict=True))
        ),
    )
    assert guess(text).words[0][1] == f"time: {kind}"
    found = [each.at_utc.replace(microsecond=0) for each in readings(text) if each.channel == "pit air"]
    assert found == [after(86400.0 + 300.0 * n) for n in range(10)]


def test_dates_that_can_be_read_two_ways() -> None:
    """09/10 is near the cook one way only; far from it, it is asked."""

    def dated(day: str) -> str:
        return table("Time,Pit,Probe 1", (row.replace("2026-10-10", day) for row in rows()))

    assert asked(dated("10/10/2026")).option == "dates"  # the same day both ways, and the next row may tell them apart
    assert readings(dated("10/10/2026"), dates="day first")[0].at_utc == after(0)
    assert guess(dated("09/10/2026")).time.dates == "day first"
    assert guess(dated("10/09/2026")).time.dates == "month first"
    assert guess(dated("25/12/2026")).time.dates == "day first"
    assert asked(dated("03/04/2026")).option == "dates"
    assert guess(dated("03/04/2026"), dates="month first").time.dates == "month first"


def test_a_clock_without_a_day_and_a_count_want_their_start() -> None:
    clock = table("Time,Pit,Probe 1", (row.replace("2026-10-10 ", "") for row in rows()))
    assert asked(clock).option == "start"
    assert readings(clock, start_utc=after(0))[-1].at_utc == after(2700)
    count = table(
        "Elapsed (min),Pit,Probe 1", (f"{5 * n},{p},{m}" for n, (p, m) in enumerate(zip(PIT_F, MEAT_F, strict=True)))
    )
    assert asked(count).option == "start"
    assert readings(count, start_utc=after(0))[-1].at_utc == after(2700)


def test_over_midnight_and_the_repeated_hour() -> None:
    night = ["23:50", "23:58", "00:06"]
    text = table("Time,Pit,Probe 1", (f"{at},270,{60 + n}" for n, at in enumerate(night)))
    found = [r.at_utc for r in readings(text, start_utc=after(10 * 3600), unit="F") if r.channel == "pit air"]
    assert found == [after(39_000), after(39_480), after(39_960)]
    autumn = ["00:58", "01:28", "01:58", "01:28", "01:58", "02:28"]
    text = table("Time,Pit,Probe 1", (f"2026-11-01 {at},270,{60 + n}" for n, at in enumerate(autumn)))
    at = [r.at_utc for r in readings(text, unit="F") if r.channel == "pit air"]
    assert [b - a for a, b in pairwise(at)] == [timedelta(minutes=30)] * 5


# --- scales


@pytest.mark.parametrize(
    ("header", "scale"),
    [
        ("Pit (°F)", "F"), ("Pit °C", "C"), ("pit_f", "F"), ("Pit [C]", "C"), ("Pit deg F", "F"),
        ("food, celsius", "C"),
        ("Pit F", "F"), ("temp/C", "C"), ("ºF", "F"), ("Pit", None), ("chef", None), ("music", None), ("shelf", None),
    ],
)  # fmt: skip
def test_the_scale_in_a_header(header: str, scale: str | None) -> None:
    assert scale_in_header(header) == scale


def test_a_header_is_believed_and_so_is_a_sign_in_the_cells() -> None:
    assert values(table("Time,Pit (C),Probe 1 (C)", rows(celsius(PIT_F), celsius(MEAT_F)))) == pytest.approx(
        EXPECTED, abs=0.1
    )
    signed = [f"{a},{b} °F,{c} °F" for a, b, c in (row.split(",") for row in rows())]
    assert values(table("Time,Pit,Probe 1", signed)) == EXPECTED


def test_the_scale_is_told_by_the_pit() -> None:
    assert values(PLAIN) == EXPECTED
    assert values(table("Time,Pit,Probe 1", rows(celsius(PIT_F), celsius(MEAT_F)))) == pytest.approx(EXPECTED, abs=0.1)


def test_the_scale_is_told_by_meat_alone_when_it_can_be() -> None:
    hot = [40.0 + 18.0 * n for n in range(10)]
    assert values(table("Time,Other,Probe", rows(hot, hot)), "probe", columns={"Other": "leave"})[0] == 4.44
    cold = [2.0 + 3.0 * n for n in range(10)]
    assert values(table("Time,Other,Probe", rows(cold, cold)), "probe", columns={"Other": "leave"})[0] == 2.0


@pytest.mark.parametrize("meat", [[40.0 + 4 * n for n in range(10)], [36.0] * 10])
def test_asked_when_both_would_do(meat: list[float]) -> None:
    text = table("Time,Other,Probe", rows(meat, meat))
    unsure = asked(text, columns={"Other": "leave"})
    assert (unsure.option, unsure.choices) == ("unit", ("F", "C"))
    assert "cannot be told" in unsure.trouble
    assert values(text, "probe", unit="C", columns={"Other": "leave"})[0] == meat[0]


def test_asked_when_the_pit_is_not_lit_yet() -> None:
    assert asked(table("Time,Pit,Probe 1", ["2026-10-10 13:00,38,38"])).option == "unit"


def test_asked_when_neither_fits() -> None:
    unsure = asked(table("Time,Pit,Probe 1", rows([800.0] * 10)))
    assert "fit neither" in unsure.trouble


def test_a_fault_code_does_not_tell_the_scale() -> None:
    meat = [999.0, *celsius(MEAT_F)[1:]]
    text = table("Time,Pit,Probe 1", rows(celsius(PIT_F), meat))
    first = next(each for each in readings(text) if each.channel == "probe")
    assert guess(text).columns[0].unit == "C"
    assert math.isnan(first.value_c)
    assert first.rejected == "fault code 999 set aside"


@given(st.floats(90.0, 160.0), st.booleans(), st.lists(st.floats(-12.0, 12.0), min_size=6, max_size=20))
def test_a_running_pit_always_tells(set_c: float, fahrenheit: bool, swing: list[float]) -> None:
    cook = replace(SMALL, pits=(replace(SMALL.pits[0], set_c=set_c),))
    pit = [1.8 * (set_c + s) + 32.0 if fahrenheit else set_c + s for s in swing]
    text = table("Time,Pit,Probe", (f"2026-10-10 13:{n:02},{p:.1f},--" for n, p in enumerate(pit)))
    try:
        unit = guess(text, cook).columns[0].unit
    except UnsureError:
        return  # asking is always right
    assert unit == ("F" if fahrenheit else "C")


# --- columns


def test_a_name_of_the_cook_in_a_header_wins() -> None:
    text = table("Time,Big Box temp,racks 3,BUTT", (f"{row},{40 + n}" for n, row in enumerate(rows())))
    found = {(c.header, c.channel, c.on, c.piece) for c in guess(text, COOK).columns}
    assert found == {
        ("Big Box temp", "pit air", "big box", None),
        ("racks 3", "probe", "racks", 3),
        ("BUTT", "probe", "butt", None),
    }


def test_a_column_that_could_be_several_is_asked() -> None:
    unsure = asked(PLAIN, COOK)
    assert unsure.option == "Pit"
    assert unsure.choices == ("big box", "night fire", "racks", "butt", "leave")
    assert asked(PLAIN, COOK, columns={"Pit": "big box"}).option == "Probe 1"
    found = guess(PLAIN, COOK, columns={"Pit": "big box", "Probe 1": "Racks 2"}).columns
    assert [(c.on, c.piece) for c in found] == [("big box", None), ("racks", 2)]


def test_a_table_without_a_header() -> None:
    bare = "\n".join(rows())
    assert asked(bare).option == "column 2"
    assert values(bare, columns={"column 2": "big box", "column 3": "leave"}) == EXPECTED


@pytest.mark.parametrize(
    ("columns", "words"),
    [({"Pitt": "big box"}, "no column"), ({"Pit": "oven"}, "no item"), ({"Probe 1": "racks 7"}, "no piece")],
)
def test_an_answer_that_fits_nothing(columns: dict[str, str], words: str) -> None:
    with pytest.raises(InputError, match=words):
        guess(PLAIN, columns=columns)


@pytest.mark.parametrize("text", ["", "\n\n", "hello", "a,b\nc,d\n", "Time,Pit\n", "1;2\n"])
def test_no_table(text: str) -> None:
    with pytest.raises(InputError) as caught:
        guess(text)
    assert caught.value.place.file == "log.csv"


# --- rows


def test_blank_cells_a_header_again_and_short_rows() -> None:
    lines = PLAIN.splitlines()
    lines[3] = "2026-10-10 13:10,,--"
    lines[5] = "2026-10-10 13:20,240"
    lines.insert(7, lines[0])
    lines.insert(9, "")
    assert len(readings("\n".join(lines))) == 2 * len(PIT_F) - 2 - 1


@pytest.mark.parametrize(
    ("row", "field"),
    [
        ("2026-10-10 13:10,hot,50", "Pit"),
        ("today,270,50", "Time"),
        ("2026-02-30 13:10,270,50", "Time"),
        (",270,50", "Time"),
    ],
)
def test_a_row_that_cannot_be_read_is_named(row: str, field: str) -> None:
    lines = PLAIN.splitlines()
    lines.append(row)
    with pytest.raises(InputError) as caught:
        readings("\n".join(lines))
    assert (caught.value.place.file, caught.value.place.line, caught.value.place.field) == (
        "log.csv",
        len(lines),
        field,
    )


def test_read_again_it_gives_the_same_ids() -> None:
    first = [entry.id for entry in table_entries(PLAIN, "a.csv", guess(PLAIN), SMALL, "logger")]
    again = [entry.id for entry in table_entries(PLAIN, "moved/b.csv", guess(PLAIN), SMALL, "logger")]
    assert first == again
    assert len(set(first)) == len(first)
    other = [entry.id for entry in table_entries(PLAIN, "a.csv", guess(PLAIN), SMALL, "second logger")]
    assert not set(other) & set(first)


@given(st.text(alphabet=st.sampled_from("0123456789:-/.,;\t\n\"' TimePtFC°\x85é"), max_size=300))
def test_any_text_is_harmless(text: str) -> None:
    try:
        columns = guess(text)
        list(table_entries(text, "log.csv", columns, SMALL, "logger"))
    except InputError:
        return


@given(st.lists(st.sampled_from([*PLAIN.splitlines(), "", '"', "x,y", "2026-10-10 13:00,1"]), max_size=12))
def test_any_rows_are_harmless(lines: list[str]) -> None:
    text = "\n".join(lines)
    try:
        list(table_entries(text, "log.csv", guess(text), SMALL, "logger"))
    except InputError:
        return
