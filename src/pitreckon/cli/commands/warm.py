"""``pitreckon warm``: the kernel made ready."""

import time

import typer

from pitreckon.cli.options import Json


def warm(as_json: Json = False) -> None:
    """Compile the kernel once, so that the first cook does not wait for it."""
    from pitreckon.cli.nocache import why
    from pitreckon.cli.notices import warn
    from pitreckon.cli.run import progress_line

    if why():
        warn(why())
    with progress_line() as progress:
        progress.add_task("making the kernel ready (once, some seconds and up to a minute)", total=None)
        from pitreckon.reckon.readied import make_ready
        from pitreckon.section.warm import warm as run

        begin = time.perf_counter()
        made = make_ready()
        took = run()
        seconds = time.perf_counter() - begin
    if as_json:
        from pitreckon.cli.envelope import print_json

        print_json("warm", {"compiled": took.compiled or made, "seconds": seconds})
        return
    done = "compiled" if took.compiled else "was made ready" if made else "was ready"
    typer.echo(f"The kernel {done}: {seconds:.1f} s.")
