"""Where the time of a training step goes; a helper for whoever tunes ``train.py``."""

import sys
import time

import net
import numpy as np
import synth
import torch
from train import Sampler
from pathlib import Path

table, glyphs = Path(sys.argv[1]), Path(sys.argv[2])
data = dict(np.load(glyphs))
take = np.random.default_rng(0).permutation(len(data["classes"]))[:8000]
data = {k: v[take] for k, v in data.items()}
atlas = synth.Atlas.build(torch.from_numpy(data["glyphs"]), torch.from_numpy(data["bones"]), torch.from_numpy(data["classes"].astype(np.int64)), "cuda")
torch.backends.cudnn.benchmark = True
sizes = (24, 32, 40, 56)


def clock(name, f, n=8):
    for _ in range(3):
        f()
    torch.cuda.synchronize()
    a = time.time()
    for _ in range(n):
        f()
    b = time.time()
    torch.cuda.synchronize()
    print(f"{name:34s} {(time.time() - a) / n * 1e3:7.1f} ms, issued in {(b - a) / n * 1e3:7.1f}", flush=True)


for batch in (2048, 4096):
    pick = torch.randint(0, 8000, (batch,), device="cuda")
    none = torch.where(torch.rand(batch, device="cuda") < 0.05, torch.randint(1, 5, (batch,), device="cuda"), 0)
    with torch.no_grad():
        ink, width = synth.write(atlas, pick, 1.0)
        clock(f"write {batch}", lambda: synth.write(atlas, pick, 1.0))
        clock("spoil", lambda: synth.spoil(ink, none))
        clock("dress", lambda: synth.dress(ink, width))
        box = synth.extent(ink)
        part = slice(0, batch // 4)
        small = synth.cut_out(ink[part], tuple(b[part] for b in box), 32, torch.zeros(batch // 4, device="cuda"))
        clock("cut 1/4", lambda: synth.cut_out(ink[part], tuple(b[part] for b in box), 32, torch.zeros(batch // 4, device="cuda")))
        clock("printed 1/4", lambda: synth.printed(small))
        clock("metal 1/4", lambda: synth.metal(small))
        clock("normalise 1/4", lambda: synth.normalise(small, 0.06))
        clock("crops", lambda: synth.crops(atlas, pick, none, sizes))
        x = synth.crops(atlas, pick, none, sizes).contiguous(memory_format=torch.channels_last)
    for name in ("teacher", "student"):
        for compiled in (False, True):
            if compiled and batch == 2048:
                continue
            m = getattr(net, name)(3050).cuda().to(memory_format=torch.channels_last)
            a = time.time()
            f = torch.compile(m) if compiled else m

            def step():
                with torch.autocast("cuda", dtype=torch.bfloat16):
                    out = f(x)[0]
                out.float().logsumexp(1).sum().backward()

            step()
            torch.cuda.synchronize()
            print(f"first {time.time() - a:.1f} s")
            clock(f"{name} compiled={compiled}", step)
