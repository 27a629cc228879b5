"""Writes the reference pages that follow from the code: commands, the JSON object, the catalog.

Run ``.venv/bin/python scripts/make_reference.py`` after a change there; ``tests/docs`` fails until it was done.
"""

from __future__ import annotations

import os
import sys
import tomllib
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, get_args

import typer
from pydantic import BaseModel

from pitreckon import catalog
from pitreckon.catalog import Animal, Cut, Figure, Fuel, Pit, Wrap
from pitreckon.catalog.buying import BeforeFire, Buying, Portions, all_buying, before_fire, portions
from pitreckon.catalog.constants import constants
from pitreckon.cli.envelope import SCHEMA
from pitreckon.cli.interrupt import CODE as INTERRUPTED
from pitreckon.cli.main import TRACEBACK, UNFORESEEN, app
from pitreckon.cli.renamed import RENAMED
from pitreckon.cli.schema.every import ANSWERS, HEAD, schema_of
from pitreckon.cook.looks import KINDS, LookKind
from pitreckon.intake.settings import INPUTS
from pitreckon.reckon import document
from pitreckon.safety.rules.rule import GROUPS, Rule, rules
from pitreckon.safety.rules.tables import source_of as safety_source
from pitreckon.safety.rules.tables import table as safety_table
from pitreckon.units import format_duration, format_temperature

ROOT = Path(__file__).parents[1]
REFERENCE = ROOT / "docs" / "reference"
COMMAND = ".venv/bin/python scripts/make_reference.py"
MADE = f"<!-- Made from the code by {COMMAND}; change the code, not this page. -->\n\n"


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


# --- commands


def _parameter(each: Any, context: Any) -> tuple[str, str, str]:
    shown = (each.get_help_record(context) or ("",))[0]
    if not each.opts[0].startswith("-"):
        shown = each.metavar or each.name.upper()
    notes = []
    if each.required:
        notes.append("needed")
    elif isinstance(each.default, (int, str, Path)) and not isinstance(each.default, bool):
        notes.append(f"{each.default}")
    if each.min is not None:
        shown = shown.replace("<int range>", "N")
        notes.append(f"N is {each.min} or more" + ("" if each.max is None else f", to {each.max}"))
    return f"`{shown}`", str(each.help or ""), "; ".join(notes)


def command_line() -> str:
    """The page of the commands, from their own help."""
    group: Any = typer.main.get_command(app)
    parts = [
        "# The command line\n\n" + MADE,
        f"{group.help}\n\n",
        _table(("command", ""), ((f"`pitreckon {c.name}`", c.help) for c in group.commands.values())),
        "\n`pitreckon --version` prints the version; every command answers to `--help`.\n",
    ]
    named = [(command.name, command) for command in group.commands.values() if not hasattr(command, "commands")]
    for folder in (each for each in group.commands.values() if hasattr(each, "commands")):
        named += [(f"{folder.name} {each.name}", each) for each in folder.commands.values()]
    for command in group.commands.values():
        named += [(f"{command.name} {name}", each) for name, each in getattr(command, "more", {}).items()]
    for name, command in named:
        context = typer.Context(command)
        rows = [_parameter(each, context) for each in command.params if each.name != "help"]
        words = [row[0].strip("`") for each, row in zip(command.params, rows, strict=False) if each.required]
        parts.append(f"\n## pitreckon {' '.join([name, *words])}\n\n{command.help}\n\n")
        parts.append(_table(("", "means", "left out"), rows))
    parts.append(
        "\n## Exit codes\n\n"
        + _table(
            ("code", "means"),
            [
                ("0", "done"),
                ("1", "a record or a ledger was looked at, and is not as it was or not whole"),
                ("2", "something in a file or on the command line is wrong; one message on standard error names it"),
                ("3", "`plan`: it cannot be as it was asked; what can be is shown"),
                (f"{UNFORESEEN}", f"a fault of the program, in one line; with `{TRACEBACK}=1` it says where"),
                (f"{INTERRUPTED}", "interrupted by Ctrl-C: within a second, and it says what is kept"),
            ],
        )
        + "\nAnswers go to standard output, messages and progress to standard error. Files are\n"
        "written by `demo` and `new`, where `-o` says so, and by the commands that have a ledger to keep.\n"
        + "\n## Older names\n\nOne option means one thing, whatever the command. These were called otherwise; the old "
        "name still works, with a\nline on standard error.\n\n"
        + _table(
            ("command", "was", "is"),
            ((f"`{c}`", f"`{old}`", f"`{new}`") for c, names in RENAMED.items() for old, new in names.items()),
        )
    )
    return "".join(parts)


# --- JSON

_PLAIN = {"str": "text", "int": "whole number", "float": "number", "bool": "true or false", "datetime": "instant"}


def _models(model: type[BaseModel], seen: dict[str, type[BaseModel]]) -> dict[str, type[BaseModel]]:
    if model.__name__ not in seen:
        seen[model.__name__] = model
        for field in model.model_fields.values():
            for inner in (field.annotation, *get_args(field.annotation)):
                if isinstance(inner, type) and issubclass(inner, BaseModel):
                    _models(inner, seen)
    return seen


def _title(model: type[BaseModel]) -> str:
    return model.__name__.removesuffix("Document").lower()


def _type(annotation: Any) -> str:
    if hasattr(annotation, "__metadata__"):
        annotation = annotation.__origin__
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return f"[{_title(annotation)}](#{_title(annotation)})"
    inner = [part for part in get_args(annotation) if part is not type(None)]
    if not inner:
        return _PLAIN[annotation.__name__]
    if len(inner) < len(get_args(annotation)):
        return f"{_type(inner[0])} or null"
    return f"list of {_type(inner[0])}"


def outlook_json() -> str:
    """The page of the JSON object, from the models that write it."""
    parts = [
        "# The outlook as JSON\n\n"
        + MADE
        + "`pitreckon reckon COOK.toml --json` prints one object: the four keys of [the envelope](json-answers.md),\n"
        "and these. Units stand in the names or in brackets; an instant is ISO 8601 in UTC. A quantile that is not\n"
        "reached is null. The same files, moment, members and seed give the same bytes.\n",
    ]
    for model in _models(document.OutlookDocument, {}).values():
        rows = (
            (f"`{name}`", _type(field.annotation), field.description or "")
            for name, field in model.model_fields.items()
        )
        about = " ".join((model.__doc__ or "").split())
        parts.append(f"\n## {_title(model)}\n\n{about}\n\n" + _table(("key", "type", "means"), rows))
    return "".join(parts)


_OF = {"string": "text", "integer": "whole number", "number": "number", "boolean": "true or false"}
_OF |= {"date-time": "instant", "object": "object"}


def _said(schema: Mapping[str, Any]) -> str:
    """A JSON Schema in words."""
    if "$ref" in schema:
        return schema["$ref"].rpartition("/")[2]
    if "const" in schema:
        return f"`{schema['const']}`"
    several = schema.get("anyOf") or schema.get("oneOf")
    if several:
        return " or ".join("null" if each.get("type") == "null" else _said(each) for each in several)
    if schema.get("type") == "array":
        return f"list of {_said(schema['items'])}"
    if isinstance(schema.get("additionalProperties"), dict):
        return f"object of {_said(schema['additionalProperties'])} by name"
    return _OF[schema.get("format", "") if schema.get("format") in _OF else schema["type"]]


def _keys(form: Mapping[str, Any], known: Collection[str] = ()) -> str:
    needed = form.get("required", ())
    return _table(
        ("key", "type", "means"),
        (
            (f"`{name}`", _said(each), each.get("description", "") + ("" if name in needed else " (may be left out)"))
            for name, each in form["properties"].items()
            if name not in known
        ),
    )


def json_answers() -> str:
    """The page of every command's ``--json``, from its JSON Schema."""
    head = {"properties": HEAD, "required": list(HEAD)}
    parts = [
        "# The answers as JSON\n\n"
        + MADE
        + "Every command that prints something a program might want takes `--json` and prints one object on standard\n"
        "output; messages and progress go to standard error. It begins with four keys, the same for all:\n\n"
        + _keys(head)
        + f"\nThis page is of `schema` {SCHEMA}. A key that goes or comes to mean something else raises it; a new key\n"
        "does not, so a program passes over what it does not know. `pitreckon schema COMMAND` prints the JSON Schema\n"
        "(draft 2020-12) of one answer. Units stand in the names or in brackets; a number that is not reached or not\n"
        "known is null.\n",
    ]
    for command in ANSWERS:
        schema = schema_of(command)
        parts.append(f"\n## {command}\n")
        if command == "reckon":
            parts.append("\n[The outlook as JSON](outlook-json.md) has every key.\n")
            continue
        forms = schema.get("anyOf", [schema])
        parts += [f"\n{form['description'].replace('``', '`')}\n\n" + _keys(form, HEAD) for form in forms]
        inner = schema.get("$defs", {}).items()
        parts += [f"\n**{name}**: {form['description']}\n\n" + _keys(form) for name, form in inner]
    return "".join(parts)


# --- catalog


def _amount(figure: Figure) -> str:
    spread = "" if figure.sd is None else f" ± {figure.sd:g}"
    return f"{figure.value:g}{spread}"


def _by_source(entry: Any) -> Iterator[str]:
    """Every figure of an entry, those of one source together."""
    groups: dict[str, list[str]] = {}
    for name, figure in catalog.figures(entry):
        groups.setdefault(figure.source, []).append(f"`{name}` {_amount(figure)}")
    for source, figures in groups.items():
        yield f"- {', '.join(figures)}: {source}\n"


def _course(cut: Cut) -> str:
    stages = (f"{s.do}{f' in {s.wrap}' if s.wrap else ''} until {s.until}" for s in cut.course)
    return f"{'; '.join(stages)} ({cut.course_source})"


def _entry(entry: Animal | Cut | Pit | Wrap | Fuel | Buying | Portions | BeforeFire) -> str:
    lines = [f"\n### {entry.key}\n\n{entry.name}."]
    if isinstance(entry, Animal):
        lines.append(
            f" Rules of {entry.family}; heat kills in it as in {entry.killed_as}, growth as in {entry.grows_as}."
        )
    if isinstance(entry, Cut):
        lines.append(f" {entry.animal.capitalize()}, {entry.kind}, reckoned as a {entry.shape.kind};")
        lines.append(f" done by {'feel' if entry.texture.done_by == 'tender' else 'core temperature'}.")
        lines.append(f" Usual course: {_course(entry)}.")
    if isinstance(entry, Pit):
        lines.append(f" Fuel: {entry.fuel}. {'A fan moves the air.' if entry.fan else 'Still air.'}")
    if isinstance(entry, Wrap) and entry.holds_liquid:
        lines.append(" Keeps drip inside.")
    if entry.also:
        lines.append(f" Also: {', '.join(entry.also)}.")
    if entry.note:
        lines.append(f" {entry.note}")
    return "".join(lines) + "\n\n" + "".join(_by_source(entry))


def the_catalog() -> str:
    """The page of the catalog as it is shipped, every number with its source."""
    shelves: Mapping[str, Mapping[str, Any]] = {
        "Animals": catalog.animals(),
        "Cuts": catalog.cuts(),
        "Pits": catalog.pits(),
        "Wraps": catalog.wraps(),
        "Fuels": catalog.fuels(),
        "Buying": all_buying(),
        "Portions": {"usual": portions()},
        "Before the fire": {"usual": before_fire()},
    }
    parts = [
        "# The catalog\n\n"
        + MADE
        + "What comes with Pitreckon, each number with its source. `±` is one standard deviation from one piece or\n"
        "pit to the next. Units stand in the names. What the fields mean, and how to add your own:\n"
        "[add a cut or a pit](../how-to/add-a-cut-or-pit.md).\n",
    ]
    for title, shelf in shelves.items():
        parts.append(f"\n## {title}\n")
        parts += [_entry(shelf[key]) for key in sorted(shelf)]
    parts.append(_constants())
    return "".join(parts)


def _constants() -> str:
    """What is the same in every cut; the spread is what is not known of it, or that of its logarithm (ln)."""
    rows = [
        (f"`{name}`", f"{each.value:g}", f"{'ln ± ' if each.of == 'logarithm' else '± '}{each.spread:g}", each.source)
        for name, each in constants().items()
    ]
    head = "\n## Constants\n\n### meat\n\nWhat is the same in every cut, and how little it is known.\n\n"
    return head + _table(("constant", "value", "spread", "source"), rows) + _calibration()


def _calibration() -> str:
    """How the constants were fitted together, and which of them hang together."""
    path = ROOT / "src" / "pitreckon" / "catalog" / "data" / "constants" / "calibration.toml"
    found = tomllib.loads(path.read_text(encoding="utf-8"))
    made = found["made"]
    says = (
        f"\n### calibration\n\nMade by `{made['command']}` (`make calibrate`) on {made['rows']} rows of practice and "
        f"{made['experiments']} published experiments; two starts ended {made['two_starts_apart_sd']:g} posterior "
        "sd apart. Spreads are of the logarithm where the scale is log. How all of them hang together stands in "
        "`correlations.csv` beside it.\n\n"
    )
    rows = [
        (each["name"], f"`{each['address']}`", each["scale"], f"{each['value']:.4g}", f"{each['sd']:.3g}")
        for each in found["universal"]
    ]
    return says + _table(("constant", "where", "scale", "value", "spread"), rows)


# --- looks, inside a page that is written by hand


def _look_value(kind: LookKind) -> str:
    words = ", ".join(f"`{word}`" for word in kind.scale)
    if kind.quantity is None:
        return f"{kind.told} {words}".strip()
    return kind.told or kind.quantity.of


def _look_range(kind: LookKind) -> str:
    if kind.quantity is None:
        return ""
    if kind.of_instrument:
        return "what a thermometer can read in ice or boiling water"
    both = ((degrees, masses) for degrees, masses in (("F", "lb"), ("C", "kg")))
    return ", or ".join(" to ".join(kind.quantity.show(end, *each) for end in kind.range) for each in both)


def looks() -> str:
    """The table of the looks, from their records."""
    return _table(
        ("what", "value", "not used outside", "on the Look page"),
        (
            (f"`{kind.name}`", _look_value(kind), _look_range(kind), "" if kind.page is None else kind.page.heading)
            for kind in KINDS
        ),
    )


# --- the inputs of the settings file


def inputs() -> str:
    """A section for each table of each input."""
    return "".join(
        f"## {told.title}\n\n{told.says}\n\n"
        + _table(
            ("key", "holds", "left out"),
            ((", ".join(f"`{key}`" for key in keys.split(", ")), *rest) for keys, *rest in told.rows),
        )
        + "\n"
        for each in INPUTS
        for told in each.told
    )


def between(page: Path, name: str, text: str) -> str:
    """A page with the text put between its two marks of that name."""
    whole = page.read_text(encoding="utf-8")
    head, mark, rest = whole.partition(f"<!-- {name}: made from the code by scripts/make_reference.py -->\n")
    _, end, tail = rest.partition(f"<!-- end of {name} -->")
    return f"{head}{mark}{text}{end}{tail}"


# --- safety rules


def _limit(rule: Rule) -> str:
    """What a rule asks for, in words."""
    hours = "" if rule.most_s is None else format_duration(rule.most_s)
    match rule.kind:
        case "dwell" if rule.table:
            return "any row of its table below" if rule.table != "poultry" else "any row for its fat, chicken or turkey"
        case "dwell" | "reach":
            rows = [f"{r.temp_f:g} °F" + (f" for {r.hold_s:g} s" if r.hold_s else "") for r in rule.rows]
            return " or ".join(rows) + (f", within {hours}" if hours else "")
        case "keep" if rule.at_least_c is not None:
            return f"at {format_temperature(rule.at_least_c)} or above"
        case "keep":
            return f"at {format_temperature(rule.at_most_c or 0.0)} or below"
        case "start":
            return f"at {format_temperature(rule.at_least_c or 0.0)} or above when it goes on"
        case "cooling":
            return "; ".join(
                f"{format_temperature(s.from_c)} to {format_temperature(s.to_c)} within {format_duration(s.most_s)}"
                for s in rule.stages
            )
        case "age":
            return f"no more than {hours}"
        case _:
            low, high = format_temperature(rule.low_c or 0.0), format_temperature(rule.high_c or 0.0)
            band = f"above {low}" if (rule.high_c or 0.0) > 200.0 else f"between {low} and {high}"
            hot = "" if rule.hot_most_s is None else f"; {format_duration(rule.hot_most_s)} in air above 90 °F"
            return f"no more than {hours} {band}{hot}"


def _of_whom(rule: Rule) -> str:
    """Which meat a rule is about, in words."""
    but = f", not {', '.join(rule.not_animals)}" if rule.not_animals else ""
    cuts = f" ({', '.join(rule.cuts)})" if rule.cuts else f" (not {', '.join(rule.not_cuts)})" if rule.not_cuts else ""
    return f"{', '.join(rule.animals)}{but}{cuts}: {', '.join(rule.states)}"


def _tables() -> Iterator[str]:
    for name, title in (
        ("fsis2021_meat_time_temperature", "Meat"),
        ("fsis2021_chicken_time_temperature", "Chicken"),
        ("fsis2021_turkey_time_temperature", "Turkey"),
        ("foodcode_whole_meat_roasts", "Whole-meat roasts"),
    ):
        rows = safety_table(name)
        head = tuple(rows[0])
        source = safety_source(name)
        yield f"\n## {title}\n\n{source}\n\n" + _table(head, (tuple(row[each] for each in head) for row in rows))


def safety_rules() -> str:
    """The page of the safety rules and tables, from their data."""
    parts = [
        "# Safety rules\n\n"
        + MADE
        + "What the temperature history of a piece is held against. A rule *decides* its group, or is shown beside\n"
        "it. Status *memory*: its text was not seen, and a stricter rule that was seen wins over it. A cook chooses\n"
        "one set, whole; the others say nothing then. How to read a\n"
        "verdict: [judge the safety of a cook](../how-to/judge-safety.md). These are no promise of safety: follow\n"
        "your local code and your health department.\n",
    ]
    for which, title in (("us", "the United States"), ("canada", "Canada"), ("uk", "the United Kingdom")):
        parts.append(f"\n# Rules of {title}: `{which}`\n")
        parts += list(_set(which))
    parts += list(_tables())
    return "".join(parts)


def _set(which: str) -> Iterator[str]:
    """The rules of one set by their group."""
    for group in GROUPS:
        mine = [rule for rule in rules(which) if rule.group == group]
        if not mine:
            continue
        parts = [f"\n## {group.capitalize()}\n\n" if which == "us" else f"\n## {group.capitalize()} ({which})\n\n"]
        parts.append(
            _table(
                ("rule", "asks for", "measured at", "of", "decides", "standing", "status"),
                (
                    (
                        *(f"`{r.key}`", _limit(r), r.measures, _of_whom(r)),
                        *("yes" if r.governs else "", r.standing, r.status),
                    )
                    for r in mine
                ),
            )
        )
        parts.append("\n")
        parts += [f"- `{r.key}`: {r.source}. {r.note}".rstrip() + "\n" for r in mine]
        yield "".join(parts)


def pages() -> dict[Path, str]:
    """Every generated page with its text. Only the shipped catalog counts, not the user's own."""
    sys.path.append(str(ROOT))
    from scripts.library_page import library_page  # noqa: PLC0415  (found whether this is run as a script or not)

    own = os.environ.get("PITRECKON_CATALOG")
    os.environ["PITRECKON_CATALOG"] = str(Path(catalog.__file__).parent / "data")
    try:
        return {
            REFERENCE / "command-line.md": command_line(),
            REFERENCE / "outlook-json.md": outlook_json(),
            REFERENCE / "json-answers.md": json_answers(),
            REFERENCE / "catalog.md": the_catalog(),
            REFERENCE / "library.md": library_page(MADE),
            REFERENCE / "safety-rules.md": safety_rules(),
            REFERENCE / "ledger-file.md": between(REFERENCE / "ledger-file.md", "looks", looks()),
            REFERENCE / "settings-file.md": between(REFERENCE / "settings-file.md", "inputs", inputs()),
        }
    finally:
        if own is None:
            del os.environ["PITRECKON_CATALOG"]
        else:
            os.environ["PITRECKON_CATALOG"] = own


def main() -> None:
    """Write the pages that changed, and the manual pages, which follow from the same commands."""
    import make_man  # noqa: PLC0415  (beside this file, where it is run as a script)

    for path, text in pages().items():
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
            sys.stdout.write(f"wrote {path.relative_to(ROOT)}\n")
    make_man.main()


if __name__ == "__main__":
    main()
