"""``pitreckon warm``: the kernel made ready."""

import typer

from pitreckon.cli.options import Json


def warm(as_json: Json = False) -> None:
    """Compile the kernel once, so that the first cook does not wait for it."""
    from pitreckon.cli.run import progress_line

    with progress_line() as progress:
        progress.add_task("compiling the kernel (once, up to a minute on a small machine)", total=None)
        from pitreckon.section.warm import warm as make_ready

        took = make_ready()
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("warm", {"compiled": took.compiled, "seconds": took.seconds})
        return
    done = "compiled" if took.compiled else "was ready"
    typer.echo(f"The kernel {done}: {took.seconds:.1f} s.")
