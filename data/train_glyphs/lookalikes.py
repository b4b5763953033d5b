"""Write the look-alike table: the model's own confusions on fonts it never saw, distorted.

Conventions: a row gives a character, another one, and the mean probability the model gave the
other one over distorted renderings of the first in held-out fonts (prior of all kinds).
Run: ``python lookalikes.py GLYPHS.npz OUT.tsv`` with the package on the path. Needs torch.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import synth
import torch
from glyphs_table import rows

from readaid.glyphs import character_net
from readaid.glyphs.candidates import log_prior
from readaid.glyphs.classes import classes

SEED, LEAST, MOST = 20261125, 0.004, 8


def main(glyphs: str, out: str) -> None:
    torch.manual_seed(SEED)
    torch.set_num_threads(1)
    data = dict(np.load(glyphs))
    fonts = rows(Path(__file__).with_name("fonts.tsv"))
    held = np.flatnonzero(np.array([f["role"] == "held" for f in fonts])[data["fonts"]])
    known = classes()
    total = np.zeros((len(known), len(known) + 1), np.float64)
    count = np.zeros(len(known))
    repeat = np.array([16 if known[c].kind == "kanji" else 40 for c in data["classes"][held]])
    order = np.random.default_rng(SEED).permutation(np.repeat(np.arange(len(held)), repeat))
    atlas = synth.Atlas.build(
        *(torch.from_numpy(data[k][held]) for k in ("glyphs", "bones")),
        torch.from_numpy(data["classes"][held].astype(np.int64)),
        "cpu",
    )
    prior = log_prior("all")
    for at in range(0, len(order), 256):
        part = order[at : at + 256]
        x = synth.crops(
            atlas, torch.from_numpy(part), torch.zeros(len(part), dtype=torch.long), (28, 40), 0.15, 0.8, 0.03
        )
        scores = character_net.run(x.numpy())[0].astype(np.float64) + prior
        p = np.exp(scores - scores.max(1, keepdims=True))
        p /= p.sum(1, keepdims=True)
        label = data["classes"][held][part]
        np.add.at(total, label, p)
        np.add.at(count, label, 1)
        if at % 5120 == 0:
            print(at, len(order), flush=True)
    with open(out, "w", encoding="utf-8", newline="\n") as file:
        file.write(
            "# Look-alikes: mean probability the model gives the other character over distorted renderings of the\n"
            "# first in fonts it never saw (fonts.tsv, role held). Source: data/train_glyphs, seed 20261125.\n"
            "character\tother\tshare\n"
        )
        for number in np.flatnonzero(count):
            share = total[number, :-1] / count[number]
            share[number] = 0
            for other in np.argsort(-share)[:MOST]:
                if share[other] >= LEAST:
                    file.write(f"{known[number].character}\t{known[other].character}\t{share[other]:.3f}\n")


if __name__ == "__main__":
    main(*sys.argv[1:3])
