"""The model's own constants: what is the same in every cut, each with its width and where it comes from."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

from pitreckon.catalog.form import Document, read_document, read_source
from pitreckon.catalog.shelf import OWN_DATA

FILE: Final = "constants/meat.toml"
OF: Final = ("value", "logarithm")


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant, in the unit of its name.

    spread: standard deviation of what is not known of it; of: "value", in the same unit, or "logarithm" [-]
    """

    value: float
    spread: float
    of: str
    source: str


@cache
def constants() -> Mapping[str, Constant]:
    """Every constant by name, in the order of the file (read once).

    Raises InputError: the file is not as it should be.
    """
    document = read_document(OWN_DATA / FILE)
    return MappingProxyType({name: _constant(name, document) for name in document.table})


def _constant(name: str, document: Document) -> Constant:
    raw = document.table[name]
    if not isinstance(raw, Mapping) or set(raw) != {"value", "spread", "of", "source"}:
        raise document.refuse(name, f"{name} is no constant", "Give value, spread, of and source, and nothing else")
    for key in ("value", "spread"):
        if isinstance(raw[key], bool) or not isinstance(raw[key], float | int):
            raise document.refuse(f"{name}.{key}", f"{raw[key]!r} is not a number", f"Give {key} = ..., a plain number")
    if raw["of"] not in OF:
        raise document.refuse(f"{name}.of", f"{raw['of']!r} is not known here", f"Use one of {', '.join(OF)}")
    if not raw["spread"] >= 0.0 or (raw["of"] == "logarithm" and not raw["value"] > 0.0):
        raise document.refuse(
            name, "such a spread means nothing", "Keep it at 0 or above; a logarithm wants a value above 0"
        )
    source = read_source(raw["source"], document, f"{name}.source")
    return Constant(float(raw["value"]), float(raw["spread"]), raw["of"], source)
