"""Slow work away from the pages: short ones in a thread, the analysis of recordings in a process of its own."""

from __future__ import annotations

import asyncio
import multiprocessing
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import ParamSpec, TypeVar

from starlette.concurrency import run_in_threadpool

from twoturn.errors import TwoTurnError

P = ParamSpec("P")
R = TypeVar("R")


async def in_thread(function: Callable[P, R], *args: P.args, **kwargs: P.kwargs) -> R:
    """``function(*args, **kwargs)`` in a thread: for writes to the record, PINs, PDF pages."""
    return await run_in_threadpool(function, *args, **kwargs)


class Workers:
    """A worker process, started when first needed and again when it died."""

    def __init__(self, count: int = 1) -> None:
        self._count = count
        self._pool: ProcessPoolExecutor | None = None

    async def run(self, function: Callable[..., R], *args: object) -> R:
        """``function(*args)`` in the worker process; both must be picklable.

        Raises
        ------
        TwoTurnError
            The worker died over it.
        """
        pool = self._pool or self._start()
        try:
            return await asyncio.get_running_loop().run_in_executor(pool, function, *args)
        except BrokenProcessPool:
            self._pool = None
            raise TwoTurnError(
                "the analysis was broken off", next_step="try once more; if it breaks off again, use another recording"
            ) from None

    def close(self) -> None:
        """End the worker process."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None

    def _start(self) -> ProcessPoolExecutor:
        context = multiprocessing.get_context("spawn")
        self._pool = ProcessPoolExecutor(self._count, mp_context=context)
        return self._pool
