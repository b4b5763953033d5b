"""One thread while forms are compared: the one door to threadpoolctl.

Conventions: a comparison is thousands of small products (256 x 81 times 81 x 256). Shared among threads each takes
longer to hand out than to reckon, and threads that wait keep the processor: 276 comparisons took 14 s of processor on a
busy machine of two, and 0.8 s with one thread. Many comparisons are spread over processes instead (``schools.matrix``).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any


@cache
def _libraries() -> Any:
    """The libraries for products that are loaded, found once: looking for them takes longer than a comparison."""
    import numpy  # noqa: F401  both bring a library of their own, and only what is loaded is found
    import scipy.linalg  # noqa: F401
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


@contextmanager
def one_thread() -> Iterator[None]:
    """Let products take one thread inside the block; as before behind it.

    >>> with one_thread():
    ...     sorted({lib["num_threads"] for lib in _libraries().info() if lib["user_api"] == "blas"})
    [1]
    """
    with _libraries().limit(limits=1, user_api="blas"):
        yield
