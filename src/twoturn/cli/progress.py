"""A bar on stderr while something long runs; only on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def shown(what: str) -> Iterator[Callable[[float], None] | None]:
    """Show how far ``what`` has come, on stderr and only on a terminal; it vanishes when done.

    Yields
    ------
    callable or None
        To be called with the share done [-]; None where nobody looks.
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=1.0)
        yield lambda share: bar.update(task, completed=share)
