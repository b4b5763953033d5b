"""The nets: a large one that teaches and a small one that ships.

Conventions: input (n, 1, 48, 48), ink high; output logits over the classes plus
"none of these" last, and an embedding of unit length for nearest examples.
"""

from __future__ import annotations

import torch.nn.functional as F
from torch import Tensor, nn


def conv(a: int, b: int, k: int = 3, stride: int = 1) -> nn.Sequential:
    return nn.Sequential(nn.Conv2d(a, b, k, stride, k // 2, bias=False), nn.BatchNorm2d(b))


class Block(nn.Module):
    def __init__(self, wide: int, mid: int) -> None:
        super().__init__()
        self.path = nn.Sequential(conv(wide, mid, 1), nn.ReLU(), conv(mid, mid), nn.ReLU(), conv(mid, wide, 1))

    def forward(self, x: Tensor) -> Tensor:
        return F.relu(x + self.path(x))


class Net(nn.Module):
    def __init__(
        self,
        outputs: int,
        widths: tuple[int, ...],
        mids: tuple[int, ...],
        depths: tuple[int, ...],
        stem: int,
        size: int,
    ) -> None:
        super().__init__()
        layers: list[nn.Module] = [conv(1, stem, 5, 2), nn.ReLU()]
        here = stem
        for n, (wide, mid, depth) in enumerate(zip(widths, mids, depths, strict=True)):
            layers += [conv(here, wide, 3, 1 if n == 0 else 2), nn.ReLU(), *(Block(wide, mid) for _ in range(depth))]
            here = wide
        self.body = nn.Sequential(*layers)
        self.reduce = conv(here, 96, 1)
        self.embed = nn.Linear(96 * 9, size)
        self.norm = nn.BatchNorm1d(size)
        self.out = nn.Linear(size, outputs)

    def forward(self, x: Tensor) -> tuple[Tensor, Tensor]:
        x = F.relu(self.reduce(self.body(x)))
        # (n, 96, 6, 6) -> 3 x 3 cells keep where the strokes are
        x = F.avg_pool2d(x, x.shape[-1] // 3).flatten(1)
        e = self.norm(self.embed(x))
        return self.out(F.dropout(e, 0.1, self.training)), F.normalize(e, dim=1)


def student(outputs: int) -> Net:
    return Net(outputs, (32, 96, 256), (24, 64, 128), (1, 3, 4), 24, 128)


def teacher(outputs: int) -> Net:
    return Net(outputs, (64, 192, 512), (48, 128, 256), (2, 4, 5), 48, 256)
