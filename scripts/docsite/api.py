"""The pages of the API: for each room that is called from outside, its modules as their docstrings tell them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from importlib import import_module
from typing import Final

ROOMS: Final[Mapping[str, tuple[str, ...]]] = {
    "library": ("library.files", "library.reckoned", "library.planned", "library.judged", "library.simulated",
                "library.labels", "library.tables", "library.plots"),
    "cook": ("cook.plan", "cook.read", "cook.write"),
    "ledger": ("ledger.events", "ledger.log.read", "ledger.log.write", "ledger.store.store"),
    "reckon": ("reckon.forecast:reckon,reckoning", "reckon.outlook", "reckon.quantiles", "reckon.whatif",
               "reckon.document"),
    "study": ("study.run:study,Done", "study.plan", "study.settings:SETTINGS,Setting",
              "study.outcomes:OUTCOMES,Outcome", "study.summary:Group,groups_of"),
    "plan": ("plan.wishes", "plan.read", "plan.schedule.solve", "plan.schedule.schedule", "plan.schedule.to_cook"),
    "safety": ("safety.rules.rule", "safety.rules.judge", "safety.rules.verdict", "safety.record.make",
               "safety.cooling.plan"),
    "flavour": ("flavour.mix", "flavour.read", "flavour.weigh.batch", "flavour.taste.tastes"),
    "sheets": ("sheets.model", "sheets.documents.runsheet", "sheets.writers.write"),
    "catalog": ("catalog", "catalog.forms", "catalog.shapes", "catalog.figure", "catalog.constants", "catalog.shelf"),
    "section": ("section.shapes", "section.members", "section.course", "section.simulate", "section.trace"),
    "physics": (
        "physics.air", "physics.vapour", "physics.food", "physics.convection", "physics.surface", "physics.fuel",
        "physics.salt", "physics.thaw", "physics.growth", "physics.water", "physics.reaction", "physics.lethality",
        "physics.constants",
    ),
    "units": ("units.temperature", "units.amounts", "units.clock"),
    "errors": ("errors", "extras"),
}  # fmt: skip
"""What is public, room by room, and in it module by module; after a colon, what of it alone."""


def _about(module: str) -> str:
    """The first paragraph of what a module says of itself, in Markdown."""
    said = " ".join((import_module(f"pitreckon.{module}").__doc__ or "").split("\n\n")[0].split())
    return re.sub(r":\w+:`([^`]+)`", r"`\1`", said).replace("``", "`")


def api_pages() -> dict[str, str]:
    """Each page by its place from the root of the site, without its ending."""
    rows = "".join(f"- [{room}]({room}.md): {_about(room)}\n" for room in ROOMS)
    index = (
        "# The API\n\nThe rooms that are called from outside. Names carry their units (`air_c`, `mass_kg`). What is "
        "promised of them, and how they are called: [the library](../docs/reference/library.md), [call it from "
        f"Python](../docs/how-to/call-it-from-python.md).\n\n{rows}"
        "\nEvery name that is in them: {ref}`genindex`; every module: {ref}`modindex`.\n"
    )
    pages = {"api/index": index}
    for room, modules in ROOMS.items():
        parts = [f"# {room}\n\n{_about(room)}\n"]
        for module, _, members in (each.partition(":") for each in modules):
            only = f"   :members: {members}".rstrip() + "\n"
            parts.append(f"## {module}\n\n```{{eval-rst}}\n.. automodule:: pitreckon.{module}\n{only}```\n")
        pages[f"api/{room}"] = "\n".join(parts)
    return pages
