"""Pictures for the report: the photo with numbered zones, crops of signs, overlays.

Conventions: files are read from the piece folder and never changed; every
picture made here is a fresh JPEG or PNG without metadata (no position, owner
or serial number). Tracings are drawn at the size and in the frame of their
crop. Zones are in full-size pixels; widths on paper in mm.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFont

from readaid.core.contents import Contents
from readaid.core.errors import PhotoError, ReportError
from readaid.core.photo import Photo, Tracing, Zone
from readaid.core.progress import Progress, Tally, unheard
from readaid.photo import views
from readaid.photo.file import window
from readaid.photo.pyramid import Pyramid
from readaid.report import label_places

#: Colours that stay apart for colour-blind eyes (Okabe and Ito's palette: orange, sky blue).
OUTLINE, LABEL = (230, 159, 0), (86, 180, 233)

#: Lengths a scale bar may have, in mm.
BARS = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0)


@dataclass
class Pictures:
    """Pictures of one piece; photos are decoded once each, whatever is cut from them."""

    contents: Contents
    folder: Path
    files: Mapping[str, str] = field(default_factory=dict)  # where a photo lies, if not where its record says
    absent: frozenset[str] = frozenset()  # photos whose file has gone or is another: nothing is cut from them
    progress: Progress = unheard  # told before each picture

    def __post_init__(self) -> None:
        self._pyramids: dict[str, Pyramid] = {}
        # How many there will be is reckoned: signs once, photographs three times.
        self._begun = Tally(self.progress, len(self.contents.characters) + 3 * len(self.contents.photos))

    @cached_property
    def _photos(self) -> dict[str, Photo]:
        return {p.id: p for p in self.contents.photos}

    @cached_property
    def _zones(self) -> dict[str, Zone]:
        return {z.id: z for z in self.contents.zones}

    def pyramid(self, photo: str) -> Pyramid:
        """The photo's pyramid; raises PhotoError when the file has gone or lies outside the folder."""
        if photo in self.absent:
            raise PhotoError("The photo is not the one that was taken in, or has gone", self._photos[photo].file)
        if photo not in self._pyramids:
            record = self._photos[photo]
            path = (self.folder / self.files.get(photo, record.file)).resolve()
            if not path.is_relative_to(self.folder.resolve()):
                raise PhotoError("The register names a photo outside the piece folder", record.file)
            self._pyramids[photo] = Pyramid(path)
        return self._pyramids[photo]

    def overview(self, photo: str, numbers: dict[str, int], longest: int = 1400) -> bytes:
        """JPEG of the photo with outlines and numbers of the zones named in ``numbers``.

        Where the writing fills less than about half of the photo each way, only the part round it is shown, so that
        the numbers can be read (a colophon at the end of a scroll).
        """
        self._begun()
        pyramid = self.pyramid(photo)
        zones = {z: n for z, n in numbers.items() if z in self._zones and self._zones[z].photo == photo}
        left, top, width, height = self._part(photo, zones)
        if (width, height) == (pyramid.width, pyramid.height) and max(width, height) >= longest:
            image = Image.fromarray(pyramid.overview_pixels).convert("RGB")
        else:
            image = Image.fromarray(pyramid.crop((left, top, width, height))).convert("RGB")
        image.thumbnail((longest, longest))
        factor = image.width / width
        boxes = {z: _shifted(self._zones[z].box, left, top, factor) for z in zones}
        _numbered(image, boxes, zones, {z: [((x - left) * factor, (y - top) * factor)
                                            for x, y in self._zones[z].outline] for z in zones})
        return jpeg(image)

    def beside(self, photo: str, zones: Iterable[str], longest: int = 1000) -> tuple[bytes, bytes, str]:
        """The writing's part of a photo with a scale bar, the same through a view, and that view's name.

        The view is the reader's own last one of this photo, else local contrast; both JPEGs show the same part.
        """
        self._begun()
        box = self._part(photo, {z: 0 for z in zones if z in self._zones and self._zones[z].photo == photo})
        pixels = self.pyramid(photo).crop(box)
        image = Image.fromarray(pixels).convert("RGB")
        image.thumbnail((longest, longest))
        factor = image.width / pixels.shape[1]
        record = self._photos[photo]
        mm = record.scale.mm_per_pixel / factor if record.scale else None
        kept = next((v for v in reversed(self.contents.views) if v.photo == photo and v.view in views.VIEWS), None)
        name, values = (kept.view, dict(kept.values)) if kept else ("local contrast", {})
        seen = views.apply(name, np.asarray(image), values, mm, scale=factor)
        return jpeg(with_bar(image, mm)), jpeg(with_bar(Image.fromarray(seen).convert("RGB"), mm)), name

    def regions(self, photo: str, names: Mapping[str, str], longest: int = 1000) -> bytes:
        """JPEG of the whole photo with marked regions: outline, hatching of its own direction, and letter beside it."""
        self._begun()
        pyramid = self.pyramid(photo)
        image = Image.fromarray(pyramid.overview_pixels).convert("RGB")
        image.thumbnail((longest, longest))
        factor = image.width / pyramid.width
        held = [r for r in self.contents.regions if r.id in names]
        outlines = [[(x * factor, y * factor) for x, y in r.outline] for r in held]
        for n, outline in enumerate(outlines):
            _hatched(image, outline, n)
        draw = ImageDraw.Draw(image)
        font = ImageFont.load_default(size=max(12, image.width // 50))
        boxes = [(min(p[0] for p in o), min(p[1] for p in o), max(p[0] for p in o), max(p[1] for p in o))
                 for o in outlines]
        sizes = [draw.textbbox((0, 0), names[r.id], font=font) for r in held]
        spots = label_places.places(boxes, [(b[2] + 4.0, b[3] + 3.0) for b in sizes], image.size)
        for r, box, spot in zip(held, boxes, spots, strict=True):
            at = spot.box if spot else (*box[:2], box[0] + 20.0, box[1] + 20.0)  # a region that fills the photo
            draw.rectangle(at, fill=(20, 20, 20))
            draw.text((at[0] + 2, at[1] + 1), names[r.id], fill=OUTLINE, font=font)
        return jpeg(image)

    def _part(self, photo: str, zones: dict[str, int]) -> tuple[float, float, float, float]:
        """The part of a photo to show: round the zones where that makes them much larger, else the whole."""
        pyramid = self.pyramid(photo)
        whole = (0.0, 0.0, float(pyramid.width), float(pyramid.height))
        if not zones:
            return whole
        boxes = [self._zones[z].box for z in zones]
        margin = 1.5 * max(max(b[2], b[3]) for b in boxes)
        left = max(0.0, min(b[0] for b in boxes) - margin)
        top = max(0.0, min(b[1] for b in boxes) - margin)
        right = min(whole[2], max(b[0] + b[2] for b in boxes) + margin)
        bottom = min(whole[3], max(b[1] + b[3] for b in boxes) + margin)
        worth_it = 2 * max(right - left, bottom - top) < max(whole[2:])
        return (left, top, right - left, bottom - top) if worth_it else whole

    def crop(self, zones: tuple[str, ...], longest: int = 160, margin: float = 0.08) -> bytes | None:
        """JPEG of the area of the zones (those on the first one's photo), or None without a zone or a photo."""
        self._begun()
        records = [self._zones[z] for z in zones if z in self._zones]
        if not records or records[0].photo not in self._photos:
            return None
        same = [r.box for r in records if r.photo == records[0].photo]
        left, top = min(b[0] for b in same), min(b[1] for b in same)
        right, bottom = max(b[0] + b[2] for b in same), max(b[1] + b[3] for b in same)
        try:
            pixels = self.pyramid(records[0].photo).crop((left, top, right - left, bottom - top), margin)
        except PhotoError:
            return None
        image = Image.fromarray(pixels).convert("RGB")
        image.thumbnail((longest, longest))
        return jpeg(image)

    def traced(self, zones: tuple[str, ...], longest: int = 160, margin: float = 0.08) -> tuple[bytes, bool] | None:
        """PNG of the tracing of a sign, framed as :meth:`crop` frames it, and whether a reader drew it.

        None without a tracing. A reader's tracing goes before one proposed by the computer; a tracing in millimetres
        needs the photo's scale.
        """
        records = [self._zones[z] for z in zones if z in self._zones]
        records = [r for r in records if r.photo == records[0].photo and r.photo in self._photos]
        if not records:
            return None
        photo = self._photos[records[0].photo]
        kept: dict[str, Tracing] = {}
        for tracing in self.contents.tracings:
            if tracing.unit != "mm" or photo.scale:
                former = kept.get(tracing.zone)
                if former is None or (tracing.by == "reader" and former.by != "reader"):
                    kept[tracing.zone] = tracing
        found = [(r, kept[r.id]) for r in records if r.id in kept]
        if not found:
            return None
        boxes = [r.box for r in records]
        x, y = min(b[0] for b in boxes), min(b[1] for b in boxes)
        box = (x, y, max(b[0] + b[2] for b in boxes) - x, max(b[1] + b[3] for b in boxes) - y)
        left, top, right, bottom = window((photo.width, photo.height), box, margin)
        factor = min(1.0, longest / max(right - left, bottom - top))
        over = 3  # drawn three times as large and reduced: Pillow's lines have hard edges
        size = (max(1, round((right - left) * factor)), max(1, round((bottom - top) * factor)))
        image = Image.new("L", (size[0] * over, size[1] * over), 255)
        draw = ImageDraw.Draw(image)
        width = max(2, round(max(size) * over / 40))
        for zone, tracing in found:
            unit = 1 / photo.scale.mm_per_pixel if tracing.unit == "mm" and photo.scale else 1.0
            for stroke in tracing.strokes:
                points = [((zone.box[0] + px * unit - left) * factor * over,
                           (zone.box[1] + py * unit - top) * factor * over) for px, py in stroke]
                if len(points) > 1:
                    draw.line(points, fill=20, width=width, joint="curve")
                for px, py in (points[0], points[-1]) if points else ():  # round ends; a dot is a stroke, too
                    draw.ellipse((px - width / 2, py - width / 2, px + width / 2, py + width / 2), fill=20)
        by_hand = all(t.by == "reader" for _, t in found)
        return png(image.resize(size, Image.Resampling.LANCZOS)), by_hand

    def plain(self, file: str, longest: int = 240) -> bytes | None:
        """JPEG of a picture file in the piece folder, small; None when it cannot be read."""
        self._begun()
        path = (self.folder / file).resolve()
        if not path.is_relative_to(self.folder.resolve()) or not path.is_file():
            return None
        try:
            image = Image.fromarray(Pyramid(path).overview_pixels).convert("RGB")
        except PhotoError:
            return None
        image.thumbnail((longest, longest))
        return jpeg(image)


def _hatched(image: Image.Image, outline: list[tuple[float, float]], number: int) -> None:
    """Hatch an outline with lines of the direction and distance of its number; what lies below stays to be seen."""
    mask = Image.new("L", image.size)
    ImageDraw.Draw(mask).polygon(outline, fill=255)
    lines = Image.new("L", image.size)
    draw = ImageDraw.Draw(lines)
    step, slope = (9, 13, 17)[number // 4 % 3], ((1, 0), (0, 1), (1, 1), (1, -1))[number % 4]
    reach = image.width + image.height
    for at in range(-reach, 2 * reach, step):
        a, b = slope
        if b == 0:
            draw.line((0, at, image.width, at), fill=255)
        elif a == 0:
            draw.line((at, 0, at, image.height), fill=255)
        else:
            draw.line((at, 0, at + b * reach, reach), fill=255)
    image.paste(OUTLINE, mask=ImageChops.multiply(mask, lines))
    ImageDraw.Draw(image).line([*outline, outline[0]], fill=LABEL, width=2)


def _shifted(box: tuple[float, float, float, float], left: float, top: float,
             factor: float) -> tuple[float, float, float, float]:
    x, y, w, h = box
    return ((x - left) * factor, (y - top) * factor, (x + w - left) * factor, (y + h - top) * factor)


def _numbered(image: Image.Image, boxes: Mapping[str, tuple[float, float, float, float]], numbers: Mapping[str, int],
              outlines: Mapping[str, list[tuple[float, float]]]) -> None:
    """Draw the outlines and the numbers where they cover nothing; where there is no room a number is set smaller."""
    draw = ImageDraw.Draw(image)
    for points in outlines.values():
        draw.line([*points, points[0]], fill=OUTLINE, width=2)
    names = list(boxes)
    for size in (max(11, round(image.width / 55)), 10, 8):
        font = ImageFont.load_default(size=size)
        sizes = [draw.textbbox((0, 0), str(numbers[z]), font=font) for z in names]
        found = label_places.places([boxes[z] for z in names], [(b[2] + 4.0, b[3] + 3.0) for b in sizes], image.size)
        if all(found):
            break
    for zone, place in zip(names, found, strict=True):
        if place is None:  # the list of signs still tells it: a number on the writing would hide what it is about
            continue
        x0, y0, x1, y1 = place.box
        if place.tied:
            bx0, by0, bx1, by1 = boxes[zone]
            end = (min(max((x0 + x1) / 2, bx0), bx1), min(max((y0 + y1) / 2, by0), by1))
            draw.line([((x0 + x1) / 2, (y0 + y1) / 2), end], fill=OUTLINE, width=1)
        draw.rectangle((x0, y0, x1, y1), fill=(20, 20, 20))
        draw.text((x0 + 2, y0 + 1), str(numbers[zone]), fill=LABEL, font=font)


def with_bar(image: Image.Image, mm_per_pixel: float | None) -> Image.Image:
    """The picture with a bar and its length below it; unchanged without a scale.

    >>> with_bar(Image.new("RGB", (100, 50)), 0.1).size
    (100, 68)
    """
    if not mm_per_pixel:
        return image
    length = max((b for b in BARS if b / mm_per_pixel <= image.width * 0.6), default=None)
    if length is None:
        return image
    out = Image.new("RGB", (image.width, image.height + 18), "white")
    out.paste(image, (0, 0))
    draw = ImageDraw.Draw(out)
    y = image.height + 9
    draw.rectangle((2, y - 1, 2 + round(length / mm_per_pixel), y + 1), fill="black")
    draw.text((6 + round(length / mm_per_pixel), y - 7), f"{length:g} mm", fill="black",
              font=ImageFont.load_default(size=11))
    return out


def jpeg(image: Image.Image, quality: int = 85) -> bytes:
    """JPEG bytes without metadata."""
    stream = io.BytesIO()
    try:
        image.convert("RGB").save(stream, "JPEG", quality=quality)
    except OSError as error:
        raise ReportError("A picture for the report could not be made", str(error)) from error
    return stream.getvalue()


def png(image: Image.Image) -> bytes:
    """PNG bytes without metadata."""
    stream = io.BytesIO()
    image.save(stream, "PNG")
    return stream.getvalue()
