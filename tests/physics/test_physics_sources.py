"""The habits of the room and of the oracles: every law names its source, its units and a worked value, and knows no
arrays."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest
import tests.oracles

import pitreckon.physics
from pitreckon.citations import cite, keys_in, sources_of

MODULES = [
    importlib.import_module(f"{room.__name__}.{found.name}")
    for room in (pitreckon.physics, tests.oracles)
    for found in pkgutil.iter_modules(room.__path__)
    if not found.name.startswith(("_", "test_"))
]
LAWS = [
    (module.__name__.rpartition(".")[2], name, thing)
    for module in MODULES
    for name, thing in sorted(vars(module).items())
    if inspect.isfunction(thing) and thing.__module__ == module.__name__ and not name.startswith("_")
]
"""Every public function of both, so that none can be left out."""
laws = pytest.mark.parametrize(("module", "name", "law"), LAWS, ids=[f"{m}.{n}" for m, n, _ in LAWS])


def test_the_rooms_are_there() -> None:
    names = {module.__name__ for module in MODULES}
    assert {f"pitreckon.physics.{name}" for name in ("air", "food", "surface", "water", "salt", "fuel")} <= names
    assert {f"tests.oracles.{name}" for name in ("water", "reaction", "lethality")} <= names
    assert len(LAWS) > 60


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.__name__)
def test_every_module_says_what_it_is_and_has_something_of_its_own(module) -> None:
    here = module.__name__
    assert module.__doc__
    own = [name for name, thing in vars(module).items() if getattr(thing, "__module__", here) == here]
    assert [name for name in own if not name.startswith("_")] or hasattr(module, "__path__"), here


def test_every_oracle_says_whose_it_is_and_no_law_of_the_product_is_one() -> None:
    for _, name, law in LAWS:
        first = inspect.getdoc(law).partition("\n")[0]
        assert first.startswith("Oracle of ") == law.__module__.startswith("tests.oracles"), name


@laws
def test_law_cites_a_source_in_the_bibliography(module: str, name: str, law) -> None:
    source = inspect.getdoc(law).partition("Source:")[2]
    assert keys_in(source), f"{module}.{name} names no source"
    for key in keys_in(inspect.getdoc(law)):
        cite(key)


@laws
def test_law_states_unit_range_errors_and_a_worked_value(module: str, name: str, law) -> None:
    text = inspect.getdoc(law)
    what = text.split("\n\n")[text.startswith("Oracle of ")]
    assert "[" in what or module == "food", what
    assert ">>> " in text
    assert "RangeError" in text
    documented = re.findall(r"^(\w[\w, ]*): ", text, flags=re.MULTILINE)
    named = {part.strip() for group in documented for part in group.split(",")}
    assert set(inspect.signature(law).parameters) <= named


def test_room_imports_only_the_standard_library_and_itself() -> None:
    allowed = {"__future__", "collections", "dataclasses", "itertools", "math", "typing", "pitreckon"}
    files = list(Path(pitreckon.physics.__file__).parent.glob("*.py"))
    assert len(files) > 10
    for path in files:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert (node.module or "").split(".")[0] in allowed, path.name
            elif isinstance(node, ast.Import):
                assert {alias.name.split(".")[0] for alias in node.names} <= allowed, path.name


def test_a_run_can_list_what_it_relied_on() -> None:
    listed = sources_of(*(law for _, _, law in LAWS))
    assert len(listed) > 25
    assert [citation.key for citation in listed] == sorted({citation.key for citation in listed})


def test_from_memory_is_said_in_the_docstring_too() -> None:
    told = 0
    for module, name, law in LAWS:
        text = inspect.getdoc(law)
        unread = {"collagen_gelatin_activation", "browning_activation", "salt_activation"}
        unread |= {"drying_handbook_diffusivity", "meteorology_latent_heat", "oswin_1946"}
        if unread & set(keys_in(text)):
            assert "from memory" in text, f"{module}.{name}"
            told += 1
    assert told


def test_every_argument_is_on_the_nomenclature_page() -> None:
    page = Path(__file__).parents[2] / "docs" / "nomenclature.md"
    known = set(re.findall(r"`(\w+)`", page.read_text("utf-8")))
    arguments = {argument for _, _, law in LAWS for argument in inspect.signature(law).parameters}
    assert arguments <= known, sorted(arguments - known)
