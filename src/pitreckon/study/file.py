"""A study file (TOML) to a :class:`pitreckon.study.plan.Study`; its form: ``docs/reference/study-file.md``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from pitreckon.cook import Cook
from pitreckon.cook.keys import SHARE, SPAN, Around, parse_span_or_none
from pitreckon.cook.read import read_cook
from pitreckon.cook.values import minutes_text
from pitreckon.errors import InputError, Place
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import FLAG, WHOLE, Key, Keys, several, text, word
from pitreckon.forms.names import KnownNames, by_any_case, label_of
from pitreckon.study.outcomes import OUTCOMES, USUAL_KEEP
from pitreckon.study.plan import Drawn, Habit, Row, Study, put_in
from pitreckon.study.settings import COURSE, HABITS, SETTINGS, Setting, Value
from pitreckon.text.file import read_text
from pitreckon.text.words import did_you_mean

EMPTY: Final = "Write a [study] with its name and its cook, and a [grid]"
BETWEEN: Final = " to "
MOST_SEED: Final = 2_147_483_647
_NAME = text()
_KEPT = word({name: name for name in OUTCOMES}, "nothing that can be kept")
STUDY: Keys[dict[str, Any]] = Keys(
    dict,
    Key("name", _NAME, '"how hot and in what"', needed=True),
    Key("cook", _NAME, '"sunday-racks.toml"', needed=True),
    Key("item", _NAME, '"racks"'),
    Key("members", WHOLE, "256"),
    Key("seed", WHOLE, "1"),
    Key("keep", several(_KEPT), '["ready", "loss"]'),
    Key("same_members", FLAG, "true"),
)
_SPAN = text(parse_span_or_none, minutes_text)
HABIT = Keys(
    Habit,
    Key("look_every", SPAN, '"30 min"', "look_every_s"),
    Key("late", _SPAN, '"10 min"', "late_s"),
    Key("by_clock", SHARE, '"15 %"'),
    Key("colour", SHARE, '"10 %"'),
    Key("feel", SHARE, '"5 %"'),
)
COUNT = Key("count", WHOLE, "100", needed=True)


def read_study(path: Path, known: KnownNames | None = None) -> Study:
    """The study that a study file asks for; its cook's file is looked for beside it.

    Raises InputError: a file cannot be read, or something in it is wrong (file, line and field).
    """
    return study_from_text(read_text(path), str(path), path.parent, known)


def study_from_text(content: str, file: str, beside: Path, known: KnownNames | None = None) -> Study:
    """The study of a text. file: its name for messages; beside: the folder in which its cook is looked for."""
    return _study(Fields.of_text(content, file, empty=EMPTY), beside, known)


def study_from_tables(tables: Mapping[str, Any], beside: Path, known: KnownNames | None = None) -> Study:
    """The study of a mapping with the tables and keys of a study file; its cook may be a ``Cook`` instead of a file."""
    return _study(Fields.of_tables(tables, "study"), beside, known)


def _study(top: Fields, beside: Path, known: KnownNames | None) -> Study:
    top.only("study", "grid", "together", "draws", HABITS, heads=True)
    head = top.need_table("study", "Write [study] with its name and its cook")
    cook, head = _cook(head, beside, known)
    said = STUDY.said(head)
    said.pop("cook", None)
    item = _item(head, cook, said.pop("item", None))
    head.around = top.around = _around(cook, item, known)
    grid = _grid(top)
    together = _together(top)
    draws, drawn = _draws(top)
    _once(top, grid, together, drawn)
    keep = said.pop("keep", None)
    if keep == ():
        raise head.fault("keep", "nothing is kept", f"Write any of: {', '.join(OUTCOMES)}")
    study = head.build(
        lambda: Study(
            **{"members": 256, "seed": 1, "same_members": not draws, **said},
            cook=cook,
            item=item,
            keep=USUAL_KEEP if keep is None else tuple(dict.fromkeys(keep)),
            grid=grid,
            together=together,
            drawn=drawn,
            draws=draws,
            habits=_habits(top),
        )
    )
    if not 0 <= study.seed <= MOST_SEED:
        raise head.fault("seed", f"seed is {study.seed}", f"It lies between 0 and {MOST_SEED}")
    _go_together(top, study)
    return study


def _cook(head: Fields, beside: Path, known: KnownNames | None) -> tuple[Cook, Fields]:
    """The cook, and the head with a name in its place where a program gave the record itself."""
    given = head.raw.get("cook")
    if isinstance(given, Cook):
        raw = {**head.raw, "cook": given.name}
        return given, Fields(raw, head.path, head.title, head.file, head.lines, head.around)
    if isinstance(given, Path):
        head = Fields({**head.raw, "cook": str(given)}, head.path, head.title, head.file, head.lines, head.around)
    name = STUDY.keys[1].read(head)
    path = beside / name
    if not path.is_file():
        raise head.fault(
            "cook", f"there is no file {path}", "Write where its cook file is, seen from the study's folder"
        )
    return read_cook(path, known), head


def _item(head: Fields, cook: Cook, said: str | None) -> str:
    labels = [item.label for item in cook.items]
    if said is None:
        if len(labels) == 1:
            return labels[0]
        raise head.fault("item", "item is missing, and the cook has not just one", f"Write one of: {', '.join(labels)}")
    return str(head.parsed("item", said, lambda typed, _: label_of(typed, by_any_case(labels), "item")))


def _around(cook: Cook, item: str, known: KnownNames | None) -> Around:
    """What the values of its settings are read by."""
    serve = cook.served_at(cook.item(item))
    return Around(cook.zone_info, serve, known or KnownNames.from_catalog(), by_any_case(p.label for p in cook.pits))


def _setting(fields: Fields, name: str) -> Setting:
    if name not in SETTINGS:
        raise fields.fault(
            name, f"'{name[:40]}' is nothing that a study can vary", did_you_mean(name, tuple(SETTINGS), "Write any of")
        )
    return SETTINGS[name]


def _value(fields: Fields, setting: Setting, raw: Any) -> Value:
    """One value of a setting, as typed and as meant."""
    one = Fields({setting.name: raw}, fields.path, fields.title, fields.file, fields.lines, fields.around)
    typed = " ".join(one.text(setting.name, setting.key.how).split())
    return Value(typed, setting.key.form.read(one, setting.key))


def _values(fields: Fields, setting: Setting) -> tuple[Value, ...]:
    raw = fields.raw[setting.name]
    values = tuple(_value(fields, setting, each) for each in (raw if isinstance(raw, list | tuple) else [raw]))
    if not values:
        raise fields.fault(
            setting.name, f"{setting.name} has no value", f"Write it as in {setting.name} = {setting.key.example}"
        )
    if any(value.meant in [other.meant for other in values[:n]] for n, value in enumerate(values)):
        raise fields.fault(setting.name, f"a value of {setting.name} stands there twice", "Write each once")
    return values


def _grid(top: Fields) -> tuple[tuple[str, tuple[Value, ...]], ...]:
    table = top.table("grid")
    return () if table is None else tuple((name, _values(table, _setting(table, name))) for name in table.raw)


def _together(top: Fields) -> tuple[Row, ...]:
    rows = []
    for fields in top.tables("together"):
        rows.append(tuple((name, _value(fields, _setting(fields, name), raw)) for name, raw in fields.raw.items()))
        if {name for name, _ in rows[-1]} != {name for name, _ in rows[0]}:
            names = ", ".join(name for name, _ in rows[0])
            raise fields.fault("together", "it does not set the same as the first row", f"Set in each row: {names}")
        row = {name: value.meant for name, value in rows[-1]}
        if any({name: value.meant for name, value in other} == row for other in rows[:-1]):
            raise fields.fault("together", "this row stands there twice", "Write each once")
    return tuple(rows)


def _draws(top: Fields) -> tuple[int, tuple[Drawn, ...]]:
    table = top.table("draws")
    if table is None:
        return 0, ()
    count = COUNT.read(table)
    if count < 1:
        raise table.fault("count", f"count is {count}", COUNT.how)
    return count, tuple(_drawn(table, _setting(table, name)) for name in table.raw if name != COUNT.key)


def _drawn(fields: Fields, setting: Setting) -> Drawn:
    raw = fields.raw[setting.name]
    if isinstance(raw, list | tuple):
        return Drawn(setting.name, choices=_values(fields, setting))
    ends = str(raw).split(BETWEEN)
    if len(ends) != 2 or not setting.number:
        first = "a list of what it may be" if not setting.number else "a list, or two ends"
        example = f'"40 F{BETWEEN}90 F"' if setting.number else setting.key.example
        raise fields.fault(
            setting.name, f"{setting.name} does not say what it is drawn from", f"Write {first}, as in {example}"
        )
    low, high = sorted((_value(fields, setting, end) for end in ends), key=lambda value: float(value.meant))
    if low.meant == high.meant:
        raise fields.fault(
            setting.name, f"both ends of {setting.name} are the same", "Write two that differ, or a list"
        )
    return Drawn(setting.name, low=low, high=high)


def _habits(top: Fields) -> tuple[Habit, ...]:
    table = top.table(HABITS)
    if table is None:
        return ()
    found = []
    for name in table.raw:
        own = table.need_table(name, f"Head it with [{HABITS}.{name}]")
        own.title = HABITS
        found.append(HABIT.read(own, name=name))
    return tuple(found)


def _once(
    top: Fields, grid: tuple[tuple[str, tuple[Value, ...]], ...], together: tuple[Row, ...], drawn: tuple[Drawn, ...]
) -> None:
    """Nothing is varied in two ways, and something is varied."""
    names = [name for name, _ in grid] + [name for name, _ in (together or ((),))[0]] + [each.name for each in drawn]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise top.fault("grid", f"{twice} is varied in two ways", "Leave it out of grid, together or draws")


def _go_together(top: Fields, study: Study) -> None:
    """Every value can be put into the cook, all that make a course in all ways in which they meet, and every habit."""
    names = [habit.name for habit in study.habits]
    for name, value in study.every_value():
        if name == HABITS and value.text not in names:
            remedy = did_you_mean(value.text, names) if names else f"Write a [{HABITS}.{value.text}]"
            raise top.fault(HABITS, f"there are no habits '{value.text}'", remedy)
        if name != HABITS and name not in COURSE:
            _put_in(top, study, ((name, value),))
    for row in study.courses():
        _put_in(top, study, row)


def _put_in(top: Fields, study: Study, row: Row) -> None:
    """See that it can be. Raises InputError: why not, and where it stands."""
    try:
        put_in(study.cook, study.item, row)
    except InputError as error:
        wrong = error.place.field if error.place.field in dict(row) else row[-1][0]
        said = ", ".join(f"{name} = {value.text}" for name, value in row)
        raise InputError(f"{said}: {error.trouble}", error.remedy, _place(top, wrong)) from None


def _place(top: Fields, name: str) -> Place:
    """Where a setting stands."""
    for key in ("grid", "draws"):
        table = top.table(key)
        if table is not None and name in table.raw:
            return table.place(name)
    return next((row.place(name) for row in top.tables("together") if name in row.raw), top.place("study"))
