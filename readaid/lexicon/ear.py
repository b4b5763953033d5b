"""How kana follow one another in each kind of text: runs of up to six kana, mixed for hokku, waka and prose.

Conventions
-----------
* Kana are counted voiced and full size, in the historical norm, as codes of ``verse_model.SYMBOLS``; ``^`` begins a
  text, ``$`` ends
  a line and is itself a symbol that the next line follows, so that what may begin a line, and after what, is known.
* A *history* is the last symbols as one number, the nearest the lowest digit to base ``BASE``; up to five symbols
  count.
  ``shortened`` gives the longest end of a history that the table knows: histories that shorten alike go on alike.
* Logarithms are natural. A run the table lacks costs what its shorter end costs, plus a share for being unseen.

Origin of ``ear.npz``: runs counted in the texts that its card ``ear.md`` names; made by ``data/fit/ear.py``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.lexicon.verse_model import code
from readaid.script import kana as letters

Keys = NDArray[np.uint64]
Floats = NDArray[np.float64]
Parts = NDArray[np.float32]

TABLE = Path(__file__).resolve().parent / "ear.npz"
BASE = 80
ORDER = 6
BEGIN, END = 1, 2
KINDS = ("hokku", "waka", "prose")
#: Steps of the stored logarithms: 1/16, far below what the counts can tell.
STEP = 16.0
_B = np.uint64(BASE)
_TWO = np.uint64(BASE * BASE)


class Table:
    """Runs of two to six symbols, sorted, shared by the kinds of text: ``contexts[n]`` are the heads of ``keys[n]``."""

    def __init__(self, keys: Sequence[Keys]) -> None:
        self.keys = [np.ascontiguousarray(k) for k in keys]
        heads = [k // _B for k in self.keys]
        self.contexts = [h[np.flatnonzero(np.r_[True, h[1:] != h[:-1]])] for h in heads]

    def at(self, order: int, history: Keys) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
        """Place of each history of ``order - 1`` symbols among the contexts, and whether it is one."""
        part = history % np.uint64(BASE ** (order - 1))
        contexts = self.contexts[order - 2]
        at = np.minimum(np.searchsorted(contexts, part), len(contexts) - 1)
        return at, (contexts[at] == part) & (part >= np.uint64(BASE ** (order - 2)))


class Ear:
    """One kind of text: probabilities of the runs of a table, and what an unseen one costs after each context.

    ``most``: what the symbols after any history add up to at most (``sums_to``, found when the table was made).
    """

    def __init__(self, table: Table, single: Floats, seen: Sequence[Parts], unseen: Sequence[Parts],
                 most: float = 1.0) -> None:
        self.table, self._seen, self._unseen, self.most = table, seen, unseen, most
        self._two = np.repeat(np.log(np.maximum(single, 1e-9))[None, :], BASE, axis=0)
        back = np.zeros(BASE)
        back[table.contexts[0].astype(np.int64)] = unseen[0]
        self._two += back[:, None]
        self._two.reshape(-1)[table.keys[0].astype(np.int64)] = seen[0]
        back = np.zeros(BASE * BASE)
        back[table.contexts[1].astype(np.int64)] = unseen[1]
        self._three = (back.reshape(BASE, BASE)[:, :, None] + self._two[None]).astype(np.float32).reshape(-1)
        self._three[table.keys[1].astype(np.int64)] = seen[1]

    def after(self, history: Keys, here: Keys) -> Floats:
        """Logarithm of the probability of symbols after histories, both of one shape (n,)."""
        two = history % _TWO
        single = two < _B
        out: Floats = self._three[(two * _B + here).astype(np.int64)].astype(np.float64)
        if single.any():
            out = np.where(single, self._two[(two % _B).astype(np.int64), here.astype(np.int64)], out)
        rows = np.arange(len(out))
        for order in range(4, ORDER + 1):  # a longer context is there only where the shorter one is
            at, known = self.table.at(order, history[rows])
            rows, at = rows[known], at[known]
            if not len(rows):
                break
            key = (history[rows] % np.uint64(BASE ** (order - 1))) * _B + here[rows]
            keys = self.table.keys[order - 2]
            place = np.minimum(np.searchsorted(keys, key), len(keys) - 1)
            out[rows] = np.where(keys[place] == key, self._seen[order - 2][place],
                                 self._unseen[order - 2][at] + out[rows])
        return out

    def sums_to(self) -> float:
        """What the probabilities of all symbols after any history add up to at most: 1, but for the stored steps."""
        symbols = np.arange(BEGIN, BASE, dtype=np.uint64)
        heads = np.arange(BASE, dtype=np.uint64)
        total = np.exp(self.after(np.repeat(heads, len(symbols)), np.tile(symbols, BASE))).reshape(BASE, -1).sum(axis=1)
        most = float(total.max())
        for order, contexts in enumerate(self.table.contexts[1:], 3):
            keys = self.table.keys[order - 2]
            short = keys // _B % np.uint64(BASE ** (order - 2))
            # a context's total: its seen runs, and its share of the unseen times what its shorter end leaves over
            lower = np.exp(self.after(short, keys % _B))
            of = np.searchsorted(contexts, keys // _B)
            ends = contexts % np.uint64(BASE ** (order - 2))
            below, known = self.table.at(order - 1, ends) if order > 3 else (ends.astype(np.int64), ends >= 0)
            whole = np.where(known, total[below], most)
            rest = np.exp(self._unseen[order - 2].astype(np.float64))
            total = np.bincount(of, np.exp(self._seen[order - 2].astype(np.float64)), len(contexts)) + rest * (
                whole - np.bincount(of, lower, len(contexts)))
            most = max(most, float(total.max()))
        return most

    def shortened(self, history: Keys) -> Keys:
        """The longest end of each history that counts; two symbols always do."""
        out = history % _TWO
        rows = np.arange(len(out))
        for order in range(4, ORDER + 1):
            _, known = self.table.at(order, history[rows])
            rows = rows[known]
            out[rows] = history[rows] % np.uint64(BASE ** (order - 1))
        return out

    def log(self, lines: Sequence[str]) -> float:
        """Logarithm of the probability of a text in its lines.

        >>> ears()["waka"].log(["あきのかぜ"]) > ears()["waka"].log(["あぎのがせ"])
        True
        """
        symbols = np.array([BEGIN, *(c for line in lines for c in [*codes(line), END])], dtype=np.uint64)
        history = np.zeros(len(symbols), dtype=np.uint64)
        for back in range(1, ORDER):
            history[back:] += symbols[:-back] * np.uint64(BASE ** (back - 1))
        return float(self.after(history[1:], symbols[1:]).sum())


@lru_cache(maxsize=20_000)
def codes(kana: str) -> tuple[int, ...]:
    """Symbols of kana, full size.

    >>> codes("しょ") == codes("しよ")
    True
    """
    return tuple(code(c) for c in letters.full(letters.to_hiragana(kana)))


def stored(table: Table, ears: dict[str, tuple[Floats, Sequence[Parts], Sequence[Parts]]],
           ) -> dict[str, NDArray[np.generic]]:
    """Arrays for the file: differences of sorted keys compress well, logarithms are kept in steps."""
    arrays: dict[str, NDArray[np.generic]] = {}
    for number, keys in enumerate(table.keys):
        arrays[f"keys_{number}"] = np.diff(keys, prepend=np.uint64(0))
    for name, (single, seen, unseen) in ears.items():
        arrays[f"{name}_single"] = single.astype(np.float32)
        for number, (some, none) in enumerate(zip(seen, unseen, strict=True)):
            arrays[f"{name}_seen_{number}"] = np.clip(np.round(-some * STEP), 0, 255).astype(np.uint8)
            arrays[f"{name}_unseen_{number}"] = np.clip(np.round(none * STEP), -127, 127).astype(np.int8)
    return arrays


def load(path: Path = TABLE) -> dict[str, Ear]:
    """The kinds of text of a file."""
    with np.load(path) as data:
        table = Table([np.cumsum(data[f"keys_{n}"], dtype=np.uint64) for n in range(ORDER - 1)])
        return {name: Ear(table, data[f"{name}_single"].astype(np.float64),
                          [data[f"{name}_seen_{n}"].astype(np.float32) / -STEP for n in range(ORDER - 1)],
                          [data[f"{name}_unseen_{n}"].astype(np.float32) / STEP for n in range(ORDER - 1)],
                          float(data[f"{name}_most"]) if f"{name}_most" in data else 1.0)
                for name in KINDS}


@lru_cache(maxsize=1)
def ears() -> dict[str, Ear]:
    """The kinds of text that the project ships, read once."""
    return load()


