"""Entry point of ``twoturn``: registers the commands and turns errors into one clear sentence and exit status 2."""

from __future__ import annotations

import os
import sys
from typing import Annotated

import typer

from twoturn.cli.backup import backup
from twoturn.cli.bolt import bolt
from twoturn.cli.capture import capture
from twoturn.cli.demo import demo
from twoturn.cli.drive import drive
from twoturn.cli.export import export
from twoturn.cli.import_ import import_
from twoturn.cli.open import open_job
from twoturn.cli.plan import plan
from twoturn.cli.pluck import pluck
from twoturn.cli.prove import prove
from twoturn.cli.restore import restore
from twoturn.cli.serve import serve
from twoturn.cli.verify import verify

app = typer.Typer(
    help="The bench for people who renew engine timing belts.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.command()(backup)
app.command()(bolt)
app.command()(capture)
app.command()(demo)
app.command()(drive)
app.command()(export)
app.command("import")(import_)
app.command("open")(open_job)
app.command()(plan)
app.command()(pluck)
app.command()(prove)
app.command()(restore)
app.command()(serve)
app.command()(verify)


def _print_version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        typer.echo(f"twoturn {version('twoturn')}")
        raise typer.Exit


@app.callback()
def _bench(
    version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """The bench for people who renew engine timing belts."""


def run() -> None:
    """Run the command line; a fault in the input becomes one sentence on stderr and exit status 2."""
    from twoturn.cli.output import report_error
    from twoturn.errors import TwoTurnError

    # the matrices here are small: several threads for linear algebra cost more time than they save
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        app()
    except TwoTurnError as error:
        sys.exit(report_error(error, as_json="--json" in sys.argv))
    except OSError as error:  # the last net: a name too long, a full disk, a right that is missing
        what = str(error.filename)[:60] if error.filename else "a file"
        reason = (error.strerror or "it cannot be opened").lower()
        refused = TwoTurnError(f"{what} cannot be used: {reason}", next_step="check its name, its folder and the disk")
        sys.exit(report_error(refused, as_json="--json" in sys.argv))
