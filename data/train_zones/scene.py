"""Written pieces made up on the GPU, batch by batch: sheets of columns, seen at some size in some material.

Conventions: maps are (batch, height, width) floats; a *signed distance* is in pixels of its map, positive inside a
stroke. The sheet is SHEET px wide with signs of about EM; the view is FINE px, twice VIEW, the size the net sees. Boxes
are (left, top, right, bottom) in VIEW pixels.
What a batch goes through: glyphs bent and thickened -> columns (even, scattered or running), joined by strokes -> what
is not writing (frames, rulings, flowers, stems, seals) -> a view of the sheet at some size and turn -> wear -> cut or
raised metal under lamps, ink on paper, silk or wood, light writing on dark -> blur, noise, tone.
Nothing here is shared with ``tests/photo/rendered.py``, which examines.
"""

from __future__ import annotations

import math

import torch
import torch.nn.functional as F
from chances import blur, chance, field, per, some, uni
from materials import FINE, metal, sheet_of
from sheets import FAR, SHEET, Atlas, columns, others
from torch import Tensor

VIEW = FINE // 2


def views(made: dict[str, Tensor], maps: Tensor, usual: Tensor, device: str) -> tuple[Tensor, Tensor, Tensor]:
    """Maps (n, k, SHEET, SHEET) seen so that signs are ``usual`` px of VIEW: (n, k, FINE, FINE), boxes, which exist."""
    n = len(usual)
    boxes, there = made["boxes"], made["there"]
    zoom = made["em"] * 0.95 / (2 * usual)  # sheet px for a fine px
    # somewhere near a random sign
    pick = torch.multinomial(there.float() + 1e-6, 1)[:, 0]
    one = boxes[torch.arange(n, device=device), pick]
    centre = torch.stack([(one[:, 0] + one[:, 2]) / 2, (one[:, 1] + one[:, 3]) / 2], -1)
    centre = torch.where(there.any(1)[:, None], centre, torch.full_like(centre, SHEET / 2))
    half = zoom * FINE / 2
    centre = centre + (torch.rand(n, 2, device=device) - 0.5) * 1.1 * half[:, None]
    turn = torch.randn(n, device=device) * torch.where(chance(n, 0.15, device), 0.07, 0.018)
    lean = torch.randn(n, device=device) * 0.02
    c, s = torch.cos(turn), torch.sin(turn)
    m = torch.stack([torch.stack([c, -s + lean], -1), torch.stack([s, c], -1)], -2) * zoom[:, None, None]
    axis = torch.arange(FINE, device=device) + 0.5 - FINE / 2
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    at = torch.einsum("nij,hwj->nhwi", m, torch.stack([x, y], -1)) + centre[:, None, None, :]
    seen = (
        F.grid_sample(maps, at * 2 / SHEET - 1, padding_mode="border", align_corners=False) / zoom[:, None, None, None]
    )
    (a, b), (c, d) = m[:, 0].unbind(-1), m[:, 1].unbind(-1)
    back = torch.stack([torch.stack([d, -b], -1), torch.stack([-c, a], -1)], -2) / (a * d - b * c)[:, None, None]
    left, top, right, bottom = boxes.unbind(-1)
    # an outline of eight points, its corners drawn in: ink seldom fills the corners
    cx, cy, hw, hh = (left + right) / 2, (top + bottom) / 2, (right - left) / 2, (bottom - top) / 2
    points = [
        torch.stack([cx + hw * px, cy + hh * py], -1)
        for px, py in ((1, 0), (-1, 0), (0, 1), (0, -1), (0.8, 0.8), (0.8, -0.8), (-0.8, 0.8), (-0.8, -0.8))
    ]
    p = torch.einsum("nij,nmkj->nmki", back, torch.stack(points, 2) - centre[:, None, None, :]) / 2 + VIEW / 2
    low, high = p.amin(2), p.amax(2)
    return seen, torch.cat([low, high], -1), there


def scenes(atlas: Atlas, n: int, device: str) -> dict[str, Tensor]:
    """A batch: ``image`` (n, 3, VIEW, VIEW) 0..1, ``boxes``, ``there``, ``doubt`` (do not learn these), ``ink``."""
    # each sheet is seen three times, in another material, size and place: making sheets takes long
    sheets = (n + 2) // 3
    made = columns(atlas, sheets, device)
    drawn, red = others(atlas, made, device)
    maps = torch.stack([made["signs"], drawn, red], 1)
    maps = torch.cat([maps] * 3)[:n]
    made = {k: torch.cat([made[k]] * 3)[:n] for k in ("boxes", "there", "em")}
    usual = torch.exp(uni(n, math.log(17), math.log(52), device))
    wrong = torch.rand(n, device=device)
    usual = torch.where(wrong < 0.07, torch.exp(uni(n, math.log(5), math.log(11.5), device)), usual)
    usual = torch.where(wrong > 0.9, torch.exp(uni(n, math.log(84), math.log(150), device)), usual)
    none = chance(n, 0.07, device)
    maps[none, 0] = -FAR
    made["there"] = made["there"] & ~none[:, None]
    seen, boxes, there = views(made, maps, usual, device)
    signs, drawn, red = seen.unbind(1)
    low = uni(n, 0.1, 0.35, device)
    wear = per(uni(n, 0.35, 1.0, device)) + field(n, FINE, usual * 2 * uni(n, 0.8, 4, device), step=4) * per(
        uni(n, 0.1, 0.5, device)
    )
    wear = torch.maximum(wear, per(low)).clamp(max=1)
    fine = (1 + field(n, FINE, usual * uni(n, 0.1, 0.4, device)) * per(uni(n, 0, 0.5, device))).clamp(0.1, 1)
    wear = torch.where(per(chance(n, 0.55, device)), torch.ones_like(wear), wear * fine)
    a, b = round(n * 0.5), round(n * 0.8)
    parts = []
    if a:
        parts.append(metal(signs[:a], drawn[:a], wear[:a], usual[:a]))
    if b > a:
        parts.append(sheet_of(signs[a:b], drawn[a:b], red[a:b], wear[a:b], usual[a:b], False))
    if n > b:
        parts.append(sheet_of(signs[b:], drawn[b:], red[b:], wear[b:], usual[b:], True))
    image = F.avg_pool2d(torch.cat(parts), 2)
    mixed = torch.randperm(n, device=device)  # so that sharpness does not hang on the material
    soft = [
        blur(image[part].flatten(0, 1), s).unflatten(0, (-1, 3))
        for part, s in zip(mixed.tensor_split(4), (0.3, 0.5, 0.8, 1.15), strict=True)
        if len(part)
    ]
    image = torch.cat(soft)[torch.argsort(mixed)]
    # a camera's exposure, then tone
    level = image.mean((1, 2, 3), keepdim=True)
    image = (
        image
        / level.clamp(min=0.02)
        * torch.maximum(uni(n, 0.2, 0.75, device)[:, None, None, None], level.clamp(max=0.6))
    )
    image = image.clamp(0.002, 1.3) ** torch.exp(torch.randn(n, device=device) * 0.25)[:, None, None, None]
    grey_ = chance(n, 0.25, device)[:, None, None, None]
    image = torch.where(grey_, image.mean(1, keepdim=True).expand_as(image), image)
    image = image + torch.randn_like(image) * some(n, 0.03, device)[:, None, None, None]
    image = (image.clamp(0, 1) * 255).round() / 255
    right_size = (usual > 14) & (usual < 66)
    centre = (boxes[..., :2] + boxes[..., 2:]) / 2
    weak = F.avg_pool2d(wear[:, None], 17, 8, 8)
    at = (centre / VIEW * 2 - 1).clamp(-1, 1)[:, :, None]
    weak = F.grid_sample(weak, at, align_corners=False)[:, 0, :, 0]
    near = there & touching(boxes) & right_size[:, None]
    there = near & whole(boxes) & (weak > 0.12)
    ink = F.avg_pool2d(torch.sigmoid(signs * 2)[:, None], 8)[:, 0] * right_size[:, None, None]
    return {"image": image, "boxes": boxes, "there": there, "doubt": near & ~there, "ink": ink, "usual": usual}


def touching(boxes: Tensor) -> Tensor:
    return ((boxes[..., 2:] > 0) & (boxes[..., :2] < VIEW)).all(-1)


def whole(boxes: Tensor) -> Tensor:
    """Not cut by the view's edge, but for a serif."""
    return ((boxes[..., :2] > -3) & (boxes[..., 2:] < VIEW + 3)).all(-1)


def again(made: dict[str, Tensor]) -> dict[str, Tensor]:
    """The same pictures from nearer by and a little aside: a batch costs far more to make than to learn from."""
    n, device = len(made["image"]), made["image"].device
    zoom = uni(n, 0.78, 1.0, device)
    aside = (torch.rand(n, 2, device=device) * 2 - 1) * (1 - zoom)[:, None]
    theta = torch.zeros(n, 2, 3, device=device)
    theta[:, 0, 0] = theta[:, 1, 1] = zoom
    theta[:, :, 2] = aside

    def seen(x: Tensor) -> Tensor:
        grid = F.affine_grid(theta, [n, 1, *x.shape[-2:]], align_corners=False)
        return F.grid_sample(x, grid, padding_mode="border", align_corners=False)

    half = VIEW / 2
    back = torch.cat([aside, aside], 1)[:, None] * half
    boxes = (made["boxes"] - half - back) / zoom[:, None, None] + half
    image = seen(made["image"].float() / 255 if made["image"].dtype == torch.uint8 else made["image"])
    near = (made["there"] | made["doubt"]) & touching(boxes)
    there = made["there"] & whole(boxes)
    ink = seen(made["ink"][:, None])[:, 0]
    return {
        "image": image,
        "boxes": boxes,
        "there": there,
        "doubt": near & ~there,
        "ink": ink,
        "usual": made["usual"] / zoom,
    }
