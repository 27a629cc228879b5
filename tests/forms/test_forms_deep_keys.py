"""Keys of many steps are refused before they are parsed: the parser's memory grows with the square of their number."""

from __future__ import annotations

import subprocess
import sys
import textwrap
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.patience import least_cpu_s

from pitreckon.alerts.settings import alert_settings
from pitreckon.catalog.form import read_document
from pitreckon.cook import Cook, ItemPlan, PitPlan
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.flavour.read import mix_from_text
from pitreckon.intake.settings import settings_from_text
from pitreckon.lessons.diagnosis.report import report_from_text
from pitreckon.plan.read import asks_for_a_plan, wishes_from_text
from pitreckon.text.toml import MOST_STEPS, parse_toml

AT = datetime(2026, 10, 10, 12, tzinfo=UTC)
A_COOK = Cook(
    "a", "UTC", pits=(PitPlan("box", "kettle", 120.0),), items=(ItemPlan("i", "boston-butt", 1, 3.0, "box", AT),)
)
DEEP = "a" + ".b" * MOST_STEPS


def _from_catalog(text: str, file: str) -> object:
    Path(file).write_text(text, encoding="utf-8")
    return read_document(Path(file))


READERS: dict[str, Callable[[str, str], object]] = {
    "cook": cook_from_text,
    "day": wishes_from_text,
    "sheet": asks_for_a_plan,
    "mix": mix_from_text,
    "settings": lambda text, file: settings_from_text(text, file, A_COOK),
    "alerts": lambda text, file: alert_settings(text, file, A_COOK),
    "report": report_from_text,
    "catalog": _from_catalog,
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(
    "line",
    [
        f"{DEEP} = 1",
        f"[{DEEP}]",
        f"[[ {DEEP} ]]",
        DEEP.replace(".", " . ") + " = 1",
        DEEP.replace("b", '"b.c"') + " = 1",
        DEEP.replace("b", "'b'") + " = 1",
        f"x = {{ y = 1, {DEEP} = 1 }}",
        f"x = [ {{ {DEEP} = 1 }} ]",
    ],
)
def test_every_reader_refuses_them_with_line_and_remedy(reader: str, line: str, tmp_path: Path) -> None:
    file = str(tmp_path / "long.toml")
    with pytest.raises(InputError, match=f"more than {MOST_STEPS} steps") as caught:
        READERS[reader](f'# a comment\ntext = """\n{DEEP}\n"""\n{line}\n', file)
    assert (caught.value.place.file, caught.value.place.line) == (file, 5)
    assert "fewer points" in caught.value.remedy


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".b" * (MOST_STEPS - 1) + " = 1",
        f'a = "{DEEP}"',
        f"a = '{DEEP}'",
        f"# {DEEP} = 1",
        f"a = 1 # {DEEP}",
        f'a = """\n{DEEP} = 1\n"""',
        f"a = '''\n[{DEEP}]\n'''",
        f'a = """\n\\"""\n{DEEP} = 1\n"""',
        f'"{DEEP}" = 1',
        f'a = "\\"{DEEP}"',
        "a = 1.5\nb = 2026-10-10T13:00:00.5\nc = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9]",
    ],
)
def test_what_only_looks_like_one_is_read(text: str) -> None:
    assert parse_toml(text, "f") == tomllib.loads(text)


@given(
    st.lists(st.sampled_from(["a", "b-1", '"x.y"', "'z'", '"\\""']), min_size=1, max_size=14),
    st.sampled_from([".", " . ", "\t."]),
    st.sampled_from(
        ["{} = 1", "[{}]", "x = {{ {} = 1 }}", 't = """ " """\n{} = 1', "t = '\"'\n{} = 1", "t = [ ''' ' ''' ]\n{} = 1"]
    ),
)
def test_more_than_eight_and_no_fewer(steps: list[str], point: str, around: str) -> None:
    text = around.format(point.join(steps))
    if len(steps) > MOST_STEPS:
        with pytest.raises(InputError, match="steps"):
            parse_toml(text, "f")
    else:
        assert parse_toml(text, "f") == tomllib.loads(text)


@pytest.mark.parametrize("text", ['a = """' + '\\"""' * 50_000, "a = '" * 50_000, '"' * 200_001, "a." * 100_000])
def test_no_text_takes_long(text: str) -> None:
    """200,000 characters are the most that a form may send: read once, not once a quote, which would take minutes."""

    def refused() -> None:
        with pytest.raises(InputError):
            parse_toml(text, "f")

    assert least_cpu_s(refused, 1) < 5.0


@pytest.mark.servers
@pytest.mark.parametrize("steps", [8_000, 60_000])
@pytest.mark.parametrize("head", ["{} = 1", "[{}]", "x = {{ {} = 1 }}"])
def test_they_take_no_memory(steps: int, head: str, tmp_path: Path) -> None:
    """In a process that may have 150 MB more than it has with everything imported."""
    path = tmp_path / "long.toml"
    path.write_text("# long\n" + head.format(".".join("a" * steps)) + "\n", encoding="utf-8")
    program = """
        import pathlib, resource, sys
        from pitreckon.cook.read import cook_from_text
        from pitreckon.errors import InputError
        text = pathlib.Path(sys.argv[1]).read_text()
        pages = int(pathlib.Path("/proc/self/statm").read_text().split()[0])
        most = pages * resource.getpagesize() + 150 * 2**20
        resource.setrlimit(resource.RLIMIT_AS, (most, most))
        try:
            cook_from_text(text, "long.toml")
        except InputError as fault:
            print(fault)
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(program), str(path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-300:]
    assert done.stdout.startswith("long.toml, line 2: the key 'a.a.a.")
