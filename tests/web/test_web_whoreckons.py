"""Who reckons: what the options and the settings file say, what is refused, and what Set-up tells of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.web.house import settings, town

from pitreckon.errors import InputError
from pitreckon.web.whoreckons import WhoReckons, who_reckons
from pitreckon.work import pools

DATABASE = "postgresql://cook@barn/ledger"


def said(folder: Path, text: str) -> Path:
    file = folder / "settings.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_an_option_goes_before_the_file(tmp_path: Path) -> None:
    file = said(tmp_path, "[reckoning]\nworkers = 4\n")
    assert who_reckons(None, None, None, "x.sqlite") == WhoReckons()
    assert who_reckons(file, None, None, "x.sqlite") == WhoReckons(4)
    assert who_reckons(file, 2, None, "x.sqlite") == WhoReckons(2)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("workers = 0", "workers is 0. Write how many reckon at once, 1 to 256"),
        ('workers = "four"', "workers is not a whole number. Write it as in workers = 4"),
        ('cluster = "barn"', "'barn' is no address of a cluster. Write it as in tcp://10.0.0.5:8786"),
        (
            'cluster = "tcp://10.0.0.5:8786"',
            "cannot read a ledger that is a file on this machine. Keep",
        ),
        ("hands = 4", "'hands' is no key of reckoning"),
    ],
)
def test_a_bad_setting_is_refused_with_its_line_and_a_remedy(tmp_path: Path, text: str, words: str) -> None:
    file = said(tmp_path, f"[reckoning]\n{text}\n")
    with pytest.raises(InputError) as caught:
        who_reckons(file, None, None, "x.sqlite")
    assert words in str(caught.value)
    assert f"{file}, line 2" in str(caught.value)


def test_a_bad_option_is_refused_by_its_name(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr(pools, "PATIENCE_S", 0.2)
    for address, ledger, words in (
        ("barn", DATABASE, "no address"),
        ("tcp://10.0.0.5:8786", "x.sqlite", "cannot read a ledger"),
        ("tcp://127.0.0.1:9", "x.sqlite", "no cluster answers"),
    ):
        with pytest.raises(InputError, match=words) as caught:
            who_reckons(None, None, address, ledger)
        assert caught.value.place.field == "--on"


def test_no_workers_are_refused_by_the_option_s_name() -> None:
    with pytest.raises(InputError, match="workers is 0") as caught:
        who_reckons(None, 0, None, "x.sqlite")
    assert caught.value.place.field == "--workers"


@pytest.mark.asyncio
async def test_set_up_tells_the_owner_who_reckons(tmp_path: Path) -> None:
    async with town(settings(tmp_path, workers=3)) as made:
        page = (await (await made.owner()).get("/setup")).text
        assert "This machine. Workers: 0 at work, 0 at rest, 3 at most. Questions that wait: 0" in page
        assert "Workers:" not in (await (await made.somebody("viewer", "aunt")).get("/setup")).text
