"""Memory shared by all photos of the process: least recently used goes first, bounded by bytes.

Conventions: keys are tuples whose first entry names the photo; values are arrays or bytes. One photo board holds a
60 MP photo (180 MB); four notebooks' worth of photos must not hold four times that, so the bound is on all together.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable
from typing import Any

from readaid.core.errors import OptionError

Key = tuple[Hashable, ...]


class Cache:
    """A thread-safe store bounded by bytes; the newest value is kept even if it alone is over the bound.

    >>> cache = Cache(10)
    >>> cache.put(("a",), b"123456"); cache.put(("b",), b"123456")
    >>> cache.get(("a",)), cache.get(("b",)), cache.bytes
    (None, b'123456', 6)
    """

    def __init__(self, limit: int) -> None:
        self._lock = threading.RLock()
        self._making: dict[Key, threading.Lock] = {}
        self._values: OrderedDict[Key, Any] = OrderedDict()
        self._limit = limit
        self.bytes = 0

    @property
    def limit(self) -> int:
        """Bytes kept at most; lower it to free memory at once."""
        return self._limit

    @limit.setter
    def limit(self, value: int) -> None:
        if value < 0:
            raise OptionError(f"A memory limit of {value} bytes", cure="give a positive number", given=value)
        with self._lock:
            self._limit = value
            self._shrink()

    def get(self, key: Key) -> Any | None:
        """The value, now the most recently used; None if it is not (or no longer) kept."""
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
            return self._values.get(key)

    def put(self, key: Key, value: Any) -> None:
        """Keep a value (array or bytes), and let go of the oldest ones over the bound."""
        with self._lock:
            self.drop(key)
            self._values[key] = value
            self.bytes += _size(value)
            self._shrink()

    def made(self, key: Key, make: Callable[[], Any]) -> Any:
        """The kept value, or the one ``make`` gives; two threads asking at once make it once."""
        with self._lock:
            value = self.get(key)
            if value is not None:
                return value
            lock = self._making.setdefault(key, threading.Lock())
        with lock:
            value = self.get(key)
            if value is None:
                value = make()
                self.put(key, value)
        with self._lock:
            self._making.pop(key, None)
        return value

    def room(self, size: int) -> None:
        """Let go of the oldest values now, so that ``size`` bytes more will keep within the bound.

        Decoding a photo takes more than twice its pixels for a moment; without this the old ones would still be there.
        """
        with self._lock:
            while self._values and self.bytes + size > self._limit:
                _, value = self._values.popitem(last=False)
                self.bytes -= _size(value)

    def drop(self, *prefix: Any) -> None:
        """Forget one key, or every key that begins with these entries."""
        start = prefix[0] if len(prefix) == 1 and isinstance(prefix[0], tuple) else prefix
        with self._lock:
            for key in [k for k in self._values if k[:len(start)] == start]:
                self.bytes -= _size(self._values.pop(key))

    def _shrink(self) -> None:
        while self.bytes > self._limit and len(self._values) > 1:
            _, value = self._values.popitem(last=False)
            self.bytes -= _size(value)


def _size(value: Any) -> int:
    return int(value.nbytes) if hasattr(value, "nbytes") else len(value)


#: The one cache of the process. 320 MB hold a 60 MP photo with its levels and hundreds of tiles; with 512 a kernel that
#: went through several such photos reached 1.0 GB while one of them was decoded.
CACHE = Cache(320 * 1024 * 1024)
