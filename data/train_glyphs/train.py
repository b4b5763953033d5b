"""Train the character model: fonts and crops of real old hands, all of them distorted alike.

Conventions: one net (``net.eye``) learns from batches drawn from two or three domains: 0 font, 1 real kanji, 2 real
kana. The logits are log likelihoods: a sample is judged with the shares of its own domain added (``prior``), so that a
class that has no real crop (every hiragana) is not learnt to be unlikely wherever paper looks old. ``--open`` gives the
share of that judgement made over all domains together. Real kana tell a sound, not a letter; ``--sounds`` names the
ones trained on.
The run follows the clock and always ends in a usable model, the mean of the weights' recent values; with ``--steps``
it ends after so many and is the same for the same seed (``tests/glyphs/test_training.py`` runs it small).

Run: ``python train.py CLASSES.tsv GLYPHS.npz REAL_BONES.npz OUT --seconds 500``
"""

from __future__ import annotations

import argparse
import json
import math
import time
from pathlib import Path

import net
import numpy as np
import synth
import torch
import torch.nn.functional as F
from glyphs_table import categories, rows

SHARE = {"hiragana": 0.28, "letter": 0.28, "katakana": 0.04, "kanji": 0.40}
REAL = 0.5  # of all samples
REAL_KANA = 0.08  # of all samples, where kana are trained on
NONE = 0.05
KANA = {"hiragana": 0.5, "letter": 0.45, "katakana": 0.05}  # as the product weighs kinds in kana
FONT, KANJI, SOUND = 0, 1, 2
FLOOR = math.log(1e-9)


class Sampler:
    """Draws glyph numbers with the shares of the domains, categories, classes and fonts."""

    def __init__(self, table, fonts, labels, numbers, domain, device, kana=1.0, power=0.5):
        held = rows(table)
        self.classes = len(held)
        ours = np.flatnonzero(domain == FONT)
        groups = categories(held, rows(fonts), labels[ours], numbers[ours], "train")
        index, weight = [], []
        for k, (g, w) in groups.items():
            index.append(ours[g])
            weight.append((1 - REAL) * SHARE[k] * (1.0 if k == "kanji" else kana) * w / w.sum())
        parent = np.array([r["kind"] == "letter" for r in held])
        for which in (KANJI, SOUND):
            use = np.flatnonzero(domain == which)
            if not len(use):
                continue
            count = np.bincount(labels[use], minlength=self.classes)
            w = count[labels[use]] ** (power - 1.0) * np.where(parent[labels[use]], 1.5, 1.0)
            index.append(use)
            weight.append((REAL_KANA if which == SOUND else REAL) * w / w.sum())
        index, weight = np.concatenate(index), np.concatenate(weight)
        weight /= weight.sum()
        self.index = torch.from_numpy(index).to(device)
        self.sum = torch.from_numpy(weight).double().cumsum(0).float().to(device)
        shares = np.zeros((3, self.classes))
        np.add.at(shares, (domain[index], labels[index]), weight)
        self.shares = shares / np.maximum(shares.sum(1, keepdims=True), 1e-12)
        # glyphs of one class stand together, so that the same character by another hand is a draw away
        unique = np.unique(index[domain[index] == FONT])
        order = unique[np.argsort(labels[unique], kind="stable")]
        count = np.bincount(labels[order], minlength=self.classes)
        self.order, self.count, self.first = (
            torch.from_numpy(x).to(device) for x in (order, count, np.cumsum(count) - count)
        )

    def draw(self, n: int) -> torch.Tensor:
        at = torch.searchsorted(self.sum, torch.rand(n, device=self.sum.device) * self.sum[-1])
        return self.index[at.clamp(max=len(self.index) - 1)]

    def mates(self, pick: torch.Tensor, classes: torch.Tensor) -> torch.Tensor:
        """A font's glyph of the same class for each, by any hand; itself where there is none."""
        many = self.count[classes]
        step = (torch.rand(len(classes), device=classes.device) * many).long().minimum((many - 1).clamp(min=0))
        return torch.where(many > 0, self.order[(self.first[classes] + step).clamp(max=len(self.order) - 1)], pick)


class Maker:
    """Makes batches; on a GPU the synthesis is recorded as graphs, since launching it takes longer than running it."""

    def __init__(self, atlas, sampler, batch, outputs, device, pools, **how):
        self.how = how
        self.atlas, self.sampler, self.batch, self.outputs = atlas, sampler, batch, outputs
        self.pick = sampler.draw(batch)
        self.mate = self.pick.clone()
        self.bad = torch.zeros(batch, dtype=torch.long, device=device)
        self.graphs: dict[tuple[int, ...], tuple[torch.cuda.CUDAGraph, torch.Tensor]] = {}
        if device != "cpu":
            with torch.no_grad():
                self.record(pools)

    def make(self, sizes: tuple[int, ...]) -> torch.Tensor:
        made = synth.crops(self.atlas, self.pick, self.bad, sizes, mate=self.mate, **self.how)
        return made.contiguous(memory_format=torch.channels_last)

    def record(self, pools: list[tuple[int, ...]]) -> None:
        side = torch.cuda.Stream()
        side.wait_stream(torch.cuda.current_stream())
        with torch.cuda.stream(side):
            for sizes in pools:
                self.make(sizes)
        torch.cuda.current_stream().wait_stream(side)
        torch.cuda.synchronize()
        pool = None
        try:
            for sizes in pools:
                graph = torch.cuda.CUDAGraph()
                with torch.cuda.graph(graph, pool=pool, capture_error_mode="thread_local"):
                    held = self.make(sizes)
                pool = graph.pool()
                self.graphs[sizes] = (graph, held)
        except RuntimeError as error:
            print("no graphs:", str(error)[:300], flush=True)
            self.graphs = {}
            torch.cuda.synchronize()

    def next(self, sizes: tuple[int, ...]) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor]:
        """Windows, classes and domains of a batch."""
        self.pick.copy_(self.sampler.draw(self.batch))
        self.mate.copy_(self.sampler.mates(self.pick, self.atlas.classes[self.pick]))
        every = len(self.bad[:: synth.NONE_EVERY])
        self.bad[:: synth.NONE_EVERY] = torch.randint(1, 5, (every,), device=self.bad.device)
        if sizes in self.graphs:
            self.graphs[sizes][0].replay()
            x = self.graphs[sizes][1]
        else:
            x = self.make(sizes)
        y = torch.where(self.bad > 0, self.outputs - 1, self.atlas.classes[self.pick])
        return x, y, self.atlas.domain[self.pick]


def sound_map(held: list[dict[str, str]]) -> np.ndarray:
    """(classes + 1, 48): the share of each sound in a class, split where there are several."""
    names = [r["character"] for r in held if r["kind"] == "hiragana"]
    out = np.zeros((len(held) + 1, len(names)), np.float32)
    for i, r in enumerate(held):
        for s in r["sounds"]:
            out[i, names.index(s)] = 1 / len(r["sounds"])
    return out


def kana_prior(held: list[dict[str, str]]) -> np.ndarray:
    """Shares (classes + 1,) of what a kana may be written with, as the product has them; nothing else."""
    kind = np.array([r["kind"] for r in held])
    weight = np.array([float(r["weight"]) for r in held])
    out = np.zeros(len(held) + 1)
    for name, share in KANA.items():
        out[:-1][kind == name] = share * weight[kind == name] / weight[kind == name].sum()
    return out


class Judge:
    """The loss: classes within a sample's domain, sounds among kana."""

    def __init__(self, sampler, held, device, open_share, sounds, real_sounds):
        overall = np.append(sampler.shares[:2].mean(0) * (1 - NONE), NONE)
        own = np.concatenate([sampler.shares * (1 - NONE), np.full((3, 1), NONE)], 1)
        prior = (1 - open_share) * own + open_share * overall
        self.prior = torch.from_numpy(np.maximum(np.log(np.maximum(prior, 1e-30)), FLOOR)).float().to(device)
        table = sound_map(held)
        kana = kana_prior(held)
        self.kana = torch.from_numpy(np.maximum(np.log(np.maximum(kana, 1e-30)), FLOOR)).float().to(device)
        only = kana.copy()
        names = [r["character"] for r in held if r["kind"] == "hiragana"]
        spare = table[:, [names.index(s) for s in sounds]].sum(1) <= 0 if sounds else np.zeros(len(only), bool)
        only[spare] = 0  # real kana are told apart among the sounds trained on, the others are left in peace
        self.only = torch.from_numpy(np.maximum(np.log(np.maximum(only, 1e-30)), FLOOR)).float().to(device)
        self.table = torch.from_numpy(table).to(device)
        self.real_sounds = real_sounds

    def __call__(self, logits, y, domain):
        logits = logits.float()
        plain = domain != SOUND
        loss = F.cross_entropy(logits + self.prior[domain], y, reduction="none")
        loss = (loss * plain).sum() / len(y)
        wanted = self.table[y] > 0
        near = wanted.any(1) & ((domain == FONT) | ((domain == KANJI) & self.real_sounds) | (domain == SOUND))
        prior = torch.where((domain == SOUND)[:, None], self.only, self.kana)
        mass = (logits + prior).log_softmax(1).exp() @ (self.table > 0).float()
        right = -((mass * wanted).sum(1).clamp(1e-7, 1)).log()
        weight = torch.where(domain == SOUND, 1.0, 0.3)
        return loss + (right * weight * near).sum() / len(y)


def average(shadow: dict[str, torch.Tensor], model: torch.nn.Module, decay: float) -> None:
    for k, v in model.state_dict().items():
        if v.dtype.is_floating_point:
            shadow[k].lerp_(v.float(), 1 - decay)
        else:
            shadow[k].copy_(v)


def places(model, windows, held, labels, prior, device) -> np.ndarray:
    """Place (n,) of the right class, or sound where ``prior`` is that of kana; 0 is the first."""
    table = torch.from_numpy(sound_map(held)).to(device)
    log = torch.from_numpy(np.maximum(np.log(np.maximum(prior, 1e-30)), FLOOR)).float().to(device)
    out = []
    with torch.no_grad():
        for x, y in zip(windows.split(1024), labels.split(1024), strict=True):
            p = (model(x[:, None].float().to(device) / 255)[0].float() + log).softmax(1)
            if prior[[r["kind"] == "kanji" for r in held] + [False]].sum() == 0:
                p = p @ table
            out.append((p > p.gather(1, y[:, None].to(device))).sum(1).cpu().numpy())
    return np.concatenate(out)


def examine(model, real, held, device, part) -> dict[str, list[float]]:
    """First / five / ten in 100 of the real crops of one part: kanji by number of training crops, kana by sound."""
    index = {r["character"]: i for i, r in enumerate(held)}
    names = [r["character"] for r in held if r["kind"] == "hiragana"]
    kind = np.array([r["kind"] for r in held] + [""])
    many = np.array([int(r["crops"]) for r in held])
    look = real["look"]
    out: dict[str, list[float]] = {}

    def tell(name, place):
        if not len(place):  # a small training looks at few classes
            return
        out[name] = [*(round(float((place < k).mean() * 100), 1) for k in (1, 5, 10)), len(place)]

    at = np.flatnonzero((real["part"][look] == part) & (real["domain"][look] == 1))
    known = np.array([c in index for c in real["characters"][look[at]]])
    y = np.array([index.get(c, 0) for c in real["characters"][look[at]]])
    for name, share in (("kanji", np.isin(kind, ["kanji", "letter"])), ("anything", kind != "")):
        prior = share / share.sum()
        place = places(model, torch.from_numpy(real["windows"][at]), held, torch.from_numpy(y), prior, device)
        place[~known] = 9999
        tell(f"{name} all", place)
        for low, high in ((100, 999), (20, 99), (5, 19), (1, 4)):
            take = known & (many[y] >= low) & (many[y] <= high)
            tell(f"{name} {low}-{high}", place[take])
    at = np.flatnonzero((real["part"][look] == part) & (real["domain"][look] == 2))
    sound = real["characters"][look[at]]
    y = torch.tensor([names.index(c) for c in sound])
    place = places(model, torch.from_numpy(real["windows"][at]), held, y, kana_prior(held), device)
    tell("kana all", place)
    for c in sorted(set(sound)):
        tell(f"kana {c}", place[sound == c])
    return out


def options(given: list[str] | None = None) -> argparse.Namespace:
    ask = argparse.ArgumentParser()
    ask.add_argument("table", type=Path)
    ask.add_argument("glyphs", type=Path)
    ask.add_argument("real", type=Path)
    ask.add_argument("out", type=Path)
    ask.add_argument("--seconds", type=float, default=500)
    ask.add_argument("--steps", type=int, default=0, help="end after so many steps, not by the clock")
    ask.add_argument("--resume", type=Path)
    ask.add_argument("--batch", type=int, default=2048)
    ask.add_argument("--rate", type=float, default=2.5e-3)
    ask.add_argument("--limit", type=int, default=0, help="use so many glyphs only (smoke run)")
    ask.add_argument("--open", type=float, default=0.0, help="share of the judgement made over all domains")
    ask.add_argument("--real-sounds", action="store_true", help="real crops of kana's parents are judged by sound too")
    ask.add_argument("--sounds", default="", help="real kana of these sounds are trained on")
    ask.add_argument("--kana", type=float, default=1.0, help="weight of kana against kanji in fonts")
    ask.add_argument("--grey", type=float, default=0.35, help="share of samples from the small grey picture")
    ask.add_argument("--metal", type=float, default=0.4, help="share of samples cut in metal")
    ask.add_argument("--parts", default="0", help="parts of the real crops trained on")
    ask.add_argument("--seed", type=int, default=20261126)
    return ask.parse_args(given)


def drawn(a: argparse.Namespace, held: list[dict[str, str]], real: dict[str, np.ndarray], device: str):
    """The atlas of all glyphs and crops that are trained on, and the sampler that draws from it."""
    index = {r["character"]: i for i, r in enumerate(held)}
    fonts = dict(np.load(a.glyphs))
    use = np.isin(real["part"], [int(p) for p in a.parts]) & np.array([c in index for c in real["characters"]])
    use &= (real["domain"] == KANJI) | np.isin(real["characters"], list(a.sounds))
    use = np.flatnonzero(use)
    if a.limit:
        pick = np.random.default_rng(0)
        use = pick.permutation(use)[: a.limit]
        take = pick.permutation(len(fonts["classes"]))[: a.limit]
        fonts = {k: v[take] for k, v in fonts.items()}
    if "bones" not in fonts:
        from bones import bone, in_parallel  # scikit-image, which a training on finished bones does not need

        fonts["bones"] = in_parallel(bone, list(fonts["glyphs"]))
    theirs = np.array([index[c] for c in real["characters"][use]], np.int64)
    labels = np.concatenate([fonts["classes"].astype(np.int64), theirs])
    domain = np.concatenate([np.zeros(len(fonts["classes"]), np.int64), real["domain"][use].astype(np.int64)])
    numbers = np.concatenate([fonts["fonts"].astype(np.int64), np.zeros(len(use), np.int64)])
    atlas = synth.Atlas.build(
        torch.from_numpy(np.concatenate([fonts["glyphs"], real["bits"][use]])),
        torch.from_numpy(np.concatenate([fonts["bones"], real["bones"][use]])),
        torch.from_numpy(labels),
        device,
        torch.from_numpy(domain),
        torch.from_numpy(real["grey"][use]),
    )
    fonts_table = Path(__file__).with_name("fonts.tsv")
    return atlas, Sampler(a.table, fonts_table, labels, numbers, domain, device, a.kana)


def fit(a: argparse.Namespace, model, maker: Maker, judge: Judge, pools, device: str, start: float):
    """Learn until the steps or the seconds are used up: the mean of the weights' recent values, the losses told."""
    shadow = {
        k: v.detach().clone().float() if v.dtype.is_floating_point else v.clone() for k, v in model.state_dict().items()
    }
    optim = torch.optim.AdamW(model.parameters(), lr=a.rate, weight_decay=0.02)
    begun, step, told, marks = time.time(), 0, time.time(), torch.zeros(3, device=device)
    every = 200 if device != "cpu" else 5
    room = a.seconds - (begun - start)
    losses: list[float] = []
    while (step < a.steps) if a.steps else (time.time() - begun < room):
        done = step / a.steps if a.steps else (time.time() - begun) / room
        for group in optim.param_groups:
            rise = min(1, (step + 1) / (a.steps / 10 if a.steps else 300))
            group["lr"] = max(a.rate * rise * (0.5 + 0.5 * math.cos(math.pi * done)), 1e-6)
        with torch.no_grad():
            x, y, d = maker.next(pools[step % len(pools)])
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16, enabled=device != "cpu"):
            logits, _ = model(x)
        loss = judge(logits, y, d)
        optim.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 5.0)
        optim.step()
        step += 1
        if step % 4 == 0:
            average(shadow, model, min(0.999, (step + 1) / (step + 20)) ** 4)
        with torch.no_grad():
            right = (logits.float() + judge.prior[d]).argmax(1) == y
            marks += torch.stack([loss.detach(), right[d == FONT].float().mean(), right[d == KANJI].float().mean()])
        if step % every == 0:
            m = (marks / every).tolist()
            marks.zero_()
            losses.append(m[0])
            print(
                f"{time.time() - start:5.0f} s step {step} seen {step * a.batch / 1e6:.1f} M "
                f"({every * a.batch / (time.time() - told):.0f}/s) loss {m[0]:.3f} font {m[1]:.3f} real {m[2]:.3f}",
                flush=True,
            )
            told = time.time()
    print(f"ends after {time.time() - start:.0f} s, {step} steps, {step * a.batch / 1e6:.1f} M samples", flush=True)
    return shadow, losses


def main(given: list[str] | None = None) -> list[float]:
    a = options(given)
    start = time.time()
    device = "cuda:0" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(a.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    held = rows(a.table)
    real = dict(np.load(a.real))
    atlas, sampler = drawn(a, held, real, device)
    outputs = sampler.classes + 1
    judge = Judge(sampler, held, device, a.open, a.sounds, a.real_sounds)
    pools = [(24, 32, 40, 56), (20, 28, 36, 48), (28, 28, 44, 64)]
    maker = Maker(atlas, sampler, a.batch, outputs, device, pools, mix=0.4, soft=0.4, grey=a.grey, metal_share=a.metal)
    model = net.eye(outputs)
    if a.resume:
        state = torch.load(a.resume, map_location="cpu", weights_only=True)
        model.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in state.items()})
    model.to(device, memory_format=torch.channels_last)
    print(
        f"ready after {time.time() - start:.0f} s; {torch.bincount(atlas.domain).tolist()} glyphs by domain, "
        f"{sum(p.numel() for p in model.parameters()) / 1e6:.2f} M weights, {sampler.classes} classes",
        flush=True,
    )
    shadow, losses = fit(a, model, maker, judge, pools, device, start)
    a.out.mkdir(parents=True, exist_ok=True)
    half = {k: v.cpu().half() if v.dtype.is_floating_point else v.cpu() for k, v in shadow.items()}
    torch.save(half, a.out / "eye.pt")
    model.load_state_dict(shadow)
    found = {"choose": examine(model.eval(), real, held, device, 1)}
    (a.out / "figures.json").write_text(json.dumps(found, ensure_ascii=False, indent=0))
    for name, value in found["choose"].items():
        print(f"{name:18s} {value}", flush=True)
    return losses


if __name__ == "__main__":
    main()
