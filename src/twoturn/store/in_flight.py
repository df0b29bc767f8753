"""Keys of sendings that are under way in this process, so that a second one is told instead of made to wait."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from twoturn.store.faults import KeyInFlight


class InFlight:
    """The keys under way; one object for each open record."""

    def __init__(self) -> None:
        self._keys: set[str] = set()
        self._lock = threading.Lock()

    @contextmanager
    def claim(self, key: str) -> Iterator[None]:
        """Hold ``key`` while the block runs (from before its transaction begins until it has ended).

        Raises
        ------
        KeyInFlight
            Somebody holds it.
        """
        with self._lock:
            if key in self._keys:
                raise KeyInFlight("this sending is being written at this moment", next_step="ask again in a second")
            self._keys.add(key)
        try:
            yield
        finally:
            with self._lock:
                self._keys.discard(key)
