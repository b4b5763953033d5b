"""Signed distances of strokes shown in a material: cut metal under lamps, ink on a ground, light writing on dark.

Conventions: maps (batch, FINE, FINE) in, pictures (batch, 3, FINE, FINE) out, 1 about white; ``usual`` is the size of a
usual sign in pixels of half that size; ``wear`` 0 (gone) to 1 (whole).
"""

from __future__ import annotations

import math

import torch
import torch.nn.functional as F
from chances import blur, chance, field, per, some, uni
from torch import Tensor

FINE = 640


def metal(signs: Tensor, drawn: Tensor, wear: Tensor, usual: Tensor) -> Tensor:
    """Cut or raised metal under one or two lamps: (n, 3, FINE, FINE), 0..1."""
    n, device = len(signs), signs.device
    unit_ = per((usual / 30).clamp(0.4, 3))
    d = torch.maximum(signs, drawn)
    inside = d.clamp(min=0)
    cap = per(uni(n, 0.8, 3.2, device)) * unit_
    groove = torch.where(
        per(chance(n, 0.5, device)), torch.minimum(inside, cap), cap * (1 - torch.exp(-inside / cap * 1.4))
    )
    groove = groove * per(uni(n, 0.5, 1.7, device))
    rim = per(uni(n, 0, 0.35, device) * chance(n, 0.4, device)) * torch.exp(-(((d + 0.9) / 0.8) ** 2))
    height = torch.where(per(chance(n, 0.8, device)), -groove + rim, groove * 1.2) * wear
    height = height + blur(torch.randn(n, FINE, FINE, device=device), 1.0) * per(some(n, 0.3, device))
    height = height + field(n, FINE, usual * uni(n, 0.8, 3, device), step=4) * per(some(n, 0.9, device))
    height = height + field(n, FINE, uni(n, 1.5, 3, device), uni(n, 8, 60, device)) * per(
        some(n, 0.25, device) * chance(n, 0.45, device)
    )  # brushed
    pits = (field(n, FINE, uni(n, 2, 9, device)) - per(uni(n, 1.3, 2.4, device))).clamp(0, 1)
    height = height - pits * per(some(n, 3, device) * chance(n, 0.6, device))
    # a ground of punched dots
    f = per(uni(n, 0.6, 1.4, device))
    axis = torch.arange(FINE, device=device, dtype=torch.float32)
    dots = torch.cos(axis * f)[:, :, :].expand(n, FINE, FINE) * torch.cos(axis[None, :, None] * f)
    height = height + dots * per(uni(n, 0.05, 0.35, device) * chance(n, 0.08, device)) * (d < -2)
    height = height - scratches(n, device, usual) * per(uni(n, 0.2, 1.6, device))
    height = blur(height, float(torch.empty(1).uniform_(0.5, 1.3)))
    gy, gx = torch.zeros_like(height), torch.zeros_like(height)
    gx[:, :, 1:-1] = (height[:, :, 2:] - height[:, :, :-2]) / 2
    gy[:, 1:-1] = (height[:, 2:] - height[:, :-2]) / 2
    length = torch.sqrt(1 + gx**2 + gy**2)
    nx, ny, nz = -gx / length, -gy / length, 1 / length
    shade = per(uni(n, 0.03, 0.35, device)).expand_as(nx)
    for lamp in range(2):
        strong = uni(n, 0.6, 1.0, device) if lamp == 0 else uni(n, 0, 0.5, device) * chance(n, 0.35, device)
        turn, up = uni(n, 0, 2 * math.pi, device), uni(n, 0.25, 1.3, device)
        norm = torch.sqrt(1 + up**2)
        lx, ly, lz = per(torch.cos(turn) / norm), per(torch.sin(turn) / norm), per(up / norm)
        diffuse = (nx * lx + ny * ly + nz * lz).clamp(min=0)
        hz = lz + 1
        hn = torch.sqrt(lx**2 + ly**2 + hz**2)
        shine = ((nx * lx + ny * ly + nz * hz) / hn).clamp(min=0) ** per(uni(n, 6, 70, device))
        lit = shadow(height, turn, up) if lamp == 0 else 1.0
        shade = shade + per(strong) * (diffuse * lit * 0.85 + shine * per(uni(n, 0, 0.5, device)))
    around = torch.sin(nx * per(uni(n, 0, 5, device)) + ny * per(uni(n, 0, 5, device)) + per(uni(n, 0, 6, device)))
    shade = shade * (1 + around * per(uni(n, 0, 0.35, device) * chance(n, 0.5, device)))
    patina = 1 + field(n, FINE, usual * uni(n, 1, 5, device), step=4) * per(some(n, 0.25, device))
    patina = patina + field(n, FINE, usual * uni(n, 0.2, 0.8, device), step=2) * per(some(n, 0.16, device))
    fill = torch.sigmoid(d * 1.5) * wear
    colour = uni((n, 3), 0.25, 0.95, device)
    colour = colour * 0.35 + colour.mean(1, keepdim=True) * 0.65 + torch.tensor([0.06, 0.0, -0.06], device=device)
    filled = torch.where(
        chance(n, 0.55, device),
        uni(n, -0.1, 0.05, device),
        torch.where(chance(n, 0.6, device), uni(n, -0.7, 0, device), uni(n, 0, 1.0, device)),
    )
    albedo = (patina * (1 + fill * per(filled))).clamp(0.08, 3)[:, None] * colour[:, :, None, None]
    green = field(n, FINE, usual * uni(n, 0.5, 2, device), step=4)
    green = (green - per(uni(n, 0.8, 3, device))).clamp(0, 0.6)[:, None]
    albedo = albedo * (1 - green) + green * torch.tensor([0.4, 0.55, 0.45], device=device)[:, None, None]
    return shade[:, None] * albedo * falloff(n, device)[:, None]


def shadow(height: Tensor, turn: Tensor, up: Tensor) -> Tensor:
    """Share of a lamp's light that reaches each point, looked for at a few steps towards it."""
    size = height.shape[-1]
    towards = torch.stack([torch.cos(turn), torch.sin(turn)], -1)[:, None, None] * (2 / size)
    axis = (torch.arange(size, device=height.device) + 0.5) * 2 / size - 1
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    place = torch.stack([x, y], -1)[None]
    lit = torch.ones_like(height)
    for k in (1.5, 3.0, 5.0, 8.0):
        moved = F.grid_sample(height[:, None], place + towards * k, padding_mode="border", align_corners=False)[:, 0]
        lit = torch.minimum(lit, 1 - ((moved - height - per(up) * k) * 1.5).clamp(0, 1))
    return lit


def scratches(n: int, device: str, usual: Tensor, wanted: Tensor | None = None) -> Tensor:
    """Straight and slightly bent thin lines, 0..1; none where not ``wanted``. Each is worked out only where it lies."""
    axis = torch.arange(FINE, device=device, dtype=torch.float32)
    x, y = axis[None, None, :], axis[None, :, None]
    out = torch.zeros(n, FINE, FINE, device=device)
    many = chance(n, 0.3, device)
    for _ in range(14):
        use = many | chance(n, 0.15, device)
        at = (use if wanted is None else use & wanted).nonzero()[:, 0]
        k = len(at)
        if k == 0:
            continue
        turn, px, py = uni(k, 0, math.pi, device), uni(k, 0, FINE, device), uni(k, 0, FINE, device)
        c, s = torch.cos(turn), torch.sin(turn)
        u = torch.addcmul(per(s) * y - per(px * c + py * s), per(c), x)
        v = torch.addcmul(per(c) * y + per(px * s - py * c), per(-s), x)
        v = torch.addcmul(v, u * u, per(torch.randn(k, device=device) * 0.0006))
        long = per(usual[at] * torch.exp(uni(k, -0.7, 2.0, device)))
        line = (1 - v.abs() / per(uni(k, 0.8, 1.8, device))).clamp(0, 1) * (u.abs() < long)
        out[at] = torch.maximum(out[at], line * per(uni(k, 0.2, 1.0, device)))
    return out


def falloff(n: int, device: str) -> Tensor:
    axis = torch.linspace(-1, 1, FINE, device=device)
    g = uni(n, 0, 0.35, device)
    turn = uni(n, 0, 6.3, device)
    out = 1 + per(g * torch.cos(turn)) * axis[None, None] + per(g * torch.sin(turn)) * axis[None, :, None]
    return out - per(uni(n, 0, 0.25, device)) * (axis[None, None] ** 2 + axis[None, :, None] ** 2) / 2


def sheet_of(signs: Tensor, drawn: Tensor, red: Tensor, wear: Tensor, usual: Tensor, light: bool) -> Tensor:
    """Ink on paper, silk or wood; or light writing on a dark ground (inlay, lacquer, rubbing)."""
    n, device = len(signs), signs.device
    ground = torch.ones(n, FINE, FINE, device=device)
    ground = ground + field(n, FINE, usual * uni(n, 0.6, 4, device), step=4) * per(some(n, 0.11, device))
    ground = ground + field(n, FINE, uni(n, 2, 6, device), uni(n, 1, 5, device)) * per(some(n, 0.09, device))
    wood = chance(n, 0.14, device)
    grain = field(
        n, FINE, uni(n, 2, 14, device), uni(n, 12, 40, device), torch.randn(n, device=device) * 0.1 + math.pi / 2
    )
    ground = ground + grain * per(torch.where(wood, uni(n, 0.05, 0.22, device), uni(n, 0, 0.03, device)))
    axis = torch.arange(FINE, device=device, dtype=torch.float32)
    laid = torch.cos(axis[None, None] * per(uni(n, 0.15, 1.2, device)))
    ground = ground + laid * per(uni(n, 0, 0.05, device) * chance(n, 0.2, device))
    weave = torch.cos(axis[None, None] * per(uni(n, 0.7, 2, device))) * torch.cos(
        axis[None, :, None] * per(uni(n, 0.7, 2, device))
    )
    ground = ground + weave * per(uni(n, 0, 0.08, device) * chance(n, 0.2, device))
    fox = (field(n, FINE, usual * uni(n, 0.15, 1.2, device), step=2) - per(uni(n, 0.9, 2.2, device))).clamp(0, 1)
    ground = ground - fox * per(some(n, 0.4, device))
    fleck = ((field(n, FINE, uni(n, 2, 12, device)) - per(uni(n, 1.5, 2.6, device))) * 4).clamp(0, 1)
    ground = ground + fleck * per(uni(n, -0.4, 0.3, device) * chance(n, 0.15, device))
    d = signs
    ragged = field(n, FINE, uni(n, 2, 5, device)) * per(uni(n, 0, 0.9, device) * chance(n, 0.5, device))
    own = torch.sigmoid((d + ragged) / per(uni(n, 0.35, 1.1, device)))
    tone = uni(n, 0.55, 1.0, device) * torch.where(chance(n, 0.15, device), 0.55, 1.0)
    dry = (field(n, FINE, uni(n, 1.2, 2.5, device), uni(n, 2, 14, device)) + per(uni(n, 0.3, 2.2, device))).clamp(0, 1)
    pool = (1 + field(n, FINE, usual * uni(n, 0.3, 1, device), step=4) * per(uni(n, 0, 0.2, device))).clamp(0.3, 1.1)
    stroke = own * per(tone) * torch.where(per(chance(n, 0.4, device)), dry, torch.ones_like(dry)) * pool * wear
    lines = torch.sigmoid((drawn + ragged) / 0.6) * per(uni(n, 0.2, 1.0, device)) * wear.clamp(min=0.4)
    stroke = torch.maximum(stroke, lines).clamp(0, 1)[:, None]
    paper = uni((n, 3), 0.72, 0.98, device)
    dyed = torch.where(chance(n, 0.25, device)[:, None], uni((n, 3), 0.4, 0.9, device), paper)
    warm = torch.tensor([0.03, 0.0, -0.08], device=device)
    colour = (dyed * 0.4 + dyed.mean(1, keepdim=True) * 0.6 + warm)[:, :, None, None]
    ink = (uni((n, 1), 0.05, 0.3, device) + torch.randn(n, 3, device=device) * 0.02)[:, :, None, None]
    picture = ground[:, None] * colour
    seal = (torch.sigmoid(red / 0.7) * wear.clamp(min=0.3) * per(uni(n, 0.4, 0.95, device)))[:, None]
    picture = picture * (1 - seal) + seal * torch.tensor([0.72, 0.2, 0.14], device=device)[:, None, None]
    picture = picture * (1 - stroke) + stroke * ink
    if light:
        dark = uni(n, 0.6, 1.0, device)[:, None, None, None]
        hue = (1 + torch.randn(n, 3, device=device) * 0.07)[:, :, None, None]
        picture = (1.02 - picture.mean(1, keepdim=True) * dark) * hue
        picture = (
            picture
            + (
                blur(torch.randn(n, FINE, FINE, device=device), 0.8)
                * per(some(n, 0.3, device) * chance(n, 0.4, device))
            )[:, None]
        )
        gold = torch.tensor([0.12, 0.03, -0.12], device=device)[:, None, None] * stroke
        picture = picture + torch.where(chance(n, 0.5, device)[:, None, None, None], gold, torch.zeros_like(gold))
    picture = (
        picture
        - scratches(n, device, usual, chance(n, 0.4, device))[:, None] * per(uni(n, -0.2, 0.35, device))[:, None]
    )
    return picture * falloff(n, device)[:, None]
