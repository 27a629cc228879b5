"""The bibliography file, its reader, and the collector of sources."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import pitreckon
from pitreckon import citations
from pitreckon.citations import Citation, cite, format_citation, keys_in, parse, sources_of
from pitreckon.errors import InputError

ENTRY = """@article{some_1999,
  author = {Some A. and Other B.},
  title = {On heat},
  year = {1999},
  where = {J. Heat 1:2},
  status = {seen},
}
"""


def test_reads_one_entry() -> None:
    assert parse(ENTRY) == {
        "some_1999": Citation("some_1999", "Some A. and Other B.", "On heat", "1999", "J. Heat 1:2", "seen")
    }
    assert format_citation(parse(ENTRY)["some_1999"]) == "Some A., Other B. (1999). On heat. J. Heat 1:2. [seen]"
    assert str(parse(ENTRY)["some_1999"]).startswith("Some A.")


@pytest.mark.parametrize(
    ("text", "line", "trouble"),
    [
        (ENTRY + ENTRY, 8, "'some_1999' is there already"),
        (ENTRY.replace("{seen}", "{skimmed}"), 7, "status 'skimmed'"),
        (ENTRY.replace("  year = {1999},\n", ""), 6, "lacks year"),
        (ENTRY.replace("{On heat}", "{}"), 3, "'title' is unknown, empty or given twice"),
        (ENTRY.replace("title", "volume"), 3, "'volume' is unknown"),
        (ENTRY.replace("title", "author"), 3, "'author' is unknown, empty or given twice"),
        (ENTRY.replace("title = {On heat},", "title: On heat"), 3, "'title: On heat' is no part"),
        ("author = {Nobody},\n", 1, "is no part of a bibliography"),
        (ENTRY.rstrip()[:-1], None, "'some_1999' has no end"),
    ],
)
def test_bad_file_names_line_and_remedy(text: str, line: int | None, trouble: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text, "some.bib")
    assert trouble in caught.value.trouble
    assert caught.value.place.file == "some.bib"
    assert caught.value.place.line == line
    assert caught.value.remedy


def test_the_bibliography_is_whole() -> None:
    known = citations.bibliography()
    assert len(known) > 40
    for key, source in known.items():
        assert key == source.key
        assert re.fullmatch(r"\d{4}|n\.d\.", source.year), key
        assert source.status in citations.STATUSES
    assert list(known) == sorted(known), "keep the file in order of its keys"


def test_the_bibliography_names_no_web_address() -> None:
    text = (Path(pitreckon.__file__).parent / "citations.bib").read_text("utf-8")
    assert "://" not in text


def test_unknown_key_names_near_ones() -> None:
    with pytest.raises(KeyError, match="wagner_pruss_2002"):
        cite("wagner_prus_2002")
    with pytest.raises(KeyError, match="no source 'zzz'"):
        cite("zzz")


def test_bibliography_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        citations.bibliography()["new"] = cite("kestin_1978")  # type: ignore[index]


def test_sources_of_functions_and_classes() -> None:
    def law() -> None:
        """Some law. Source: [lewis_1922]_ and [kestin_1978]_."""

    class Thing:
        """A thing after [crank_1975]_."""

    assert [source.key for source in sources_of(law, Thing)] == ["crank_1975", "kestin_1978", "lewis_1922"]
    assert sources_of(len) == ()
    assert sources_of() == ()

    def wrong() -> None:
        """Source: [nobody_1900]_."""

    with pytest.raises(KeyError, match="nobody_1900"):
        sources_of(wrong)


def test_every_key_named_in_the_package_is_in_the_bibliography() -> None:
    used: set[str] = set()
    for path in Path(pitreckon.__file__).parent.rglob("*"):
        if path.suffix in {".py", ".toml"} and path.name != "citations.py":
            used.update(keys_in(path.read_text("utf-8")))
    known = set(citations.bibliography())
    assert used <= known, sorted(used - known)


@given(st.lists(st.from_regex(r"[a-z][a-z0-9_]{0,12}", fullmatch=True), unique=True, max_size=5))
def test_keys_in_text_keep_their_order(keys: list[str]) -> None:
    assert keys_in(" and ".join(f"[{key}]_" for key in keys)) == tuple(keys)
    assert keys_in(None) == ()
