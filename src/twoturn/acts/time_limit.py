"""An end to work that takes too long in a worker process: first by an error, then by the end of the process."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

from twoturn.errors import TwoTurnError

MOST_S = 90.0
"""The longest that the analysis of a recording may take on the bench [s]."""
GRACE_S = 10.0
"""What is given to work that does not hear the first end [s]."""


class TooSlow(TwoTurnError):  # noqa: N818 - it says what is the matter
    """Something took longer than it may."""


@contextmanager
def no_longer_than(seconds: float, what: str, next_step: str) -> Iterator[None]:
    """Let a block run so long and no longer.

    Only the main thread of a process hears the end; in a worker process, one that does not hear it is ended itself.

    Parameters
    ----------
    seconds
        How long it may take [s].
    what, next_step
        What takes so long, and what to do about it, for the error sentence.

    Raises
    ------
    TooSlow
        It took longer.
    """

    def late(_: int, __: FrameType | None) -> None:
        raise TooSlow(f"{what} took longer than {seconds:g} s", next_step=next_step)

    timed = threading.current_thread() is threading.main_thread() and hasattr(signal, "setitimer")
    old = signal.signal(signal.SIGALRM, late) if timed else None
    end = threading.Timer(seconds + GRACE_S, os._exit, (3,))
    end.daemon = True
    if multiprocessing.parent_process() is not None:
        end.start()
    if timed:
        signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        end.cancel()
        if timed:
            signal.setitimer(signal.ITIMER_REAL, 0)
            signal.signal(signal.SIGALRM, old)
