"""Ledger files: what a good one gives, what is kept and not used, and one clear message for each fault."""

from __future__ import annotations

import math
import re
import sys
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.forms.names import KnownNames
from pitreckon.ledger import Ledger
from pitreckon.ledger.log.read import log_from_text, read_log
from pitreckon.text.file import decode
from pitreckon.units import format_local

unhurried = settings(deadline=None)  # the machine may be busy; what is tested is the answer
KNOWN = KnownNames({}, {}, {"foil": "foil", "butcher paper": "paper"})
DOCS = Path(__file__).parents[2] / "docs" / "reference"
CHICAGO = ZoneInfo("America/Chicago")


def cook_from(day: datetime, *, one_item: bool = False) -> Cook:
    """A cook that starts at an instant: four racks, and a butt unless told otherwise, on a big box."""
    pits = (PitPlan("big box", "pellet-cooker", 135.0), PitPlan("night fire", "offset-log-burner", 121.0))
    racks = ItemPlan("racks", "st-louis-ribs", 4, 1.2, "big box", day)
    butt = ItemPlan("butt", "boston-butt", 1, 3.6, "night fire", day)
    items, pits = ((racks,), pits[:1]) if one_item else ((racks, butt), pits)
    return Cook("supper", "America/Chicago", None, 0.0, None, None, pits, items)


COOK = cook_from(datetime(2026, 10, 10, 18, tzinfo=UTC))  # 13:00 in Chicago
HEAD = "time,kind,on,piece,what,value,note\n"
GOOD = (
    HEAD
    + """\
2026-10-10 13:00,act,racks,,put on,,
13:05,reading,big box,,pit air,272 F,
13:05,reading,racks,1,probe,41 F,
14:00,act,big box,,set pit,285 F,
15:10,look,racks,2,colour,Mahogany,
15:15,act,racks,,wrapped,butcher paper,
16:50,look,racks,1,spot temperature,202 F,"thick end, between two bones"
17:30,look,racks,1,weight,2 lb,
"""
)


def read(text: str, cook: Cook = COOK, *, set_aside: bool = False) -> Ledger:
    return log_from_text(text, "day.csv", cook, KNOWN, set_aside=set_aside)


def fault_of(text: str, cook: Cook = COOK, *, set_aside: bool = False) -> InputError:
    with pytest.raises(InputError) as caught:
        read(text, cook, set_aside=set_aside)
    return caught.value


def test_a_good_log() -> None:
    ledger = read(GOOD)
    assert len(ledger) == 8
    air, probe = ledger.all_readings
    assert (air.at_utc, air.channel, air.on, air.piece) == (
        datetime(2026, 10, 10, 18, 5, tzinfo=UTC),
        "pit air",
        "big box",
        None,
    )
    assert (air.value_c, air.rejected, air.source_line) == (pytest.approx(133.333, abs=1e-3), None, 3)
    assert (probe.on, probe.piece, probe.value_c) == ("racks", 1, pytest.approx(5.0))
    colour, spot, weight = ledger.looks("racks")
    assert (colour.value, colour.text, colour.piece) == (1.0, "Mahogany", 2)
    assert (spot.value, spot.note) == (pytest.approx(94.444, abs=1e-3), "thick end, between two bones")
    assert weight.value == pytest.approx(0.907185, abs=1e-6)
    put_on, set_pit, wrapped = ledger.all_acts
    assert (put_on.act, put_on.piece, put_on.detail) == ("put on", None, "")
    assert (set_pit.on, set_pit.air_c) == ("big box", pytest.approx(140.556, abs=1e-3))
    assert wrapped.detail == "paper"
    assert not ledger.rejected


def test_the_example_of_the_reference_is_a_log(tmp_path: Path) -> None:
    toml = re.search(r"```toml\n(.*?)```", (DOCS / "cook-file.md").read_text(encoding="utf-8"), re.DOTALL)
    log = re.search(r"```csv\n(.*?)```", (DOCS / "ledger-file.md").read_text(encoding="utf-8"), re.DOTALL)
    assert toml
    assert log
    path = tmp_path / "day.csv"
    path.write_text(log[1], encoding="utf-8")
    ledger = read_log(path, cook_from_text(toml[1], "firehouse.toml"))
    assert len(ledger) == log[1].count("\n") - 1
    (loose,) = ledger.rejected
    assert loose.source_line == 15
    assert "outside what meat can have" in str(loose.rejected)
    lid = next(act for act in ledger.acts("big box") if act.act == "lid open")
    assert lid.duration_s == 120.0
    past_midnight = ledger.readings("pit air", "night fire")[2]
    assert past_midnight.at_utc == datetime(2026, 10, 10, 5, 25, tzinfo=UTC)


def test_the_reference_names_every_word_that_is_understood() -> None:
    from pitreckon.cook.scales import SCALES
    from pitreckon.ledger.events import ACTS, CHANNELS, LOOKS

    text = (DOCS / "ledger-file.md").read_text(encoding="utf-8")
    for word in (*ACTS, *CHANNELS, *LOOKS, *(step for scale in SCALES.values() for step in scale)):
        assert f"`{word}`" in text, word


def test_columns_in_any_order_and_cells_left_out() -> None:
    text = "value,what,on,kind,time\n272 F,pit air,,reading,2026-10-10 13:05\n41F,probe,,reading,2026-10-10T13:06:30\n"
    ledger = read(text, cook_from(COOK.start_utc, one_item=True))
    assert [(entry.on, entry.source_line) for entry in ledger.all_readings] == [("big box", 2), ("racks", 3)]
    assert ledger.all_readings[1].at_utc == datetime(2026, 10, 10, 18, 6, 30, tzinfo=UTC)
    short = "time,kind,on,what,value,note\n2026-10-10 13:00,act,racks,put on\n"
    assert read(short).all_acts[0].act == "put on"


BAD = [
    # rows after the header; line, field, words of the trouble, words of the remedy
    ("2026-10-10 13:05,reading,racks,1,probe,41,", 2, "value", "no unit", "275 F"),
    ("2026-10-10 13:05,reading,racks,1,probe,999 F,", 2, "value", "fault code", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe,-999.0 C,", 2, "value", "fault code", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe,999,", 2, "value", "fault code", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe,NaN,", 2, "value", "fault code", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe,nan F,", 2, "value", "fault code", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe,,", 2, "value", "blank", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe", 2, "value", "blank", "--set-aside"),
    ("2026-10-10 13:05,look,racks,1,weight,nan,", 2, "value", "fault code", "--set-aside"),
    ("2026-10-10 13:05,reading,racks,1,probe,+41 F,", 2, "value", "difference", "275 F"),
    ("2026-10-10 13:05,reading,ribs,1,probe,41 F,", 2, "on", "'ribs' is no item", "racks"),
    ("2026-10-10 13:05,reading,rack,1,probe,41 F,", 2, "on", "'rack' is no item", "Did you mean 'racks'"),
    ("2026-10-10 13:05,reading,,1,probe,41 F,", 2, "on", "not named", "racks, butt"),
    ("2026-10-10 13:05,reading,racks,,pit air,241 F,", 2, "on", "no pit", "big box"),
    ("2026-10-10 13:05,reading,racks,5,probe,41 F,", 2, "piece", "which has 4", "from 1 to 4"),
    ("2026-10-10 13:05,look,racks,5,colour,tan,", 2, "piece", "which has 4", "from 1 to 4"),
    ("2026-10-10 13:05,look,racks,0,colour,tan,", 2, "piece", "which has 4", "from 1 to 4"),
    ("2026-10-10 13:05,look,racks,one,colour,tan,", 2, "piece", "which has 4", "from 1 to 4"),
    ("2026-10-10 13:05,reading,big box,1,pit air,241 F,", 2, "piece", "no pieces", "blank"),
    (
        "2026-10-10 13:05,reading,racks,1,prob,41 F,",
        2,
        "what",
        "'prob' is no reading",
        "Did you mean 'probe'",
    ),
    ("2026-10-10 13:05,look,racks,1,smell,good,", 2, "what", "no look", "colour"),
    ("2026-10-10 13:05,act,racks,1,sang,,", 2, "what", "no act", "put on"),
    ("2026-10-10 13:05,view,racks,1,colour,tan,", 2, "kind", "no kind of row", "reading, look, act"),
    ("2026-10-10 13:05,look,racks,1,colour,purple,", 2, "value", "no colour", "mahogany"),
    ("2026-10-10 13:05,look,racks,1,bone showing,2,", 2, "value", "no unit", "1 1/4 in"),
    ("2026-10-10 13:05,act,racks,,put on,now,", 2, "value", "takes no value", "note"),
    ("2026-10-10 13:05,act,racks,,wrapped,foyl,", 2, "value", "no wrap", "foil"),
    ("2026-10-10 13:05,act,racks,,moved,oven,", 2, "value", "no pit of this cook", "night fire"),
    ("2026-10-10 13:05,act,racks,,moved,,", 2, "value", "the pit is not named", "night fire"),
    ("2026-10-10 13:05,act,big box,,set pit,,", 2, "value", "blank", "275 F"),
    (
        "2026-10-10 13:05,act,big box,,set pit,900 F,",
        2,
        "value",
        "no temperature for that",
        "50 °F to 752 °F",
    ),
    ("2026-10-10 13:05,act,big box,,lid open,2,", 2, "value", "no unit", "2h30"),
    ("13:05,reading,racks,1,probe,41 F,", 2, "time", "no day", "2026-10-10"),
    ("noon,reading,racks,1,probe,41 F,", 2, "time", "not a date and time", "2026-10-10"),
    ("2026-10-10 25:05,reading,racks,1,probe,41 F,", 2, "time", "not a time of the day", "00:00"),
    ("2026-03-08 02:30,reading,racks,1,probe,41 F,", 2, "time", "does not exist", "03:30"),
    (
        "2026-10-10 13:05,reading,racks,1,probe,41 F,\n2026-10-10 13:04,reading,racks,1,probe,42 F,",
        3,
        "time",
        "'2026-10-10 13:04' runs backwards: the row before is at 2026-10-10 13:05",
        "in order of time",
    ),
    (
        "2026-10-10 13:05,reading,racks,1,probe,41 F,\n\n13:04,reading,racks,1,probe,42 F,",
        4,
        "time",
        "runs backwards",
        "in order of time",
    ),
    (
        "2026-10-10 13:05,reading,racks,1,probe,41 F,\n2026-10-10 13:05:00,Reading,RACKS,1,Probe,41 F,again",
        3,
        "time",
        "the same as line 2",
        "Delete one",
    ),
    (
        "2026-10-10 12:00,act,racks,,wrapped,foil,",
        2,
        "what",
        "before 'racks' is put on",
        "'put on' before it",
    ),
    (
        "2026-10-10 14:00,act,racks,,wrapped,foil,\n2026-10-10 14:05,act,racks,,put on,,",
        3,
        "what",
        "line 2 says 'wrapped' before it",
        "right order",
    ),
    ("2026-10-10 13:05,act,racks,,put on,,gently, slowly", 2, None, "8 cells", "double quotes"),
    ('2026-10-10 13:05,act,racks,,put on,,"gently', 2, None, "cannot be split", "quote"),
    (
        '2026-10-10 13:05,act,racks,,put on,,"two\nlines"\n2026-10-10 13:05,act,x,,put on,,',
        4,
        "on",
        "'x'",
        "racks",
    ),
]


@pytest.mark.parametrize(("rows", "line", "field", "trouble", "remedy"), BAD)
def test_each_fault_names_file_line_field_and_remedy(
    rows: str, line: int, field: str | None, trouble: str, remedy: str
) -> None:
    fault = fault_of(HEAD + rows + "\n")
    assert (fault.place.file, fault.place.line, fault.place.field) == ("day.csv", line, field)
    assert trouble in fault.trouble
    assert remedy in fault.remedy
    assert str(fault).startswith(f"day.csv, line {line}")


@pytest.mark.parametrize(
    ("text", "line", "field", "trouble"),
    [
        ("", None, None, "empty (0 bytes)"),
        ("\n\n", 1, None, "header is missing"),
        ("2026-10-10 13:05,reading,racks,1,probe,41 F,\n", 1, None, "header is missing"),
        ("time;kind;on;what\n", 1, "value", "column 'value' is missing"),
        ("time,kind,on,what\n", 1, "value", "column 'value' is missing"),
        ("time,kind,on,what,valeu\n", 1, "valeu", "no column"),
        ("\ntime,kind,on,what,value,time\n", 2, "time", "two columns"),
    ],
)
def test_headers(text: str, line: int | None, field: str | None, trouble: str) -> None:
    fault = fault_of(text)
    assert (fault.place.file, fault.place.line, fault.place.field) == ("day.csv", line, field)
    assert trouble in fault.trouble
    assert fault.remedy


def test_a_header_alone_is_an_empty_ledger() -> None:
    assert read(HEAD) == Ledger()


def test_empty_files_and_files_in_other_letters(tmp_path: Path) -> None:
    path = tmp_path / "day.csv"
    path.write_bytes(b"")
    with pytest.raises(InputError, match="0 bytes") as caught:
        read_log(path, COOK, KNOWN)
    assert caught.value.place.file == str(path)
    path.write_bytes(GOOD.encode().replace(b"thick", b"th\xefck"))
    assert (
        read_log(path, COOK, KNOWN).all_looks[1].note == "thïck end, between two bones"
    )  # eight bits, as loggers write
    path.write_bytes(b"time\0kind")
    with pytest.raises(InputError, match="not text"):
        read_log(path, COOK, KNOWN)


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("reading,racks,1,probe,391 F", "391 °F is outside what meat can have (-13 °F to 230 °F)"),
        ("reading,racks,1,probe,-60 F", "-60 °F is outside what meat can have (-13 °F to 230 °F)"),
        (
            "reading,big box,,pit air,1200 F",
            "1200 °F is outside what the air in a pit can have (-40 °F to 752 °F)",
        ),
        ("look,racks,1,spot temperature,120 C", "248 °F is outside what meat can have (-13 °F to 230 °F)"),
        ("look,racks,1,weight,0 lb", "0 oz is outside what it can be"),
        ("look,racks,1,weight,-3 oz", "-3 oz is outside what it can be"),
        ("look,racks,1,bone showing,3 ft", "36 in is outside what it can be (0 in to 5 7/8 in)"),
    ],
)
def test_a_number_that_cannot_be_true_is_kept_with_its_reason_and_never_used(row: str, reason: str) -> None:
    ledger = read(f"{HEAD}2026-10-10 13:05,{row},\n")
    (kept,) = ledger.rejected
    assert reason in str(kept.rejected)
    assert not ledger.readings("probe")
    assert not ledger.readings("pit air")
    assert not ledger.looks()


@pytest.mark.parametrize("value", ["999 F", "999", "-999", "9999.0 C", "NaN", "", "--", "n/a", "nan °F", "inf"])
def test_fault_codes_can_be_set_aside(value: str) -> None:
    rows = f"{HEAD}2026-10-10 13:05,reading,racks,1,probe,{value},\n13:06,reading,racks,1,probe,42 F,\n"
    assert fault_of(rows).place.line == 2
    ledger = read(rows, set_aside=True)
    (kept,) = ledger.rejected
    assert math.isnan(kept.value_c)
    assert "set aside" in str(kept.rejected)
    assert (kept.on, kept.piece, kept.source_line) == ("racks", 1, 2)
    assert len(ledger.readings("probe")) == 1


def test_setting_aside_forgives_nothing_else() -> None:
    assert "no unit" in fault_of(f"{HEAD}2026-10-10 13:05,reading,racks,1,probe,41,\n", set_aside=True).trouble
    assert "no unit" in fault_of(f"{HEAD}2026-10-10 13:05,reading,racks,1,probe,99,\n", set_aside=True).trouble


def test_a_weight_of_999_grams_is_a_weight() -> None:
    (look,) = read(f"{HEAD}2026-10-10 13:05,look,racks,1,weight,999 g,\n").looks()
    assert look.value == pytest.approx(0.999)


def test_what_happens_at_the_pit_may_come_before_the_meat() -> None:
    rows = (
        "2026-10-10 11:00,act,big box,,fed the fire,3 lb,\n"
        "11:30,act,big box,,lid open,,\n"
        "11:40,act,big box,,set pit,135C,\n"
    )
    assert [act.act for act in read(HEAD + rows).all_acts] == ["fed the fire", "lid open", "set pit"]
    early = "2026-10-10 12:00,act,racks,,put on,,\n12:30,act,racks,,wrapped,,\n"
    assert [act.detail for act in read(HEAD + early).all_acts] == ["", ""], "earlier than planned is no fault"


def readings_at(times: list[str], day: datetime) -> list[datetime]:
    rows = "".join(f"{at},reading,racks,1,probe,{n + 40} F,\n" for n, at in enumerate(times))
    return [entry.at_utc for entry in read(HEAD + rows, cook_from(day)).all_readings]


AUTUMN = datetime(2026, 11, 1, 1, tzinfo=UTC)  # the evening before the clocks are put back, in Chicago
SPRING = datetime(2026, 3, 8, 1, tzinfo=UTC)


def test_the_hour_that_comes_twice_is_read_in_sequence() -> None:
    half_hours = [
        "2026-11-01 00:30",
        "2026-11-01 01:00",
        "2026-11-01 01:30",
        "2026-11-01 01:00",
        "2026-11-01 01:30",
    ]
    found = readings_at([*half_hours, "2026-11-01 02:00"], AUTUMN)
    assert [b - a for a, b in pairwise(found)] == [timedelta(minutes=30)] * 5


def test_a_second_word_at_the_same_time_begins_the_second_pass() -> None:
    found = readings_at(["2026-11-01 00:30", "01:30", "01:30", "02:30"], AUTUMN)
    assert [b - a for a, b in pairwise(found)] == [timedelta(hours=1)] * 3


def test_a_third_pass_runs_backwards() -> None:
    with pytest.raises(InputError, match="runs backwards"):
        readings_at(["2026-11-01 01:30", "01:10", "01:00"], AUTUMN)


@unhurried
@given(st.integers(1, 60), st.sampled_from([AUTUMN, SPRING]), st.sampled_from(["", ":%S", "bare"]))
def test_a_night_logged_in_local_time_keeps_its_elapsed_seconds(step_min: int, start: datetime, form: str) -> None:
    """Across both changes of the clocks, with or without seconds, or with clock times alone.

    Rows more than an hour apart can leave out the first pass of the hour that comes twice: no text tells.
    """
    true = [start + timedelta(minutes=step_min * n) for n in range(1 + 14 * 60 // step_min)]
    local = [at.astimezone(CHICAGO) for at in true]
    if form == "bare":
        texts = [f"{local[0]:%Y-%m-%d %H:%M}", *(f"{at:%H:%M}" for at in local[1:])]
    else:
        texts = [at.strftime("%Y-%m-%d %H:%M" + form) for at in local]
    assert readings_at(texts, start) == true


@unhurried
@given(st.lists(st.integers(0, 7200), min_size=1, max_size=20))
def test_times_as_they_are_printed_are_read_back(seconds: list[int]) -> None:
    true = [AUTUMN + timedelta(hours=5, seconds=second) for second in sorted(set(seconds))]
    assert readings_at([format_local(at, CHICAGO) for at in true], AUTUMN) == true


def test_a_bare_time_far_behind_is_not_taken_for_tomorrow() -> None:
    assert len(read(f"{HEAD}2026-10-10 23:55,reading,racks,1,probe,41 F,\n00:05,reading,racks,1,probe,42 F,\n")) == 2
    fault = fault_of(f"{HEAD}2026-10-10 13:15,reading,racks,1,probe,41 F,\n13:05,reading,racks,1,probe,42 F,\n")
    assert "runs backwards" in fault.trouble


def test_reading_takes_no_more_work_than_there_are_rows() -> None:
    """Ten times the rows make ten times the calls.

    Time would also count what the process holds from other tests: the collector walks all of it.
    """
    start = datetime(2026, 10, 10, 13)  # noqa: DTZ001  local, to be written as text
    channels = ("racks,1,probe", "big box,,pit air")
    rows = [f"{start + timedelta(seconds=n)},reading,{channels[n % 2]},{n % 1000 / 10} C,\n" for n in range(5_000)]

    def calls_of(many: int) -> int:
        text, calls = HEAD + "".join(rows[:many]), 0

        def count(frame: object, event: str, argument: object) -> None:
            nonlocal calls
            calls += event in ("call", "c_call")

        before = sys.getprofile()
        sys.setprofile(count)
        try:
            ledger = read(text)
        finally:
            sys.setprofile(before)
        assert len(ledger) == many
        return calls

    calls_of(10)  # what is only made once (patterns, forms) is made here
    few = calls_of(500)
    assert few > 500
    assert calls_of(5_000) < 11.0 * few


@unhurried
@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda t: t.encode("utf-8", "surrogatepass"))))
def test_any_bytes_are_a_ledger_or_an_input_error(raw: bytes) -> None:
    with pytest.raises(InputError):
        read(decode(raw, "f"))


pieces = st.one_of(
    st.sampled_from(
        [",", '"', "\n", "\r", "999", "nan", "-", "\0", "13:05", "2026-11-01 01:30", "act", "٣", "1e9", "F"]
    ),
    st.text(max_size=3),
)


@unhurried
@given(
    st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 12), pieces), min_size=1, max_size=4),
    st.booleans(),
)
def test_a_good_log_with_damage_is_a_ledger_or_an_input_error(damage, set_aside: bool) -> None:
    text = GOOD
    for at, cut, piece in damage:
        text = text[:at] + piece + text[at + cut :]
    fault = None
    try:
        read(text, set_aside=set_aside)
    except InputError as error:
        fault = error
    if fault is not None:
        assert fault.place.file == "day.csv"
        assert fault.remedy
        assert 1 <= (fault.place.line or 1) <= text.count("\n") + text.count("\r") + 1
