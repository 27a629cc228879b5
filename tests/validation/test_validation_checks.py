"""The set of hits neither shrinks nor grows unseen, and the constants are those that the fit gives."""

from __future__ import annotations

import re

import pytest
from validation import check, fit, run

from pitreckon.citations import bibliography, keys_in
from pitreckon.section.constants import constant

GROUPS = run.groups()
DRIFT = 0.05
"""A number may move this far from the one written beside its check (relative)."""


@pytest.mark.kernel
@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.name)
def test_checks_come_out_as_expected(group):
    faults = []
    for result in check.run(group):
        expected, gave = group.gives[result.check.key]
        if result.verdict != expected:
            faults.append(
                f"{result.check.says}: {result.value:.4g} is a {result.verdict} (wanted {result.check.wanted}), "
                f"a {expected} was expected; if that is meant, write it beside the check and run make validate"
            )
        elif abs(result.value - gave) > DRIFT * abs(gave) + 0.01:
            faults.append(f"{result.check.says}: {result.value:.4g}, {gave:.4g} is written beside the check")
    assert not faults, "\n".join(faults)


@pytest.mark.kernel
def test_fit_gives_the_constants():
    roots = fit.roots()
    assert roots
    for name, root in roots.items():
        assert constant(name) == pytest.approx(root, rel=fit.WITHIN), f"write {root:.3g} for {name}"


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.name)
def test_group_is_whole(group):
    """Every check has an expectation, every miss a reason, every source an entry that its file names."""
    keys = [each.key for each in group.checks]
    assert len(set(keys)) == len(keys)
    assert set(group.gives) == set(keys)
    for each in group.checks:
        assert each.low < each.high
        assert each.reason or group.gives[each.key][0] == "hit", each.key
    assert group.source == check.PRACTICE or group.source in bibliography()


def test_experiments_are_named_after_their_source():
    import importlib
    import pkgutil

    from validation import experiments

    names = [module.name for module in pkgutil.iter_modules(experiments.__path__)]
    assert len(names) >= 10
    for name in names:
        module = importlib.import_module(f"validation.experiments.{name}")
        assert module.GROUP.source in keys_in(module.__doc__)
        assert set(keys_in(module.__doc__)) <= set(bibliography())


def test_page_lists_every_check_and_every_miss():
    page = run.README.read_text("utf-8")
    made = page.split(run.BEGIN)[1].split(run.END)[0]
    assert "was expected" not in made
    rows = set(re.findall(r"^\| ([^|]+) \| [^|]+ \| ([^|]+) \| [^|]+ \| [^|]+ \| (hit|miss) \|$", made, re.M))
    listed = {(group.name, each.says, group.gives[each.key][0]) for group in GROUPS for each in group.checks}
    assert rows == listed, "run make validate"
    for group in GROUPS:
        for each in group.checks:
            if group.gives[each.key][0] == "miss":
                assert f"- **{group.name}**, {each.says}: " in made


def test_verdict_needs_a_number_in_range():
    ranged = check.Check("a", "a", "h", 1.0, 2.0, lambda: 1.0)
    assert [ranged.verdict(v) for v in (0.99, 1.0, 2.0, 2.01, float("nan"))] == ["miss", "hit", "hit", "miss", "miss"]
    assert ranged.wanted == "1 to 2"
    assert check.at_most("a", "a", "h", 3.0, lambda: 0.0).wanted == "at most 3"
    assert check.at_least("a", "a", "h", 3.0, lambda: 0.0).verdict(2.9) == "miss"
