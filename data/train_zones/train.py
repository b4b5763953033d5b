"""Train the finder's net on made-up scenes; goes on from a checkpoint.

Conventions: the schedule follows the clock: the learning rate rises, then falls to nothing at the end of ``--seconds``,
so that every run ends in a usable model (``zones.pt``, averaged weights, 16 bit; ``state.pt`` to go on from).

Run: ``python train.py GLYPHS.npz OUT_FOLDER --seconds 500 [--resume FOLDER]``
"""

from __future__ import annotations

import argparse
import csv
import math
import time
from pathlib import Path

import net
import numpy as np
import scene
import torch


def font_weights(path: Path) -> dict[int, float]:
    with path.open(encoding="utf-8") as file:
        rows = list(csv.DictReader((x for x in file if not x.startswith("#")), delimiter="\t"))
    brush = {
        "kouzan-sousyo": 4.0,
        "kouzan": 2.0,
        "yuji-boku": 1.5,
        "yuji-mai": 1.5,
        "yuji-hentaigana-akebono": 0.8,
        "noto-serif-hentaigana": 1.0,
        "liu-jian-mao-cao": 3.0,
        "long-cang": 1.5,
        "ma-shan-zheng": 2.0,
    }
    return {i: brush.get(r["name"], 0.5) for i, r in enumerate(rows)}


def save(folder: Path, shadow: dict[str, torch.Tensor], model: torch.nn.Module) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for name, state in (("zones", shadow), ("state", model.state_dict())):
        half = {
            k: v.cpu().half() if name == "zones" and v.dtype.is_floating_point else v.cpu() for k, v in state.items()
        }
        torch.save(half, folder / f"{name}.part")
        (folder / f"{name}.part").replace(folder / f"{name}.pt")


@torch.no_grad()
def batch(atlas: scene.Atlas, n: int, device: str) -> tuple[dict[str, torch.Tensor], torch.Tensor]:
    made = scene.scenes(atlas, n, device)
    return made, shown(made["image"])


@torch.no_grad()
def shown(image: torch.Tensor) -> torch.Tensor:
    """What the net sees of pictures; dark or light by chance, one net reads both."""
    x = net.prepared(image)
    turned = (torch.rand(len(x), device=x.device) < 0.5).float()[:, None, None, None] * 2 - 1
    x = torch.cat([x[:, :1] * turned, x[:, 1:]], 1)
    return x.contiguous(memory_format=torch.channels_last)


class Pool:
    """Batches made before, for learning from them once more."""

    def __init__(self, most: int) -> None:
        self.held: list[dict[str, torch.Tensor]] = []
        self.most = most

    def put(self, made: dict[str, torch.Tensor]) -> None:
        kept = {**made, "image": (made["image"] * 255).round().byte(), "ink": made["ink"].half()}
        if len(self.held) < self.most:
            self.held.append(kept)
        else:
            self.held[int(torch.randint(self.most, (1,)))] = kept

    @torch.no_grad()
    def draw(self) -> tuple[dict[str, torch.Tensor], torch.Tensor]:
        held = self.held[int(torch.randint(len(self.held), (1,)))]
        made = scene.again({**held, "ink": held["ink"].float()})
        return made, shown(made["image"])


def smaller(n: int) -> int:
    if n <= 8:
        raise MemoryError("a batch of 8 does not fit")
    torch.cuda.empty_cache()
    print("batch", n // 2, flush=True)
    return n // 2


def main() -> None:
    ask = argparse.ArgumentParser()
    ask.add_argument("glyphs", type=Path)
    ask.add_argument("out", type=Path)
    ask.add_argument("--seconds", type=float, default=500)
    ask.add_argument("--resume", type=Path)
    ask.add_argument("--batch", type=int, default=48)
    ask.add_argument("--rate", type=float, default=3e-3)
    ask.add_argument("--again", type=int, default=2, help="how often to learn from older batches after each new one")
    ask.add_argument("--pieces", type=int, default=96, help="pieces to keep for fitting confidences")
    ask.add_argument("--seed", type=int, default=20261125)
    a = ask.parse_args()
    start = time.time()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(a.seed)
    torch.backends.cudnn.benchmark = True
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    atlas = scene.Atlas.load(a.glyphs, font_weights(Path(__file__).parent.parent / "train_glyphs/fonts.tsv"), device)
    model = net.Net()
    if a.resume:
        for name in ("state", "zones"):
            path = a.resume / f"{name}.pt"
            if path.exists():
                held = torch.load(path, map_location="cpu", weights_only=True)
                model.load_state_dict({k: v.float() if v.dtype.is_floating_point else v for k, v in held.items()})
                print("goes on from", path, flush=True)
                break
    model.to(device, memory_format=torch.channels_last)
    shadow = {k: v.detach().clone() for k, v in model.state_dict().items()}
    decayed = [p for p in model.parameters() if p.ndim > 1]
    plain = [p for p in model.parameters() if p.ndim <= 1]
    optim = torch.optim.AdamW(
        [{"params": decayed, "weight_decay": 0.02}, {"params": plain, "weight_decay": 0.0}], lr=a.rate
    )
    print(
        f"ready after {time.time() - start:.0f} s on {device}; glyphs {len(atlas.signed)}, "
        f"parameters {sum(p.numel() for p in model.parameters()) / 1e3:.0f} k",
        flush=True,
    )
    every = 300 if device == "cuda" else 6
    pool = Pool(64)
    step, seen, sums, told, saved = 0, 0, {}, time.time(), time.time()
    making = 0.0
    while (done := (time.time() - start) / a.seconds) < 1:
        for group in optim.param_groups:
            group["lr"] = max(1e-6, a.rate * min(1, (step + 1) / 400) * (0.5 + 0.5 * math.cos(math.pi * done)))
        before = time.time()
        try:
            fresh = step % (a.again + 1) == 0
            if fresh:
                made, x = batch(atlas, a.batch, device)
                pool.put(made)
            else:
                made, x = pool.draw()
        except torch.cuda.OutOfMemoryError:
            a.batch = smaller(a.batch)
            continue
        making += time.time() - before
        try:
            with torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
                out = model(x)
            whole, parts = net.loss(out.float(), made, scene.VIEW)
        except torch.cuda.OutOfMemoryError:
            a.batch = smaller(a.batch)
            continue
        optim.zero_grad(set_to_none=True)
        whole.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 5.0)
        optim.step()
        step, seen = step + 1, seen + a.batch * fresh
        decay = min(0.999, (step + 1) / (step + 20))
        with torch.no_grad():
            for k, v in model.state_dict().items():
                if v.dtype.is_floating_point:
                    shadow[k].lerp_(v, 1 - decay)
                else:
                    shadow[k].copy_(v)
        for k, v in {"loss": whole.detach(), **parts}.items():
            sums[k] = sums.get(k, 0) + v
        if step % every == 0:
            said = " ".join(f"{k} {float(v) / every:.3f}" for k, v in sums.items())
            spent = time.time() - told
            print(
                f"{time.time() - start:5.0f} s step {step} scenes {seen / 1e3:.1f} k "
                f"({every / spent:.1f} steps/s, making {making / spent:.0%}) {said}",
                flush=True,
            )
            sums, told, making = {}, time.time(), 0.0
        if time.time() - saved > 120:
            save(a.out, shadow, model)
            saved = time.time()
    save(a.out, shadow, model)
    made, _ = batch(atlas, a.pieces, device)  # fresh ones, to fit the confidences on
    np.savez_compressed(
        a.out / "pieces.npz",
        image=(made["image"].cpu() * 255).round().byte().numpy(),
        boxes=made["boxes"].cpu().numpy(),
        there=made["there"].cpu().numpy(),
        doubt=made["doubt"].cpu().numpy(),
        usual=made["usual"].cpu().numpy(),
    )
    print(f"saved after {time.time() - start:.0f} s, {step} steps, {seen / 1e3:.1f} k scenes", flush=True)


if __name__ == "__main__":
    main()
