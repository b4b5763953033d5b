"""The finder's net: fully convolutional, one answer for each cell of four pixels.

Conventions: input (n, 2, h, w), sides multiples of 32: grey and redness, each less its surroundings (``prepared``);
output (n, 6, h / 4, w / 4): logit that a sign's middle lies in the cell; middle from the cell's own in cells (x, y);
log of width and height over UNIT pixels; logit of writing's ink.
"""

from __future__ import annotations

import math

import torch
import torch.nn.functional as F
from torch import Tensor, nn

UNIT, STRIDE = 32, 4
KERNEL, SIGMA = 25, 4.0  # in quarter size: a sign and a half


def gaussian(x: Tensor) -> Tensor:
    """(n, 1, h, w) blurred at quarter size, as cv2.GaussianBlur does with edges repeated, and brought back."""
    taps = [math.exp(-0.5 * ((k - KERNEL // 2) / SIGMA) ** 2) for k in range(KERNEL)]
    small = F.avg_pool2d(x, 4)
    for dim in (3, 2):
        pad = (KERNEL // 2,) * 2 + (0, 0) if dim == 3 else (0, 0) + (KERNEL // 2,) * 2
        wide = F.pad(small, pad, mode="replicate")
        small = sum(wide.narrow(dim, k, small.shape[dim]) * (t / sum(taps)) for k, t in enumerate(taps))
    return F.interpolate(small, scale_factor=4, mode="bilinear", align_corners=False)


def prepared(image: Tensor) -> Tensor:
    """(n, 3, h, w) RGB 0..1 -> the two maps the net sees; ``readaid/photo/zone_net.py`` does the same with OpenCV."""
    grey = (image * torch.tensor([0.299, 0.587, 0.114], device=image.device)[:, None, None]).sum(1, keepdim=True)
    red = image[:, :1] - (image[:, 1:2] + image[:, 2:]) / 2
    away = grey - gaussian(grey)
    spread = torch.sqrt(gaussian(away**2) + 1e-4)
    return torch.cat([(away / (spread + 0.01)).clamp(-4, 4), (8 * (red - gaussian(red))).clamp(-3, 3)], 1)


class Block(nn.Module):
    """A residual step: wide kernel for each channel, then mixing."""

    def __init__(self, width: int, kernel: int = 3, grow: int = 2) -> None:
        super().__init__()
        self.wide = nn.Conv2d(width, width, kernel, padding=kernel // 2, groups=width, bias=False)
        self.norm = nn.BatchNorm2d(width)
        self.up = nn.Conv2d(width, width * grow, 1)
        self.down = nn.Conv2d(width * grow, width, 1, bias=False)
        self.last = nn.BatchNorm2d(width)
        nn.init.constant_(self.last.weight, 0.3)

    def forward(self, x: Tensor) -> Tensor:
        return x + self.last(self.down(F.relu(self.up(self.norm(self.wide(x))))))


class Full(nn.Module):
    """A residual step of plain convolutions."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.a = nn.Conv2d(width, width, 3, padding=1, bias=False)
        self.an = nn.BatchNorm2d(width)
        self.b = nn.Conv2d(width, width, 3, padding=1, bias=False)
        self.bn = nn.BatchNorm2d(width)
        nn.init.constant_(self.bn.weight, 0.3)

    def forward(self, x: Tensor) -> Tensor:
        return F.relu(x + self.bn(self.b(F.relu(self.an(self.a(x))))))


def step(a: int, b: int, stride: int = 2, kernel: int = 3) -> nn.Sequential:
    return nn.Sequential(nn.Conv2d(a, b, kernel, stride, kernel // 2, bias=False), nn.BatchNorm2d(b), nn.ReLU())


class Net(nn.Module):
    def __init__(self, widths: tuple[int, ...] = (12, 28, 56, 80, 88)) -> None:
        super().__init__()
        a, b, c, d, e = widths
        self.in2 = step(2, a, kernel=5)
        self.in4 = nn.Sequential(step(a, b), Full(b))
        self.in8 = nn.Sequential(step(b, c), Full(c))
        self.in16 = nn.Sequential(step(c, d), Full(d), Block(d, 7))
        self.in32 = nn.Sequential(step(d, e), Block(e, 7), Block(e, 7))
        self.to16 = nn.Conv2d(e, d, 1)
        self.mix16 = Block(d, 5)
        self.to8 = nn.Conv2d(d, c, 1)
        self.mix8 = Full(c)
        self.to4 = nn.Conv2d(c, b, 1)
        self.mix4 = Full(b)
        self.head = nn.Sequential(nn.Conv2d(b, 40, 3, padding=1), nn.ReLU(), nn.Conv2d(40, 6, 1))
        with torch.no_grad():
            self.head[2].bias[0] = -4.0

    def forward(self, x: Tensor) -> Tensor:
        x4 = self.in4(self.in2(x))
        x8 = self.in8(x4)
        x16 = self.in16(x8)
        x32 = self.in32(x16)
        x16 = self.mix16(x16 + F.interpolate(self.to16(x32), scale_factor=2.0, mode="nearest"))
        x8 = self.mix8(F.relu(x8 + F.interpolate(self.to8(x16), scale_factor=2.0, mode="nearest")))
        x4 = self.mix4(F.relu(x4 + F.interpolate(self.to4(x8), scale_factor=2.0, mode="nearest")))
        return self.head(x4)


def targets(boxes: Tensor, there: Tensor, doubt: Tensor, view: int) -> dict[str, Tensor]:
    """What each cell should say: heat 0..1, middle cells, the box a cell belongs to, cells not to be learnt."""
    n = len(boxes)
    cells = view // STRIDE
    axis = torch.arange(cells, device=boxes.device) + 0.5
    centre = (boxes[..., :2] + boxes[..., 2:]) / 2 / STRIDE
    size = (boxes[..., 2:] - boxes[..., :2]).clamp(min=1) / STRIDE
    sigma = (0.13 * size).clamp(0.55, 1.6)
    gx = ((axis[None, None] - centre[..., :1]) / sigma[..., :1]) ** 2
    gy = ((axis[None, None] - centre[..., 1:]) / sigma[..., 1:]) ** 2
    heat = torch.exp(-0.5 * (gx[:, :, None, :] + gy[:, :, :, None])) * there[:, :, None, None]
    best, owner = heat.max(1)
    cell = centre.floor().long().clamp(0, cells - 1)
    middle = torch.zeros(n, cells * cells, device=boxes.device)
    middle.scatter_reduce_(1, cell[..., 1] * cells + cell[..., 0], there.float(), "amax")
    half = size / 2 * 1.05
    ignore = (
        ((axis[None, None] - centre[..., :1]).abs() < half[..., :1])[:, :, None, :]
        & ((axis[None, None] - centre[..., 1:]).abs() < half[..., 1:])[:, :, :, None]
        & doubt[:, :, None, None]
    ).any(1)
    own = boxes.gather(1, owner.view(n, -1, 1).expand(-1, -1, 4)).view(n, cells, cells, 4)
    return {"heat": best, "middle": middle.view(n, cells, cells), "own": own, "ignore": ignore}


def boxes_of(out: Tensor) -> Tensor:
    """Boxes of every cell (n, cells, cells, 4) in pixels."""
    cells_y, cells_x = out.shape[-2:]
    y = (torch.arange(cells_y, device=out.device) + 0.5)[None, :, None]
    x = (torch.arange(cells_x, device=out.device) + 0.5)[None, None]
    cx, cy = (x + out[:, 1]) * STRIDE, (y + out[:, 2]) * STRIDE
    w, h = UNIT * torch.exp(out[:, 3].clamp(-4, 3)), UNIT * torch.exp(out[:, 4].clamp(-4, 3))
    return torch.stack([cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2], -1)


def overlap(a: Tensor, b: Tensor) -> tuple[Tensor, Tensor]:
    """Intersection over union, and the same less the empty part of the box round both."""
    low, high = torch.maximum(a[..., :2], b[..., :2]), torch.minimum(a[..., 2:], b[..., 2:])
    both = (high - low).clamp(min=0).prod(-1)
    union = (a[..., 2:] - a[..., :2]).prod(-1) + (b[..., 2:] - b[..., :2]).prod(-1) - both
    hull = (torch.maximum(a[..., 2:], b[..., 2:]) - torch.minimum(a[..., :2], b[..., :2])).prod(-1)
    iou = both / union.clamp(min=1e-3)
    return iou, iou - (hull - union) / hull.clamp(min=1e-3)


def loss(out: Tensor, made: dict[str, Tensor], view: int) -> tuple[Tensor, dict[str, Tensor]]:
    t = targets(made["boxes"], made["there"], made["doubt"], view)
    learn = (~t["ignore"]).float()
    p = out[:, 0].sigmoid().clamp(1e-5, 1 - 1e-5)
    middle = t["middle"] * learn
    hit = -((1 - p) ** 2 * p.log() * middle).sum()
    miss = -((1 - t["heat"]) ** 4 * p**2 * (1 - p).log() * (1 - middle) * learn).sum()
    many = middle.sum().clamp(min=1)
    weight = t["heat"] * (t["heat"] > 0.3)
    iou, giou = overlap(boxes_of(out), t["own"])
    total = weight.sum().clamp(min=1)
    centre = (t["own"][..., :2] + t["own"][..., 2:]) / 2
    box = ((1 - giou) * weight).sum() / total
    size = torch.log(((t["own"][..., 2:] - t["own"][..., :2]).clamp(min=1)) / UNIT)
    found = boxes_of(out)
    off = ((found[..., :2] + found[..., 2:]) / 2 - centre).abs().sum(-1) / 8 + (
        (out[:, 3] - size[..., 0]).abs() + (out[:, 4] - size[..., 1]).abs()
    )
    shape = (off * weight).sum() / total
    ink = F.binary_cross_entropy_with_logits(out[:, 5], made["ink"].clamp(0, 1), reduction="none")
    ink = (ink * learn).mean()
    whole = (hit + miss) / many + 1.5 * box + 0.5 * shape + 1.0 * ink
    told = {
        "heat": (hit + miss).detach() / many,
        "iou": (iou * middle).sum().detach() / many,
        "ink": ink.detach(),
        "p": (p * middle).sum().detach() / many,
    }
    return whole, told
