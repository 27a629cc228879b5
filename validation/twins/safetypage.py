"""What was said of twins against what was true, as a table, and its place in ``validation/README.md``."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pitreckon.safety.rules.rule import rules
from validation.marked import put
from validation.twins.page import README, table
from validation.twins.store import Row

BEGIN: Final = "<!-- made by python -m validation.twins.safetybulk: begin -->"
END: Final = "<!-- end of safety -->"
HEAD: Final = (
    *("rule", "asked", "truly met", "said met", "falsely", "truth within a sample"),
    *("truly missed", "said missed", "false alarms", "cannot tell", "not yet"),
)
FAILED: Final = frozenset({"missed", "not met"})


@dataclass(frozen=True)
class Tally:
    """Counts of a rule, or of all."""

    asked: int
    truly_met: int
    met: int
    false_met: int
    unsure_met: int
    truly_failed: int
    failed: int
    false_alarms: int
    cannot_tell: int
    not_yet: int

    @classmethod
    def of(cls, rows: Sequence[Row]) -> Tally:
        """Count rows with ``said``, ``true`` and ``count``."""
        pairs: Counter[tuple[str, str]] = Counter()
        for row in rows:
            pairs[row["said"], row["true"]] += int(row["count"])

        def many(said: frozenset[str] | None, true: frozenset[str] | None) -> int:
            return sum(n for (s, t), n in pairs.items() if (said is None or s in said) and (true is None or t in true))

        met, unsure, yet = frozenset({"met"}), frozenset({"cannot tell"}), frozenset({"not yet"})
        return cls(
            asked=many(None, None),
            truly_met=many(None, met),
            met=many(met, None),
            false_met=many(met, FAILED | yet),
            unsure_met=many(met, unsure),
            truly_failed=many(None, FAILED),
            failed=many(FAILED, None),
            false_alarms=many(FAILED, met | yet),
            cannot_tell=many(unsure, None),
            not_yet=many(yet, None),
        )

    @property
    def cells(self) -> list[str]:
        """In the order of the table's head."""
        numbers = (
            *(self.asked, self.truly_met, self.met, self.false_met, self.unsure_met),
            *(self.truly_failed, self.failed, self.false_alarms, self.cannot_tell, self.not_yet),
        )
        return [f"{n}" for n in numbers]


def text(rows: Sequence[Row], *, days: int, twins: int, seed: int, members: int) -> str:
    """The generated part."""
    keys = [rule.key for rule in rules() if any(row["rule"] == rule.key for row in rows)]
    total = Tally.of(rows)
    lines = [
        (
            f"{days * twins} twins on {days} days, each asked at two moments, {members} members, seed {seed}: "
            f"{total.asked} verdicts, {total.met} of them met, {total.false_met} falsely; "
            f"{total.failed} missed or not met, {total.false_alarms} of them false alarms. Made by"
        ),
        "",
        "```",
        f"python -m validation.twins.safetybulk --days {days} --seed {seed} --members {members} --write",
        "```",
        "",
        *table(HEAD, [[key, *Tally.of([r for r in rows if r["rule"] == key]).cells] for key in keys]),
        *table(
            ["basis", *HEAD[1:]],
            [
                [basis, *Tally.of([r for r in rows if r["basis"] == basis]).cells]
                for basis in sorted({row["basis"] for row in rows})
            ],
        ),
    ]
    return "\n".join(lines)


def write(made: str, page: Path = README) -> None:
    """Put the generated part between its markers."""
    put(made, BEGIN, END, page)
