"""A settings file (TOML): what comes in by itself, and the scales of devices; ``docs/reference/settings-file.md``.

``INPUTS`` is the plug point: an input that stands there has its table in the file, is run by the live page, and is told
on the file's page.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from pitreckon.cook.plan import Cook
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys
from pitreckon.intake.mqtt.input import MQTT
from pitreckon.intake.plug import SCALE, TEXT, Input
from pitreckon.text.file import read_text
from pitreckon.units import Scale

INPUTS: Final[list[Input]] = [MQTT]
DEVICE: Final = Keys(
    lambda name, unit: (name, unit), Key("name", TEXT, '"shed"', needed=True), Key("unit", SCALE, '"F"', needed=True)
)


@dataclass(frozen=True, slots=True)
class IntakeSettings:
    """What a settings file says about what comes in.

    inputs: each that it asks for, with what its table says
    units: scale of a device's numbers by its label
    """

    inputs: tuple[tuple[Input, Any], ...]
    units: Mapping[str, Scale]

    def of(self, table: str) -> Any:
        """What a table says; None: the file does not have it."""
        return next((config for each, config in self.inputs if each.table == table), None)


def read_settings(path: Path, cook: Cook) -> IntakeSettings:
    """What a settings file says about what comes in to a cook. Files in it are taken from the folder that it is in.

    Raises InputError: the file cannot be read, or something in it is wrong (file, line and field).
    """
    return settings_from_text(read_text(path), str(path), cook)


def settings_from_text(text: str, file: str, cook: Cook) -> IntakeSettings:
    """The same from its text; ``file`` is its name for messages."""
    top = top_of(text, file)
    units = dict(DEVICE.read(fields) for fields in top.tables("device"))
    asked = ((each, top.table(each.table)) for each in INPUTS)
    return IntakeSettings(tuple((each, each.read(table, cook)) for each, table in asked if table is not None), units)


def top_of(text: str, file: str) -> Fields:
    """The whole of a settings file, its sections checked by name.

    Raises InputError: it is not TOML, or has a section that we do not know.
    """
    top = Fields.of_text(text, file)
    top.only(*(each.table for each in INPUTS), "device", "alerts", "reckoning")
    return top
