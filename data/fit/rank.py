"""Fit how the search's probability and the kana models weigh together when strings are ranked.

    python data/fit/rank.py [--every N] [--form hokku] [--verses FILE]

For each fitting verse (``data/verses/train.tsv`` and ``verses.tsv`` here, or the file given), written without marks,
the search gives its ``rank.WIDTH`` best strings; the weights are those under which the right strings are likeliest (a
log-linear model, gradient steps). The hokku model is counted anew for each tenth of the verses without that tenth.
Prints the weights for ``rank_weights.tsv``, and how they do on verses they were not fitted on.
"""

import argparse
from pathlib import Path

import numpy as np

from readaid.core import places
from readaid.core.lattice import COST_FACTOR
from readaid.lexicon import builder, verse_model, verses
from readaid.lexicon.kbest import Search
from readaid.reading import rank
from readaid.script import voicing

HERE = Path(__file__).resolve().parent
FOLDS = 10
NAMES = ("words", "voiced", "hokku")
Case = tuple[np.ndarray, int, list[str], str]


def features(lines: tuple[str, ...], hokku: verse_model.KanaModel, form: str) -> Case:
    """Costs of the strings in nats, shape (strings, 3), the place of the right one (-1: not there), all, the right."""
    wanted = "".join(lines)
    search = Search(builder.build(voicing.plain(wanted)))
    best = search.best(form, rank.WIDTH)
    search.weigh(best.form)
    broken = [rank.lines(search, best, f) for f in best.strings]
    own = list(dict.fromkeys(line for verse in broken for line in verse))
    logs = dict(zip(own, hokku.logs(own).tolist(), strict=True))
    table = np.stack([[-np.log(max(search.share(f.kana), 1e-300)) for f in best.strings],
                      verse_model.costs(broken, "voiced") / COST_FACTOR,
                      [-sum(logs[line] for line in verse) for verse in broken]], axis=1)
    kana = [f.kana for f in best.strings]
    return table, kana.index(wanted) if wanted in kana else -1, kana, wanted


def fitted(data: list[Case], steps: int = 600, rate: float = 0.02) -> np.ndarray:
    """Weights under which the right strings are likeliest (Adam, a little shrinkage)."""
    w, m, v = np.array([0.5, 0.1, 0.1]), np.zeros(3), np.zeros(3)
    found = [(table, right) for table, right, _, _ in data if right >= 0]
    for step in range(1, steps + 1):
        slope = 1e-3 * w
        for table, right in found:
            z = -(table @ w)
            p = np.exp(z - z.max())
            slope = slope + (table[right] - p @ table / p.sum()) / len(found)
        m, v = 0.9 * m + 0.1 * slope, 0.99 * v + 0.01 * slope**2
        w = w - rate * (m / (1 - 0.9**step)) / (np.sqrt(v / (1 - 0.99**step)) + 1e-8)
    return w


def right(data: list[Case], w: np.ndarray) -> tuple[int, int, int]:
    """Kana that could be voiced, those of them right, whole verses right."""
    seen = good = whole = 0
    for table, _, kana, wanted in data:
        found = kana[int(np.argmin(table @ w))]
        could = [i for i, c in enumerate(wanted) if voicing.plain(c) in voicing.READ_VOICED]
        seen, good = seen + len(could), good + sum(found[i:i + 1] == wanted[i] for i in could)
        whole += found == wanted
    return seen, good, whole


def main(every: int, form: str, path: Path | None) -> None:
    known = [places.share("data") / "verses" / "train.tsv", HERE / "verses.tsv"]
    counted = [v.lines for p in known for v in verses.load(p)]
    chosen = counted if path is None else [v.lines for v in verses.load(path)]
    data: list[list[Case]] = []
    for fold in range(FOLDS):
        rest = [line for n, verse in enumerate(counted) if path or n % FOLDS != fold for line in verse]
        hokku = verse_model.KanaModel(*verse_model.packed(verse_model.counted(rest)), True)
        data.append([features(verse, hokku, form) for verse in chosen[fold::FOLDS][::every]])
    found = [c for cases in data for c in cases]
    scores = [right(cases, fitted([c for n, rest in enumerate(data) if n != fold for c in rest], 200))
              for fold, cases in enumerate(data)]
    seen, good, whole = np.sum(scores, axis=0)
    print(f"{sum(c[1] >= 0 for c in found)} of {len(found)} right strings among {rank.WIDTH}")
    print(f"left out in turn: {100 * good / seen:.1f} % of kana, {100 * whole / len(found):.1f} % of verses")
    for name, weight in zip(NAMES, fitted(found), strict=True):
        print(f"{form}\t{name}\t{weight:.3f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--form", default="hokku")
    parser.add_argument("--verses", type=Path, default=None)
    given = parser.parse_args()
    main(given.every, given.form, given.verses)
