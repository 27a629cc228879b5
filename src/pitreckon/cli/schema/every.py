"""Which command answers in which form, and the JSON Schema of each."""

from typing import Any, Final

from pydantic import BaseModel

from pitreckon.cli.envelope import SCHEMA
from pitreckon.cli.schema import ahead, answered, catalogs, mixes, papers, sales, stores, studies, wrongs
from pitreckon.lessons.house.form import LessonsDocument
from pitreckon.reckon.document import OutlookDocument

ANSWERS: Final[dict[str, tuple[type[BaseModel], ...]]] = {
    "new": (stores.NewAnswer,),
    "reckon": (OutlookDocument,),
    "suppose": (ahead.SupposeAnswer,),
    "plan": (ahead.PlanAnswer,),
    "alerts": (ahead.AlertsAnswer,),
    "sheet": (papers.SheetAnswer,),
    "card": (papers.CardAnswer,),
    "card take-in": (answered.AnswersAnswer,),
    "against": (wrongs.AgainstAnswer,),
    "explain": (wrongs.ExplainAnswer,),
    "record": (papers.RecordAnswer, papers.RecordCheckAnswer),
    "mix": (mixes.MixAnswer, catalogs.FoodsAnswer),
    "batch": (sales.BatchAnswer, sales.RecallAnswer, sales.RecordedAnswer),
    "cool": (wrongs.CoolAnswer,),
    "look": (wrongs.LookAnswer,),
    "why": (wrongs.WhyAnswer,),
    "study": (studies.StudyAnswer,),
    "lessons": (LessonsDocument,),
    "take-in": (stores.TakeInAnswer,),
    "cooks": (stores.CooksAnswer,),
    "import": (stores.ImportAnswer,),
    "ledger check": (stores.LedgerCheckAnswer,),
    "ledger backup": (stores.LedgerFileAnswer,),
    "ledger restore": (stores.LedgerFileAnswer,),
    "ledger salvage": (stores.LedgerSalvageAnswer,),
    "ledger key": (stores.LedgerKeyAnswer,),
    "cuts": (catalogs.CutsAnswer,),
    "pits": (catalogs.PitsAnswer,),
    "wraps": (catalogs.WrapsAnswer,),
    "defaults": (stores.DefaultsAnswer,),
    "warm": (stores.WarmAnswer,),
}
"""By the words that stand behind ``pitreckon``; two forms: an option asks for the second."""

HEAD: Final[dict[str, dict[str, Any]]] = {
    "pitreckon": {"type": "string", "description": "version of the program"},
    "schema": {"const": SCHEMA, "description": "goes up when a key goes, or means something else"},
    "command": {"type": "string"},
    "warnings": {
        "type": "array",
        "items": {"type": "string"},
        "description": "what was read and is far from usual, and what was left out, a sentence each",
    },
}
"""The keys that every answer begins with."""


def schema_of(command: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a command's answer, its head with it. Raises KeyError: it has none."""
    forms = [_with_head(form.model_json_schema(), command) for form in ANSWERS[command]]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **(forms[0] if len(forms) == 1 else _any(forms))}


def _with_head(schema: dict[str, Any], command: str) -> dict[str, Any]:
    head = {**HEAD, "command": {"const": command}}
    return {
        **schema,
        "properties": {**head, **schema["properties"]},
        "required": [*head, *schema.get("required", ())],
    }


def _any(forms: list[dict[str, Any]]) -> dict[str, Any]:
    shared: dict[str, Any] = {}
    for form in forms:
        shared |= form.pop("$defs", {})
    return {"$defs": shared, "anyOf": forms}
