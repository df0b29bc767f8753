"""``twoturn serve``: the bench's pages in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def serve(
    port: Annotated[int, typer.Option("--port", help="The port of the pages.")] = 8642,
    data: Annotated[
        Path | None, typer.Option("--data", help="The folder of the record; this user's own when left out.")
    ] = None,
    browser: Annotated[bool, typer.Option("--open", help="Open the pages in a browser.")] = False,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let tablets and phones of this network in, with TLS and PINs.")
    ] = False,
    cert: Annotated[Path | None, typer.Option("--cert", help="With --lan: a certificate of your own (PEM).")] = None,
    key: Annotated[Path | None, typer.Option("--key", help="With --cert: its key (PEM, without password).")] = None,
    name: Annotated[
        list[str] | None, typer.Option("--name", help="With --lan: a further name by which the bench is reached.")
    ] = None,
) -> None:
    """Serve the bench: pages for this computer, or with --lan for the workshop's network."""
    from twoturn.cli.output import print_now
    from twoturn.web.serve import Serving
    from twoturn.web.serve import serve as run

    run(Serving(port, data, browser, lan, cert, key, tuple(name or ())), print_now)
