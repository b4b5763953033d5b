"""Examine a checkpoint on fonts it was not trained on: a hand left out stands for the hand on the bench.

Conventions: crops are made by ``synth`` at half the training's resolution, clean and hard (all distortions), with a
fixed seed. Kana are ranked among 48 sounds with the run time's prior, kanji among all kanji. ECE: 15 bins of equal
width.

Run: ``python examine.py CLASSES.tsv GLYPHS.npz CHECKPOINT_FOLDER FONT[,FONT] [--temperature T]``
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import synth
import torch
import torch.nn.functional as F
from export import load
from glyphs_table import rows
from train import sound_map

SHARES = {"hiragana": 0.5, "letter": 0.45, "katakana": 0.05}  # as readaid.glyphs.candidates for kana
VIEWS = ((0.0, 0.0, 1.0), (1.5, 1.0, 1.06), (-1.5, -1.0, 0.94))


def measures(shares: np.ndarray, label: np.ndarray) -> str:
    own = shares[np.arange(len(label)), label]
    place = (shares > own[:, None]).sum(1)
    held = (np.sort(shares, 1)[:, ::-1].cumsum(1) < 0.9).sum(1) + 1
    sure, right = shares.max(1), shares.argmax(1) == label
    bins = np.minimum((sure * 15).astype(int), 14)
    ece = sum(abs(right[bins == b].mean() - sure[bins == b].mean()) * (bins == b).mean() for b in set(bins))
    first = "/".join(f"{100 * (place < k).mean():.1f}" for k in (1, 5, 10))
    return (
        f"{first} nll {-np.log(own.clip(1e-9)).mean():.3f} ece {ece:.3f} "
        f"set {held.mean():.1f} {100 * (place < held).mean():.1f}"
    )


def scores(model: torch.nn.Module, windows: torch.Tensor) -> torch.Tensor:
    """(views, n, classes + 1) logits."""
    out = []
    with torch.no_grad():
        for dx, dy, scale in VIEWS:
            move = torch.tensor([[scale, 0, dx * 2 / 48], [0, scale, dy * 2 / 48]], device=windows.device)
            parts = []
            for x in windows.split(1024):
                grid = F.affine_grid(move.expand(len(x), 2, 3), list(x.shape), align_corners=False)
                seen = F.grid_sample(x, grid, align_corners=False, padding_mode="border")
                parts.append(model(seen)[0].float().cpu())
            out.append(torch.cat(parts))
    return torch.stack(out)


def main() -> None:
    ask = argparse.ArgumentParser()
    ask.add_argument("table", type=Path)
    ask.add_argument("glyphs", type=Path)
    ask.add_argument("folder", type=Path)
    ask.add_argument("fonts")
    ask.add_argument("--temperature", type=float, default=1.0)
    ask.add_argument("--rounds", type=int, default=2)
    a = ask.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    table = rows(a.table)
    kind = np.array([r["kind"] for r in table])
    weight = np.array([float(r["weight"]) for r in table])
    model = load(a.folder, "student", len(table) + 1).to(device)
    trained = np.load(a.folder / "prior.npy")
    prior = np.zeros(len(table))
    for name, share in SHARES.items():
        prior[kind == name] = share * weight[kind == name] / weight[kind == name].sum()
    flat = np.isin(kind, ["kanji", "letter"]) / np.isin(kind, ["kanji", "letter"]).sum()
    sounds = (sound_map(a.table, "cpu").numpy() > 0).astype(float)[:-1]
    sounds /= np.maximum(sounds.sum(1, keepdims=True), 1)
    data = dict(np.load(a.glyphs))
    names = [f["name"] for f in rows(Path(__file__).with_name("fonts.tsv"))]
    for font in a.fonts.split(","):
        at = np.flatnonzero(data["fonts"] == names.index(font))
        for what, use in (("kana", np.isin(kind, ["hiragana"])), ("kanji", np.isin(kind, ["kanji", "letter"]))):
            pick = at[use[data["classes"][at]]]
            if what == "kanji":
                pick = np.random.default_rng(0).permutation(pick)[:1500]
            if len(pick) < 20:
                continue
            label = data["classes"][pick].astype(np.int64)
            atlas = synth.Atlas.build(
                torch.from_numpy(data["glyphs"][pick]),
                torch.from_numpy(data["bones"][pick]),
                torch.from_numpy(label),
                device,
            )
            torch.manual_seed(7)
            rounds = 24 * a.rounds if what == "kana" else a.rounds
            bits = torch.from_numpy(np.unpackbits(data["glyphs"][pick], axis=1).reshape(-1, 128, 128)).float()
            sets = [("clean", synth.normalise(F.avg_pool2d(bits[:, None], 2)[:, 0].to(device)), label)]
            every = torch.arange(len(pick), device=device).repeat(rounds)
            every = every[torch.randperm(len(every), device=device)]
            hard = torch.cat(
                [
                    synth.crops(atlas, p, torch.zeros_like(p), (24, 32, 40, 56), metal_share=m, jitter=0)
                    for m in (0.0, 1.0)
                    for p in every.split(1024)
                ]
            )
            both = label[every.cpu().numpy()]
            sets += [("hard print", hard[: len(every)], both), ("hard metal", hard[len(every) :], both)]
            for name, windows, wanted in sets:
                seen = scores(model, windows)[:, :, :-1].double().numpy() - np.log(np.maximum(trained, 1e-7))
                base = prior if what == "kana" else flat
                with np.errstate(divide="ignore"):
                    logs = seen / a.temperature + np.log(base)
                share = np.exp(logs - logs.max(2, keepdims=True))
                share = (share / share.sum(2, keepdims=True)).mean(0)
                answer = wanted
                if what == "kana":
                    share, answer = share @ sounds, wanted  # hiragana are the first 48 classes, in the sounds' order
                print(f"{font:16s} {what:6s} {name:11s} {measures(share, answer)}", flush=True)


if __name__ == "__main__":
    main()
