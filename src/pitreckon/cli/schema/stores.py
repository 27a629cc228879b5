"""Answers about ledgers, files and the program itself."""

from datetime import datetime

from pydantic import Field

from pitreckon.cli.schema.part import Part


class CookRowAnswer(Part):
    """One cook of a ledger."""

    id: str
    name: str
    entries: int
    became: str | None = Field(description="what became of one that was not served")


class CooksAnswer(Part):
    """``pitreckon cooks``."""

    ledger: str
    cooks: list[CookRowAnswer]


class ImportAnswer(Part):
    """``pitreckon import``."""

    ledger: str
    cook: str
    entries: int


class ColumnAnswer(Part):
    """What a column is taken for."""

    header: str
    means: str


class UnusedAnswer(Part):
    """A reading that is kept and not used."""

    line: int | None
    channel: str
    on: str
    why: str


class TakeInAnswer(Part):
    """``pitreckon take-in``."""

    cook: str
    columns: list[ColumnAnswer]
    readings: int
    first: datetime | None
    last: datetime | None
    unused: list[UnusedAnswer]
    recorded: int = Field(description="new ones; 0 with --dry-run")


class LedgerCheckAnswer(Part):
    """``pitreckon ledger check``."""

    ledger: str
    whole: bool
    cooks: int
    entries: int
    faults: list[str]
    photos: list[str] = Field(description="photos that are not there as they were")


class LedgerFileAnswer(Part):
    """``pitreckon ledger backup`` and ``restore``: the file that was made."""

    file: str


class SavedCookAnswer(Part):
    """One cook that was saved."""

    id: str
    name: str
    entries: int
    missing: list[int]
    dropped: int
    whole: bool


class LedgerSalvageAnswer(Part):
    """``pitreckon ledger salvage``."""

    file: str
    whole: bool
    cooks: list[SavedCookAnswer]
    torn: list[str] = Field(description="tables of which not every row could be read")


class LedgerKeyAnswer(Part):
    """``pitreckon ledger key``."""

    short: str
    public_key: str


class WarmAnswer(Part):
    """``pitreckon warm``."""

    compiled: bool
    seconds: float


class DefaultAnswer(Part):
    """One of them."""

    value: str | int | None
    whence: str | None = Field(description="the variable or the file that says it; null: nobody does")


class DefaultsAnswer(Part):
    """``pitreckon defaults``."""

    file: str
    there: bool
    units: DefaultAnswer
    ledger: DefaultAnswer
    people: DefaultAnswer


class NewAnswer(Part):
    """``pitreckon new``."""

    written: str
    cook: str = Field(description="its name")
    put_on: datetime = Field(description="when it goes on")
    chance: float | None = Field(description="[-] of its being ready in time, and still good; null: --put-on said when")
    next: str = Field(description="the command that goes on from here")
