"""The plug point: an input that this test alone knows is read from the settings file, run by the page, and told."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
from conftest import COOK
from tests.docs.test_reference import script
from tests.patience import comes
from tests.web.house import NOW, settings, town

from pitreckon.cook.plan import Cook
from pitreckon.cook.read import cook_from_text
from pitreckon.errors import InputError
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys
from pitreckon.intake.mqtt.input import KEYS, MQTT, TOPIC
from pitreckon.intake.plug import TEXT, Append, Input, Now, Told
from pitreckon.intake.reading import Places, reading_id
from pitreckon.intake.settings import INPUTS, settings_from_text
from pitreckon.ledger import Reading
from pitreckon.ledger.store import Entry

SLATE = "[slate]\nfile = 'slate.txt'\n"


@dataclass(frozen=True)
class Slate:
    """Temperatures [°C] chalked on a slate, one a line."""

    file: Path
    pit: str


SLATE_KEYS = Keys(Slate, Key("file", TEXT, '"slate.txt"', needed=True))


def read(fields: Fields, cook: Cook) -> Slate:
    said = SLATE_KEYS.said(fields)
    return Slate(Path(fields.file).parent / said["file"], Places.of(cook).label(None, of_pit=True))


async def run(slate: Slate, append: Append, closing: asyncio.Event, now: Now) -> None:
    at = now()
    while not closing.is_set():
        lines = await asyncio.to_thread(slate.file.read_text, "utf-8")
        if "fell off" in lines:
            raise InputError("the slate fell off its nail", "Hang it up")
        found = [Reading(at, "pit air", slate.pit, None, float(line)) for line in lines.split()]
        await append([Entry(reading_id("slate", each), each, "slate") for each in found])
        await asyncio.sleep(0.05)


TOLD = Told("slate", "What is chalked on a slate.", (("file", "where it is kept", "needed"),))


@pytest.fixture
def plugged() -> Iterator[None]:
    INPUTS.append(Input("slate", read, run, (TOLD,)))
    yield
    INPUTS.pop()


def test_what_nobody_plugged_in_is_no_section() -> None:
    with pytest.raises(InputError, match="slate"):
        settings_from_text(SLATE, "settings.toml", cook_from_text(COOK, "cook.toml"))


@pytest.mark.usefixtures("plugged")
def test_its_table_is_read_with_the_others_and_a_slip_is_placed() -> None:
    cook = cook_from_text(COOK, "cook.toml")
    found = settings_from_text(SLATE, "barn/settings.toml", cook)
    assert found.of("slate") == Slate(Path("barn/slate.txt"), "barn kettle")
    assert found.of("mqtt") is None
    with pytest.raises(InputError, match="file is missing") as caught:
        settings_from_text("[slate]\n", "barn/settings.toml", cook)
    assert caught.value.place.line == 1


@pytest.mark.usefixtures("plugged")
def test_its_table_is_told_on_the_page_of_the_file() -> None:
    page = script("make_reference").inputs()
    assert "## slate\n\nWhat is chalked on a slate.\n" in page
    assert "| `file` | where it is kept | needed |" in page
    assert "## mqtt.topic\n" in page


def test_every_key_of_the_broker_is_told() -> None:
    for told, keys in zip(MQTT.told, (KEYS, TOPIC), strict=True):
        assert sorted(key for row in told.rows for key in row[0].split(", ")) == sorted(keys.names)


@pytest.mark.asyncio
@pytest.mark.usefixtures("plugged")
async def test_what_it_brings_is_judged_and_kept_once(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    file, slate = tmp_path / "settings.toml", tmp_path / "slate.txt"
    file.write_text(SLATE, encoding="utf-8")
    slate.write_text("120\n900\n", encoding="utf-8")
    async with town(settings(tmp_path, settings_file=file)) as made:
        state = made.app.state.app_state
        row = state.store.add_cook(COOK, "harvest table", cook_id="wings")
        await comes(lambda: state.store.last_seq(row.id) >= 2, "both lines of the slate")
        await asyncio.sleep(0.3)  # it reads the slate again and again
        found = state.store.entries(row.id)
        assert [(each.by, each.event.value_c) for each in found] == [("slate", 120.0), ("slate", 900.0)]
        assert [each.event.rejected is None for each in found] == [True, False]
        assert all(isinstance(each.event.at_utc, datetime) and each.event.at_utc >= NOW for each in found)
        with caplog.at_level(logging.WARNING):
            slate.write_text("fell off", encoding="utf-8")
            await comes(lambda: "the slate fell off its nail" in caplog.text, "what has become of it")
