"""The core is small, what is optional is an extra, and a missing one is one line that names what installs it."""

from __future__ import annotations

import ast
import asyncio
import builtins
import pickle
import sys
from pathlib import Path

import httpx
import pytest
from conftest import Call
from fastapi import FastAPI
from scripts.installed import canonical, closure, extras, modules

import pitreckon
from pitreckon.cli import earlier
from pitreckon.errors import InputError
from pitreckon.extras import LIBRARIES, MissingExtraError, loading, missing_of, require
from pitreckon.web.errors import install

PACKAGE = Path(pitreckon.__file__).parent


def imported() -> dict[str, str]:
    """Every top module from outside that the package imports somewhere, with one of the files that do."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module]
            for name in names:
                found[name.partition(".")[0]] = str(path.relative_to(PACKAGE))
    return {name: at for name, at in found.items() if name not in sys.stdlib_module_names and name != "pitreckon"}


def test_the_core_is_what_reckons() -> None:
    assert {canonical(each.partition(">")[0]) for each in extras()[""]} == {
        "numpy", "scipy", "numba", "pydantic", "typer", "rich", "tzdata",
    }  # fmt: skip


def test_whatever_is_imported_is_the_core_s_or_has_its_extra() -> None:
    core = modules(closure())
    assert {"numpy", "typer"} <= core
    assert not core & LIBRARIES.keys()
    unknown = {name: at for name, at in imported().items() if name not in core and name not in LIBRARIES}
    assert not unknown, "give each its line in pitreckon.extras.LIBRARIES and its extra in pyproject.toml"


def test_each_library_comes_with_the_extra_that_is_named() -> None:
    assert {extra for _, extra in LIBRARIES.values()} == extras().keys() - {"", "all"}
    for module, (_, extra) in LIBRARIES.items():
        assert module in modules(closure(extra)), f"{module} does not come with {extra}"


def test_all_is_all() -> None:
    every = {name for extra in extras().keys() - {"all"} for name in closure(extra)}
    assert closure("all").keys() | closure().keys() == every


def test_one_line_says_what_installs_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    with pytest.raises(MissingExtraError) as caught:
        require("ortools", "planning a day")
    said = 'planning a day needs OR-Tools, which is not installed. Install it: pip install "pitreckon[plan]".'
    assert str(caught.value) == said
    again = pickle.loads(pickle.dumps(caught.value))  # from the process that reckons for the page
    assert isinstance(again, InputError)
    assert str(again) == said


def test_what_an_import_lacks_is_the_same_line() -> None:
    with pytest.raises(MissingExtraError, match=r"\[alerts\]"), loading("apprise", "sending"):
        raise ImportError("libxyz.so is not there")


def test_a_fault_of_ours_is_no_missing_extra() -> None:
    assert missing_of(ModuleNotFoundError("x", name="pitreckon.nothing")) is None
    missing = missing_of(ModuleNotFoundError("x", name="sqlalchemy.engine"))
    assert missing is not None
    assert missing.extra == "ledger"


def test_the_entry_point_says_it_wherever_it_happens(pitreckon: Call, monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def without(name, *rest, **more):
        if name.startswith("pitreckon.safety.cooling"):
            raise ModuleNotFoundError("no", name="sqlalchemy")
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    answer = pitreckon("cool", "boston-butt", "--weight", "6lb")
    assert (answer.code, answer.out) == (2, "")
    assert answer.err == (
        'pitreckon: this needs SQLAlchemy, which is not installed. Install it: pip install "pitreckon[ledger]".\n'
    )


def test_the_page_says_that_it_cannot_and_not_that_the_reader_was_wrong() -> None:
    """503 (RFC 9110, 15.6.4): it is the server that lacks something."""
    app = FastAPI()
    install(app)

    @app.get("/api/paper")
    def paper() -> None:
        raise MissingExtraError("weasyprint", "a PDF")

    async def asked() -> httpx.Response:
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app), base_url="http://page") as client:
            return await client.get("/api/paper")

    answer = asyncio.run(asked())
    assert answer.status_code == 503
    assert answer.json()["error"]["remedy"] == 'Install it: pip install "pitreckon[paper]"'


@pytest.mark.parametrize(
    ("place", "is_told"), [("no such.sqlite", False), ("there.sqlite", True), ("postgresql://x", True)]
)
def test_a_plan_says_that_it_learns_nothing_where_there_is_something_to_learn(
    place: str, is_told: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Of a ledger that nobody has named, and whose library is not there."""
    (tmp_path / "there.sqlite").touch()
    monkeypatch.setenv("PITRECKON_LEDGER", place if "://" in place else str(tmp_path / place))
    monkeypatch.setitem(sys.modules, "sqlalchemy", None)
    assert earlier._of_the_usual(None) == []  # type: ignore[arg-type]
    assert ("pitreckon[ledger]" in capsys.readouterr().err) is is_told
