"""The net that ships: features of a crop and one direction a class.

Conventions: input (n, 1, 48, 48), ink high; output logits over the classes plus
"none of these" last (no share of any training set in them), and an embedding of unit length for nearest examples.
"""

from __future__ import annotations

import torch
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
        self.out = nn.Linear(size, outputs, bias=False)
        self.scale = nn.Parameter(torch.tensor(2.8))  # natural logarithm of what a cosine of 1 is worth

    def forward(self, x: Tensor) -> tuple[Tensor, Tensor]:
        x = F.relu(self.reduce(self.body(x)))
        # (n, 96, 6, 6) -> 3 x 3 cells keep where the strokes are
        x = F.avg_pool2d(x, x.shape[-1] // 3).flatten(1)
        e = F.normalize(F.dropout(self.norm(self.embed(x)), 0.1, self.training).float(), dim=1)
        # cosines, so that a class of three crops stands as high as one of three hundred
        return self.scale.exp() * e @ F.normalize(self.out.weight.float(), dim=1).T, e


def eye(outputs: int) -> Net:
    return Net(outputs, (40, 112, 352), (24, 72, 176), (1, 4, 6), 24, 128)
