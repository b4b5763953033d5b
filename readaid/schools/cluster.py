"""Many comparisons on many processors: the one door to Dask.

Conventions: results come in the order of the pairs. The function and its arguments travel to the workers,
so both must be picklable; give ids or paths rather than whole photos.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import combinations
from typing import Any, TypeVar

from readaid.core.errors import OptionError, RegisterError

T = TypeVar("T")
R = TypeVar("R")


def all_pairs(items: Iterable[T]) -> list[tuple[T, T]]:
    """Every pair of different items, each once.

    >>> all_pairs("abc")
    [('a', 'b'), ('a', 'c'), ('b', 'c')]
    """
    return list(combinations(items, 2))


def _batch(function: Callable[[Any, Any], R], pairs: Sequence[tuple[Any, Any]]) -> list[R]:
    return [function(a, b) for a, b in pairs]


def map_pairs(function: Callable[[Any, Any], R], pairs: Iterable[tuple[Any, Any]], *, client: Any = None,
              workers: int | None = None, batch: int = 32, progress: Callable[[int, int], None] | None = None
              ) -> list[R]:
    """Call ``function(a, b)`` for every pair.

    >>> map_pairs(max, [(1, 2), (4, 3)], workers=0)
    [2, 4]

    Parameters
    ----------
    client: a ``distributed.Client`` of a running cluster, or its address; none: a local cluster for this call.
    workers: processes of the local cluster (None: one per processor); 0 works here, without Dask.
    batch: pairs per task; more of them when the function is quick.
    progress: called with (done, all) as batches come in.

    Raises
    ------
    RegisterError: if Dask is not installed. What ``function`` raises comes through.
    """
    if batch < 1:
        raise OptionError(f"A batch of {batch} pairs", "batch", "give 1 or more")
    todo = list(pairs)
    batches = [todo[i:i + batch] for i in range(0, len(todo), batch)]
    if workers == 0 and client is None:
        found: list[R] = []
        for part in batches:
            found += _batch(function, part)
            if progress is not None:
                progress(len(found), len(todo))
        return found
    distributed = _distributed()
    if client is not None and not isinstance(client, str):
        return _run(distributed, client, function, batches, len(todo), progress)
    if isinstance(client, str):
        with distributed.Client(client) as opened:
            return _run(distributed, opened, function, batches, len(todo), progress)
    with distributed.LocalCluster(n_workers=workers, threads_per_worker=1, dashboard_address=None,
                                  host="127.0.0.1") as cluster, distributed.Client(cluster) as opened:
        return _run(distributed, opened, function, batches, len(todo), progress)


def _distributed() -> Any:
    try:
        import distributed
    except ModuleNotFoundError as error:
        raise RegisterError("Work on many processors needs the package dask", cure="install readaid[department], or "
                            "call with workers=0") from error
    return distributed


def _run(distributed: Any, client: Any, function: Callable[[Any, Any], R], batches: list[list[tuple[Any, Any]]],
         count: int, progress: Callable[[int, int], None] | None) -> list[R]:
    futures = [client.submit(_batch, function, part, pure=False) for part in batches]
    try:
        done = 0
        for future in distributed.as_completed(futures):
            done += len(future.result())
            if progress is not None:
                progress(done, count)
        return [result for future in futures for result in future.result()]
    finally:
        client.cancel(futures)
