"""The command line: thin, and light until a command really runs.

Nothing heavy is imported here or by a command's file; each command imports what it needs, so that ``--help`` answers
at once.
"""

import io
import os
import sys
from typing import Annotated, Final, NoReturn

import typer

from pitreckon import __version__
from pitreckon.cli import kept, nocache, notices
from pitreckon.cli.brief import BRIEF
from pitreckon.cli.commands import (
    against,
    alerts,
    batch,
    card,
    carry,
    cool,
    defaults,
    demo,
    explain,
    ledger,
    lessons,
    listing,
    look,
    mix,
    new,
    plan,
    reckon,
    record,
    schema,
    serve,
    sheet,
    study,
    suppose,
    take_in,
    warm,
    why,
)
from pitreckon.cli.interrupt import CODE as INTERRUPTED
from pitreckon.cli.interrupt import Interrupts, interruptible
from pitreckon.cli.kept import kept_words
from pitreckon.cli.more import with_more
from pitreckon.cli.renamed import Command
from pitreckon.errors import PitreckonError, RangeError
from pitreckon.extras import missing_of
from pitreckon.work.lean import one_thread_for_matrices

TRACEBACK: Final = "PITRECKON_TRACEBACK"
HEARD_S: Final = 0.3
UNFORESEEN: Final = 70
"""As sysexits.h of BSD has it for a fault inside a program."""

app = typer.Typer(
    add_completion=True,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    epilog="Units, ledger and people of your own stand in a file: 'pitreckon defaults' says which, and what holds.",
    help="Reckons where each piece of meat on the pit stands, when it will be ready, and how sure that is. "
    "A forecast is no promise of safety: check with a thermometer and follow your local food code.",
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"pitreckon {__version__}")
        raise typer.Exit


@app.callback()
def main(
    _show_version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Reckons where each piece of meat on the pit stands and when it will be ready."""


for command in (
    new.new,
    reckon.reckon,
    suppose.suppose,
    look.look,
    take_in.take_in,
    take_in.watch,
    carry.cooks,
    carry.export,
    carry.import_,
    alerts.alerts,
    sheet.sheet,
    plan.plan,
    mix.mix,
    batch.batch,
    card.card,
    against.against,
    explain.explain,
    record.record,
    cool.cool,
    why.why,
    study.study,
    lessons.lessons,
    listing.cuts,
    listing.pits,
    listing.wraps,
    schema.schema,
    defaults.defaults,
    warm.warm,
    demo.demo,
    serve.serve,
):
    kind = with_more(take_in=card.take_in) if command is card.card else Command
    name = command.__name__.strip("_").replace("_", "-")
    app.command(name, cls=kind, short_help=BRIEF[name])(command)

app.add_typer(ledger.app, name="ledger", short_help=BRIEF["ledger"])


def run() -> None:
    """Entry point: a fault in somebody's input is one line on standard error and exit code 2; an interrupt 130.

    What nobody foresaw is one line and exit code 70; with $PITRECKON_TRACEBACK set it is raised.
    """
    one_thread_for_matrices()
    nocache.make_do()
    kept.forget()
    notices.forget()
    _print_anything()
    with interruptible(next((each for each in sys.argv[1:] if not each.startswith("-")), "")) as interrupts:
        try:
            app()
        except RangeError as fault:  # a warning before it has named the key
            typer.echo(
                f"pitreckon: {fault}, and the laws hold no further. Write what is nearer to the usual.", err=True
            )
            sys.exit(2)
        except PitreckonError as fault:
            typer.echo(f"pitreckon: {fault}", err=True)
            sys.exit(2)
        except SystemExit as end:
            if end.code == INTERRUPTED:
                _interrupted(interrupts)
            raise
        except KeyboardInterrupt:
            _interrupted(interrupts)
        except ModuleNotFoundError as fault:
            missing = missing_of(fault)
            if missing is None:
                _broke(fault)
            else:
                typer.echo(f"pitreckon: {missing}", err=True)
                sys.exit(2)
        except UnicodeError:
            typer.echo("pitreckon: what was typed holds bytes that are no letters. Type it in UTF-8.", err=True)
            sys.exit(2)
        except OSError as fault:  # a name, a folder, a full disk: what no file can do is somebody's to put right
            where = f"{fault.filename}: " if fault.filename else ""
            typer.echo(f"pitreckon: {where}{fault.strerror or fault}. Check the name and the folder.", err=True)
            sys.exit(2)
        except Exception as fault:
            _broke(fault)


def _broke(fault: Exception) -> NoReturn:
    if os.environ.get(TRACEBACK):
        raise fault
    typer.echo(f"pitreckon: {_unforeseen(fault)}. That is a fault of the program; {TRACEBACK}=1 shows where.", err=True)
    sys.exit(UNFORESEEN)


def _interrupted(interrupts: Interrupts) -> NoReturn:
    if interrupts.came.wait(HEARD_S):  # the thread beside this one hears it too, in its own time
        interrupts.end()
    typer.echo(f"pitreckon: {kept_words()}", err=True)
    sys.exit(INTERRUPTED)


def _unforeseen(fault: Exception) -> str:
    if isinstance(fault, MemoryError):
        return "there is not enough memory"
    said = " ".join(str(fault).split())[:200]
    return f"{type(fault).__name__}{f': {said}' if said else ''}"


def _print_anything() -> None:
    """What a screen or a pipe cannot show becomes a question mark, and no fault."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


if __name__ == "__main__":
    run()
