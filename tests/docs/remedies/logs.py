"""What is wrong in a log, a spreadsheet or a file as such, and in what is written in no file of its own."""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tests.docs.remedies.cooks import COOK, whole
from tests.docs.remedies.tried import swapped, tried

from pitreckon.forms.defaults import KEYS
from pitreckon.forms.fields import Fields
from pitreckon.forms.keys import Key, Keys, several, text
from pitreckon.forms.names import label_of
from pitreckon.ledger.events import LOOKS, Ledger
from pitreckon.ledger.log.read import log_from_text
from pitreckon.text.file import read_text
from pitreckon.text.table import decode_table, shape_of
from pitreckon.text.toml import parse_toml
from pitreckon.text.words import known_word, resolve
from pitreckon.units import find_zone, parse_altitude, parse_area, parse_difference, parse_duration, parse_instant

SUPPER = whole(swapped(COOK, "[[pit]]", '[[pit]]\nname = "kettle"\nkind = "kettle"\nset = "300 F"\n\n[[pit]]'))
HEAD = "time,kind,on,piece,what,value,note\n"
ROWS = """\
2026-10-10 13:00,act,racks,,put on,,
2026-10-10 13:05,reading,big box,,pit air,275 F,
2026-10-10 14:30,look,racks,1,colour,amber,
2026-10-10 15:00,act,racks,,wrapped,foil,
"""
LOG = HEAD + ROWS
CHICAGO = ZoneInfo("America/Chicago")


def log(said: str) -> Ledger:
    return log_from_text(said, "supper.csv", SUPPER)


def row(said: str) -> Ledger:
    """The log with one more row."""
    return log(f"{LOG}{said}\n")


def cells(at: str) -> Callable[[str], Ledger]:
    """Reads the log with a piece in the place of another."""
    return lambda piece: log(swapped(LOG, at, piece))


def file_of(content: bytes | None) -> str:
    """The text of a file with this in it; None: it is not there."""
    file = Path("given.toml")
    file.unlink(missing_ok=True)
    if content is not None:
        file.write_bytes(content)
    return read_text(file)


def folder_or_file(name: str) -> str:
    Path("folder").mkdir(exist_ok=True)
    Path("folder/file.toml").write_text("[cook]\n", "utf-8")
    return read_text(Path(name))


def table(said: str) -> Any:
    return shape_of(said, "logger.csv")


def defaults(said: str) -> Any:
    return KEYS.read(Fields.of_text(said, "defaults.toml"))


LONE = Keys(dict, Key("words", several(text(), lone=False), '["one", "two"]'))
SHEET = (
    "time;kind;on;what;value\n10.10.2026 13:00;act;racks;put on;\n10.10.2026 13:05;reading;big box;pit air;135,5 C\n"
)

LOGS = [
    tried(
        "the log is empty (0 bytes)",
        "Begin with the line: time,kind,on,piece,what,value,note, or leave the log out",
        log,
        "",
        LOG,
    ),
    tried(
        "the header is missing",
        "Begin with the line: time,kind,on,piece,what,value,note (commas between)",
        log,
        ROWS,
        LOG,
    ),
    tried("the header is missing", "Begin with the line: time,kind,on,piece,what,value,note", log, "\n\n", LOG),
    tried(
        "the column 'value' is missing",
        "Begin with the line: time,kind,on,piece,what,value,note",
        log,
        LOG.replace("value,note", "worth,note"),
        LOG,
    ),
    tried(
        "'valeu' is no column that we know", "Did you mean 'value'", log, LOG.replace("what,value", "what,valeu"), LOG
    ),
    tried("two columns are headed 'time'", "Delete one", log, LOG.replace("time,kind", "time,time,kind"), LOG),
    tried(
        "the row has 8 cells under a header of 7",
        "Put a text that has a comma in it between double quotes",
        row,
        "2026-10-10 15:05,look,racks,,colour,amber,too, too dark",
        '2026-10-10 15:05,look,racks,,colour,amber,"too, too dark"',
    ),
    tried(
        "the row cannot be split into columns (unexpected end of data)",
        "Close every double quote",
        row,
        '2026-10-10 15:05,look,racks,,colour,amber,"too dark',
        '2026-10-10 15:05,look,racks,,colour,amber,"too dark"',
    ),
    tried(
        "'looks at' is no kind of row that we know",
        "Did you mean 'look'",
        row,
        "2026-10-10 15:05,looks at,racks,,colour,amber,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
    ),
    tried(
        "it is blank",
        "Write one of: reading, look, act",
        row,
        "2026-10-10 15:05,,racks,,colour,amber,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
        "2026-10-10 15:05,act,racks,,sauced,,",
        "2026-10-10 15:05,reading,racks,,probe,150 F,",
    ),
    tried(
        "'color' is no look that we know",
        "Did you mean 'colour'",
        row,
        "2026-10-10 15:05,look,racks,,color,amber,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
    ),
    tried(
        "'taste' is no look that we know",
        f"Write one of: {', '.join(LOOKS)}",
        row,
        "2026-10-10 15:05,look,racks,,taste,good,",
        "2026-10-10 15:05,look,racks,,probe feel,firm,",
    ),
    tried(
        "'rax' is no item of this cook",
        "Write one of: racks",
        row,
        "2026-10-10 15:05,look,rax,,colour,amber,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
    ),
    tried(
        "the pit is not named",
        "Write one of: kettle, big box",
        row,
        "2026-10-10 15:05,reading,,,pit air,250 F,",
        "2026-10-10 15:05,reading,big box,,pit air,250 F,",
        "2026-10-10 15:05,reading,kettle,,pit air,250 F,",
    ),
    tried(
        "'4' is no piece of 'racks', which has 3",
        "Write a number from 1 to 3, or leave the piece out",
        row,
        "2026-10-10 15:05,look,racks,4,colour,amber,",
        "2026-10-10 15:05,look,racks,1,colour,amber,",
        "2026-10-10 15:05,look,racks,3,colour,amber,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
    ),
    tried(
        "a pit has no pieces",
        "Leave the piece blank, or out",
        row,
        "2026-10-10 15:05,reading,big box,1,pit air,250 F,",
        "2026-10-10 15:05,reading,big box,,pit air,250 F,",
    ),
    tried(
        "'golden' is no colour that we know",
        "Write one of: raw, tan, amber, red-brown, mahogany, too dark",
        row,
        "2026-10-10 15:05,look,racks,,colour,golden,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
    ),
    tried(
        "'dark' is no measured colour",
        "Write the level as 'pitreckon look' tells it: 0.86 ± 0.07",
        row,
        "2026-10-10 15:05,look,racks,,colour in a photo,dark,",
        "2026-10-10 15:05,look,racks,,colour in a photo,0.86 ± 0.07,",
    ),
    tried(
        "'999' is an instrument's fault code, not a temperature",
        "Correct or delete the row, or read the log with --set-aside to keep such rows as rejected and go on",
        row,
        "2026-10-10 15:05,reading,racks,,probe,999,",
        "2026-10-10 15:05,reading,racks,,probe,150 F,",
        "",
    ),
    tried(
        "the value is blank",
        "Correct or delete the row, or read the log with --set-aside to keep such rows as rejected and go on",
        row,
        "2026-10-10 15:05,reading,racks,,probe,,",
        "2026-10-10 15:05,reading,racks,,probe,150 F,",
        "",
    ),
    tried(
        "'warm' is not a temperature",
        "Write it as in 275 F or 135 C",
        row,
        "2026-10-10 15:05,reading,racks,,probe,warm,",
        "2026-10-10 15:05,reading,racks,,probe,275 F,",
        "2026-10-10 15:05,reading,racks,,probe,135 C,",
    ),
    tried(
        "'sauced' takes no value, and 'honey' is given",
        "Put it under note",
        row,
        "2026-10-10 15:05,act,racks,,sauced,honey,",
        "2026-10-10 15:05,act,racks,,sauced,,honey",
    ),
    tried(
        "'900 F' is no temperature for that",
        "Write one from 50 °F to 752 °F",
        row,
        "2026-10-10 15:05,act,big box,,set pit,900 F,",
        "2026-10-10 15:05,act,big box,,set pit,50 F,",
        "2026-10-10 15:05,act,big box,,set pit,752 F,",
    ),
    tried(
        "'900 F' is no temperature for that",
        "Write one from -40 °F to 248 °F",
        row,
        "2026-10-10 15:05,act,racks,,hold,900 F,",
        "2026-10-10 15:05,act,racks,,hold,-40 F,",
        "2026-10-10 15:05,act,racks,,hold,248 F,",
    ),
    tried(
        "'cettle' is no pit of this cook",
        "Did you mean 'kettle'",
        row,
        "2026-10-10 15:05,act,racks,,moved,cettle,",
        "2026-10-10 15:05,act,racks,,moved,kettle,",
    ),
    tried(
        "the time '2026-10-10 14:05' runs backwards: the row before is at 2026-10-10 15:00",
        "Put the rows in order of time, or correct this time or the one before",
        row,
        "2026-10-10 14:05,look,racks,,colour,amber,",
        "2026-10-10 15:05,look,racks,,colour,amber,",
    ),
    tried(
        "'13:00' has no day, and there is no row before to take it from",
        "Write the first time with its day, as in 2026-10-10 13:15",
        cells("2026-10-10 13:00"),
        "13:00",
        "2026-10-10 13:15"[:0] + "2026-10-10 13:00",
    ),
    tried(
        "this row says the same as line 5",
        "Delete one of them, or give their times to the second",
        row,
        "2026-10-10 15:00,act,racks,,wrapped,foil,",
        "",
        "2026-10-10 15:00:30,act,racks,,wrapped,foil,",
    ),
    tried(
        "'wrapped' comes before 'racks' is put on (planned for 2026-10-10 13:00)",
        "Add a row with the act 'put on' before it, or correct the time",
        log,
        HEAD + "2026-10-10 12:00,act,racks,,wrapped,foil,\n",
        HEAD + "2026-10-10 11:00,act,racks,,put on,,\n2026-10-10 12:00,act,racks,,wrapped,foil,\n",
        HEAD + "2026-10-10 14:00,act,racks,,wrapped,foil,\n",
    ),
    tried(
        "'racks' is put on here, but line 2 says 'wrapped' before it",
        "Put the rows in their right order, or correct their times",
        log,
        HEAD + "2026-10-10 14:00,act,racks,,wrapped,foil,\n2026-10-10 14:30,act,racks,,put on,,\n",
        HEAD + "2026-10-10 13:30,act,racks,,put on,,\n2026-10-10 14:00,act,racks,,wrapped,foil,\n",
    ),
    tried(
        "some numbers have a decimal comma and some a point",
        "Write all of them the same way",
        log,
        SHEET.replace("135,5 C", "135,5 C\n10.10.2026 13:10;reading;big box;pit air;135.5 C"),
        SHEET.replace("135,5 C", "135,5 C\n10.10.2026 13:10;reading;big box;pit air;135,5 C"),
    ),
    tried(
        "'32.32.2026' is no day in any order",
        "Write dates as in 2026-10-10",
        log,
        SHEET.replace("10.10.2026", "32.32.2026"),
        SHEET.replace("10.10.2026", "2026-10-10"),
    ),
    tried(
        "'32.10.2026' is no day",
        "Write it day first, as the other rows",
        log,
        SHEET.replace("10.10.2026 13:05", "32.10.2026 13:05").replace("10.10.2026 13:00", "10.10.2026 13:00"),
        SHEET,
    ),
    tried(
        "'05/06/2026' can be read with the day or with the month first",
        "Say which comes first",
        lambda dates: log_from_text(SHEET.replace("10.10.2026", "05/06/2026"), "supper.csv", SUPPER, dates=dates),
        None,
        "day first",
        "month first",
    ),
    tried(
        "'10.13.2026' is no day",
        "Write it day first, as the other rows",
        lambda said: log_from_text(SHEET.replace("10.10.2026 13:05", said), "supper.csv", SUPPER, dates="day first"),
        "10.13.2026 13:05",
        "10.10.2026 13:05",
    ),
    # files as such
    tried("there is no such file", "Check its name and folder", file_of, None, b"[cook]\n"),
    tried(
        "the file cannot be read (Is a directory)",
        "Check that it is a file and may be read",
        folder_or_file,
        "folder",
        "folder/file.toml",
    ),
    tried(
        "the file is not UTF-8: byte 12 of the file is 0xe9",
        "Save it again as plain text in UTF-8",
        file_of,
        b'name = "caf\xe9"\n',
        'name = "café"\n'.encode(),
    ),
    tried(
        "the file is not text",
        "Export the log as CSV",
        lambda raw: decode_table(raw, "log.csv"),
        b"PK\x03\x04\0\0",
        LOG.encode(),
    ),
    tried("the file is empty", "Give a log with rows in it, or wait for its first row", table, "", LOG),
    tried(
        "no row has a time and a number beside it",
        "Give a table with one row a time, its cells parted by commas, semicolons or tabs",
        table,
        "a,b\nc,d\n",
        "time,pit\n2026-10-10 13:00,250\n",
        "time;pit\n2026-10-10 13:00;250\n",
        "time\tpit\n2026-10-10 13:00\t250\n",
    ),
    tried(
        "some numbers have a decimal comma and some a point",
        "Write all of them the same way",
        table,
        "time;pit\n2026-10-10 13:00;250,5\n2026-10-10 13:01;250.5\n",
        "time;pit\n2026-10-10 13:00;250,5\n2026-10-10 13:01;250,5\n",
    ),
    tried(
        "the file is not TOML: Expected newline or end of document after a statement",
        'Write one key = "value" on a line, texts in double quotes, below the [head] of its table',
        lambda said: parse_toml(said, "a.toml"),
        "[cook]\nset = 275 F\n",
        '[cook]\nset = "275 F"\n',
    ),
    tried(
        "its brackets are nested too deeply",
        'Write a list of texts alone, as in ["one", "two"]',
        lambda said: parse_toml(said, "a.toml"),
        "a = " + "[" * 5000,
        "[a]\nb = 1\n",
    ),
    tried(
        "the key 'a.b.c.d.e.f.g.h.i' has more than 8 steps",
        "Write it below the [head] of its table, with fewer points",
        lambda said: parse_toml(said, "a.toml"),
        "a.b.c.d.e.f.g.h.i = 1\n",
        "[a.b]\nc = 1\n",
    ),
    # what a person wants where nothing else is said
    tried(
        "it is blank",
        "Give the path of a file, or leave it out",
        defaults,
        'ledger = " "',
        'ledger = "suppers.sqlite"',
        "",
    ),
    tried(
        "people is 0", "Write how many usually eat, 1 to 5000", defaults, "people = 0", "people = 1", "people = 5000"
    ),
    tried(
        "'stone' is no units",
        "Write one of: us, metric",
        defaults,
        'units = "stone"',
        'units = "us"',
        'units = "metric"',
    ),
    # units by themselves
    tried(
        "words is not a list of texts",
        'Write it as in words = ["one", "two"]',
        lambda said: LONE.read(Fields.of_tables({"words": said}, "a form")),
        "one",
        ["one", "two"],
    ),
    tried("'high' is not a height", "Write it as in 5280 ft or 1600 m", parse_altitude, "high", "5280 ft", "1600 m"),
    tried(
        "'2:30' is not a duration",
        "Write it as in 2h30, 90 min or 45 s",
        parse_duration,
        "2:30",
        "2h30",
        "90 min",
        "45 s",
    ),
    tried("'1 acre' is no area", "Write it as in 300 sq in or 0.2 m2", parse_area, "1 acre", "300 sq in", "0.2 m2"),
    tried(
        "'25 F' reads as a temperature, and a temperature difference is wanted",
        "Write it as in +25 F, 25 F cooler or 25 F deg",
        parse_difference,
        "25 F",
        "+25 F",
        "25 F cooler",
        "25 F deg",
    ),
    tried(
        "'-25 F cooler' has both a sign and 'cooler'",
        "Write it as in +25 F, 25 F cooler or 25 F deg",
        parse_difference,
        "-25 F cooler",
        "+25 F",
        "25 F cooler",
        "25 F deg",
    ),
    tried(
        "'much' is not a temperature difference",
        "Write it as in +25 F, 25 F cooler or 25 F deg",
        parse_difference,
        "much",
        "+25 F",
        "25 F cooler",
        "25 F deg",
    ),
    tried(
        "'Berlin' is not a time zone",
        "Write its IANA name, such as Europe/Berlin",
        find_zone,
        "Berlin",
        "Europe/Berlin",
    ),
    tried(
        "'New York' is not a time zone",
        "Write its IANA name, such as America/New_York",
        find_zone,
        "New York",
        "America/New_York",
    ),
    tried(
        "'2026-10-10 18:00 EST' is not on EST in America/Chicago",
        "Leave it out or write CDT",
        lambda said: parse_instant(said, CHICAGO),
        "2026-10-10 18:00 EST",
        "2026-10-10 18:00 CDT",
        "2026-10-10 18:00",
    ),
    tried(
        "'2026-10-10T18:00:00-25:00' has an offset that no place has",
        "Write it as in 2026-10-10 18:00 (the cook's local time) or 2026-10-10T18:00:00-05:00",
        lambda said: parse_instant(said, CHICAGO),
        "2026-10-10T18:00:00-25:00",
        "2026-10-10T18:00:00-05:00",
        "2026-10-10 18:00",
    ),
    tried(
        "'sleep' is nothing to do",
        "Write one of: rest, hold",
        lambda said: known_word(said, ("rest", "hold"), "nothing to do"),
        "sleep",
        "rest",
        "hold",
    ),
    tried(
        "'rubb' is no use that we know",
        "Write rub",
        lambda said: resolve(said, {"rub": "rub", "sauce": "sauce"}, "use"),
        "rubb",
        "rub",
    ),
    tried(
        "'kettle' is no pit of this cook",
        "Write a [[pit]] first",
        lambda said: label_of(said, {}, "pit") if said is not None else label_of("kettle", {"kettle": "kettle"}, "pit"),
        "kettle",
        None,
    ),
]
