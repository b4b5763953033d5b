"""Make ``readaid/lexicon/verse_model.npz`` from tables of kana counts.

    python data/fit/verse_model.py VOICED.tsv.gz UNVOICED.tsv.gz

Each table: run of one to five kana (``^`` line start, ``$`` line end), tab, count. The hokku model is counted from
``data/verses/train.tsv`` and ``verses.tsv`` beside this script. The file keeps differences of sorted
keys, which compress well.
"""

import gzip
import sys
from pathlib import Path

import numpy as np

from readaid.core import places
from readaid.lexicon import verse_model, verses


def counts(path: str) -> dict[str, int]:
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        return {run: int(n) for run, n in (line.rstrip("\n").split("\t") for line in lines if not line.startswith("#"))}


def main(voiced: str, unvoiced: str) -> None:
    files = (places.share("data") / "verses" / "train.tsv", Path(__file__).resolve().parent / "verses.tsv")
    train = [v for file in files for v in verses.load(file)]
    tables = {"voiced": counts(voiced), "unvoiced": counts(unvoiced),
              "hokku": verse_model.counted([line for v in train for line in v.lines])}
    arrays = {}
    for name, table in tables.items():
        keys, numbers = verse_model.packed(table)
        assert len(set(keys.tolist())) == len(keys), f"{name}: two runs have one key"
        arrays[name + "_keys"] = np.diff(keys, prepend=np.uint32(0)).astype(np.uint32)
        arrays[name + "_counts"] = numbers.astype(np.uint16)
    np.savez_compressed(verse_model.TABLE, **arrays)
    print(f"{verse_model.TABLE.name}: {Path(verse_model.TABLE).stat().st_size / 1e6:.2f} MB")


if __name__ == "__main__":
    main(*sys.argv[1:])
