"""Synthesis of training crops from rendered glyphs, on the GPU, batch by batch.

Conventions: pictures are (batch, height, width) floats, ink (or cut) high, 0..1;
glyph distances are in pixels of the 128-pixel glyph, positive inside the ink.
What a batch goes through: warp (affine, perspective, two elastic fields) ->
stroke width (from the outline or re-drawn along the skeleton with a varying
pressure) -> joining strokes above and below -> a neighbour -> a crop with
uneven margins at low resolution -> print, stain and wear, or light on cut
metal -> the same size normalisation as at run time (``normalise``).
"""

from __future__ import annotations

from dataclasses import dataclass

import torch
import torch.nn.functional as F
from torch import Tensor

REACH = 31  # pixels: distances are kept up to here
CANVAS = 80
NET = 48
NONE_EVERY = 20
CLEAR = 0.45  # share of inked samples without stain, wear or grain: there only the shape is to be learnt


def distance(mask: Tensor, reach: int = REACH) -> Tensor:
    """Euclidean distance of every pixel to the nearest True one, capped; (n, h, w) bool -> half."""
    far = float(reach + 1)
    flat = torch.where(mask, 0.0, far * far).to(torch.float32)
    for dim in (2, 1):
        best = flat.clone()
        for k in range(1, reach + 1):
            for s in (k, -k):
                moved = torch.full_like(flat, far * far)
                length = flat.shape[dim] - k
                src = flat.narrow(dim, k if s > 0 else 0, length)
                moved.narrow(dim, 0 if s > 0 else k, length).copy_(src)
                torch.minimum(best, moved + k * k, out=best)
        flat = best
    return flat.sqrt().clamp_(max=far)


@dataclass
class Atlas:
    """All glyphs with the distances to outline and skeleton (int8, quarter pixels), and what they may bear."""

    outline: Tensor
    bone: Tensor
    grow: Tensor  # pixels a stroke may grow outward before the glyph fills up
    pen: Tensor  # half width a re-drawn stroke may have
    classes: Tensor
    domain: Tensor  # 0 font, 1 real kanji, 2 real kana
    grey: Tensor  # (n, 48, 48) uint8: the glyph as a small grey picture, as real crops come
    lean: Tensor  # logarithm of width over height, from how it is drawn to how it might be: real crops come square

    @classmethod
    def build(
        cls,
        glyphs: Tensor,
        bones: Tensor,
        classes: Tensor,
        device: str,
        domain: Tensor | None = None,
        grey: Tensor | None = None,
    ) -> Atlas:
        outs, sks, grow, pen, greys, shape = [], [], [], [], [], []
        bit = (2 ** torch.arange(7, -1, -1, device=device)).to(torch.uint8)
        for at in range(0, len(glyphs), 1024):
            ink, bone = (
                ((x[at : at + 1024].to(device)[:, :, None] & bit) > 0).reshape(-1, 128, 128) for x in (glyphs, bones)
            )
            signed = torch.where(ink, distance(~ink) - 0.5, 0.5 - distance(ink))
            outs.append((signed * 4).round().clamp(-127, 127).to(torch.int8))
            away = distance(bone)
            sks.append((away * 4).round().clamp(0, 127).to(torch.int8))
            small = F.interpolate(ink[:, None, 12:116, 12:116].float(), (48, 48), mode="area")[:, 0]
            greys.append((small * 255).to(torch.uint8))
            height = ink.any(2).sum(1).clamp(min=20).float()
            width = ink.any(1).sum(1).clamp(min=20).float()
            shape.append((width / height).log())
            length = bone.sum((1, 2)).clamp(min=30).float()
            grow.append(((0.5 * height * width - ink.sum((1, 2)).float()) / (2 * length)).clamp(0.7, 7))
            pen.append((0.45 * height * width / (2 * length)).clamp(2.2, 9))
        classes, small = classes.to(device), torch.cat(greys)
        domain = torch.zeros_like(classes) if domain is None else domain.to(device)
        if grey is not None:  # the last ones are real crops, which come as grey pictures
            small[len(small) - len(grey) :] = grey.to(device)
        drawn = torch.cat(shape)
        fonts = (domain == 0).float()
        many = torch.zeros(int(classes.max()) + 1, device=device).index_add_(0, classes, fonts)
        mean = torch.zeros_like(many).index_add_(0, classes, fonts * drawn) / many.clamp(min=1)
        lean = torch.where(domain == 0, -drawn, mean[classes] - drawn).clamp(-1.4, 1.4)
        return cls(
            torch.cat(outs), torch.cat(sks), torch.cat(grow), torch.cat(pen), classes, domain, small, lean
        )


def noise(n: int, cells: int, size: int, device: torch.device, channels: int = 1) -> Tensor:
    """Smooth random field with unit variance at the knots: (n, channels, size, size)."""
    return F.interpolate(
        torch.randn(n, channels, cells, cells, device=device), (size, size), mode="bicubic", align_corners=False
    )


def uni(n: int, low: float, high: float, device: torch.device) -> Tensor:
    return torch.rand(n, device=device) * (high - low) + low


def warp(n: int, device: torch.device, s: Tensor, lean: Tensor | None = None) -> Tensor:
    """Sampling grid canvas -> glyph, (n, C, C, 2) in -1..1 of the glyph picture."""
    axis = (torch.arange(CANVAS, device=device) + 0.5) / CANVAS * 2 - 1
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    base = torch.stack([x, y], -1)[None].expand(n, -1, -1, -1)
    angle = torch.randn(n, device=device) * 0.10 * s
    shear_x, shear_y = torch.randn(n, device=device) * 0.18 * s, torch.randn(n, device=device) * 0.10 * s
    squeeze = torch.exp(torch.randn(n, device=device) * 0.20 * s)
    if lean is not None:  # fonts are drawn as they are or square, real crops square or as the fonts have them
        squeeze = squeeze * torch.exp(-0.5 * lean * torch.rand(n, device=device))
    scale = 1.22 * torch.exp(torch.randn(n, device=device) * 0.08)
    cos, sin = torch.cos(angle), torch.sin(angle)
    m = (
        torch.stack(
            [torch.stack([cos * squeeze, -sin + shear_x], -1), torch.stack([sin + shear_y, cos / squeeze], -1)], -2
        )
        * scale[:, None, None]
    )
    grid = torch.einsum("nij,nhwj->nhwi", m, base)
    tilt = torch.randn(n, 2, device=device) * 0.10 * s[:, None]
    depth = 1 + (grid * tilt[:, None, None, :]).sum(-1, keepdim=True)
    # bending of whole halves of the glyph (one part smaller, stretched tails) and finer wobble
    coarse = noise(n, 4, CANVAS, device, 2) * (uni(n, 0.0, 0.13, device) * s)[:, None, None, None]
    fine = noise(n, 9, CANVAS, device, 2) * (uni(n, 0.0, 0.035, device) * s)[:, None, None, None]
    return grid / depth.clamp(0.5, 2) + (coarse + fine).permute(0, 2, 3, 1)


def curve(ends: Tensor, half: Tensor, size: int) -> Tensor:
    """Ink of a quadratic stroke: ends (n, 3, 2) as start, control, end in pixels (x, y); half width (n,)."""
    axis = torch.arange(size, device=ends.device) + 0.5
    best = torch.full((len(ends), size, size), 1e6, device=ends.device)
    for t in (k / 15 for k in range(16)):
        p = (1 - t) ** 2 * ends[:, 0] + 2 * t * (1 - t) * ends[:, 1] + t * t * ends[:, 2]
        d = (axis[None, None, :] - p[:, 0, None, None]) ** 2 + (axis[None, :, None] - p[:, 1, None, None]) ** 2
        torch.minimum(best, d, out=best)
    return torch.sigmoid((half[:, None, None] - best.sqrt()) / 0.4)


def extent(ink: Tensor) -> tuple[Tensor, Tensor, Tensor, Tensor]:
    """First and last column and row with ink: x0, x1, y0, y1 (exclusive ends), whole picture if there is none."""
    size = ink.shape[-1]
    out = []
    for dim in (1, 2):
        there = ink.amax(dim) > 0.4
        there = there | ~there.any(1, keepdim=True)
        first = there.float().argmax(1)
        last = size - there.flip(1).float().argmax(1)
        out += [first.float(), last.float()]
    return out[0], out[1], out[2], out[3]


def soften(outline: Tensor) -> Tensor:
    """Distances smoothed over some 12 glyph pixels: corners rounded, small loops closed, as a quick brush does."""
    half = F.avg_pool2d(outline[:, None], 2)
    for _ in range(3):
        half = F.avg_pool2d(half, 5, 1, 2, count_include_pad=False)
    return F.interpolate(half, scale_factor=2.0, mode="bilinear", align_corners=False)[:, 0]


def between(atlas: Atlas, pick: Tensor, mate: Tensor, mix: float, soft: float) -> Tensor:
    """Outlines of the picked glyphs, some drawn towards the same character by another hand, some softened."""
    n, device = len(pick), pick.device
    outline = atlas.outline[pick].to(torch.float32) / 4
    if mix:
        # two real crops of a character may differ too much for anything to lie between them
        share = uni(n, 0.1, 0.5, device) * (torch.rand(n, device=device) < mix) * (atlas.domain[pick] == 0)
        outline = torch.lerp(outline, atlas.outline[mate].to(torch.float32) / 4, share[:, None, None])
    if soft:
        share = uni(n, 0.2, 1.0, device) * (torch.rand(n, device=device) < soft)
        outline = torch.lerp(outline, soften(outline), share[:, None, None])
    return outline


def write(
    atlas: Atlas,
    pick: Tensor,
    strength: float,
    mate: Tensor | None = None,
    mix: float = 0.0,
    soft: float = 0.0,
    grey: float = 0.0,
) -> tuple[Tensor, Tensor]:
    """Glyphs as written by some hand: ink (n, C, C) and half the stroke width in canvas pixels (n,)."""
    n, device = len(pick), pick.device
    # hands differ in how far they stray from the model
    grid = warp(n, device, strength * uni(n, 0.5, 1.6, device), atlas.lean[pick])
    outline = between(atlas, pick, pick if mate is None else mate, mix if mate is not None else 0.0, soft)
    both = torch.stack([outline, atlas.bone[pick].to(torch.float32) / 4], 1)
    both = F.grid_sample(both, grid, mode="bilinear", padding_mode="border", align_corners=False)
    outline, bone = both[:, 0], both[:, 1]
    pressure = noise(n, 5, CANVAS, device)[:, 0]
    rough = noise(n, 26, CANVAS, device)[:, 0] * uni(n, 0.0, 1.0, device)[:, None, None] ** 2
    grow = uni(n, 0, 1, device) * (atlas.grow[pick] + 1.2) - 1.2
    thick = torch.sigmoid(
        (outline + (grow[:, None, None] + pressure * uni(n, 0, 1.2, device)[:, None, None] + rough)) / 0.7
    )
    half = uni(n, 0, 1, device) ** 0.8 * (atlas.pen[pick] - 1.5) + 1.5
    along = half[:, None, None] * (1 + pressure * uni(n, 0, 0.45, device)[:, None, None]) + rough
    redrawn = torch.sigmoid((along.clamp(min=0.9) - bone) / 0.7)
    use = torch.rand(n, device=device) < 0.4
    width = torch.where(use, half, (grow + 3).clamp(min=1.5)) * 0.5
    ink = torch.where(use[:, None, None], redrawn, thick)
    # a share of both, fonts and real crops, goes through the same small grey picture
    small = atlas.grey[pick][:, None].to(torch.float32) / 255
    small = F.grid_sample(small, grid * (128 / 104), mode="bilinear", align_corners=False)
    wide, thin = F.max_pool2d(small, 3, 1, 1)[:, 0], -F.max_pool2d(-small, 3, 1, 1)[:, 0]
    step = uni(n, -0.8, 1, device)[:, None, None]
    small = torch.where(step > 0, torch.lerp(small[:, 0], wide, step), torch.lerp(small[:, 0], thin, -step))
    return torch.where(pick_some(n, grey, device), small, ink), width


def dress(ink: Tensor, width: Tensor, joins: tuple[Tensor, Tensor]) -> Tensor:
    """Add joining strokes and a neighbour, as in connected writing."""
    n, device = len(ink), ink.device
    x0, x1, y0, y1 = extent(ink)
    out = ink.clone()
    other = ink.roll(n // 2 + 7, 0)
    ox0, ox1, oy0, oy1 = extent(other)
    near = torch.rand(n, device=device) < 0.4
    side = torch.where(torch.rand(n, device=device) < 0.5, 1.0, -1.0)
    aside = torch.rand(n, device=device) < 0.12
    gap_y = ((y1 - y0) + (oy1 - oy0)) / 2 * uni(n, 0.85, 1.25, device)
    gap_x = ((x1 - x0) + (ox1 - ox0)) / 2 * uni(n, 0.95, 1.3, device)
    dy = (y0 + y1) / 2 - (oy0 + oy1) / 2 + torch.where(aside, 0.0, side * gap_y)
    dx = (x0 + x1) / 2 - (ox0 + ox1) / 2 + torch.where(aside, side * gap_x, torch.randn(n, device=device) * 4)
    theta = torch.zeros(n, 2, 3, device=device)
    theta[:, 0, 0] = theta[:, 1, 1] = 1
    theta[:, 0, 2], theta[:, 1, 2] = -dx / (CANVAS / 2), -dy / (CANVAS / 2)
    moved = F.grid_sample(
        other[:, None], F.affine_grid(theta, [n, 1, CANVAS, CANVAS], align_corners=False), align_corners=False
    )[:, 0]
    out = torch.where(near[:, None, None], torch.maximum(out, moved), out)
    for top, take in zip((True, False), joins, strict=True):
        row = (y0 if top else y1 - 1)[take].long().clamp(0, CANVAS - 1)
        col = ink[take, row].argmax(1).float()
        away = uni(len(take), 6, 30, device) * (-1 if top else 1)
        start = torch.stack([col + torch.randn(len(take), device=device) * 12, row + away], -1)
        end = torch.stack([col, row.float() + (1 if top else -1)], -1)
        mid = (start + end) / 2 + torch.randn(len(take), 2, device=device) * 6
        stroke = curve(
            torch.stack([start, mid, end], 1), (width[take] * uni(len(take), 0.4, 1.0, device)).clamp(min=0.6), CANVAS
        )
        out[take] = torch.maximum(out[take], stroke)
    return out


def spoil(ink: Tensor, kind: Tensor) -> Tensor:
    """Every 20th sample may be none of the characters: 1 two halves, 2 loose strokes, 3 nothing; 0 and 4 are left."""
    some = ink[::NONE_EVERY]
    kind = kind[::NONE_EVERY, None, None]
    n, device = len(some), ink.device
    y = torch.arange(CANVAS, device=device)[None, :, None]
    cut = uni(n, 0.4, 0.6, device)[:, None, None] * CANVAS
    halves = torch.where(y < cut, some, ink[1::NONE_EVERY][:n])
    loose = torch.zeros_like(some)
    for _ in range(3):
        stroke = curve(torch.rand(n, 3, 2, device=device) * 60 + 10, uni(n, 0.7, 3, device), CANVAS)
        loose = torch.where(pick_some(n, 0.75, device), torch.maximum(loose, stroke), loose)
    some = torch.where(kind == 1, halves, some)
    some = torch.where(kind == 2, loose, some)
    out = ink.clone()
    out[::NONE_EVERY] = torch.where(kind == 3, 0.0, some)
    return out


def cut_out(ink: Tensor, box: tuple[Tensor, Tensor, Tensor, Tensor], size: int, sloppy: Tensor) -> Tensor:
    """Crop around the character with uneven margins to (n, size, size), what lies outside the crop empty."""
    n, device = len(ink), ink.device
    x0, x1, y0, y1 = box
    w, h = (x1 - x0).clamp(min=3), (y1 - y0).clamp(min=3)
    long = torch.maximum(w, h)
    m = torch.randn(4, n, device=device) * 0.05 + 0.03 + torch.rand(4, n, device=device) ** 4 * 0.3
    left, right = x0 - m[0] * torch.sqrt(w * long), x1 + m[1] * torch.sqrt(w * long)
    top, bottom = y0 - m[2] * torch.sqrt(h * long), y1 + m[3] * torch.sqrt(h * long)
    shift = sloppy * h * 0.5  # none of these: the window lies between two characters
    top, bottom = top + shift, bottom + shift
    cx, cy = (left + right) / 2, (top + bottom) / 2
    half = torch.maximum(right - left, bottom - top) / 2
    axis = (torch.arange(size * 2, device=device) + 0.5) / (size * 2) * 2 - 1
    px = cx[:, None] + half[:, None] * axis[None]
    py = cy[:, None] + half[:, None] * axis[None]
    grid = torch.stack(
        [
            (px / CANVAS * 2 - 1)[:, None, :].expand(n, size * 2, -1),
            (py / CANVAS * 2 - 1)[:, :, None].expand(n, -1, size * 2),
        ],
        -1,
    )
    got = F.grid_sample(ink[:, None], grid, align_corners=False)[:, 0]
    inside = ((px >= left[:, None]) & (px <= right[:, None]))[:, None, :] & (
        (py >= top[:, None]) & (py <= bottom[:, None])
    )[:, :, None]
    return F.avg_pool2d((got * inside)[:, None], 2)[:, 0]


def blur(x: Tensor) -> Tensor:
    """Binomial 3 x 3 by slices: a one-channel convolution is far slower on the GPU."""
    x = torch.cat([x[:, :1], x, x[:, -1:]], 1)
    x = (x[:, :-2] + x[:, 2:]) / 4 + x[:, 1:-1] / 2
    x = torch.cat([x[:, :, :1], x, x[:, :, -1:]], 2)
    return (x[:, :, :-2] + x[:, :, 2:]) / 4 + x[:, :, 1:-1] / 2


def pick_some(n: int, p: float, device: torch.device) -> Tensor:
    return (torch.rand(n, device=device) < p)[:, None, None]


def printed(ink: Tensor) -> Tensor:
    """Ink on paper, rubbings, scans: (n, s, s) ink -> picture, ink high."""
    n, size, device = len(ink), ink.shape[-1], ink.device
    x = torch.where(pick_some(n, 0.4, device), blur(ink), ink)
    gain = torch.exp(uni(n, -0.2, 1.3, device))[:, None, None]
    x = ((x - uni(n, 0.3, 0.65, device)[:, None, None]) * gain + 0.5).clamp(0, 1)
    clear, plain = pick_some(n, CLEAR, device), x
    worn = (noise(n, 7, size, device)[:, 0] * 0.5 + 0.9).clamp(0, 1)
    dry = (noise(n, max(4, size // 2), size, device)[:, 0] * 0.5 + 0.8).clamp(0, 1)
    x = (
        x
        * torch.where(pick_some(n, 0.15, device), worn, torch.ones_like(x))
        * torch.where(pick_some(n, 0.15, device), dry, torch.ones_like(x))
    )
    stain = (noise(n, 5, size, device)[:, 0] * 0.2).clamp(min=0) * uni(n, 0, 1, device)[:, None, None]
    x = torch.where(pick_some(n, 0.25, device), torch.maximum(x, stain), x)
    specks = blur((torch.rand(n, size, size, device=device) > 0.99).float() * 3).clamp(0, 1)
    x = torch.where(pick_some(n, 0.15, device), torch.maximum(x, specks), x)
    x = torch.where(pick_some(n, 0.5, device), x + torch.randn_like(x) * uni(n, 0, 0.14, device)[:, None, None], x)
    x = torch.where(pick_some(n, 0.2, device), (x > 0.5).float(), x)
    return torch.where(clear, plain, x)


def lines(n: int, size: int, device: torch.device, most: int = 4) -> Tensor:
    """Straight scratches, (n, size, size), 0..1: some samples have none, some up to ``most``."""
    axis = torch.arange(size, device=device) + 0.5
    out = torch.zeros(n, size, size, device=device)
    many = uni(n, -2, most + 1, device)
    for k in range(most):
        at, angle = torch.rand(n, 2, device=device) * size, uni(n, 0, 3.1416, device)
        half, deep = uni(n, 0.2, 1.2, device) * size, uni(n, 0.2, 1.0, device) * (many > k)
        x, y = axis[None, None, :] - at[:, 0, None, None], axis[None, :, None] - at[:, 1, None, None]
        cos, sin = torch.cos(angle)[:, None, None], torch.sin(angle)[:, None, None]
        along = (x * cos + y * sin).abs() - half[:, None, None]
        away = torch.sqrt((y * cos - x * sin) ** 2 + along.clamp(min=0) ** 2)
        out = torch.maximum(out, torch.sigmoid((0.6 - away) / 0.25) * deep[:, None, None])
    return out


def shadow(height: Tensor, light: Tensor) -> Tensor:
    """1 where the lamp reaches, 0 behind a wall that stands between; three steps towards the lamp."""
    n, size = len(height), height.shape[-1]
    flat = light[:, :2].norm(dim=1).clamp(min=1e-3)
    lit = torch.ones_like(height)
    theta = torch.zeros(n, 2, 3, device=height.device)
    theta[:, 0, 0] = theta[:, 1, 1] = 1
    for step in (1.0, 2.2, 3.6):
        theta[:, :, 2] = light[:, :2] / flat[:, None] * step * 2 / size
        grid = F.affine_grid(theta, [n, 1, size, size], align_corners=False)
        wall = F.grid_sample(height[:, None], grid, padding_mode="border", align_corners=False)[:, 0]
        lit = torch.minimum(lit, 1 - ((wall - height - step * (light[:, 2] / flat)[:, None, None]) * 2).clamp(0, 1))
    return lit


def metal(ink: Tensor) -> Tensor:
    """Cuts in metal under one light: (n, s, s) ink -> picture; bright or dark sides of the cut by the light."""
    n, size, device = len(ink), ink.shape[-1], ink.device
    soft = blur(ink)
    deep = torch.where(pick_some(n, 0.4, device), blur(soft), soft) + 0.05 * noise(n, 8, size, device)[:, 0]
    worn = pick_some(n, 0.35, device)  # rubbed down unevenly, pitted, scratched
    rubbed = (0.7 + 0.3 * noise(n, 4, size, device)[:, 0]).clamp(0.2, 1.1)
    pits = (noise(n, max(6, size // 5), size, device)[:, 0] - uni(n, 1.5, 2.5, device)[:, None, None]).clamp(0, 1)
    deep = torch.where(worn, deep * rubbed + pits * uni(n, 0, 0.8, device)[:, None, None], deep)
    scratched = lines(n, size, device) * uni(n, 0.0, 0.6, device)[:, None, None] ** 1.5
    deep = deep + torch.where(worn | pick_some(n, 0.2, device), scratched, torch.zeros_like(deep))
    grain = torch.where(
        pick_some(n, 0.3, device),
        F.interpolate(torch.randn(n, 1, size, 3, device=device), (size, size), mode="bicubic")[:, 0],
        noise(n, max(4, size // 2), size, device)[:, 0],
    )
    height = (
        -deep * uni(n, 0.9, 3.2, device)[:, None, None] + grain * uni(n, 0.0, 1.0, device)[:, None, None] ** 2 * 0.12
    ) + noise(n, 4, size, device)[:, 0] * uni(n, 0.0, 0.5, device)[:, None, None] ** 2
    padded = F.pad(height[:, None], (1, 1, 1, 1), mode="replicate")[:, 0]
    gx, gy = (padded[:, 1:-1, 2:] - padded[:, 1:-1, :-2]) / 2, (padded[:, 2:, 1:-1] - padded[:, :-2, 1:-1]) / 2
    azimuth, elevation = uni(n, 0, 6.283, device), uni(n, 0.25, 1.2, device)
    light = torch.stack(
        [torch.cos(azimuth) * torch.cos(elevation), torch.sin(azimuth) * torch.cos(elevation), torch.sin(elevation)], -1
    )
    length = torch.sqrt(1 + gx * gx + gy * gy)
    shade = (-gx * light[:, 0, None, None] - gy * light[:, 1, None, None] + light[:, 2, None, None]) / length
    halfway = light.clone()
    halfway[:, 2] += 1
    halfway = halfway / halfway.norm(dim=1, keepdim=True)
    gloss = (
        (-gx * halfway[:, 0, None, None] - gy * halfway[:, 1, None, None] + halfway[:, 2, None, None]) / length
    ).clamp(min=0)
    gloss = gloss ** torch.exp(uni(n, 1.5, 4, device))[:, None, None]
    dirt = 1 - soft.clamp(0, 1) * (uni(n, -0.2, 0.7, device)[:, None, None])
    patina = 1 + noise(n, 4, size, device)[:, 0] * uni(n, 0, 0.25, device)[:, None, None]
    axis = (torch.arange(size, device=device) + 0.5) / size - 0.5
    slope = torch.randn(2, n, 1, 1, device=device) * 0.15
    fall = 1 + slope[0] * axis[None, None, :] + slope[1] * axis[None, :, None]
    lit = torch.where(pick_some(n, 0.6, device), shadow(height, light), torch.ones_like(height))
    grey = shade.clamp(min=0) * lit * dirt * patina * fall + gloss * uni(n, 0, 0.8, device)[:, None, None]
    crust = ((noise(n, 5, size, device)[:, 0] - 1.3).clamp(0, 0.6)) * uni(n, 0, 1.5, device)[:, None, None]
    crusted = torch.lerp(grey, torch.full_like(grey, 0.45), crust.clamp(0, 1))
    grey = torch.where(pick_some(n, 0.25, device), crusted, grey)
    return -(grey + torch.randn_like(grey) * 0.08 * uni(n, 0, 1, device)[:, None, None] ** 2)


def normalise(x: Tensor, jitter: float = 0.0) -> Tensor:
    """Stretch, turn to ink high, and bring to the size the net sees; mirrors ``readaid.glyphs.window``."""
    n, size = len(x), x.shape[-1]
    flat = x.reshape(n, -1).sort(1).values
    last = flat.shape[1] - 1

    def level(q: float) -> Tensor:
        at = q * last
        low = int(at)
        return flat[:, low] + (flat[:, min(low + 1, last)] - flat[:, low]) * (at - low)

    dark, light = level(0.01), level(0.99)
    span = (light - dark).clamp(min=1e-3)
    x = ((x - dark[:, None, None]) / span[:, None, None]).clamp(0, 1)
    border = (x[:, 0].mean(1) + x[:, -1].mean(1) + x[:, :, 0].mean(1) + x[:, :, -1].mean(1)) / 4
    swap = (x.mean((1, 2)) - 0.5) + 0.5 * (border - 0.5) > 0
    x = torch.where(swap[:, None, None], 1 - x, x)
    ground = torch.where(swap, 1 - (level(0.65) - dark) / span, (level(0.35) - dark) / span).clamp(0, 1)
    away = (x - ground[:, None, None]).abs()
    top = away.reshape(n, -1).sort(1).values[:, int(0.98 * last)]
    energy = (away - 0.35 * top[:, None, None]).clamp(min=0) + 1e-9
    centres, halves = [], []
    place = torch.arange(size, device=x.device) + 0.5
    for dim in (1, 2):  # sum over rows gives the columns' share first
        share = energy.sum(dim)
        share = share / share.sum(1, keepdim=True)
        run = share.cumsum(1)
        ends = []
        for q in (0.01, 0.99):
            k = (run < q).sum(1).clamp(max=size - 1)
            before = torch.where(
                k > 0, run.gather(1, (k - 1).clamp(min=0)[:, None])[:, 0], torch.zeros_like(k, dtype=run.dtype)
            )
            ends.append(k + ((q - before) / share.gather(1, k[:, None])[:, 0].clamp(min=1e-9)).clamp(0, 1))
        mean = (share * place).sum(1)
        spread = ((share * (place[None] - mean[:, None]) ** 2).sum(1)).sqrt()
        centres.append(((ends[0] + ends[1]) / 2 + mean) / 2)
        halves.append((((ends[1] - ends[0]) / 2 + 1.85 * spread) / 2).clamp(min=0.75))
    long = torch.maximum(halves[0], halves[1])
    axis = (torch.arange(NET, device=x.device) + 0.5) - NET / 2
    coords = []
    for i in range(2):
        # the shorter side is widened: power 0.6 of its share
        room = 20.0 * (halves[i] / long) ** 0.6
        scale = halves[i] / room
        move = torch.zeros_like(scale)
        if jitter:
            scale = scale * torch.exp(torch.randn_like(scale) * jitter)
            move = torch.randn_like(scale) * jitter * 0.6 * halves[i]
        coords.append((centres[i] + move)[:, None] + scale[:, None] * axis[None])
    grid = torch.stack(
        [
            (coords[0] / size * 2 - 1)[:, None, :].expand(n, NET, NET),
            (coords[1] / size * 2 - 1)[:, :, None].expand(n, NET, NET),
        ],
        -1,
    )
    return F.grid_sample((x - ground[:, None, None])[:, None], grid, align_corners=False) + ground[:, None, None, None]


JOINS: dict[
    tuple[int, str], tuple[Tensor, Tensor]
] = {}  # which samples of a batch get joining strokes; made once, outside a graph


def crops(
    atlas: Atlas,
    pick: Tensor,
    none: Tensor,
    sizes: tuple[int, ...],
    metal_share: float = 0.27,
    strength: float = 1.0,
    jitter: float = 0.06,
    mate: Tensor | None = None,
    mix: float = 0.0,
    soft: float = 0.0,
    grey: float = 0.0,
) -> Tensor:
    """Net inputs (n, 1, 48, 48) for the picked glyphs; ``none`` (n,) 0 or the way the sample is spoilt (1-4)."""
    key = (len(pick), str(pick.device))
    if key not in JOINS:
        every = torch.arange(len(pick), device=pick.device)
        JOINS[key] = (every[every % 3 == 0], every[every // 3 % 3 == 0])
    ink, width = write(atlas, pick, strength, mate, mix, soft, grey)
    ink = spoil(ink, none)
    box = extent(ink)
    ink = dress(ink, width, JOINS[key])  # the window of a sample is that of the character alone
    outs = []
    quarter = -(-len(pick) // len(sizes))
    for at, size in enumerate(sizes):
        part = slice(at * quarter, min((at + 1) * quarter, len(pick)))
        window = tuple(b[part] for b in box)
        kinds = none[part]
        side = torch.where(torch.rand(len(kinds), device=pick.device) < 0.5, 1.0, -1.0) * (kinds == 4)
        small = cut_out(ink[part], window, size, side)  # type: ignore[arg-type]
        cut = round(len(kinds) * metal_share)  # samples stand in random order, so the first ones will do
        look = torch.cat([metal(small[:cut]), printed(small[cut:])]) if cut else printed(small)
        outs.append(normalise(look, jitter))
    return torch.cat(outs)
