"""An answer to what went wrong as one JSON object."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pitreckon.lessons.diagnosis.diagnose import Why


def document_of(found: Why) -> dict[str, Any]:
    """An answer as plain values for ``json``."""
    return {
        "came_out": list(found.report.faults),
        "causes": [{"key": o.cause.key, "words": o.cause.words, "chance": round(o.chance, 4)} for o in found.causes],
        "again": round(found.again, 4),
        "change": None if found.change is None else found.change.key,
        "changes": [
            {"key": t.key, "words": t.words, "again": round(t.again, 4), "other": round(t.other, 4), "helps": t.helps}
            for t in found.changes
        ],
        "cautions": list(found.cautions),
    }
