"""Fit how the search's cost, the kana models and the number of restored voicing marks weigh together.

    python data/fit/rank.py [--verses N]

For each fitting verse (``data/verses/train.tsv``), written without marks, the search gives its ``rank.WIDTH`` best
strings; the weights are those under which the right strings are likeliest (a log-linear model, gradient steps). The
hokku model is counted anew for each tenth of the verses without that tenth. Prints weights for the temperature of
``weights.tsv``: ``rank_weights.tsv`` takes the models', "voicing" in ``weights.tsv`` is lowered by the marks' part.
"""

import argparse

import numpy as np

from readaid.core import places
from readaid.core.lattice import COST_FACTOR
from readaid.lexicon import build, verse_model, verses
from readaid.lexicon.costs import standard
from readaid.lexicon.kbest import Search
from readaid.reading import rank
from readaid.script import voicing

FOLDS = 10
NAMES = ("search", "voiced", "hokku", "marks")


def features(lines: tuple[str, ...], hokku: verse_model.KanaModel) -> tuple[np.ndarray, int]:
    """Costs of the strings in units of 700, shape (strings, 4), and the place of the right one (-1: not there)."""
    wanted = "".join(lines)
    written = voicing.plain(wanted)
    search = Search(build.build(written))
    best = search.best("hokku", rank.WIDTH)
    broken = [rank.lines(search, best, f) for f in best.strings]
    own = dict.fromkeys(line for verse in broken for line in verse)
    own = dict(zip(own, hokku.logs(list(own)).tolist(), strict=True))
    table = np.stack([[f.cost / COST_FACTOR for f in best.strings],
                      verse_model.costs(broken, "voiced") / COST_FACTOR,
                      [-sum(own[line] for line in verse) for verse in broken],
                      [sum(a != b for a, b in zip(f.kana, written, strict=False)) for f in best.strings]], axis=1)
    kana = [f.kana for f in best.strings]
    return table, kana.index(wanted) if wanted in kana else -1


def fitted(data: list[tuple[np.ndarray, int]], steps: int = 1500, rate: float = 0.02) -> np.ndarray:
    """Weights under which the right strings are likeliest (Adam, a little shrinkage)."""
    w, m, v = np.array([0.5, 0.0, 0.0, 0.0]), np.zeros(4), np.zeros(4)
    for step in range(1, steps + 1):
        slope = 1e-3 * w
        for table, right in data:
            z = -(table @ w)
            p = np.exp(z - z.max())
            slope = slope + (table[right] - p @ table / p.sum()) / len(data)
        m, v = 0.9 * m + 0.1 * slope, 0.99 * v + 0.01 * slope**2
        w = w - rate * (m / (1 - 0.9**step)) / (np.sqrt(v / (1 - 0.99**step)) + 1e-8)
    return w


def main(many: int) -> None:
    train = [v.lines for v in verses.load(places.share("data") / "verses" / "train.tsv")][:many]
    data = []
    for fold in range(FOLDS):
        keys, counts = verse_model.packed(verse_model.counted(
            [line for n, verse in enumerate(train) if n % FOLDS != fold for line in verse]))
        hokku = verse_model.KanaModel(keys, counts, True)
        data += [features(verse, hokku) for verse in train[fold::FOLDS]]
    found = [(t, r) for t, r in data if r >= 0]
    w = fitted(found)
    first = sum(int(np.argmin(t @ w)) == r for t, r in found)
    print(f"{len(found)} of {len(data)} right strings among {rank.WIDTH}; first: {first}")
    scale = 1.0 / standard().weight("temperature") / w[0]
    for name, weight in zip(NAMES, w * scale, strict=True):
        print(f"{name}\t{weight:.3f}")
    print(f"add to 'voicing' in weights.tsv: {COST_FACTOR * w[3] / w[0]:.0f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--verses", type=int, default=None)
    main(parser.parse_args().verses)
