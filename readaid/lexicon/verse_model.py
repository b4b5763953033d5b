"""How like old verse a string of kana is: two Witten-Bell models of five kana, one with voicing marks, one without.

Conventions
-----------
* A verse is its lines, kana in the historical norm; ``^`` and ``$`` are the ends of a line. Costs are in the
  dictionary's units (-700 ln p) and are sums over the kana and the line ends.
* "voiced" counts kana with their marks, "unvoiced" without; the text is folded accordingly. Small kana count full size.
* Kana that old verse does not hold (ん, ぱ) cost what an unseen kana costs.

Origin of ``verse_model.npz``: kana runs counted in 2,984 poems of the oldest anthology (8th century, with voicing
marks) and in 4,064 poems of four court anthologies of 905-1086 (without), all in the public domain; every fifth poem
was left out for examination. "hokku" holds runs of the fitting hokku of this project (``data/verses/train.tsv``,
``data/fit/verses.tsv``), from memory; "letters" is the same without voicing marks.
Made by ``data/fit/verse_model.py``. The counts overlap later poems in short runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from readaid.core.lattice import COST_FACTOR
from readaid.script import kana as letters
from readaid.script import voicing

Keys = NDArray[np.uint32]
Floats = NDArray[np.float64]

TABLE = Path(__file__).resolve().parent / "verse_model.npz"
#: Symbols; code 0 is no symbol, so that shorter runs have smaller keys.
SYMBOLS = ("^$あいうえおかがきぎくぐけげこごさざしじすずせぜそぞただちぢつづてでとどなにぬねの"
           "はばぱひびぴふぶぷへべぺほぼぽまみむめもやゆよらりるれろわゐゑをんー?")
BASE = 80
ORDER = 5
#: Part of the fitting hokku in ``letters_after``, the rest is old waka: where fitting verses left out are likeliest.
LETTER_SHARE = 0.7
_CODE = {c: n for n, c in enumerate(SYMBOLS, 1)}
_UNKNOWN = _CODE["?"]


class KanaModel:
    """Witten-Bell interpolation of runs of one to five kana; runs of three and more met once may be left out."""

    def __init__(self, keys: Keys, counts: NDArray[np.uint32], voiced: bool) -> None:
        self.voiced = voiced
        self._keys, self._counts = keys, counts.astype(np.float64)
        context = keys // BASE
        starts = np.flatnonzero(np.r_[True, context[1:] != context[:-1]])
        self._contexts = context[starts]
        seen = np.add.reduceat(self._counts, starts)
        kinds = np.diff(np.r_[starts, len(keys)]).astype(np.float64)
        # A run's own count less what is seen to follow it: followers met once and left out of the table. Each adds
        # one kind, and its own share goes to the shorter run.
        left_out = np.maximum(self._look(self._contexts) - seen, 0.0)
        left_out[self._contexts == 0] = 0.0
        self._seen, self._kinds = seen, kinds + 2.0 * left_out

    def _look(self, keys: Keys) -> Floats:
        at = np.minimum(np.searchsorted(self._keys, keys), len(self._keys) - 1)
        return np.where(self._keys[at] == keys, self._counts[at], 0.0)

    def codes(self, line: str) -> list[int]:
        """A line with its ends as codes."""
        text = letters.full(letters.to_hiragana(line))
        if not self.voiced:
            text = voicing.plain(text)
        return [1, *(_CODE.get(c, _UNKNOWN) for c in text), 2]

    def logs(self, lines: Sequence[str]) -> Floats:
        """Natural logarithm of the probability of each line."""
        coded = [self.codes(line) for line in lines]
        width = max(map(len, coded), default=0)
        table = np.zeros((len(coded), width + ORDER - 1), dtype=np.uint32)  # nothing stands before a line
        for n, row in enumerate(coded):
            table[n, ORDER - 1:ORDER - 1 + len(row)] = row
        here = table[:, ORDER:]  # ^ itself is given
        before = np.stack([table[:, ORDER - n:table.shape[1] - n] for n in range(1, ORDER)], axis=-1)
        p = self.given(before, here)
        out: Floats = np.where(here > 0, np.log(p), 0.0).sum(axis=1)
        return out

    def given(self, before: Keys, here: Keys) -> Floats:
        """Probability of symbols after what stands before, nearest first (last axis); 0 where nothing stands."""
        p = np.full(here.shape, 1.0 / len(SYMBOLS))
        context = np.zeros(here.shape, dtype=np.uint32)
        fresh = np.ones(here.shape, dtype=bool)
        for order in range(ORDER):
            if order:
                # Nothing stands before a line: a shorter run is all there is.
                fresh = fresh & (before[..., order - 1] > 0)
                context = context + before[..., order - 1] * np.uint32(BASE ** (order - 1))
            at = np.minimum(np.searchsorted(self._contexts, context), len(self._contexts) - 1)
            known = (self._contexts[at] == context) & fresh
            count = self._look((context * np.uint32(BASE) + here).ravel()).reshape(here.shape)
            seen, kinds = self._seen[at], self._kinds[at]
            p = np.where(known, (count + kinds * p) / (seen + kinds), p)
        return p

    def following(self, lines: Sequence[str]) -> Floats:
        """Probability of each of ``SYMBOLS`` after the beginnings of lines, shape (lines, symbols); rows sum to 1.

        >>> round(float(models()["voiced"].following(["ほととぎ"])[0].sum()), 6)
        1.0
        """
        coded = np.zeros((len(lines), ORDER - 1), dtype=np.uint32)
        for n, line in enumerate(lines):
            last = self.codes(line)[:-1][::-1][:ORDER - 1]
            coded[n, :len(last)] = last
        symbols = np.arange(1, len(SYMBOLS) + 1, dtype=np.uint32)
        return self.given(np.broadcast_to(coded[:, None, :], (len(lines), len(symbols), ORDER - 1)),
                           np.broadcast_to(symbols, (len(lines), len(symbols))))

    def draw(self, lengths: Sequence[int], many: int, seed: int) -> list[tuple[str, ...]]:
        """Verses drawn from the model, lines of the lengths asked for. The seed settles all."""
        random = np.random.default_rng(seed)
        drawn: list[list[str]] = [[] for _ in range(many)]
        barred = [SYMBOLS.index(c) for c in "^$?"]
        for length in lengths:
            lines = [""] * many
            for _ in range(length):
                share = self.following(lines)
                # The ends of lines come from the form: without them a line drawn has the length asked for.
                share[:, barred] = 0.0
                heap = np.cumsum(share, axis=1)
                pick = (random.random(many)[:, None] * heap[:, -1:] < heap).argmax(axis=1)
                lines = [line + SYMBOLS[p] for line, p in zip(lines, pick.tolist(), strict=True)]
            for verse, line in zip(drawn, lines, strict=True):
                verse.append(line)
        return [tuple(v) for v in drawn]


def code(kana: str) -> int:
    """Number of a kana as the models count it; what they do not know is one number.

    >>> code("あ"), code("x") == code("?")
    (3, True)
    """
    return _CODE.get(kana, _UNKNOWN)


def counted(lines: Sequence[str]) -> dict[str, int]:
    """Counts of all runs of one to five kana within lines, ends included.

    >>> counted(["はな"])["^は"]
    1
    """
    found: dict[str, int] = {}
    for line in lines:
        text = "^" + letters.full(letters.to_hiragana(line)) + "$"
        for start in range(len(text)):
            for end in range(start + 1, min(len(text), start + ORDER) + 1):
                found[text[start:end]] = found.get(text[start:end], 0) + 1
    return found


def packed(counts: dict[str, int]) -> tuple[Keys, NDArray[np.uint32]]:
    """Counts as sorted keys and numbers."""
    keys = []
    for run in counts:
        key = 0
        for c in run:
            key = key * BASE + _CODE.get(c, _UNKNOWN)
        keys.append(key)
    order = np.argsort(np.array(keys, dtype=np.uint32))
    return np.array(keys, dtype=np.uint32)[order], np.array(list(counts.values()), dtype=np.uint32)[order]


def folded(keys: Keys, counts: NDArray[np.uint32]) -> tuple[Keys, NDArray[np.uint32]]:
    """Counts with voicing marks as counts without, sorted by key.

    >>> keys, counts = folded(*packed({"か": 2, "が": 3}))
    >>> len(keys), int(counts[0])
    (1, 5)
    """
    plain = np.array([0] + [code(voicing.plain(c)) for c in SYMBOLS], dtype=np.uint32)
    out = np.zeros(len(keys), dtype=np.uint32)
    for place in range(ORDER):
        out += plain[keys // BASE**place % BASE] * np.uint32(BASE**place)
    distinct, of = np.unique(out, return_inverse=True)
    return distinct, np.bincount(of.ravel(), counts).astype(np.uint32)


@lru_cache(maxsize=1)
def models() -> dict[str, KanaModel]:
    """The models the project ships: "voiced", "unvoiced", "hokku", and "letters" (hokku without voicing marks)."""
    with np.load(TABLE) as data:
        raw = {name: (np.cumsum(data[name + "_keys"], dtype=np.uint32), data[name + "_counts"])
               for name in ("voiced", "unvoiced", "hokku")}
    return {**{name: KanaModel(*table, name != "unvoiced") for name, table in raw.items()},
            "letters": KanaModel(*folded(*raw["hokku"]), False)}


def letters_after(before: Keys, here: Keys) -> Floats:
    """Probability of unvoiced kana (codes) after others, nearest first on the last axis: two models mixed.

    ``LETTER_SHARE`` is the part of the fitting hokku, the rest that of old waka.
    """
    chosen = models()
    out: Floats = (LETTER_SHARE * chosen["letters"].given(before, here)
                   + (1.0 - LETTER_SHARE) * chosen["unvoiced"].given(before, here))
    return out


def cost(lines: Sequence[str], model: str = "voiced") -> float:
    """Cost of a verse, its lines in kana, in the dictionary's units.

    Parameters
    ----------
    model: "voiced", "unvoiced" (voicing marks are taken off), or "hokku".

    >>> cost(["あきのかぜ"]) < cost(["あぎのがせ"])
    True
    """
    return float(costs([lines], model)[0])


def costs(verses: Sequence[Sequence[str]], model: str = "voiced") -> Floats:
    """Costs of many verses at once; equal lines are worked out once."""
    distinct = list(dict.fromkeys(line for verse in verses for line in verse))
    if not distinct:
        return np.zeros(len(verses))
    found = dict(zip(distinct, (models()[model].logs(distinct) * -COST_FACTOR).tolist(), strict=True))
    return np.array([sum(found[line] for line in verse) for verse in verses])
