"""Many comparisons on many machines: the one door to Dask.

Conventions: an executor as ``matrix.Executor`` wants it, on a scheduler that runs already. Work goes out in blocks of
forms (half a megabyte a form) and results come in the order of the work, so that the figures are those of one machine;
the function travels by its name, so the same version of readaid must be installed on every worker.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from readaid.core.errors import OptionError, RegisterError


class Cluster:
    """A running Dask cluster by its scheduler's address ("tcp://scheduler:8786"), or by a client that is open.

    Raises RegisterError where Dask is not installed or the scheduler does not answer.
    """

    def __init__(self, address: str | Any, patience: float = 20.0) -> None:
        self.address, self.patience = address, patience

    def map(self, fn: Callable[[Any], Any], work: Iterable[Any], /) -> list[Any]:
        """``fn`` of every part of the work, in its order. What ``fn`` raises comes through."""
        distributed = _distributed()
        if not isinstance(self.address, str):
            return self._on(self.address, fn, work)
        if "://" not in self.address:
            raise OptionError("A cluster is named by its scheduler's address", self.address, "write tcp://host:8786")
        try:
            client = distributed.Client(self.address, timeout=self.patience)
        except OSError as error:
            raise RegisterError("The cluster does not answer", self.address,
                                "start its scheduler, or leave the cluster out") from error
        with client:
            return self._on(client, fn, work)

    @staticmethod
    def _on(client: Any, fn: Callable[[Any], Any], work: Iterable[Any]) -> list[Any]:
        futures = [client.submit(fn, part, pure=False) for part in work]
        try:
            return list(client.gather(futures))
        finally:
            client.cancel(futures)


def _distributed() -> Any:
    try:
        import distributed
    except ModuleNotFoundError as error:
        raise RegisterError("Work on a cluster needs the package dask", cure="install readaid[department], or leave "
                            "the cluster out") from error
    return distributed
