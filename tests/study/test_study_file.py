"""What a study file asks for is what is simulated; what is wrong in it is told with its line and a remedy."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from pitreckon.cook.read import read_cook
from pitreckon.errors import InputError
from pitreckon.study.asked import asked_of
from pitreckon.study.file import HABIT, STUDY, read_study, study_from_tables, study_from_text
from pitreckon.study.keep import differences
from pitreckon.study.outcomes import OUTCOMES
from pitreckon.study.plan import MOST_CASES, Study
from pitreckon.study.settings import SETTINGS
from pitreckon.study.strange import path_of, strange

EXAMPLES = Path(__file__).parents[2] / "examples"
SUNDAY = EXAMPLES / "sunday-racks"
HEAD = '[study]\nname = "s"\ncook = "sunday-racks.toml"\n'
ALL = (
    HEAD
    + """\
members = 16
seed = 7
keep = ["ready", "loss"]

[grid]
set = ["225 F", "135 C"]
habits = ["watchful", "busy"]

[[together]]
cut = "back-ribs"
weight = "2 lb 4 oz"

[[together]]
cut = "st-louis-ribs"
weight = "2 lb 12 oz"

[draws]
count = 10
air = "40 F to 90 F"
wrap = ["none", "foil"]

[habits.watchful]
look_every = "10 min"

[habits.busy]
look_every = "45 min"
late = "20 min"
by_clock = "25 %"
"""
)


def read(text: str) -> Study:
    return study_from_text(text, "s.toml", SUNDAY)


def test_the_example_is_read():
    study = read_study(EXAMPLES / "how-hot" / "how-hot.toml")
    assert (study.cases, study.members, study.item) == (9, 128, "racks")
    assert study.varied == ("set", "wrap")
    assert [study.case(n).label for n in (0, 1, 8)] == [
        "set 225 F; wrap none",
        "set 225 F; wrap foil",
        "set 275 F; wrap paper",
    ]


def test_every_setting_has_its_case_and_its_cook():
    study = read(ALL)
    assert (study.cases, study.rows) == (10 * 2 * 2 * 2, 10 * 2 * 2 * 2 * 16)
    labels = [study.case(n).label for n in range(study.cases)]
    assert len(set(labels)) == study.cases
    assert labels[0] == "draw 1; cut back-ribs; weight 2 lb 4 oz; set 225 F; habits watchful"
    cooks = [study.cook_of(study.case(n)) for n in range(study.cases)]
    assert {cook.items[0].cut for cook in cooks} == {"back-ribs", "st-louis-ribs"}
    assert {round(cook.items[0].mass_kg, 4) for cook in cooks if cook.items[0].cut == "st-louis-ribs"} == {1.2474}
    airs = [cook.weather_air_c for cook in cooks]
    assert len(set(airs)) == study.draws
    assert min(airs) >= 4.4
    assert max(airs) <= 32.3
    kinds = {tuple(stage.kind for stage in cook.items[0].stages) for cook in cooks}
    assert kinds == {("open", "open", "sauced", "rest", "hold"), ("open", "wrapped", "sauced", "rest", "hold")}


def test_draws_are_even_and_do_not_hang_on_each_other():
    """Latin hypercube sampling (McKay, Beckman and Conover 1979): each of n equal parts is hit once."""
    study = read(ALL)
    airs = sorted(study.case(n * 8)["air"].meant for n in range(study.draws))
    low, high = (40 - 32) / 1.8, (90 - 32) / 1.8
    assert [int((air - low) / (high - low) * study.draws) for air in airs] == list(range(study.draws))
    wraps = [study.case(n * 8)["wrap"].text for n in range(study.draws)]
    assert (wraps.count("none"), wraps.count("foil")) == (5, 5)
    fewer = read(ALL.replace('wrap = ["none", "foil"]\n', ""))
    assert [fewer.case(n * 8)["air"] for n in range(10)] == [study.case(n * 8)["air"] for n in range(10)]


def test_members_are_shared_or_each_setting_s_own():
    shared = read(HEAD + '[grid]\nset = ["225 F", "275 F"]\n')
    assert shared.same_members
    assert {shared.seed_of(shared.case(n)) for n in range(2)} == {1}
    own = replace(shared, same_members=False)
    assert len({own.seed_of(own.case(n)) for n in range(2)}) == 2
    more = read(HEAD + 'same_members = false\n[grid]\nset = ["250 F", "225 F", "275 F"]\n')
    by_label = {more.case(n).label: more.seed_of(more.case(n)) for n in range(3)}
    for n in range(2):  # another value changes nothing for those that are there
        assert by_label[own.case(n).label] == own.seed_of(own.case(n))
    assert not read(ALL).same_members  # with draws each has its own


def test_a_mapping_with_a_cook_says_the_same():
    cook = read_cook(SUNDAY / "sunday-racks.toml")
    tables: dict[str, Any] = {"study": {"name": "s", "cook": cook}, "grid": {"set": ["225 F", "275 F"]}}
    assert study_from_tables(tables, Path()) == read(HEAD + '[grid]\nset = ["225 F", "275 F"]\n')
    tables["study"]["cook"] = SUNDAY / "sunday-racks.toml"
    assert study_from_tables(tables, Path()).cook == cook


def test_what_differs_is_named():
    one, two = read(ALL), read(ALL.replace("seed = 7", "seed = 8").replace('"225 F"', '"230 F"'))
    assert differences(asked_of(one), asked_of(one)) == []
    told = differences(asked_of(one), asked_of(two))
    assert told == ["seed was 7, is 8", 'grid.set was ["225 F", "135 C"], is ["230 F", "135 C"]']
    lighter = replace(one, cook=replace(one.cook, altitude_m=10.0))
    assert differences(asked_of(one), asked_of(lighter)) == ["cook.altitude_m was 1524.0, is 10.0"]


@pytest.mark.parametrize(
    ("wrong", "says", "right"),
    [
        ("", "the file is empty", HEAD),
        ("[grid]\nset = ['225 F']", "there is no [study]", HEAD),
        (HEAD.replace("sunday-racks", "nothing"), "line 3, field 'study: cook': there is no file", HEAD),
        (HEAD + 'item = "butt"', "'butt' is no item of this cook", HEAD + 'item = "racks"'),
        (HEAD + "members = 4", "members is 4. It lies between 8 and 4096", HEAD + "members = 8"),
        (HEAD + "seed = -1", "It lies between 0 and", HEAD + "seed = 0"),
        (HEAD + "keep = []", "nothing is kept", HEAD + 'keep = ["ready"]'),
        (HEAD + 'keep = ["taste"]', "'taste' is nothing that can be kept", HEAD + 'keep = ["ready"]'),
        (HEAD + '[grid]\nsett = "225 F"', "Did you mean 'set'", HEAD + '[grid]\nset = "225 F"'),
        (HEAD + "[grid]\nset = []", "line 5, field 'grid: set': set has no value", HEAD + '[grid]\nset = ["225 F"]'),
        (HEAD + '[grid]\nset = "225"', "a temperature with no unit", HEAD + '[grid]\nset = "225 F"'),
        (HEAD + '[grid]\nset = ["225 F", "225 F"]', "stands there twice", HEAD + '[grid]\nset = ["225 F"]'),
        (
            HEAD + '[grid]\npit = ["kettle", "Kettle"]',
            "line 5, field 'grid: pit': a value of pit stands there twice",
            HEAD + '[grid]\npit = ["kettle"]',
        ),
        (
            HEAD + '[[together]]\nair = "40 F"\n[[together]]\nair = "40 F"',
            "this row stands there twice",
            HEAD + '[[together]]\nair = "40 F"\n[[together]]\nair = "50 F"',
        ),
        (HEAD + '[grid]\ndone_when = "serve"', "'serve' is a time of the clock", HEAD + '[grid]\ndone_when = "90 min"'),
        (HEAD + '[grid]\nset = "900 F"', "set = 900 F: set is 900 °F. It lies between", HEAD + '[grid]\nset = "700 F"'),
        (
            HEAD + '[grid]\nhabits = "busy"',
            "there are no habits 'busy'",
            HEAD + '[grid]\nhabits = "busy"\n[habits.busy]',
        ),
        (HEAD + '[habits.busy]\nlate = "9 h"', "It lies between", HEAD + '[habits.busy]\nlate = "1 h"'),
        (HEAD + '[draws]\nair = "40 F to 90 F"', "count is missing", HEAD + '[draws]\ncount = 3\nair = "40 F to 90 F"'),
        (HEAD + "[draws]\ncount = 0", "count is 0", HEAD + "[draws]\ncount = 1"),
        (
            HEAD + '[draws]\ncount = 3\nair = "40 F"',
            "does not say what it is drawn from",
            HEAD + '[draws]\ncount = 3\nair = ["40 F"]',
        ),
        (
            HEAD + '[draws]\ncount = 3\nair = "40 F to 40 F"',
            "both ends of air are the same",
            HEAD + '[draws]\ncount = 3\nair = "40 F to 90 F"',
        ),
        (
            HEAD + '[draws]\ncount = 3\nwrap = "none to foil"',
            "Write a list of what it may be",
            HEAD + '[draws]\ncount = 3\nwrap = ["none"]',
        ),
        (
            HEAD + '[grid]\nair = "40 F"\n[draws]\ncount = 3\nair = ["50 F"]',
            "air is varied in two ways",
            HEAD + '[grid]\nair = "40 F"',
        ),
        (
            HEAD + '[[together]]\nair = "40 F"\n[[together]]\nset = "225 F"',
            "does not set the same as the first row",
            HEAD + '[[together]]\nair = "40 F"\n[[together]]\nair = "50 F"',
        ),
        (HEAD + f"[draws]\ncount = {MOST_CASES + 1}", "A study takes 100,000 at the most", HEAD + "[draws]\ncount = 9"),
        (
            HEAD + "members = 4000\n[draws]\ncount = 9000",
            "A study takes 20,000,000 at the most",
            HEAD + "members = 40\n[draws]\ncount = 9",
        ),
    ],
)
def test_what_is_wrong_is_told_and_mended_as_it_says(wrong: str, says: str, right: str):
    with pytest.raises(InputError) as raised:
        read(wrong)
    assert says in str(raised.value)
    assert read(right).cases >= 1


def test_a_course_that_has_no_wrap_cannot_be_wrapped(tmp_path):
    bare = (SUNDAY / "sunday-racks.toml").read_text("utf-8").split("  [[item.stage]]")[0]
    bare += '  [[item.stage]]\n  do = "open"\n  until = "tender"\n'
    (tmp_path / "bare.toml").write_text(bare)
    for name, value in (("wrap", "foil"), ("wrap_when", "colour")):
        with pytest.raises(InputError, match="nothing is wrapped in this course"):
            study_from_text(f'[study]\nname = "s"\ncook = "bare.toml"\n[grid]\n{name} = "{value}"', "s", tmp_path)
    done = study_from_text('[study]\nname = "s"\ncook = "bare.toml"\n[grid]\ndone_when = "190 F"', "s", tmp_path)
    assert done.cook_of(done.case(0)).items[0].stages[0].until.core_c == pytest.approx(87.78, abs=0.01)


def test_what_cannot_be_put_together_is_told_before_anything_is_simulated(tmp_path):
    """A cut's own course may have no wrap: a worker found it after hours, and the study could not be finished."""
    head = (SUNDAY / "sunday-racks.toml").read_text("utf-8").split("  [[item.stage]]")[0]
    (tmp_path / "usual.toml").write_text(head)  # back ribs: their usual course wraps them
    (tmp_path / "birds.toml").write_text(head.replace("back-ribs", "chicken-half"))

    def asked(cook: str, cuts: str) -> Study:
        tables = (
            f'[study]\nname = "s"\ncook = "{cook}"\n[grid]\nweight = ["2 lb"]\ncut = {cuts}\nwrap = ["none", "foil"]'
        )
        return study_from_text(tables, "s.toml", tmp_path)

    with pytest.raises(InputError) as raised:
        asked("usual.toml", '["back-ribs", "chicken-half"]')
    assert str(raised.value) == (
        "s.toml, line 7, field 'grid: wrap': cut = chicken-half, wrap = none: nothing is wrapped in this course, the "
        'usual one of chicken-half. Give the item a stage with do = "wrapped" in its cook, or leave this cut out.'
    )
    study = asked("birds.toml", '["back-ribs", "spareribs"]')  # the cook's own cut is in none of them
    assert {stage.wrap for n in range(study.cases) for stage in study.cook_of(study.case(n)).items[0].stages} == {
        None,
        "foil",
    }


def test_what_is_far_from_usual_is_told_once_with_where_it_stands():
    study = read(HEAD + '[grid]\nweight = ["2 lb", "2 kg", "20 lb"]\nset = ["250 F", "120 F"]\nair = ["70 F", "130 F"]')
    told = [(name, words.split(" is unusual")[0]) for name, words in strange(study, "F")]
    assert told == [("air", "130 °F"), ("set", "a pit set to 120 °F"), ("weight", "4 lb 7 oz"), ("weight", "20 lb")]
    assert path_of(study, "set") == ("grid", "set")
    drawn = read(HEAD + '[draws]\ncount = 200\nweight = "1 kg to 2 lb"\nair = "40 F to 90 F"\nset = "225 F to 275 F"')
    assert list(strange(drawn, "F")) == []


def test_the_page_of_the_file_has_every_key_and_column():
    page = (EXAMPLES.parent / "docs" / "reference" / "study-file.md").read_text("utf-8")
    for setting in SETTINGS.values():
        drawn = "yes" if setting.number else "from a list"
        row = f"| `{setting.name}` | `{setting.key.example}` | {setting.means} | `{setting.column}` | {drawn} |"
        assert row in page
    for outcome in OUTCOMES.values():
        assert f"| `{outcome.name}` | `{outcome.column}` | {outcome.means} |" in page
    for key in (*STUDY.names, *HABIT.names):
        assert f"| `{key}` |" in page
    assert len(SETTINGS) == 16
    columns = ["case", "member", *(s.column for s in SETTINGS.values()), *(o.column for o in OUTCOMES.values())]
    assert len(set(columns)) == len(columns)
