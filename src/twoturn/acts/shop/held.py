"""What was worked out once and is worth keeping while the bench runs; nothing in it counts more than the record."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from typing import Any, TypeVar

T = TypeVar("T")


class Held:
    """Answers by a key, the oldest let go when there are too many.

    Parameters
    ----------
    most
        How many are kept [-].
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._found: OrderedDict[Any, Any] = OrderedDict()
        self._lock = threading.Lock()
        self._making: dict[Any, threading.Lock] = {}

    def get(self, key: Any) -> Any | None:
        """The answer under a key; None where there is none."""
        with self._lock:
            if key in self._found:
                self._found.move_to_end(key)
            return self._found.get(key)

    def put(self, key: Any, value: Any) -> None:
        """Keep an answer."""
        with self._lock:
            self._found[key] = value
            self._found.move_to_end(key)
            while len(self._found) > self._most:
                self._found.popitem(last=False)

    def drop(self, key: Any) -> None:
        """Let an answer go."""
        with self._lock:
            self._found.pop(key, None)

    def once(self, key: Any, make: Callable[[], T]) -> T:
        """The answer under a key, worked out where it is not there; two who ask at once do not both work it out."""
        found: T | None = self.get(key)
        if found is not None:
            return found
        with self._lock:
            turn = self._making.setdefault(key, threading.Lock())
        try:
            with turn:
                found = self.get(key)
                if found is None:
                    found = make()
                    self.put(key, found)
        finally:
            with self._lock:
                self._making.pop(key, None)
        return found
