"""Every law's docstring has its equation, and the equation is the one that the code has.

The lines under ``Equation::`` are reckoned as they stand, with the arguments of the docstring's own example and the
numbers under ``Numbers::``, and held against what the function gives. So a page of the API cannot tell another law.
"""

from __future__ import annotations

import ast
import doctest
import importlib
import inspect
import math
import pkgutil
import textwrap
from collections.abc import Iterator
from types import FunctionType, ModuleType
from typing import Any

import pytest

import pitreckon.physics
from pitreckon.physics import food

MODULES = [
    importlib.import_module(f"pitreckon.physics.{found.name}")
    for found in pkgutil.iter_modules(pitreckon.physics.__path__)
    if not found.name.startswith("_")
]
LAWS = {
    f"{module.__name__.rpartition('.')[2]}.{name}": law
    for module in MODULES
    for name, law in sorted(vars(module).items())
    if inspect.isfunction(law) and law.__module__ == module.__name__ and not name.startswith("_")
}
"""Every public function of the room."""
WORDS = {name: getattr(math, name) for name in ("exp", "log", "sqrt")} | {
    each.__name__: each for each in (abs, min, max, sum)
}


def block(law: FunctionType, title: str) -> str | None:
    """The indented lines under a title that ends in two colons; None: there is none."""
    lines = iter((inspect.getdoc(law) or "").splitlines())
    for line in lines:
        if line.startswith(title) and line.endswith("::"):
            found = []
            for each in lines:
                if each and not each.startswith(" "):
                    break
                found.append(each)
            return textwrap.dedent("\n".join(found)).strip()
    return None


def numbers(law: FunctionType) -> dict[str, dict[str, float]]:
    """The rows under ``Numbers::`` by their first word, each number by the head of its column."""
    table = block(law, "Numbers")
    if table is None:
        return {}
    (_, *head), *rows = [line.split() for line in table.splitlines()]
    return {name: dict(zip(head, map(float, values), strict=True)) for name, *values in rows}


def examples(law: FunctionType, room: ModuleType) -> Iterator[dict[str, Any]]:
    """Arguments of every call of the law in its own examples."""
    around: dict[str, Any] = dict(vars(room))
    for example in doctest.DocTestParser().get_examples(law.__doc__ or ""):
        tree = ast.parse(example.source)
        if isinstance(tree.body[0], ast.ImportFrom):
            exec(compile(tree, "example", "exec"), around)
        for call in ast.walk(tree):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == law.__name__:
                for meat in ("beef", "chicken", "pork") if "for meat in" in example.source else (None,):
                    given = around | {"meat": meat}
                    values = [eval(compile(ast.Expression(each), "example", "eval"), given) for each in call.args]
                    named = {each.arg: eval(compile(ast.Expression(each.value), "example", "eval"), given)
                             for each in call.keywords}  # fmt: skip
                    bound = inspect.signature(law).bind(*values, **named)
                    bound.apply_defaults()
                    yield bound.arguments


def reckoned(law: FunctionType, given: dict[str, Any], room: ModuleType) -> Any:
    """What the last line of the equation comes to."""
    laws = {name.partition(".")[2]: each for name, each in LAWS.items()}
    words = WORDS | laws | given
    if isinstance(given.get("composition"), food.Composition):
        words["parts"] = list(given["composition"].parts().items())
    for row in (given.get("component"), given.get("meat")):
        words |= numbers(law).get(str(row), {})
    tree = ast.parse(block(law, "Equation") or "")
    words["__builtins__"] = {}
    exec(compile(tree, "equation", "exec"), words)
    last = tree.body[-1]
    assert isinstance(last, ast.Assign)
    return words[ast.unparse(last.targets[0])]


@pytest.mark.parametrize("name", LAWS)
def test_the_equation_is_what_the_function_gives(name: str) -> None:
    law, room = LAWS[name], importlib.import_module(f"pitreckon.physics.{name.partition('.')[0]}")
    text = block(law, "Equation")
    assert text, f"{name} does not say its equation"
    calls = list(examples(law, room))
    assert calls, f"{name} is not called in its own example"
    if name == "vapour.saturation_temperature":
        assert text == "saturation_pressure(temp_c) = pressure_pa, solved for temp_c"
        assert LAWS["vapour.saturation_pressure"](law(2e4)) == pytest.approx(2e4, rel=1e-9)
        return
    for given in calls:
        told, meant = reckoned(law, dict(given), room), law(**given)
        if isinstance(meant, dict):
            assert told == pytest.approx(meant, rel=1e-9)
        else:
            assert told == pytest.approx(tuple(meant) if isinstance(meant, tuple) else meant, rel=1e-9)


def test_the_numbers_are_those_of_the_code() -> None:
    for name, table in (
        ("conductivity_choi_okos", food._CONDUCTIVITY), ("heat_capacity_choi_okos", food._HEAT_CAPACITY),
        ("density_choi_okos", food._DENSITY),
    ):  # fmt: skip
        told = {row: tuple(values.values()) for row, values in numbers(LAWS[f"food.{name}"]).items()}
        cold = told.pop("water<0", None)
        assert told == table
        assert cold in {None, food._SUPERCOOLED_WATER}
    from pitreckon.physics.growth import JUNEJA_2011

    for meat, meant in JUNEJA_2011.items():
        assert tuple(numbers(LAWS["growth.growth_rate_perfringens_juneja"])[meat].values()) == meant[:4]
        assert numbers(LAWS["growth.readiness_perfringens_juneja"])[meat] == {"q": meant[4]}


def test_a_wrong_equation_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    """The test above can fail."""
    law = LAWS["salt.penetration_depth"]
    monkeypatch.setattr(law, "__doc__", (law.__doc__ or "").replace("2 * sqrt", "3 * sqrt"))
    with pytest.raises(AssertionError):
        test_the_equation_is_what_the_function_gives("salt.penetration_depth")
