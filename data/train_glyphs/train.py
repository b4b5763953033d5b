"""Train the character model on rendered fonts; resumes from a checkpoint.

Conventions: the teacher learns the letters (and, for kana, the summed sounds);
the student learns the same and the teacher's probabilities on the same batch.
The schedule follows the clock: the learning rate rises, then falls to nothing at
the end of ``--seconds``, so that every run ends in a usable model. Sampling
probabilities of the classes are written beside the weights, because the run time
replaces them by a prior of its own.

Run: ``python train.py CLASSES.tsv GLYPHS.npz OUT_FOLDER --seconds 500 [--resume FOLDER]``
"""

from __future__ import annotations

import argparse
import math
import os
import time
from pathlib import Path

import net
import numpy as np
import synth
import torch
import torch.nn.functional as F
from glyphs_table import categories, rows
from torch._utils import _flatten_dense_tensors, _unflatten_dense_tensors

TAUGHT = 0.55  # share of the time after which the teacher is left alone
SHARE = {"hiragana": 0.26, "letter": 0.28, "katakana": 0.04, "kanji": 0.42}


class Sampler:
    """Draws glyph numbers with the shares of the categories, classes and fonts."""

    def __init__(
        self,
        table: Path,
        glyphs: dict[str, np.ndarray],
        fonts: Path,
        device: str,
        role: str = "train",
        without: tuple[str, ...] = (),
        kana: float = 1.0,
    ) -> None:
        known = rows(fonts)
        for font in known:
            if font["name"] in without:
                font["role"] = "held"
        groups = categories(rows(table), known, glyphs["classes"], glyphs["fonts"], role)
        self.classes = len(rows(table))
        index = np.concatenate([g for g, _ in groups.values()])
        weight = np.concatenate(
            [SHARE[k] * (1.0 if k == "kanji" else kana) * w / w.sum() for k, (g, w) in groups.items()]
        )
        weight /= weight.sum()
        self.index = torch.from_numpy(index).to(device)
        self.sum = torch.from_numpy(weight).double().cumsum(0).float().to(device)
        self.prior = np.bincount(glyphs["classes"][index], weight, self.classes)
        # glyphs of one class stand together, so that the same character by another hand is a draw away
        unique = np.unique(index)
        order = unique[np.argsort(glyphs["classes"][unique], kind="stable")]
        count = np.bincount(glyphs["classes"][order], minlength=self.classes)
        self.order = torch.from_numpy(order).to(device)
        self.count = torch.from_numpy(count).to(device)
        self.first = torch.from_numpy(np.cumsum(count) - count).to(device)

    def draw(self, n: int) -> torch.Tensor:
        at = torch.searchsorted(self.sum, torch.rand(n, device=self.sum.device) * self.sum[-1]).clamp(
            max=len(self.index) - 1
        )
        return self.index[at]

    def mates(self, classes: torch.Tensor) -> torch.Tensor:
        """A glyph of the same class for each, by any hand."""
        step = (torch.rand(len(classes), device=classes.device) * self.count[classes]).long()
        return self.order[self.first[classes] + step.minimum(self.count[classes] - 1)]


class Maker:
    """Makes batches; on a GPU the synthesis is recorded as graphs, since launching it takes longer than running it."""

    def __init__(
        self,
        atlas: synth.Atlas,
        sampler: Sampler,
        batch: int,
        outputs: int,
        device: str,
        strength: float,
        pools: list[tuple[int, ...]],
        mix: float,
        soft: float,
    ) -> None:
        self.mix, self.soft = mix, soft
        self.atlas, self.sampler, self.batch, self.outputs, self.strength = atlas, sampler, batch, outputs, strength
        self.pick = sampler.draw(batch)
        self.mate = self.pick.clone()
        self.bad = torch.zeros(batch, dtype=torch.long, device=device)
        self.graphs: dict[tuple[int, ...], tuple[torch.cuda.CUDAGraph, torch.Tensor]] = {}
        if device != "cpu":
            with torch.no_grad():
                self.record(pools)

    def make(self, sizes: tuple[int, ...]) -> torch.Tensor:
        return synth.crops(
            self.atlas,
            self.pick,
            self.bad,
            sizes,
            strength=self.strength,
            mate=self.mate,
            mix=self.mix,
            soft=self.soft,
        ).contiguous(memory_format=torch.channels_last)

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

    def next(self, sizes: tuple[int, ...]) -> tuple[torch.Tensor, torch.Tensor]:
        self.pick.copy_(self.sampler.draw(self.batch))
        if self.mix:
            self.mate.copy_(self.sampler.mates(self.atlas.classes[self.pick]))
        self.bad[:: synth.NONE_EVERY] = torch.randint(
            1, 5, (len(self.bad[:: synth.NONE_EVERY]),), device=self.bad.device
        )
        if sizes in self.graphs:
            self.graphs[sizes][0].replay()
            x = self.graphs[sizes][1]
        else:
            x = self.make(sizes)
        y = torch.where(self.bad > 0, self.outputs - 1, self.atlas.classes[self.pick])
        return x, y


def sound_map(table: Path, device: str) -> torch.Tensor:
    """(classes + 1, sounds): which classes may stand for which sound, split where there are several."""
    held = rows(table)
    names = [r["character"] for r in held if r["kind"] == "hiragana"]
    out = torch.zeros(len(held) + 1, len(names))
    for i, r in enumerate(held):
        for s in r["sounds"]:
            out[i, names.index(s)] = 1 / len(r["sounds"])
    return out.to(device)


def sound_loss(logits: torch.Tensor, target: torch.Tensor, sounds: torch.Tensor) -> torch.Tensor:
    wanted = sounds[target] > 0
    kana = wanted.any(1)
    if not kana.any():
        return logits.sum() * 0
    p = logits[kana].float().softmax(1)
    mass = p @ (sounds > 0).float()
    return -((mass * wanted[kana]).sum(1).clamp(1e-7, 1)).log().mean()


def average(shadow: dict[str, torch.Tensor], model: torch.nn.Module, decay: float) -> None:
    for k, v in model.state_dict().items():
        if v.dtype.is_floating_point:
            shadow[k].lerp_(v.float(), 1 - decay)
        else:
            shadow[k].copy_(v)


def main() -> None:
    ask = argparse.ArgumentParser()
    ask.add_argument("table", type=Path)
    ask.add_argument("glyphs", type=Path)
    ask.add_argument("out", type=Path)
    ask.add_argument("--seconds", type=float, default=500)
    ask.add_argument("--resume", type=Path)
    ask.add_argument("--batch", type=int, default=2048)
    ask.add_argument("--rate", type=float, default=2.5e-3)
    ask.add_argument("--strength", type=float, default=1.0)
    ask.add_argument("--limit", type=int, default=0, help="use so many glyphs only (smoke run)")
    ask.add_argument("--frozen", action="store_true", help="the teacher no longer learns")
    ask.add_argument("--without", default="", help="fonts left out, by commas: an unseen hand to examine with")
    ask.add_argument("--mix", type=float, default=0.0, help="share of samples drawn towards another hand")
    ask.add_argument("--soft", type=float, default=0.0, help="share of samples with softened outlines")
    ask.add_argument("--kana", type=float, default=1.0, help="weight of kana against kanji")
    ask.add_argument("--smooth", type=float, default=0.0, help="label smoothing of the student")
    ask.add_argument("--alone", action="store_true", help="the student learns without a teacher")
    ask.add_argument("--seed", type=int, default=20261125)
    a = ask.parse_args()
    start = time.time()
    rank, world = int(os.environ.get("RANK", 0)), int(os.environ.get("WORLD_SIZE", 1))
    device = f"cuda:{rank}" if torch.cuda.is_available() else "cpu"
    if world > 1:
        torch.cuda.set_device(rank)
    torch.manual_seed(a.seed + 1000 * rank)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    data = dict(np.load(a.glyphs))
    if a.limit:
        take = np.random.default_rng(0).permutation(len(data["classes"]))[: a.limit]
        data = {k: v[take] for k, v in data.items()}
    fonts = Path(__file__).with_name("fonts.tsv")
    atlas = synth.Atlas.build(
        torch.from_numpy(data["glyphs"]),
        torch.from_numpy(data["bones"]),
        torch.from_numpy(data["classes"].astype(np.int64)),
        device,
    )
    sampler = Sampler(a.table, data, fonts, device, without=tuple(a.without.split(",")), kana=a.kana)
    outputs = sampler.classes + 1
    sounds = sound_map(a.table, device)
    pools = [(24, 32, 40, 56), (20, 28, 36, 48), (28, 28, 44, 64)]
    maker = Maker(atlas, sampler, a.batch, outputs, device, a.strength, pools, a.mix, a.soft)
    if world > 1:  # only now: its watchdog would spoil the recording of graphs
        torch.distributed.init_process_group("nccl")
    models = {"teacher": net.teacher(outputs), "student": net.student(outputs)}
    shadows = {}
    for name, model in models.items():
        if a.resume:
            parts = sorted(a.resume.glob(f"{name}_*.pt"))
            state: dict[str, torch.Tensor] = {}
            for part in parts:
                state |= torch.load(part, map_location="cpu", weights_only=True)
            model.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in state.items()})
        model.to(device, memory_format=torch.channels_last)
        if world > 1:
            for v in model.state_dict().values():
                torch.distributed.broadcast(v, 0)
        shadows[name] = {
            k: v.detach().clone().float() if v.dtype.is_floating_point else v.clone()
            for k, v in model.state_dict().items()
        }
    teach, learn = models["teacher"], models["student"]
    a.frozen = a.frozen or a.alone
    if a.frozen:
        teach.eval().requires_grad_(False)
    weights = [p for m in models.values() for p in m.parameters() if p.requires_grad]
    optim = torch.optim.AdamW(
        [{"params": list(learn.parameters())}, {"params": list(teach.parameters())}], lr=a.rate, weight_decay=0.02
    )
    print(
        f"ready after {time.time() - start:.0f} s; glyphs {len(atlas.classes)}, "
        f"teacher {sum(p.numel() for p in teach.parameters()) / 1e6:.2f} M, "
        f"student {sum(p.numel() for p in learn.parameters()) / 1e6:.2f} M",
        flush=True,
    )
    step, seen, marks, told = 0, 0, torch.zeros(4, device=device), time.time()
    over = 0.0
    while True:
        done = (time.time() - start) / a.seconds
        if world > 1 and step % 10 == 0:
            clock = torch.tensor([done], device=device)
            torch.distributed.all_reduce(clock, torch.distributed.ReduceOp.MAX)
            done = over = float(clock)
        elif world == 1:
            over = done
        if over >= 1:
            break
        if over > TAUGHT and not a.frozen:  # from here on the teacher stands still, and steps are faster
            a.frozen = True
            teach.load_state_dict(shadows["teacher"])
            teach.eval().requires_grad_(False)
            for p in teach.parameters():
                p.grad = None
            weights = list(learn.parameters())
            print(f"{time.time() - start:5.0f} s the teacher stands still", flush=True)
        for group, end in zip(optim.param_groups, (1.0, TAUGHT), strict=True):
            group["lr"] = max(
                a.rate * min(1, (step + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * min(1, done / end))), 1e-6
            )
        with torch.no_grad():
            x, y = maker.next(pools[step % len(pools)])
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16, enabled=device != "cpu"):
            s, _ = learn(x)
            if a.alone:
                t = s.detach()
            elif a.frozen:
                with torch.no_grad():
                    t, _ = teach(x)
            else:
                t, _ = teach(x)
        t, s = t.float(), s.float()
        hard_t = F.cross_entropy(t, y, label_smoothing=0.01)
        hard_s = F.cross_entropy(s, y, label_smoothing=a.smooth)
        soft = F.kl_div(s.log_softmax(1), t.detach().log_softmax(1), log_target=True, reduction="batchmean")
        loss = 0.4 * hard_s + soft + 0.3 * sound_loss(s, y, sounds)
        if a.alone:
            loss = hard_s + 0.3 * sound_loss(s, y, sounds)
        if not a.frozen:
            loss = loss + hard_t + 0.5 * sound_loss(t, y, sounds)
        optim.zero_grad(set_to_none=True)
        loss.backward()
        if world > 1:  # a finished clock on one machine must not leave the other waiting: all stop at the same step
            grads = [p.grad for p in weights]
            flat = _flatten_dense_tensors(grads)
            torch.distributed.all_reduce(flat)
            for g, mean in zip(grads, _unflatten_dense_tensors(flat / world, grads), strict=True):
                g.copy_(mean)
        torch.nn.utils.clip_grad_norm_(teach.parameters(), 5.0)
        torch.nn.utils.clip_grad_norm_(learn.parameters(), 5.0)
        optim.step()
        step, seen = step + 1, seen + a.batch
        decay = min(0.999, (step + 1) / (step + 20))
        if step % 4 == 0:
            for name, model in models.items():
                if name == "teacher" and a.frozen:
                    continue
                average(shadows[name], model, decay**4)
        marks += torch.stack(
            [hard_t, hard_s, (t.argmax(1) == y).float().mean(), (s.argmax(1) == y).float().mean()]
        ).detach()
        if (rank == 0 and step % 200 == 0) or (device == "cpu" and step % 5 == 0):
            every = 200 if device != "cpu" else 5
            m = (marks / every).tolist()
            marks.zero_()
            print(
                f"{time.time() - start:5.0f} s step {step} seen {world * seen / 1e6:.1f} M "
                f"({every * a.batch * world / (time.time() - told):.0f}/s) "
                f"loss {m[0]:.3f} {m[1]:.3f} first {m[2]:.3f} {m[3]:.3f}",
                flush=True,
            )
            told = time.time()
    if rank:
        torch.distributed.destroy_process_group()
        return
    a.out.mkdir(parents=True, exist_ok=True)
    for name, shadow in shadows.items():
        half = {k: v.cpu().half() if v.dtype.is_floating_point else v.cpu() for k, v in shadow.items()}
        part: dict[str, torch.Tensor] = {}
        number, size = 0, 0
        for k, v in half.items():
            part[k] = v
            size += v.numel() * v.element_size()
            if size > 8 * 2**20:  # files that travel are kept small
                torch.save(part, a.out / f"{name}_{number}.pt")
                part, number, size = {}, number + 1, 0
        torch.save(part, a.out / f"{name}_{number}.pt")
    np.save(a.out / "prior.npy", sampler.prior.astype(np.float32))
    print(f"saved after {time.time() - start:.0f} s, {step} steps, {world * seen / 1e6:.1f} M samples")


if __name__ == "__main__":
    main()
