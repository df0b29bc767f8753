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
) -> None:
    """Serve the bench: pages for this computer."""
    from twoturn.cli.output import print_line
    from twoturn.web.serve import Serving
    from twoturn.web.serve import serve as run

    run(Serving(port=port, folder=data, browser=browser), print_line)
