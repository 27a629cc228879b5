"""The work behind ``pitreckon warm``."""

from __future__ import annotations

import typer

from pitreckon.cli.run import progress_line


def warm_up() -> None:
    """Make the kernel ready and say what it took."""
    with progress_line() as progress:
        progress.add_task("compiling the kernel (once, up to a minute on a small machine)", total=None)
        from pitreckon.section.warm import warm  # noqa: PLC0415

        took = warm()
    done = "compiled" if took.compiled else "was ready"
    typer.echo(f"The kernel {done}: {took.seconds:.1f} s.")
