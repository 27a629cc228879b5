"""What a mix does on the meat of a cook: ``pitreckon mix --on COOK.toml``."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.console import Console

from pitreckon.cook.read import read_cook
from pitreckon.flavour.heat import meatwords
from pitreckon.flavour.weigh.batch import Batch


def print_on_the_meat(console: Console, batch: Batch, file: Path, item: str | None) -> None:
    """The same in sentences."""
    _, lines = on_the_meat(batch, file, item)
    console.print("[bold]On the meat[/bold]")
    for line in lines:
        console.print(f"  {line}", soft_wrap=True, markup=False)


def on_the_meat(batch: Batch, file: Path, item: str | None) -> tuple[dict[str, Any], list[str]]:
    """What heat does to a mix on an item of a cook: values for JSON, and sentences.

    Raises InputError: the cook file is at fault, or has no such item.
    """
    return meatwords.on_the_meat(batch, read_cook(file), item)
