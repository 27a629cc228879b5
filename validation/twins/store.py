"""Rows of results as small tables: one CSV file for every fifty cooks, added to a whole cook at a time.

A cook is one (seed, members, index) and its rows say how many there are, so that a file cut off in the middle of a
write loses that cook and no other.
"""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

CHUNK = 50
Row = dict[str, str]


@dataclass(frozen=True)
class Store:
    """The rows of one run: a folder, a name, the columns. ``index`` and ``rows`` have to be among the columns."""

    folder: Path
    name: str
    columns: tuple[str, ...]

    def file_of(self, index: int) -> Path:
        """The table that holds a cook."""
        return self.folder / f"{self.name}-{index // CHUNK:03d}.csv"

    def files(self) -> list[Path]:
        """Every table there is, in order."""
        return sorted(self.folder.glob(f"{self.name}-[0-9][0-9][0-9].csv"))

    def clear(self) -> None:
        """Forget everything."""
        for file in self.files():
            file.unlink()

    def rows(self) -> dict[int, list[Row]]:
        """Rows by cook, whole cooks only. What is torn is taken out of its file, so that adding goes on well."""
        found: dict[int, list[Row]] = {}
        for file in self.files():
            text = file.read_text("utf-8")
            cooks = defaultdict(list)
            lines = text[: text.rfind("\n") + 1]  # a line without its end may be half of one
            for row in csv.DictReader(io.StringIO(lines)):
                if set(row) == set(self.columns) and all(value is not None for value in row.values()):
                    cooks[row["index"]].append(row)
            whole = {int(i): rows for i, rows in cooks.items() if i.isdigit() and _whole(rows)}
            again = self._head() + "".join(self._text(rows) for rows in whole.values())
            if again != text:
                file.write_text(again, "utf-8")
            found |= whole
        return found

    def add(self, index: int, rows: list[Row]) -> None:
        """Write a cook's rows at the end of its table."""
        file = self.file_of(index)
        self.folder.mkdir(parents=True, exist_ok=True)
        new = not file.exists() or file.stat().st_size == 0
        with file.open("a", encoding="utf-8") as handle:
            handle.write((self._head() if new else "") + self._text(rows))

    def _head(self) -> str:
        return ",".join(self.columns) + "\n"

    def _text(self, rows: list[Row]) -> str:
        out = io.StringIO()
        writer = csv.DictWriter(out, self.columns, lineterminator="\n")
        writer.writerows(rows)
        return out.getvalue()


def _whole(rows: list[Row]) -> bool:
    return all(row["rows"] == str(len(rows)) for row in rows)
