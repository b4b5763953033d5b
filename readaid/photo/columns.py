"""Columns and characters proposed on a photo, for the reader to mend.

Conventions: columns from the right, zones top to bottom; outlines are rectangles in pixels of the image given;
confidence 0..1 estimates the chance that a zone is one whole sign and no other mark (set on rendered pieces, so a
guide on real ones).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from readaid.core.errors import PhotoError, unknown_option
from readaid.core.photo import rectangle
from readaid.photo import chains, marks, pitch, strips, zone_net
from readaid.photo.file import cut, window
from readaid.photo.marks import CHARACTER
from readaid.photo.pitch import ProposedColumn, ProposedZone
from readaid.photo.raster import Image, checked, eight_bit, fitted, grey

#: Longest side searched. Signs of a 60 MP photo are hundreds of pixels high; nothing is lost by halving.
LONGEST = 2400
SMALLEST, LADDER = 14.0, 1.3
#: Working pixels at most: a photo of 2.2 million is searched for signs of 26 px up, a part of it for smaller.
MOST_WORK = 3_400_000
#: The same where the size of signs is given: signs of 4 px would have a 60 MP photo enlarged to a billion.
MOST_ENLARGED = 16_000_000
MOST_MARKS = 2500
#: 2 would count the ink explained in the photo's own pixels, and large stains would win; 0 its strokes at working size.
EXPONENT = 0.9
#: Strength that grain of metal or paper reaches by itself: hundreds of specks must not outweigh one worn verse.
GRAIN, MOST_COLUMNS = 0.01, 12
_Column = tuple[list[strips.Sign], float]


_B = TypeVar("_B", bound=strips.Sides)
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class _Finding:
    score: float
    character: float
    kind: str
    columns: list[_Column]


def propose(image: Any, writing: str = "auto", character_px: float | None = None,
            region: tuple[float, float, float, float] | None = None) -> list[ProposedColumn]:
    """Columns of zones found without help; empty where no writing shows.

    Parameters
    ----------
    image: (height, width[, 3]) uint8, uint16 or float.
    writing: "dark" on light, "light" on dark, "cut" (under raking light), or "auto", which tries all three.
    character_px: height of a usual sign in pixels, if known; else it is searched for. Given, more doubtful signs are
        proposed too.
    region: (x, y, width, height) to search in; else the whole image.

    Raises PhotoError for an empty or wrong image, or a size above the photo's or too small for so large a photo;
    ZoneError for a region outside, OptionError for an unknown kind of writing.

    >>> propose(np.full((80, 80), 255, np.uint8))
    []
    """
    pixels = checked(image)
    if writing not in ("auto", *marks.KINDS):
        raise unknown_option("writing", writing, ["auto", *marks.KINDS])
    if character_px is not None and not 4 <= character_px <= max(pixels.shape[:2]):
        raise PhotoError(f"A sign of {character_px:g} px cannot be looked for",
                         cure="give 4 px or more, not above the photo's size")
    left = top = 0
    if region is not None:
        left, top, _, _ = window((pixels.shape[1], pixels.shape[0]), region)
        pixels = cut(pixels, region)
    pixels = eight_bit(pixels)
    small, factor = fitted(np.ascontiguousarray(pixels), LONGEST)
    if min(small.shape[:2]) < 8:
        return []
    if character_px and small.shape[0] * small.shape[1] * (CHARACTER / (character_px * factor)) ** 2 > MOST_ENLARGED:
        raise PhotoError(f"Signs of {character_px:g} px cannot be looked for on {pixels.shape[1]} x {pixels.shape[0]} "
                         "pixels at once", cure="give the region around the writing, or a larger size")
    if zone_net.there():
        seen = chains.find(small, None if writing == "auto" else writing, character_px and character_px * factor)
        if seen is not None:
            return pitch.supplied(pitch.levelled(_of_net(seen, factor, left, top)))
        if character_px is None:  # the rules see signs in any grain; they are asked where someone says there are some
            return []
    finding = _best(small, marks.KINDS if writing == "auto" else (writing,), character_px and character_px * factor)
    if finding is None:
        return []
    scale = CHARACTER / finding.character * factor
    out = []
    for signs, quality in _ordered(finding.columns, CHARACTER):
        sure = _confidences(signs, quality)
        zones = tuple(_zone(s, c, scale, left, top) for s, c in zip(signs, sure, strict=True))
        out.append(ProposedColumn(zones, round(quality, 3)))
    return out


def _of_net(seen: chains.Found, factor: float, left: float, top: float) -> list[ProposedColumn]:
    out = []
    for chain, tied in _ordered(list(zip(seen.chains, seen.tied, strict=True)), seen.character):
        sure = chains.confidences(chain)
        zones = tuple(
            ProposedZone(rectangle(left + s.left / factor, top + s.top / factor, s.width / factor, s.height / factor),
                         round(c, 3), t or s.height > 1.6 * seen.character)
            for s, c, t in zip(chain, sure, tied, strict=True))
        out.append(ProposedColumn(zones, round(float(np.mean(sure)), 3)))
    return out


def _zone(sign: strips.Sign, confidence: float, scale: float, left: float, top: float) -> ProposedZone:
    outline = rectangle(left + sign.left / scale, top + sign.top / scale, sign.width / scale, sign.height / scale)
    return ProposedZone(outline, round(confidence, 3), sign.joined or sign.clear <= 0.7)


def _best(small: Image, kinds: tuple[str, ...], character: float | None) -> _Finding | None:
    """The size and kind whose signs explain most; every other size first, then the neighbours of the two best."""
    if character is not None:
        found = _at(small, character, kinds)
        return max(found, key=lambda f: f.score, default=None)
    most = min(small.shape[0] / 1.5, small.shape[1])
    least = max(SMALLEST, CHARACTER * float(np.sqrt(small.shape[0] * small.shape[1] / MOST_WORK)))
    sizes = [least * LADDER**i for i in range(40) if least * LADDER**i <= max(most, least)]
    # Each size costs as much as the whole search at that size, so half of the ladder is climbed first.
    coarse = {i: _at(small, sizes[i], kinds) for i in range(0, len(sizes), 2)}
    ranked = sorted(((f.score, i, f.kind) for i, found in coarse.items() for f in found), reverse=True)
    findings = [f for found in coarse.values() for f in found]
    # every other size first: neighbours on the ladder see much the same
    for _, i, kind in ranked[:2]:
        for j in (i - 1, i + 1):
            if 0 <= j < len(sizes) and j not in coarse:
                findings += _at(small, sizes[j], (kind,))
    if not findings:
        return None
    best = max(findings, key=lambda f: f.score)
    for _ in range(2):  # once more at the size its own columns show
        again = _at(small, best.character * _measured(best), (best.kind,))
        # The ladder has steps of 30 %, and a size in between fits the columns' own signs better.
        if not again or again[0].score <= best.score:
            break
        best = again[0]
    return best


def _measured(finding: _Finding) -> float:
    """Size of the signs found against the size looked for: their upper-middle width and height."""
    sides = [max(s.width, s.height) for signs, _ in finding.columns for s in signs if not s.joined]
    return float(np.clip(np.percentile(sides, 60) / CHARACTER, 0.7, 1.4)) if sides else 1.0


def _at(small: Image, character: float, kinds: tuple[str, ...]) -> list[_Finding]:
    """What is found, for each kind, when signs are taken to be ``character`` pixels high."""
    colour = marks.at_size(small, character)
    dark, light = marks.strengths(grey(colour))
    out = []
    for kind in kinds:
        found = marks.without_lines(marks.of_kind(dark, light, kind))
        where, clearness = marks.mask(found)
        if clearness < 3:
            continue
        labels, dots = marks.marks(found, where, colour)
        if len(dots) > MOST_MARKS:  # a texture
            continue
        columns = []
        for strip in strips.strips(found.shape, _one_ink(dots), labels):
            signs = _trimmed(strips.signs(strip, labels, found))
            if signs:
                columns.append((signs, _quality(signs)))
        # weak columns go before the score: a hundred specks of grain would outvote one worn verse
        columns = _settled(columns)
        if columns:
            out.append(_Finding(_score(columns) * (character / CHARACTER) ** EXPONENT, character, kind, columns))
    return out


def _score(columns: list[_Column]) -> float:
    """How much strong ink is explained as signs in good columns: what the sizes and kinds looked for compete by."""
    parts = []
    for signs, quality in columns:
        clear = float(np.mean([s.clear for s in signs]))
        ink_ = sum(s.area * max(0.0, s.strength - GRAIN) ** 1.5 for s in signs if not s.joined)
        parts.append(max(0.0, quality - 0.2) * clear * ink_)
    return float(sum(sorted(parts, reverse=True)[:MOST_COLUMNS]))


def _one_ink(dots: list[marks.Mark]) -> list[marks.Mark]:
    """Leave out marks of another colour than most: a red seal beside black writing."""
    if not dots:
        return dots
    red = np.array([m.red for m in dots])
    weight = np.array([m.area for m in dots], float)
    order = np.argsort(red)
    # The median by area: hundreds of red specks of a worn seal would outvote ten black signs.
    middle = red[order][np.searchsorted(np.cumsum(weight[order]), weight.sum() / 2)]
    return [m for m in dots if abs(m.red - middle) < 0.13]


def _trimmed(signs: list[strips.Sign]) -> list[strips.Sign]:
    """Drop specks: too little ink, or far weaker than the column's other signs."""
    if not signs:
        return signs
    usual = float(np.median([s.area for s in signs]))
    strong = float(np.median([s.strength for s in signs]))
    return [s for s in signs if s.area >= max(14, 0.1 * usual) and s.strength > 0.35 * strong
            and max(s.width, s.height) > 0.22 * CHARACTER]


def _quality(signs: list[strips.Sign]) -> float:
    """How much a column looks like writing, 0..1: several signs, alike in size, standing over one another."""
    widths = np.array([s.width for s in signs]) / CHARACTER
    heights = np.array([s.height for s in signs]) / CHARACTER
    sides = np.maximum(widths, heights)
    fit = float(np.mean(np.exp(-(np.log(sides) / 0.5) ** 2)))
    centres = np.array([(s.left + s.right) / 2 for s in signs]) / CHARACTER
    rows = np.array([(s.top + s.bottom) / 2 for s in signs]) / CHARACTER
    straight = 1.0
    if len(signs) > 2:
        # About the column's own line, since on a turned or round surface columns lean.
        away = centres - np.polyval(np.polyfit(rows, centres, 1), rows)
        straight = float(np.exp(-(away.std() / 0.3) ** 2))
    # Strokes fill an eighth to four fifths of their box: less is a hair or a frame, more is a blot or a nail.
    density = np.array([s.area / max(1.0, s.width * s.height) for s in signs])
    strokes = float(np.mean((density > 0.12) & (density < 0.8)))
    many = 1 - 0.75 ** len(signs)
    return fit * straight * strokes * many


def _settled(columns: list[_Column]) -> list[_Column]:
    """Leave out columns far weaker in ink or in likeness to writing than the best ones."""
    if not columns:
        return columns
    best = max(q for _, q in columns)
    weight = [(float(np.median([s.strength for s in signs])), q * len(signs)) for signs, q in columns]
    usual = np.average([w for w, _ in weight], weights=[n + 1e-6 for _, n in weight])
    return [(signs, q) for (signs, q), (w, _) in zip(columns, weight, strict=True)
            if q > 0.45 * best and w > 0.45 * usual and (len(signs) > 1 or q > 0.3 or best < 0.3)]


def _ordered(columns: list[tuple[list[_B], _T]], unit: float) -> list[tuple[list[_B], _T]]:
    """From the right; of two that stand over one another the upper first. ``unit``: the size of a usual sign."""
    def middle(signs: list[_B]) -> float:
        return float(np.mean([(s.left + s.right) / 2 for s in signs]))

    rest = sorted(columns, key=lambda c: -middle(c[0]))
    out = []
    while rest:
        x = middle(rest[0][0])
        # Two stretches of one column, parted by a hole, stand over one another and are read from above.
        group = [c for c in rest if x - middle(c[0]) < 0.6 * unit]
        out += sorted(group, key=lambda c: c[0][0].top)
        rest = [c for c in rest if not any(c is g for g in group)]
    return out


def _confidences(signs: list[strips.Sign], quality: float) -> list[float]:
    out = []
    for s in signs:
        side = max(s.width, s.height) / CHARACTER
        fit = float(np.exp(-(np.log(side) / 0.7) ** 2))
        out.append(float(np.clip(0.25 + 0.7 * quality * fit * s.clear * (0.6 if s.joined else 1.0), 0.02, 0.98)))
    return out
