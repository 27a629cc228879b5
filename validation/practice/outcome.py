"""The result of a calibration as data files, the same bytes for the same result.

``universals.toml``: each universal's value, spread and how far it moved, and their correlations; ``pits.toml`` and
``cuts.toml``: the same for those, without correlations; ``correlations.csv``: spreads and correlations of
all free constants together.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from validation.practice import adapter
from validation.practice.gaussnewton import Found, correlations
from validation.practice.objective import ROW_WORTH
from validation.practice.parameters import Parameter

Floats = NDArray[np.float64]

FILES = {"universal": "universals.toml", "pit": "pits.toml", "cut": "cuts.toml"}
STRONG = 0.35


@dataclass(frozen=True)
class Outcome:
    """What was fitted, on how much, how, and what came of it; apart: of two ends, in posterior sd."""

    command: str
    seed: str
    free: Sequence[Parameter]
    missing: Sequence[str]
    found: Found
    apart: Floats | None
    rows: int
    experiments: int

    @property
    def sd(self) -> Floats:
        """Posterior spread of each number, in prior sd."""
        return np.sqrt(np.diag(self.found.covariance))


def write(outcome: Outcome, folder: Path) -> None:
    """All files into a folder; each whole or not at all."""
    folder.mkdir(parents=True, exist_ok=True)
    for kind, name in FILES.items():
        _put(folder / name, "\n".join(_toml(outcome, kind)) + "\n")
    write_correlations(outcome.free, outcome.found.covariance, folder / "correlations.csv")


def write_correlations(free: Sequence[Parameter], covariance: Floats, path: Path) -> None:
    """Spreads and correlations of all free constants; ``covariance`` in prior standard deviations."""
    part = path.with_suffix(".csv.part")
    with part.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["name", "kind", "scale", "address", "sd", *(p.name for p in free)])
        for p, sd, line in zip(free, np.sqrt(np.diag(covariance)), correlations(covariance), strict=True):
            writer.writerow([p.name, p.kind, p.scale, p.address, f"{sd * p.sd:.4g}", *(f"{r:.4f}" for r in line)])
    part.replace(path)


def _put(path: Path, text: str) -> None:
    part = path.with_suffix(path.suffix + ".part")
    part.write_text(text, "utf-8")
    part.replace(path)


def _toml(outcome: Outcome, kind: str) -> Iterator[str]:
    chosen = [i for i, p in enumerate(outcome.free) if p.kind == kind]
    yield f"# Made by: {outcome.command}"
    yield "# sd is of the natural logarithm where scale is log, else in the unit of the value; it is the spread of what"
    yield f"# is not known after {outcome.rows} rows of practice, each worth {ROW_WORTH:g} of a row, and "
    yield f"# {outcome.experiments} experiments; prior and memory weigh in it."
    yield ""
    yield "[made]"
    yield f'command = "{_quoted(outcome.command)}"'
    yield f'seed = "{_quoted(outcome.seed)}"'
    yield f'kernel = "{adapter.kernel_mark()}"'
    yield f"rows = {outcome.rows}"
    yield f"experiments = {outcome.experiments}"
    yield f"objective = {outcome.found.objectives[-1]:.3f}"
    yield f"settled = {str(outcome.found.settled).lower()}"
    if outcome.apart is not None:
        yield f"two_starts_apart_sd = {float(outcome.apart.max(initial=0.0)):.3f}"
    if kind == "universal" and outcome.missing:
        yield "not_offered = ["
        yield from (f'  "{_quoted(name)}",' for name in outcome.missing)
        yield "]"
    for i in chosen:
        p, x, sd = outcome.free[i], float(outcome.found.x[i]), float(outcome.sd[i])
        yield ""
        yield f"[[{kind}]]"
        yield f'name = "{p.name}"'
        yield f'address = "{p.address}"'
        yield f'scale = "{p.scale}"'
        yield f"value = {p.value(x):.5g}"
        yield f"sd = {sd * p.sd:.4g}"
        yield f"prior = {p.prior:.5g}"
        yield f"prior_sd = {p.sd:.4g}"
        yield f"moved_prior_sd = {x:.3f}"
    if kind == "universal" and chosen:
        yield ""
        yield "[correlations]"
        names = ", ".join('"' + outcome.free[i].name + '"' for i in chosen)
        yield f"names = [{names}]"
        yield "matrix = ["
        for line in correlations(outcome.found.covariance)[np.ix_(chosen, chosen)]:
            yield f"  [{', '.join(f'{r:.4f}' for r in line)}],"
        yield "]"


def _quoted(text: str) -> str:
    return text.replace("\\", "\\\\").replace('"', '\\"')


def report(outcome: Outcome) -> str:
    """The result for a reader."""
    lines = [f"objective {outcome.found.objectives[0]:.2f} to {outcome.found.objectives[-1]:.2f}", ""]
    lines.append(f"{'constant':30} {'prior':>10} {'fitted':>10} {'sd':>8} {'prior sd':>8} {'moved':>6}")
    for p, x, sd in zip(outcome.free, outcome.found.x, outcome.sd, strict=True):
        lines.append(
            f"{p.name:30} {p.prior:10.4g} {p.value(float(x)):10.4g} {sd * p.sd:8.3g} {p.sd:8.3g} {float(x):+6.2f}"
        )
    matrix = correlations(outcome.found.covariance)
    pairs = [
        (abs(matrix[i, j]), f"{outcome.free[i].name} and {outcome.free[j].name} {matrix[i, j]:+.2f}")
        for i in range(len(outcome.free))
        for j in range(i)
        if abs(matrix[i, j]) > STRONG
    ]
    lines += ["", f"correlations over {STRONG}:", *(f"  {text}" for _, text in sorted(pairs, reverse=True)), ""]
    return "\n".join(lines) + "\n"
