"""Warnings about a cook file: what in it is far from usual, with file, line, key and what is usual."""

from collections.abc import Iterator, Sequence

from pitreckon.cli.notices import warn
from pitreckon.cook import Cook
from pitreckon.cook.unusual import Meat, Unusual, unusual_meat, unusual_occasion, unusual_set
from pitreckon.errors import Place
from pitreckon.plan.wishes import Wishes
from pitreckon.text.toml import Lines, Path
from pitreckon.units import Scale


def warn_unusual(planned: Cook | Wishes, text: str, file: str, degrees: Scale) -> None:
    """Say what is far from usual. text: of the file, for its lines"""
    lines: Lines | None = None
    for each in found_in(planned, degrees):
        lines = lines or Lines(text)
        warn(f"{Place(file, lines.of(each.path), _field(each.path))}: {each.words}.")


def _field(path: Path) -> str:
    """As errors have it: ``item 1: weight``."""
    *tables, key = path
    words = "".join(f" {step + 1}, " if isinstance(step, int) else step for step in tables)
    return f"{words.removesuffix(', ')}: {key}"


def found_in(planned: Cook | Wishes, degrees: Scale) -> Iterator[Unusual]:
    """All that is far from usual, in the order of the file."""
    yield from unusual_occasion(planned.altitude_m, planned.weather_air_c, degrees)
    if isinstance(planned, Cook):
        for n, pit in enumerate(planned.pits):
            cuts = [item.cut for item in planned.items if item.pit == pit.label]
            yield from unusual_set(n, (pit.set_c,), cuts, degrees)
    else:
        for n, wish in enumerate(planned.pits):
            cuts = [item.cut for item in planned.items if not item.pits or wish.label in item.pits]
            yield from unusual_set(n, wish.sets_c, cuts, degrees)
    items: Sequence[Meat] = planned.items
    for n, item in enumerate(items):
        yield from unusual_meat(n, item, degrees)
