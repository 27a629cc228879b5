"""The set of hits neither shrinks nor grows unseen, and what is called out of reach is proven to be."""

from __future__ import annotations

import importlib
import pkgutil
import re
from dataclasses import replace

import pytest
from validation import check, expected, experiments, run, thumb
from validation.practice.fitexperiments import fit_experiments

from pitreckon.citations import bibliography, keys_in
from pitreckon.section.constants import constant

GROUPS = run.groups()
DRIFT = 0.05
"""A number may move this far from the one written down (relative)."""


@pytest.fixture(scope="module")
def written() -> dict[expected.Key, expected.Expected]:
    return expected.read()


@pytest.mark.kernel
@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.name)
def test_checks_come_out_as_written_down(group, written):
    faults = []
    for result in check.run(group):
        was = written[expected.key_of(result)]
        if result.verdict != was.verdict:
            faults.append(
                f"{result.check.says}: {result.value:.4g} is a {result.verdict} (wanted {result.check.wanted}), it was "
                f"a {was.verdict}; if that is meant, run make validate"
            )
        elif abs(result.value - was.value) > DRIFT * abs(was.value) + 0.01:
            faults.append(f"{result.check.says}: {result.value:.4g}, {was.value:.4g} is written down")
        if result.role != was.role:
            faults.append(f"{result.check.says} is {result.role}, {was.role} is written down")
    assert not faults, "\n".join(faults)


def test_enough_of_the_published_rows_hit(written):
    """46 of the 64 rows that no fit had seen before the joint calibration; those it has seen count, and are marked."""
    names = {g.name for g in (*run.trade.GROUPS, *run.published()) if g.role == "test"}
    rows = [was for (group, _), was in written.items() if group in names]
    assert len(rows) == 64
    assert sum(was.verdict == "hit" for was in rows) >= run.ASKED


def test_the_table_is_of_these_checks(written):
    assert set(written) == {(group.name, each.key) for group in GROUPS for each in group.checks}
    for group in GROUPS:
        for each in group.checks:
            was = written[group.name, each.key]
            assert was.wanted == each.wanted, f"{each.says}: a band is never changed after its row was run"
            assert was.verdict == each.verdict(was.value)


@pytest.mark.kernel
@pytest.mark.parametrize("module", ["lowe_roasts", "vittadini_2005"])
def test_what_is_out_of_reach_is_so_without_any_evaporation(module):
    """Not by name: the same set-up is run with all vapour coefficients at 0, and still misses to the same side."""
    group = importlib.import_module(f"validation.experiments.{module}").GROUP
    bounded = [each for each in group.checks if each.bound is not None]
    assert bounded
    for result in check.run(replace(group, checks=tuple(bounded))):
        assert result.out_of_reach, f"{result.check.says}: {result.bound:.3g} with nothing evaporating"
        assert result.role == "out of reach"
        assert result.value == pytest.approx(result.check.measure()), "evaporation is on again"


def test_a_bound_that_proves_nothing_leaves_the_row_where_it_is():
    row = check.Check("a", "a", "h", 2.0, 3.0, lambda: 5.0, bound=lambda: 4.0)
    group = check.Group("g", check.PRACTICE, "test", (row,))
    assert check.run(group)[0].role == "out of reach"
    for bound in (2.5, 1.0, 6.0, float("nan")):
        assert check.run(replace(group, checks=(replace(row, bound=lambda b=bound: b),)))[0].role == "test"
    hit = replace(row, measure=lambda: 2.5)
    assert check.run(replace(group, checks=(hit,)))[0].role == "test"


def test_what_the_calibration_saw_is_marked_so():
    seen = {(experiment.key.split(".")[0], experiment.check.key) for experiment in fit_experiments()}
    assert seen
    marked = set()
    for info in pkgutil.iter_modules(experiments.__path__):
        group = importlib.import_module(f"validation.experiments.{info.name}").GROUP
        marked |= {(info.name, each.key) for each in group.checks if each.role == "fit"}
    assert marked == seen


@pytest.mark.kernel
def test_the_bone_that_shows_is_a_quarter_inch():
    assert constant("bone_show") == pytest.approx(thumb.bone_show(), rel=thumb.WITHIN)


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.name)
def test_group_is_whole(group, written):
    """Every miss has a reason, every source an entry."""
    keys = [each.key for each in group.checks]
    assert len(set(keys)) == len(keys)
    for each in group.checks:
        assert each.low < each.high
        assert each.reason or written[group.name, each.key].verdict == "hit", each.key
    assert group.source == check.PRACTICE or group.source in bibliography()


def test_experiments_are_named_after_their_source():
    names = [module.name for module in pkgutil.iter_modules(experiments.__path__)]
    assert len(names) >= 10
    for name in names:
        module = importlib.import_module(f"validation.experiments.{name}")
        assert module.GROUP.source in keys_in(module.__doc__)
        assert set(keys_in(module.__doc__)) <= set(bibliography())


def test_page_lists_every_check_and_every_miss(written):
    page = run.README.read_text("utf-8")
    made = page.split(run.BEGIN)[1].split(run.END)[0]
    rows = set(re.findall(r"^\| ([^|]+) \| [^|]+ \| ([^|]+) \| [^|]+ \|(?: [^|]+ \|){1,2} (hit|miss) \|$", made, re.M))
    listed = {
        (group.name, each.says, written[group.name, each.key].verdict) for group in GROUPS for each in group.checks
    }
    assert rows == listed, "run make validate"
    for group in GROUPS:
        for each in group.checks:
            if written[group.name, each.key].verdict == "miss":
                assert f"- **{group.name}**, {each.says}: " in made


def test_a_hit_that_is_lost_is_told():
    row = check.Check("a", "a", "h", 1.0, 2.0, lambda: 3.0)
    group = check.Group("g", check.PRACTICE, "test", (row,))
    result = check.run(group)[0]
    was = expected.Expected("test", "1 to 2", "hit", 1.5, None)
    assert expected.lost([result], {("g", "a"): was}) == [result]
    assert not expected.lost([result], {("g", "a"): replace(was, verdict="miss")})
    assert expected.lost([result], {("g", "a"): replace(was, verdict="miss", role="out of reach")}) == [result]


def test_the_table_reads_back(tmp_path):
    rows = (
        check.Check("a", "a", "h", 1.0, 2.0, lambda: 1.25),
        check.Check("b", "b", "h", 2.0, 3.0, lambda: 5.0, bound=lambda: 4.0),
    )
    results = check.run(check.Group("g", check.PRACTICE, "test", rows))
    expected.write(results, tmp_path / "checks.csv")
    assert expected.read(tmp_path / "checks.csv") == {
        ("g", "a"): expected.Expected("test", "1 to 2", "hit", 1.25, None),
        ("g", "b"): expected.Expected("out of reach", "2 to 3", "miss", 5.0, 4.0),
    }


def test_verdict_needs_a_number_in_range():
    ranged = check.Check("a", "a", "h", 1.0, 2.0, lambda: 1.0)
    assert [ranged.verdict(v) for v in (0.99, 1.0, 2.0, 2.01, float("nan"))] == ["miss", "hit", "hit", "miss", "miss"]
    assert ranged.wanted == "1 to 2"
    assert check.at_most("a", "a", "h", 3.0, lambda: 0.0).wanted == "at most 3"
    assert check.at_least("a", "a", "h", 3.0, lambda: 0.0).verdict(2.9) == "miss"
