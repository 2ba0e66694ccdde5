"""What is kept so that it need not be made again: the longest unused goes first. Threads may share it."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Hashable
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")


class Cache(Generic[K, V]):
    """Values by their keys, so many at most.

    Args:
        most: how many.

    >>> cache = Cache(2)
    >>> for number in (1, 2, 1, 3):
    ...     cache[number] = f"page {number}"
    >>> cache.get(1), cache.get(2), cache.get(3)
    ('page 1', None, 'page 3')
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[K, V] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: K) -> V | None:
        """Return what is kept under a key; None when it is not, or not any more."""
        with self._lock:
            if key not in self._values:
                return None
            self._values.move_to_end(key)
            return self._values[key]

    def __setitem__(self, key: K, value: V) -> None:
        with self._lock:
            self._values[key] = value
            self._values.move_to_end(key)
            while len(self._values) > self._most:
                self._values.popitem(last=False)
