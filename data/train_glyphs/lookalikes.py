"""Write the look-alike table: the model's own confusions on hands it never saw, distorted.

Conventions: a row gives a character, another one, and the mean probability the model gave the other one (prior of
all kinds) over distorted pictures of the first: renderings in held-out fonts, and crops of real hands left out
for choosing.

Run: ``python lookalikes.py GLYPHS.npz REAL.npz EYE.pt OUT.tsv`` with the package on the path. Needs torch and
scikit-image.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import synth
import torch
from bones import bone, in_parallel, outlined
from export import load
from glyphs_table import rows
from real import CHOOSE

from readaid.glyphs.candidates import log_prior
from readaid.glyphs.classes import classes, index

SEED, LEAST, MOST = 20261126, 0.004, 8


def unseen(glyphs: str, real: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Packed bits, class numbers and how often each is to be drawn, of what the model never saw."""
    fonts, held = dict(np.load(glyphs)), np.load(real)
    roles = np.array([f["role"] == "held" for f in rows(Path(__file__).with_name("fonts.tsv"))])
    at = np.flatnonzero(roles[fonts["fonts"]])
    known = np.array([c in index() for c in held["characters"]])
    use = np.flatnonzero((held["part"] == CHOOSE) & known)
    label = np.concatenate([fonts["classes"][at], [index()[c] for c in held["characters"][use]]]).astype(np.int64)
    bits = np.concatenate([fonts["glyphs"][at], in_parallel(outlined, list(held["pictures"][use]))])
    often = np.array([16 if classes()[c].kind == "kanji" else 40 for c in label])
    often[len(at) :] = 8
    return bits, label, often


def main(glyphs: str, real: str, weights: str, out: str) -> None:
    torch.manual_seed(SEED)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    known = classes()
    bits, label, often = unseen(glyphs, real)
    total = np.zeros((len(known), len(known) + 1), np.float64)
    count = np.zeros(len(known))
    order = np.random.default_rng(SEED).permutation(np.repeat(np.arange(len(label)), often))
    packed, bones = torch.from_numpy(bits), torch.from_numpy(in_parallel(bone, list(bits)))
    atlas = synth.Atlas.build(packed, bones, torch.from_numpy(label), device)
    model = load(Path(weights), len(known) + 1).to(device)
    with np.errstate(divide="ignore"):
        prior = torch.from_numpy(np.maximum(log_prior("all"), -60)).float().to(device)
    for at in range(0, len(order), 256):
        part = torch.from_numpy(order[at : at + 256])
        here = part.to(device)
        with torch.no_grad():
            x = synth.crops(atlas, here, torch.zeros_like(here), (28, 40), 0.15, 0.8, 0.03)
            p = (model(x)[0] + prior).softmax(1).double().cpu().numpy()
        np.add.at(total, label[part], p)
        np.add.at(count, label[part], 1)
    with open(out, "w", encoding="utf-8", newline="\n") as file:
        file.write(
            "# Look-alikes: mean probability the model gives the other character over distorted pictures of the first\n"
            "# in fonts it never saw (fonts.tsv, role held) and in crops of real hands left out (Kuzushiji-Kanji, see\n"
            "# MODEL.md). Source: data/train_glyphs/lookalikes.py, seed 20261126.\n"
            "character\tother\tshare\n"
        )
        for number in np.flatnonzero(count):
            share = total[number, :-1] / count[number]
            share[number] = 0
            for other in np.argsort(-share)[:MOST]:
                if share[other] >= LEAST:
                    file.write(f"{known[number].character}\t{known[other].character}\t{share[other]:.3f}\n")
    print(int(count.sum()), "pictures", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:5])
