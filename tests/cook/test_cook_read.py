"""Cook files: what a good one gives, and one clear message for each way to get it wrong."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pitreckon.cook import StagePlan, TripCosts, Until
from pitreckon.cook.read import cook_from_text, read_cook
from pitreckon.cook.until import parse_until
from pitreckon.errors import InputError
from pitreckon.forms.names import KnownNames
from pitreckon.text.file import decode
from pitreckon.text.toml import Lines

unhurried = settings(deadline=None)  # the machine may be busy; what is tested is the answer
KNOWN = KnownNames(
    cuts={"st-louis-ribs": "st-louis-ribs", "St. Louis cut": "st-louis-ribs", "boston-butt": "boston-butt"},
    pits={"pellet-cooker": "pellet-cooker", "kettle": "kettle", "offset-log-burner": "offset-log-burner"},
    wraps={"foil": "foil", "paper": "paper", "tray": "tray"},
)
GOOD = """\
[cook]
name = "harvest table"
zone = "America/Chicago"
serve = "2026-10-10 18:00"

[[pit]]
name = "big box"
kind = "pellet-cooker"
set = "275 F"

[[item]]
name = "racks"
cut = "st-louis-ribs"
pieces = 3
weight = "2 lb 12 oz"
put_on = "2026-10-10 13:00"

[[item.stage]]
do = "open"
until = "colour"

[[item.stage]]
do = "wrapped"
wrap = "foil"
until = "tender"

[[item]]
name = "butt"
cut = "boston-butt"
weight = "8 lb"
put_on = "2026-10-10 02:00"

[[item.stage]]
do = "rest"
until = "45 min"
"""
DOC = Path(__file__).parents[2] / "docs" / "reference" / "cook-file.md"


def line_of(needle: str, text: str = GOOD, nth: int = 1) -> int:
    """The line of the nth occurrence, counted from 1."""
    found = [n for n, line in enumerate(text.splitlines(), start=1) if needle in line]
    return found[nth - 1]


def fault_of(text: str) -> InputError:
    with pytest.raises(InputError) as caught:
        cook_from_text(text, "supper.toml", KNOWN)
    return caught.value


def test_a_good_file() -> None:
    cook = cook_from_text(GOOD, "supper.toml", KNOWN)
    assert cook.name == "harvest table"
    assert cook.serve_utc == datetime(2026, 10, 10, 23, tzinfo=UTC)
    assert (cook.altitude_m, cook.weather_air_c, cook.weather_rh) == (0.0, None, None)
    racks, butt = cook.items
    assert racks.pit == butt.pit == "big box", "a cook with one pit need not say which"
    assert racks.mass_kg == pytest.approx(2.75 * 0.45359237)
    assert racks.put_on_utc == datetime(2026, 10, 10, 18, tzinfo=UTC)
    assert racks.stages == (
        StagePlan("open", Until("colour")),
        StagePlan("wrapped", Until("tender"), wrap="foil"),
    )
    assert (butt.pieces, butt.start_c, butt.thickness_factor, butt.salt_g_per_kg) == (1, 4.0, 1.0, None)
    assert butt.stages == (StagePlan("rest", Until("minutes", 2700.0)),)


def test_the_example_of_the_reference_is_a_cook(tmp_path: Path) -> None:
    example = re.search(r"```toml\n(.*?)```", DOC.read_text(encoding="utf-8"), re.DOTALL)
    assert example
    path = tmp_path / "firehouse.toml"
    path.write_text(example[1], encoding="utf-8")
    cook = read_cook(path, KnownNames.from_catalog())
    assert cook == read_cook(path), "the catalog's names are the default"
    racks, butt = cook.items
    assert (cook.altitude_m, cook.weather_rh) == (pytest.approx(243.84), 0.6)
    assert (racks.thickness_factor, racks.sugar, racks.salt_g_per_kg) == (pytest.approx(2 / 3), 1.0, 15.0)
    assert [stage.kind for stage in racks.stages] == ["open", "wrapped", "sauced", "hold"]
    assert (racks.stages[1].liquid_kg, racks.stages[2].glaze_kg) == (pytest.approx(0.06), pytest.approx(0.04))
    assert butt.stages[0].until.core_c == pytest.approx(73.889, abs=1e-3)
    assert butt.stages[3].until.at_utc == cook.serve_utc
    assert butt.stages[3].air_c == pytest.approx(65.556, abs=1e-3)


@pytest.mark.parametrize("head", ["[cook]", "[[pit]]", "[[item]]", "[[item.stage]]", "[trips]"])
def test_the_reference_lists_every_key_that_is_read_and_no_other(head: str) -> None:
    """The reader's own list comes from its answer to an unknown key."""
    sections = re.split(r"^## ", DOC.read_text(encoding="utf-8"), flags=re.MULTILINE)
    section = next(part for part in sections if part.startswith(head)).partition("`until` is one text")[0]
    documented = set(re.findall(r"^\| `(\w+)` \|", section, re.MULTILINE))
    text = re.sub(rf"^{re.escape(head)}$", f"{head}\nzzzz = 1", GOOD + "\n[trips]\n", count=1, flags=re.MULTILINE)
    listed = set(re.findall(r"\w+", fault_of(text).remedy.partition(":")[2]))
    assert documented == listed - {"stage"}, "stage is a section of its own"


def test_what_trips_are_worth() -> None:
    assert cook_from_text(GOOD, "supper.toml", KNOWN).trips == TripCosts()
    table = '\n[trips]\nwalk = "40 min"\nlate = "30 s"\ntoo_late = "2 min"\n'
    assert cook_from_text(GOOD + table, "supper.toml", KNOWN).trips == TripCosts(2400.0, 300.0, 0.5, 2.0)
    nothing = cook_from_text(GOOD + '\n[trips]\nwalk = "0 min"\nlid = "0 min"\n', "supper.toml", KNOWN).trips
    assert (nothing.walk_s, nothing.lid_s) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("rows", "field", "trouble"),
    [
        ('walk = "15"', "trips: walk", "15"),
        ("walk = 15", "trips: walk", "15"),
        ('lid = "5 h"', "trips: lid", "lid is 5 h"),
        ('late = "10 min"', "trips: too_late", "costs less than a minute late"),
        ('too_late = "2 s"', "trips: too_late", "too_late is 2 s"),
        ('wlak = "5 min"', "trips: wlak", "no key of trips"),
    ],
)
def test_faults_of_trips(rows: str, field: str, trouble: str) -> None:
    text = f"{GOOD}\n[trips]\n{rows}\n"
    fault = fault_of(text)
    line = line_of("[trips]", text) if field == "trips: too_late" and "too" not in rows else line_of(rows, text)
    assert (fault.place.line, fault.place.field) == (line, field)
    assert trouble in fault.trouble


def test_trips_is_one_table() -> None:
    assert "[trips]" in fault_of(GOOD + "\n[[trips]]\n").remedy


BAD = [
    # what was, what is put there, the line on which it is reported, field, words of trouble and of remedy
    ('cut = "st-louis-ribs"', 'cut = "st-luis-ribs"', "cut =", "item 1: cut", "no cut", "st-louis-ribs"),
    (
        'kind = "pellet-cooker"',
        'kind = "pelet cooker"',
        "kind =",
        "pit 1: kind",
        "no kind of pit",
        "pellet-cooker",
    ),
    ('wrap = "foil"', 'wrap = "foyl"', "wrap =", "item 1, stage 2: wrap", "no wrap", "foil"),
    ('weight = "2 lb 12 oz"\n', "", "[[item]]", "item 1: weight", "weight is missing", 'weight = "2 lb'),
    (
        'weight = "2 lb 12 oz"',
        'weight = "-2 lb"',
        "weight =",
        "item 1: weight",
        "negative weight",
        "above zero",
    ),
    ('weight = "2 lb 12 oz"', "weight = 2.75", "weight =", "item 1: weight", "no unit", "4 lb 6 oz"),
    ('weight = "2 lb 12 oz"', 'weight = "0 lb"', "weight =", "item 1: weight", "weight is 0 g", "between"),
    ('weight = "2 lb 12 oz"', "weight = true", "weight =", "item 1: weight", "not a text", "weight ="),
    ('weight = "2 lb 12 oz"', 'weight = "2,75 lb"', "weight =", "item 1: weight", "comma", "point"),
    ('set = "275 F"', 'set = "275"', "set =", "pit 1: set", "no unit", "275 F"),
    ('set = "275 F"', "set = 275", "set =", "pit 1: set", "no unit", "275 F"),
    ('set = "275 F"', 'set = "+275 F"', "set =", "pit 1: set", "difference", "275 F"),
    ('set = "275 F"', 'set = "2750 F"', "set =", "pit 1: set", "2750 °F", "50 °F and 752 °F"),
    ("18:00", "11:00", "serve =", "cook: serve", "not after the start", "later serving time"),
    ("18:00", "25:00", "serve =", "cook: serve", "not a time of the day", "00:00"),
    ("2026-10-10 13:00", "13:00", "put_on =", "item 1: put_on", "not a date and time", "2026-10-10"),
    ("pieces = 3", "pieces = 0", "pieces =", "item 1: pieces", "pieces is 0", "1 or more"),
    ("pieces = 3", "pieces = -1", "pieces =", "item 1: pieces", "pieces is -1", "1 or more"),
    ("pieces = 3", 'pieces = "3"', "pieces =", "item 1: pieces", "whole number", "pieces = 3"),
    (
        'name = "butt"',
        'name = "Racks"',
        'name = "Racks"',
        "item 2: name",
        "also the name of item 1",
        "its own",
    ),
    ("America/Chicago", "America/Chcago", "zone =", "cook: zone", "not a time zone", "America/Chicago"),
    ('zone = "America/Chicago"\n', "", "[cook]", "cook: zone", "zone is missing", "America/Chicago"),
    (
        'put_on = "2026-10-10 02:00"',
        'puton = "2026-10-10 02:00"',
        "puton =",
        "item 2: puton",
        "no key",
        "put_on",
    ),
    ("[[pit]]", "[[pitt]]", "[[pitt]]", "file: pitt", "no key", "pit"),
    ("[[pit]]", "[pit]", "[pit]", "file: pit", "not a list", "[[pit]]"),
    ('until = "tender"', 'until = "soft"', 'until = "soft"', "item 1, stage 2: until", "wait for", "203 F"),
    (
        'until = "tender"',
        'until = "glaze"',
        'until = "glaze"',
        "item 1, stage 2: until",
        "cannot set",
        "sauced",
    ),
    ('until = "tender"', 'until = "900 F"', 'until = "900 F"', "item 1, stage 2: until", "900 °F", "230 °F"),
    (
        'until = "tender"',
        'until = "2026-10-10 09:00"',
        'until = "2026',
        "item 1, stage 2: until",
        "before",
        "later",
    ),
    ('wrap = "foil"\n', "", "[[item.stage]]", "item 1, stage 2: wrap", "no wrap", "foil"),
    ('do = "rest"', 'do = "hold"', "[[item.stage]]", "item 2, stage 1: air", "no air temperature", "150 F"),
    ('do = "rest"', 'do = "nap"', 'do = "nap"', "item 2, stage 1: do", "nothing a stage can do", "hold"),
]


@pytest.mark.parametrize(("was", "now", "at", "field", "trouble", "remedy"), BAD)
def test_each_fault_names_file_line_field_and_remedy(
    was: str, now: str, at: str, field: str, trouble: str, remedy: str
) -> None:
    assert was in GOOD
    text = GOOD.replace(was, now, 1)
    fault = fault_of(text)
    stage = re.search(r"stage (\d)", field)
    if at == "[[item.stage]]" and stage:
        line = line_of(at, text, nth=2 if field.startswith("item 1") else 3)
    else:
        line = line_of(at, text)
    assert (fault.place.file, fault.place.line, fault.place.field) == ("supper.toml", line, field)
    assert trouble in fault.trouble
    assert remedy in fault.remedy
    assert str(fault).startswith(f"supper.toml, line {line}, field '{field}': ")


def test_a_cook_with_two_pits_must_say_which() -> None:
    text = GOOD.replace("[[item]]", '[[pit]]\nname = "kettle"\nkind = "kettle"\nset = "250 F"\n\n[[item]]', 1)
    fault = fault_of(text)
    assert (fault.place.line, fault.place.field) == (line_of("[[item]]", text), "item 1: pit")
    assert "big box, kettle" in fault.remedy
    named = text.replace('name = "racks"', 'name = "racks"\npit = "Ketle"')
    assert fault_of(named).place.line == line_of("pit =", named)
    right = text.replace('name = "racks"', 'name = "racks"\npit = "KETTLE"').replace(
        'name = "butt"', 'name = "butt"\npit = "big box"'
    )
    assert [item.pit for item in cook_from_text(right, "f", KNOWN).items] == ["kettle", "big box"]


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("", 1, "empty"),
        ("# only a comment\n", 1, "empty"),
        ("[cook]\nname = supper\n", 2, "not TOML"),
        ("[cook]\nname = 'a'\nname = 'b'\n", 3, "not TOML"),
        ('[cook]\nname = """a\n\n', 3, "not TOML"),
        ("[cook]\nserve = 2026-13-45 10:00:00\n", None, "not TOML"),
        ("x = " + "[" * 5000, None, "nested"),
        ("x = 1" + "0" * 5000, None, "not TOML"),
        ("[[pit]]\nname = 'a'\nkind = 'kettle'\nset = '250 F'\n", 1, "no [cook]"),
        ("cook = 3\n", 1, "no [cook]"),
        (GOOD.partition("[[item]]")[0], 1, "no items"),
        (GOOD[: GOOD.index("[[pit]]")] + GOOD[GOOD.index("[[item]]") :], 6, "pit is missing"),
    ],
)
def test_files_that_are_no_cook(text: str, line: int | None, words: str) -> None:
    fault = fault_of(text)
    assert fault.place.file == "supper.toml"
    assert words in fault.trouble
    if line is not None:
        assert fault.place.line == line


def test_a_file_that_is_not_utf8_says_where(tmp_path: Path) -> None:
    path = tmp_path / "supper.toml"
    raw = GOOD.encode().replace(b"racks", b"r\xe4cks")
    path.write_bytes(raw)
    with pytest.raises(InputError, match="not UTF-8") as caught:
        read_cook(path, KNOWN)
    assert (caught.value.place.file, caught.value.place.line) == (str(path), line_of("racks"))
    assert f"byte {raw.index(0xE4) + 1}" in caught.value.trouble
    assert "UTF-8" in caught.value.remedy


def test_files_that_are_not_there_or_no_files(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_cook(tmp_path / "none.toml", KNOWN)
    with pytest.raises(InputError, match="cannot be read"):
        read_cook(tmp_path, KNOWN)


def test_a_mark_at_the_head_of_the_file_and_windows_line_ends_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "supper.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert read_cook(path, KNOWN) == cook_from_text(GOOD, "", KNOWN)
    bad = GOOD.replace("2 lb 12 oz", "2 lb 12").replace("\n", "\r\n")
    assert fault_of(bad).place.line == line_of("weight =")


def test_dates_without_quotes_are_times_too() -> None:
    text = GOOD.replace('"2026-10-10 18:00"', "2026-10-10T18:00:00").replace(
        '"2026-10-10 13:00"', "2026-10-10T13:00:00-05:00"
    )
    assert cook_from_text(text, "f", KNOWN) == cook_from_text(GOOD, "f", KNOWN)


@pytest.mark.parametrize("spelling", ["st-louis-ribs", "St. Louis cut", "ST LOUIS RIBS", "st_louis_ribs"])
def test_spellings_of_a_cut(spelling: str) -> None:
    assert KNOWN.cut(spelling) == "st-louis-ribs"


def test_names_from_the_catalog_hold_every_key() -> None:
    from pitreckon import catalog

    known = KnownNames.from_catalog()
    for key, cut in catalog.cuts().items():
        assert known.cut(key) == known.cut(cut.name) == key
    assert {known.pit(key) for key in catalog.pits()} == set(catalog.pits())
    assert {known.wrap(key) for key in catalog.wraps()} == set(catalog.wraps())
    assert known.wrap("none") == "none"
    with pytest.raises(InputError, match="boston-butt"):
        known.cut("bostn but")


def test_the_courses_of_the_catalog_are_written_in_the_words_of_a_cook_file() -> None:
    from pitreckon import catalog

    courses = [cut.course for cut in catalog.cuts().values()]
    assert courses
    assert all(courses)
    for stage in (stage for course in courses for stage in course):
        assert parse_until(stage.until)


@pytest.mark.parametrize(
    ("text", "until"),
    [
        ("colour", Until("colour")),
        ("Color", Until("colour")),
        ("amber", Until("colour", 0.55)),
        ("red brown", Until("colour", 0.8)),
        ("tender", Until("tender")),
        ("some drag", Until("tender", 0.75)),
        ("glaze", Until("glaze")),
        ("203 F", Until("core", 95.0)),
        ("2h30", Until("minutes", 9000.0)),
        ("45 min", Until("minutes", 2700.0)),
    ],
)
def test_what_a_stage_can_wait_for(text: str, until: Until) -> None:
    assert parse_until(text) == until


def test_clock_times_in_a_course_follow_each_other_into_the_next_day() -> None:
    stages = "".join(
        f'[[item.stage]]\ndo = "open"\nuntil = "{until}"\n' for until in ("22:00", "4:00", "2026-10-11 09:00")
    )
    text = (
        GOOD[: GOOD.index("[[item.stage]]")].replace("18:00", "18:00").replace("2026-10-10 18:00", "2026-10-11 18:00")
    )
    item = cook_from_text(text + stages, "f", KNOWN).items[0]
    assert [stage.until.at_utc for stage in item.stages] == [
        datetime(2026, 10, 11, 3, tzinfo=UTC),
        datetime(2026, 10, 11, 9, tzinfo=UTC),
        datetime(2026, 10, 11, 14, tzinfo=UTC),
    ]


def test_until_serve_needs_a_serving_time() -> None:
    text = GOOD.replace("45 min", "serve")
    assert cook_from_text(text, "f", KNOWN).items[1].stages[0].until.at_utc == datetime(2026, 10, 10, 23, tzinfo=UTC)
    without = text.replace('serve = "2026-10-10 18:00"\n', "")
    assert "no serving time" in fault_of(without).trouble
    with pytest.raises(InputError, match="clock time, and there is no day"):
        parse_until("18:00")


def test_lines_are_found_through_everything_toml_allows() -> None:
    text = '''# [[item]] in a comment
title = "[[item]] in a text"  # weight = 1
note = """
weight = 2
[[item]]
""" # after
lists = [ "a", # ]
  "b = 3", [1, 2],
]
[[item]]
weight = 1
"quoted key" = 2
a.b = 3
[[ item ]]   # the second
inline = { weight = 4, deep = { x = 5 } }
raw = \'\'\'
[cook]
\'\'\'
weight = 6
[[item.stage]]
do = 1
[item.stage.more]
x = 1
[[item.stage]]
do = 2
[cook]
name = 1
'''
    lines = Lines(text)
    expected = {
        ("note",): 3,
        ("item", 0): 10,
        ("item", 0, "weight"): 11,
        ("item", 0, "quoted key"): 12,
        ("item", 0, "a", "b"): 13,
        ("item", 0, "missing"): 10,
        ("item", 1): 14,
        ("item", 1, "inline", "weight"): 15,
        ("item", 1, "weight"): 19,
        ("item", 1, "stage", 0, "do"): 21,
        ("item", 1, "stage", 0, "more", "x"): 23,
        ("item", 1, "stage", 1, "do"): 25,
        ("cook", "name"): 27,
        ("nowhere",): 1,
    }
    assert {path: lines.of(path) for path in expected} == expected


@unhurried
@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(lambda t: t.encode("utf-8", "surrogatepass"))))
def test_any_bytes_are_a_cook_or_an_input_error(raw: bytes) -> None:
    with pytest.raises(InputError):
        cook_from_text(decode(raw, "f"), "f", KNOWN)


pieces = st.one_of(
    st.sampled_from(
        [
            '"',
            "'",
            "[",
            "]",
            "[[item]]",
            "[[item.stage]]",
            "=",
            "\n",
            "-1",
            "275",
            "nan",
            "{",
            "}",
            "#",
            "1e400",
        ]
    ),
    st.sampled_from(["2026-10-10", "18:00", ",", "\\", "\0", "\ufeff", "true", "until", "weight", "zone", '"""', "é"]),
    st.text(max_size=3),
)


@unhurried
@given(st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 12), pieces), min_size=1, max_size=4))
def test_a_good_file_with_damage_is_a_cook_or_an_input_error(damage) -> None:
    text = GOOD
    for at, cut, piece in damage:
        text = text[:at] + piece + text[at + cut :]
    fault = None
    try:
        cook_from_text(text, "f", KNOWN)
    except InputError as error:
        fault = error
    if fault is not None:
        assert fault.place.file == "f"
        assert fault.remedy
        assert 1 <= (fault.place.line or 1) <= text.count("\n") + text.count("\r") + 1
