"""Sheets of columns written with the glyphs of fonts, and what is not writing beside them.

Conventions: a *signed distance* is in pixels of its map, positive inside a stroke; a sheet is SHEET px wide, its signs
about EM. Boxes are (left, top, right, bottom) in sheet pixels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import torch
import torch.nn.functional as F
from chances import chance, distance, per, uni
from torch import Tensor

SHEET, EM, WINDOW = 1024, 64, 112
COLUMNS, SIGNS = 9, 14
FAR = 9.0
GLYPH, GLYPH_EM = 128, 84


@dataclass
class Atlas:
    """Signed distances of all glyphs (int8, eighths of a pixel), and where each font's kana and kanji lie."""

    signed: Tensor
    grow: Tensor
    start: Tensor  # (fonts, 2): first kana, first kanji
    count: Tensor  # (fonts, 2)
    weight: Tensor

    @classmethod
    def load(cls, path, weights: dict[int, float], device: str) -> Atlas:
        held = np.load(path)
        order = np.lexsort((~held["kana"], held["fonts"]))
        glyphs = torch.from_numpy(held["glyphs"][order])
        fonts, kana = held["fonts"][order], held["kana"][order]
        start, count, weight = [], [], []
        for f in np.unique(fonts):
            a = [np.flatnonzero((fonts == f) & (kana == k)) for k in (True, False)]
            start.append([int(x[0]) if len(x) else 0 for x in a])
            count.append([len(x) for x in a])
            weight.append(weights.get(int(f), 0.5))
        bit = (2 ** torch.arange(7, -1, -1, device=device)).to(torch.uint8)
        signed, grow = [], []
        for at in range(0, len(glyphs), 512):
            ink = ((glyphs[at : at + 512].to(device)[:, :, None] & bit) > 0).reshape(-1, GLYPH, GLYPH)
            s = torch.where(ink, distance(~ink) - 0.5, 0.5 - distance(ink))
            signed.append((s * 8).round().clamp(-127, 127).to(torch.int8))
            edge = (s.abs() < 1).sum((1, 2)).clamp(min=40).float()
            box = (ink.any(2).sum(1) * ink.any(1).sum(1)).float()
            grow.append(((0.55 * box - ink.sum((1, 2)).float()) / edge * 1.5).clamp(0.3, 5))
        return cls(
            torch.cat(signed),
            torch.cat(grow),
            torch.tensor(start, device=device),
            torch.tensor(count, device=device),
            torch.tensor(weight, device=device),
        )

    def draw(self, font: Tensor, kana_share: Tensor) -> Tensor:
        """A glyph number for each font asked (n,)."""
        kind = (torch.rand_like(kana_share) > kana_share).long()
        have = self.count[font]
        kind = torch.where(have.gather(1, kind[:, None])[:, 0] > 0, kind, 1 - kind)
        n = have.gather(1, kind[:, None])[:, 0]
        at = (torch.rand(len(font), device=font.device) * n).long().clamp(max=n - 1)
        return self.start[font].gather(1, kind[:, None])[:, 0] + at


def windows(atlas: Atlas, glyph: Tensor, em: Tensor, thick: Tensor, wild: Tensor, tall: Tensor) -> Tensor:
    """Signs as some hand writes them: signed distances (k, WINDOW, WINDOW) in sheet pixels."""
    k, device = len(glyph), glyph.device
    squeeze = torch.exp(torch.randn(k, device=device) * 0.07 * wild + tall)
    turn, shear = torch.randn(k, device=device) * 0.05 * wild, torch.randn(k, device=device) * 0.09 * wild
    zoom = WINDOW / GLYPH * GLYPH_EM / em
    m = torch.stack([torch.stack([squeeze, -turn + shear], -1), torch.stack([turn, 1 / squeeze], -1)], -2)
    m = m * zoom[:, None, None]
    grid = F.affine_grid(
        torch.cat([m, torch.zeros(k, 2, 1, device=device)], -1), [k, 1, WINDOW, WINDOW], align_corners=False
    )
    bend = F.interpolate(torch.randn(k, 2, 4, 4, device=device), (WINDOW, WINDOW), mode="bicubic", align_corners=False)
    grid = grid + (bend * (0.045 * wild)[:, None, None, None]).permute(0, 2, 3, 1)
    d = F.grid_sample(atlas.signed[glyph][:, None].float() / 8, grid, padding_mode="border", align_corners=False)[:, 0]
    press = F.interpolate(torch.randn(k, 1, 5, 5, device=device), (WINDOW, WINDOW), mode="bilinear")[:, 0]
    d = d + per(torch.minimum(thick, atlas.grow[glyph])) + press * per(uni(k, 0, 0.7, device))
    return d * per(em / GLYPH_EM)


def paste(sheet: Tensor, scene: Tensor, left: Tensor, top: Tensor, what: Tensor) -> None:
    """Windows laid into the sheets, the larger distance wins; those that stick out are cut."""
    axis = torch.arange(what.shape[-1], device=what.device)
    x, y = left[:, None, None] + axis[None, None, :], top[:, None, None] + axis[None, :, None]
    inside = (x >= 0) & (x < SHEET) & (y >= 0) & (y < SHEET)
    at = (scene[:, None, None] * SHEET + y.clamp(0, SHEET - 1)) * SHEET + x.clamp(0, SHEET - 1)
    what = torch.where(inside, what, torch.full_like(what, -FAR))
    sheet.view(-1).scatter_reduce_(0, at.reshape(-1), what.reshape(-1).clamp(-FAR, FAR), "amax")


def columns(atlas: Atlas, n: int, device: str) -> dict[str, Tensor]:
    """Sheets of writing: ``signs`` (distances), boxes (n, COLUMNS * SIGNS, 4) in sheet px, which are there, em."""
    font = torch.multinomial(atlas.weight, n, replacement=True)
    em = EM * torch.exp(torch.randn(n, device=device) * 0.12).clamp(0.75, 1.25)
    loose = torch.rand(n, device=device) ** 1.3
    loose = torch.where(chance(n, 0.3, device), loose * 0.1, loose)
    count = torch.tensor([0.07, 0.12, 0.15, 0.16, 0.15, 0.13, 0.1, 0.07, 0.05], device=device)
    count = torch.multinomial(count, n, replacement=True) + 1
    length = torch.maximum(
        torch.randint(2, SIGNS + 1, (n,), device=device), torch.randint(2, SIGNS + 1, (n,), device=device)
    )
    own = (
        (
            length[:, None]
            * torch.where(
                chance((n, COLUMNS), 0.35 + 0.4 * loose[:, None], device), uni((n, COLUMNS), 0.2, 1, device), 1.0
            )
        )
        .round()
        .clamp(min=1)
    )
    # one column may hold smaller signs: a signature, a note
    little = chance((n, COLUMNS), 0.12, device) & chance(n, 0.4, device)[:, None]
    column_em = em[:, None] * torch.where(little, uni((n, COLUMNS), 0.55, 0.8, device), 1.0)
    spread = 0.04 + 0.20 * loose
    size = column_em[:, :, None] * torch.exp(torch.randn(n, COLUMNS, SIGNS, device=device) * spread[:, None, None])
    size = size.clamp(26, 88)
    there = (torch.arange(COLUMNS, device=device)[None, :, None] < count[:, None, None]) & (
        torch.arange(SIGNS, device=device)[None, None, :] < own[:, :, None]
    )
    scene, col, row = there.nonzero(as_tuple=True)
    kana = torch.where(chance(n, 0.35, device), 0.0, torch.where(chance(n, 0.4, device), 0.95, uni(n, 0, 1, device)))
    fonts = torch.where(
        chance(len(scene), 0.04, device), torch.multinomial(atlas.weight, len(scene), True), font[scene]
    )
    thick = (uni(n, -1.6, 3.2, device))[scene]
    wild = uni(n, 0.2, 1.8, device)[scene]
    tall = (torch.randn(n, device=device) * 0.1)[scene]
    d = windows(atlas, atlas.draw(fonts, kana[scene]), size[scene, col, row], thick, wild, tall)
    ink = d > 0
    wide, high = ink.any(1), ink.any(2)
    x0, y0 = wide.float().argmax(1), high.float().argmax(1)
    x1, y1 = WINDOW - wide.flip(1).float().argmax(1), WINDOW - high.flip(1).float().argmax(1)
    good = ink.sum((1, 2)) > 12
    w, h = torch.zeros_like(size), torch.zeros_like(size)
    w[scene, col, row], h[scene, col, row] = (x1 - x0).float(), (y1 - y0).float()
    # down the column: by the ink, by even steps, or between
    running = chance(n, 0.3, device)
    gap = torch.where(running, uni(n, -0.12, 0.12, device), uni(n, 0.02, 0.4, device))
    even = torch.where(chance(n, 0.5, device), 0.0, uni(n, 0, 1, device))[:, None, None]
    gaps = gap[:, None, None] + torch.randn_like(size) * (0.03 + 0.08 * loose)[:, None, None]
    step = (1 - even) * h + even * torch.maximum(h * 0.9, 0.85 * size) + gaps * column_em[:, :, None]
    before = step.cumsum(2) - step
    pitch = em * torch.where(running, uni(n, 1.0, 1.7, device), uni(n, 1.1, 2.6, device))
    total = torch.where(chance(n, 0.5, device), count * pitch, (count - 1) * pitch)
    right = SHEET / 2 + total / 2
    x = right[:, None] - pitch[:, None] * (torch.arange(COLUMNS, device=device)[None] + 0.5)
    x = x + torch.randn_like(x) * (0.1 * loose * pitch)[:, None]
    start = SHEET / 2 - (step * there).sum(2).amax(1) / 2
    y = start[:, None] + (uni((n, COLUMNS), 0, 3.2, device) * (loose * em)[:, None] * chance(n, 0.6, device)[:, None])
    y = y[:, :, None] + before
    lean = (
        torch.randn(n, COLUMNS, device=device) * (0.008 + 0.06 * loose)[:, None]
        + (torch.randn(n, device=device) * 0.02)[:, None]
    )
    curve = torch.randn(n, COLUMNS, device=device) * (0.00025 * loose)[:, None]
    away = y - start[:, None, None]
    middle = x[:, :, None] + lean[:, :, None] * away + curve[:, :, None] * away**2 / 2
    middle = middle + torch.randn_like(middle) * ((0.02 + 0.08 * loose) * em)[:, None, None]
    left = (middle - w / 2)[scene, col, row].round().long()
    top = y[scene, col, row].round().long()
    ok = good & (left > 4) & (top > 4) & (left + x1 - x0 < SHEET - 4) & (top + y1 - y0 < SHEET - 4)
    sheet = torch.full((n, SHEET, SHEET), -FAR, device=device)
    paste(sheet, scene[ok], (left - x0)[ok], (top - y0)[ok], d[ok])
    boxes = torch.zeros(n, COLUMNS, SIGNS, 4, device=device)
    boxes[scene, col, row] = torch.stack([left, top, left + x1 - x0, top + y1 - y0], -1).float()
    valid = torch.zeros_like(there)
    valid[scene, col, row] = ok
    # strokes that join a sign to the next: from its lowest ink to the other's highest
    last = d[torch.arange(len(d), device=device), y1 - 1].argmax(1) + left - x0
    first = d[torch.arange(len(d), device=device), y0].argmax(1) + left - x0
    ends = torch.zeros(n, COLUMNS, SIGNS, 2, device=device)
    ends[scene, col, row] = torch.stack([first, last], -1).float()
    often = torch.where(
        running, uni(n, 0.2, 1, device), torch.where(chance(n, 0.2, device), uni(n, 0, 0.4, device), 0.0)
    )
    tie = valid[:, :, :-1] & valid[:, :, 1:] & (torch.rand(n, COLUMNS, SIGNS - 1, device=device) < often[:, None, None])
    s, c, r = tie.nonzero(as_tuple=True)
    if len(s):
        a = torch.stack([ends[s, c, r, 1], boxes[s, c, r, 3] - 2], -1)
        b = torch.stack([ends[s, c, r + 1, 0], boxes[s, c, r + 1, 1] + 2], -1)
        near = (a - b).norm(dim=1) < 80
        s, a, b = s[near], a[near], b[near]
    if len(s):
        corner = ((a + b) / 2 - WINDOW / 2).round().long()
        mid = (a + b) / 2 + torch.randn(len(s), 2, device=device) * 7
        axis = torch.arange(WINDOW, device=device) + 0.5
        best = torch.full((len(s), WINDOW, WINDOW), 1e6, device=device)
        for i in range(14):
            t = i / 13
            p = (1 - t) ** 2 * a + 2 * t * (1 - t) * mid + t * t * b - corner
            torch.minimum(
                best,
                (axis[None, None] - p[:, 0, None, None]) ** 2 + (axis[None, :, None] - p[:, 1, None, None]) ** 2,
                out=best,
            )
        half = (thick.new_zeros(n).scatter_(0, scene, thick) * 0.5 + 2.2).clamp(1.2, 3.6)[s] * uni(
            len(s), 0.5, 1.1, device
        )
        paste(sheet, s, corner[:, 0], corner[:, 1], per(half) - best.sqrt())
    return {
        "signs": sheet,
        "boxes": boxes.view(n, -1, 4),
        "there": valid.view(n, -1),
        "em": em,
        "pitch": pitch,
        "x": x,
        "count": count,
    }


def others(atlas: Atlas, made: dict[str, Tensor], device: str) -> tuple[Tensor, Tensor]:
    """What is not writing: distances of drawn things in the writing's own material, and of red seals."""
    n = len(made["em"])
    axis = torch.arange(SHEET, device=device, dtype=torch.float32)
    x, y = axis[None, None, :], axis[None, :, None]
    out = torch.full((n, SHEET, SHEET), -FAR, device=device)
    em, boxes, there = made["em"], made["boxes"], made["there"]
    big = torch.full_like(boxes[..., 0], 1e4)
    x0 = torch.where(there, boxes[..., 0], big).amin(1).clamp(max=SHEET / 2 - 60)
    y0 = torch.where(there, boxes[..., 1], big).amin(1).clamp(max=SHEET / 2 - 60)
    x1 = torch.where(there, boxes[..., 2], -big).amax(1).clamp(min=SHEET / 2 + 60)
    y1 = torch.where(there, boxes[..., 3], -big).amax(1).clamp(min=SHEET / 2 + 60)
    # flowers, leaves, inlaid shapes: a radius that depends on the angle, filled or as an outline
    for _ in range(5):
        use = chance(n, 0.28, device).nonzero()[:, 0]
        if len(use):
            out[use] = torch.maximum(out[use], flower(em[use]))
    # stems, waves, clouds
    for _ in range(3):
        use = chance(n, 0.25, device).nonzero()[:, 0]
        if len(use):
            out[use] = torch.maximum(out[use], stem(em[use]))
    # decoration seldom runs through the writing
    seen = F.max_pool2d(made["signs"][:, None], 9, 4, 4)
    seen = F.interpolate(F.max_pool2d(seen, 7, 1, 3), (SHEET, SHEET))[:, 0] > -2
    clear = per(chance(n, 0.8, device))
    out = torch.where(clear & seen, torch.full_like(out, -FAR), out)
    # frames and rulings
    m = em * uni(n, 0.25, 1.6, device)
    box = torch.maximum(
        ((x - per((x0 + x1) / 2)).abs() - per((x1 - x0) / 2 + m)),
        ((y - per((y0 + y1) / 2)).abs() - per((y1 - y0) / 2 + m)),
    )
    frame = per(uni(n, 0.7, 2.4, device)) - box.abs()
    double = per(uni(n, 0.7, 1.6, device)) - (box - per(uni(n, 6, 16, device))).abs()
    frame = torch.where(per(chance(n, 0.3, device)), torch.maximum(frame, double), frame)
    out = torch.maximum(out, torch.where(per(chance(n, 0.3, device)), frame, torch.full_like(out, -FAR)))
    ruled = (
        per(uni(n, 0.5, 1.4, device))
        - ((x - per(made["x"][:, 0]) + per(made["pitch"]) / 2) % per(made["pitch"]) - per(made["pitch"]) / 2)
        .abs()
        .sub(per(made["pitch"]) / 2)
        .abs()
    )
    ruled = torch.minimum(ruled, -box)
    out = torch.maximum(out, torch.where(per(chance(n, 0.12, device)), ruled, torch.full_like(out, -FAR)))
    # a red seal: a square with signs in it, as lines or cut out of red
    red = torch.full((n, SHEET, SHEET), -FAR, device=device)
    for _ in range(2):
        use = chance(n, 0.25, device).nonzero()[:, 0]
        if len(use):
            red[use] = torch.maximum(red[use], seal(atlas, em[use], x0[use], y1[use]))
    return out, red


def flower(em: Tensor) -> Tensor:
    """A shape for each scene whose radius depends on the angle: (n, SHEET, SHEET) distances."""
    n, device = len(em), em.device
    axis = torch.arange(SHEET, device=device, dtype=torch.float32)
    x, y = axis[None, None, :] - per(uni(n, 0, SHEET, device)), axis[None, :, None] - per(uni(n, 0, SHEET, device))
    r = em * torch.exp(uni(n, -0.9, 1.2, device))
    k = torch.randint(0, 7, (n,), device=device).float()
    angle = torch.atan2(y, x) + per(uni(n, 0, 6.3, device))
    flat = per(torch.exp(torch.randn(n, device=device) * 0.3))
    radius = torch.sqrt((x * flat) ** 2 + (y / flat) ** 2)
    edge = per(r) * (1 + per(uni(n, 0, 0.45, device)) * torch.cos(angle * per(k)))
    d = (edge - radius) * 0.8
    d = torch.where(per(chance(n, 0.55, device)), per(uni(n, 1.0, 3.5, device)) - d.abs(), d)
    veins = per(uni(n, 1, 2.5, device)) - torch.sin(angle * per(k + 1)).abs() * radius / per(k + 1)
    return torch.where(per(chance(n, 0.3, device)), torch.maximum(d, torch.minimum(veins, (edge - radius))), d)


def stem(em: Tensor) -> Tensor:
    """A line for each scene, straight or in waves: (n, SHEET, SHEET) distances."""
    n, device = len(em), em.device
    axis = torch.arange(SHEET, device=device, dtype=torch.float32)
    x, y = axis[None, None, :], axis[None, :, None]
    turn = per(uni(n, 0, math.pi, device))
    u, v = x * torch.cos(turn) + y * torch.sin(turn), y * torch.cos(turn) - x * torch.sin(turn)
    freq = per(uni(n, 0.002, 0.03, device))
    amp = per(uni(n, 0, 0.8, device)) / freq
    way = v - per(uni(n, -200, SHEET, device)) - amp * torch.sin(u * freq + per(uni(n, 0, 6.3, device)))
    slope = torch.sqrt(1 + (amp * freq) ** 2 * 0.5)
    a = per(uni(n, -300, SHEET, device))
    within = torch.minimum(u - a, a + per(em * torch.exp(uni(n, 0.3, 2.6, device))) - u)
    return torch.minimum(per(uni(n, 0.8, 4.5, device)) - way.abs() / slope, within)


def seal(atlas: Atlas, em: Tensor, x0: Tensor, y1: Tensor) -> Tensor:
    """A square for each scene with signs in it, as lines or cut out, mostly near the writing's lower left."""
    n, device = len(em), em.device
    axis = torch.arange(SHEET, device=device, dtype=torch.float32)
    x, y = axis[None, None, :], axis[None, :, None]
    side = em * uni(n, 0.5, 1.2, device)
    cx = torch.where(chance(n, 0.6, device), x0 - uni(n, -0.5, 1.5, device) * em, uni(n, 80, SHEET - 80, device))
    cy = torch.where(chance(n, 0.6, device), y1 - uni(n, -1.5, 1.5, device) * em, uni(n, 80, SHEET - 80, device))
    square = per(side / 2) - torch.maximum((x - per(cx)).abs(), (y - per(cy)).abs())
    font = torch.multinomial(atlas.weight, n, True)
    inner = torch.full((n, SHEET, SHEET), -FAR, device=device)
    four = [(-1, -1), (1, -1), (-1, 1), (1, 1)] if torch.rand(1).item() < 0.5 else [(0, -1), (0, 1)]
    no, yes = torch.zeros(n, device=device), torch.ones(n, device=device)
    for ax, ay in four:
        glyph = atlas.draw(font, torch.full((n,), 0.1, device=device))
        d = windows(atlas, glyph, (side / 2.4).clamp(min=14), no, yes, no)
        left, top = cx + ax * side / 4.4 - WINDOW / 2, cy + ay * side / 4.4 - WINDOW / 2
        paste(inner, torch.arange(n, device=device), left.long(), top.long(), d)
    lines = torch.maximum(torch.minimum(inner, square), per(side * 0.045) - (square - per(side * 0.05)).abs())
    return torch.where(per(chance(n, 0.5, device)), lines, torch.minimum(square, -inner))
