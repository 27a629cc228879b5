"""A number that knows where it comes from."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

COMMON_PRACTICE = "common practice, no source"
FROM_MEMORY = "from memory"
FITTED = "fitted, see validation/README.md"
COMPUTED = "computed: "


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of the catalog. Its unit is in the name of the field that holds it.

    value: the number itself
    sd: standard deviation of single pieces, pits or wraps about `value`, in the same unit; None: not known;
        from memory unless the source says more
    source: of the value: a citation in short words, or one of the set phrases at the top of this module
    """

    value: float
    sd: float | None
    source: str

    @property
    def spread(self) -> float:
        """The standard deviation, 0 where none is known [unit of the value]."""
        return 0.0 if self.sd is None else self.sd


def figures(entry: Any, prefix: str = "") -> Iterator[tuple[str, Figure]]:
    """Every number in a cut, pit, wrap or fuel, with its dotted field name, in the order of the file."""
    for each in dataclasses.fields(entry):
        held = getattr(entry, each.name)
        name = f"{prefix}{each.name}"
        if isinstance(held, Figure):
            yield name, held
        elif dataclasses.is_dataclass(held):
            yield from figures(held, f"{name}.")
        elif isinstance(held, tuple):
            for n, part in enumerate(held, start=1):
                if dataclasses.is_dataclass(part):
                    yield from figures(part, f"{name}.{n}.")
