"""``twoturn demo``: the main job on five invented jobs, and the bench over an invented shop."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def demo(
    into: Annotated[Path, typer.Option(help="Folder for the invented jobs and their sheets.")] = Path("out/demo"),
    serve: Annotated[
        bool, typer.Option("--serve", help="Then serve the bench over an invented shop in that folder.")
    ] = False,
    port: Annotated[int, typer.Option("--port", help="The port of the bench's pages.")] = 8642,
) -> None:
    """Show the main job: five invented jobs, judged, with their proof sheets."""
    from twoturn.acts.demo import demo_plan, show_jobs
    from twoturn.cli.demo_text import heading, job_lines, main_lines
    from twoturn.cli.output import print_line

    if serve:
        _check_port(port)
    print_line(heading())
    for number, shown in enumerate(show_jobs(into)):
        lines = main_lines(shown, demo_plan(into, shown)) if number == 0 else job_lines(shown)
        for line in lines:
            print_line(line)
    if serve:
        _serve(into / "shop", port)


def _check_port(port: int) -> None:
    """Refuse a port that is in use before the jobs are worked through."""
    from twoturn.errors import TwoTurnError
    from twoturn.web.mode import DEFAULT_PORT
    from twoturn.web.serve import LOOPBACK, PortInUse, taken

    try:
        taken(LOOPBACK, port).close()
    except PortInUse:
        other = port + 1 if port < 65535 else DEFAULT_PORT
        raise TwoTurnError(
            f"port {port} is in use: stop what uses it, or run `.venv/bin/twoturn demo --serve --port {other}`"
        ) from None


def _serve(folder: Path, port: int) -> None:
    from twoturn.acts.shop.demo_shop import make_demo_shop
    from twoturn.cli.output import print_line, print_now
    from twoturn.web.serve import Serving
    from twoturn.web.serve import serve as run

    print_line("")
    print_line(make_demo_shop(folder))
    run(Serving(port=port, folder=folder), print_now)
