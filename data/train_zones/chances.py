"""Chances, smooth noise and blur for batches of maps, on the GPU.

Conventions: maps are (batch, height, width) floats; numbers drawn for each scene are (batch,).
"""

from __future__ import annotations

import math

import torch
import torch.nn.functional as F
from torch import Tensor


def uni(n, low, high, device):
    return torch.rand(n, device=device) * (high - low) + low


def some(n, high, device):
    """Between 0 and ``high``, mostly little."""
    return torch.rand(n, device=device) ** 2.2 * high


def chance(n, p, device):
    return torch.rand(n, device=device) < p


def per(x: Tensor) -> Tensor:
    """A number for each scene, ready to meet a map."""
    return x[:, None, None]


def distance(mask: Tensor, reach: int = 15) -> Tensor:
    """Distance of every pixel to the nearest True one, capped; (n, h, w) bool -> float."""
    far = float(reach + 1)
    flat = torch.where(mask, 0.0, far * far)
    for dim in (2, 1):
        best = flat.clone()
        for k in range(1, reach + 1):
            length = flat.shape[dim] - k
            for src, dst in ((0, k), (k, 0)):
                part = best.narrow(dim, dst, length)
                torch.minimum(part, flat.narrow(dim, src, length) + k * k, out=part)
        flat = best
    return flat.sqrt().clamp_(max=far)


def slanted(size: int, across: Tensor, down: Tensor, plus: Tensor, step: int = 1) -> Tensor:
    """``across * x + down * y + plus`` for pixels 0.. of every scene: (n, size / step, size / step)."""
    axis = torch.arange(size // step, device=plus.device, dtype=torch.float32) * step
    return torch.addcmul(per(down) * axis[None, :, None] + per(plus), per(across), axis[None, None, :])


def field(
    n: int, size: int, scale: Tensor, stretch: Tensor | None = None, angle: Tensor | None = None, step: int = 1
) -> Tensor:
    """Smooth noise of about unit spread: ``scale`` px a cell; drawn out ``stretch`` times along ``angle``.

    ``step`` 4 works at a quarter of the size: for cells of many pixels.
    """
    device = scale.device
    tile = torch.randn(n, 1, 160, 160, device=device)
    angle = uni(n, 0, math.pi, device) if angle is None else angle
    stretch = torch.ones(n, device=device) if stretch is None else stretch
    c, s = torch.cos(angle), torch.sin(angle)
    u = slanted(size, c / (scale * stretch) / 80, s / (scale * stretch) / 80, uni(n, -1, 1, device), step)
    v = slanted(size, -s / scale / 80, c / scale / 80, uni(n, -1, 1, device), step)
    out = F.grid_sample(tile, torch.stack([u, v], -1), padding_mode="reflection", align_corners=False)
    if step > 1:
        out = F.interpolate(out, scale_factor=float(step), mode="bilinear", align_corners=False)
    return out[:, 0] * 1.4


def blur(x: Tensor, sigma: float) -> Tensor:
    """Gaussian of one width for the whole batch, edges repeated; shifted sums are faster than convolutions here."""
    reach = max(1, math.ceil(2.7 * sigma))
    weight = [math.exp(-0.5 * (k / sigma) ** 2) for k in range(-reach, reach + 1)]
    for dim in (2, 1):
        pad = (reach, reach, 0, 0) if dim == 2 else (0, 0, reach, reach)
        wide = F.pad(x[:, None], pad, mode="replicate")[:, 0]
        out = torch.zeros_like(x)
        for k, w in enumerate(weight):
            out.add_(wide.narrow(dim, k, x.shape[dim]), alpha=w / sum(weight))
        x = out
    return x
