"""Views: ways of looking at a photo that show the writing and change nothing.

Conventions: a view has a plain name and a slider or two; its function takes uint8 RGB (height, width, 3) and gives
uint8 RGB of the same size. ``scale`` is pixels here per full-size pixel (1/4 at level 2), ``mm_per_pixel`` that of the
pixels here. ``whole`` is what a view found on the overview, ``frame`` the part's place in the photo (left, top, right,
bottom as shares 0..1): with them, and ``reach`` pixels of surroundings, tiles join without seams.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from readaid.core.errors import OptionError, unknown_option
from readaid.core.photo import ViewSetting
from readaid.photo import operators as op
from readaid.photo.raster import Bytes, eight_bit, rgb

Frame = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Slider:
    """One setting of a view. ``when`` is "scale" or "no scale" for a width that is set in mm or in pixels."""

    name: str
    label: str
    min: float
    max: float
    default: float
    unit: str = ""
    when: str = ""


@dataclass(frozen=True, slots=True)
class Here:
    """Where a view works: see the module's conventions."""

    scale: float
    mm_per_pixel: float | None
    whole: Any
    frame: Frame

    def pixels(self, values: Mapping[str, float], name: str) -> float:
        """A length set as ``name``_mm (where the photo has a scale) or ``name``_px, in pixels here."""
        if self.mm_per_pixel and f"{name}_mm" in values:
            return values[f"{name}_mm"] / self.mm_per_pixel
        return values[f"{name}_px"] * self.scale


def _none(values: Mapping[str, float], here: Here) -> float:
    return 0.0


def _nothing(image: Bytes, values: Mapping[str, float], scale: float) -> Any:
    return None


@dataclass(frozen=True, slots=True)
class View:
    """A way of looking. ``hint`` says in one sentence what it is good for; ``mirrors`` that left and right change."""

    name: str
    hint: str
    sliders: tuple[Slider, ...]
    function: Callable[[Bytes, Mapping[str, float], Here], Bytes]
    reach: Callable[[Mapping[str, float], Here], float] = _none
    whole: Callable[[Bytes, Mapping[str, float], float], Any] = _nothing
    mirrors: bool = False

    def sliders_for(self, has_scale: bool) -> tuple[Slider, ...]:
        """The sliders to show for a photo with or without a scale."""
        return tuple(s for s in self.sliders if s.when in ("", "scale" if has_scale else "no scale"))


def apply(name: str, image: Any, values: Mapping[str, float] | None = None, mm_per_pixel: float | None = None,
          scale: float = 1.0, *, whole: Any = None, frame: Frame = (0.0, 0.0, 1.0, 1.0)) -> Bytes:
    """The image (height, width[, 3]) through a view, as uint8 (height, width, 3).

    Raises OptionError for an unknown view or slider or a value out of range, PhotoError for an empty or wrong image.

    >>> apply("dark and light swapped", np.full((2, 2), 250, np.uint8))[0, 0].tolist()
    [5, 5, 5]
    """
    name, given = setting(name, values)
    pixels = rgb(eight_bit(image))
    if not name:
        return pixels
    view = EVERY[name]
    if whole is None:
        whole = view.whole(pixels, given, scale)
    return view.function(pixels, given, Here(scale, mm_per_pixel, whole, frame))


def setting(view: ViewSetting | str | None, values: Mapping[str, float] | None = None) -> tuple[str, dict[str, float]]:
    """A view's name and all its slider values, defaults filled in; ("", {}) for the plain photo.

    Raises OptionError for an unknown view, an unknown slider or a value outside its range.
    """
    if isinstance(view, ViewSetting):
        recorded = dict(view.values)
        view, values = view.view, {**recorded, **(values or {})}
    if not view or view == "plain":
        return "", {}
    if view not in EVERY:
        raise unknown_option("view", view, ["plain", *EVERY])
    sliders = {s.name: s for s in EVERY[view].sliders}
    given = {n: s.default for n, s in sliders.items()}
    for key, value in (values or {}).items():
        if key not in sliders:
            raise unknown_option(f"slider of '{view}'", key, sliders)
        slider = sliders[key]
        if not slider.min <= value <= slider.max:  # also refuses NaN
            raise OptionError(f"{slider.label} cannot be {value:g}", view,
                              f"choose {slider.min:g} to {slider.max:g} {slider.unit}".rstrip(), value=value)
        given[key] = float(value)
    return view, given


def record(photo: str, view: str, values: Mapping[str, float] | None = None) -> ViewSetting:
    """The view as it goes into the register, every slider named, so that it can be shown again."""
    name, given = setting(view, values)
    return ViewSetting(photo, name or "plain", tuple(sorted(given.items())))


def whole(name: str, overview: Bytes, values: Mapping[str, float], scale: float) -> Any:
    """What the view has to know of the whole photo."""
    return EVERY[name].whole(overview, values, scale)


def reach(name: str, values: Mapping[str, float], mm_per_pixel: float | None, scale: float) -> int:
    """Pixels of surroundings that a pixel of this view depends on; at most 1,024."""
    here = Here(scale, mm_per_pixel, None, (0.0, 0.0, 1.0, 1.0))
    return min(1024, int(np.ceil(EVERY[name].reach(values, here))))


def _channel(index: int) -> Callable[[Bytes, Mapping[str, float], Here], Bytes]:
    return lambda image, values, here: rgb(np.ascontiguousarray(image[:, :, index]))


_WIDTH = (Slider("width_mm", "Stroke width", 0.05, 5.0, 0.5, "mm", "scale"),
          Slider("width_px", "Stroke width", 1.0, 80.0, 8.0, "px", "no scale"))

VIEWS: dict[str, View] = {v.name: v for v in (
    View("even light", "Takes out a lamp that is brighter at one side, and slow stains.",
         (Slider("size", "Patch size", 1.0, 50.0, 8.0, "% of the photo"),
          Slider("strength", "Strength", 0.0, 100.0, 100.0, "%")),
         lambda i, v, h: op.even_light(i, h.whole, h.frame, v["strength"] / 100),
         whole=lambda i, v, s: op.light_field(i, v["size"] / 100)),
    View("local contrast", "Makes faint writing stand out in dark and in light places alike.",
         (Slider("patch_px", "Patch size", 8.0, 300.0, 60.0, "px"), Slider("gain", "Strength", 0.0, 100.0, 60.0, "%")),
         lambda i, v, h: op.local_contrast(i, v["patch_px"] * h.scale, v["gain"] / 100),
         lambda v, h: 3 * v["patch_px"] * h.scale + 2),
    View("stain off", "Takes out of the brightness what the colour alone explains: rust, patina, foxing.",
         (Slider("strength", "Strength", 0.0, 100.0, 100.0, "%"),),
         lambda i, v, h: op.stain_off(i, h.whole, v["strength"] / 100), whole=lambda i, v, s: op.stain_model(i)),
    View("colours apart", "Spreads colours that lie close together (decorrelation): stain and ink, inlay and ground.",
         (Slider("spread", "Spread", 10.0, 80.0, 40.0, "levels"),),
         lambda i, v, h: op.colours_apart(i, h.whole, v["spread"]), whole=lambda i, v, s: op.colour_model(i)),
    View("fine cut", "Shows lines of one width, cut or drawn, dark on light; slow changes and wide stains go.",
         (*_WIDTH, Slider("kind", "Dark lines, both, light lines", -1.0, 1.0, 0.0),
          Slider("gain", "Strength", 1.0, 100.0, 50.0, "%")),
         lambda i, v, h: op.fine_cut(i, h.pixels(v, "width"), v["kind"], v["gain"] / 100, h.whole),
         lambda v, h: 3 * h.pixels(v, "width") + 4),
    View("black and white", "A tracing: each place against its own surroundings.",
         (Slider("patch_px", "Patch size", 8.0, 400.0, 60.0, "px"),
          Slider("threshold", "Threshold", 1.0, 80.0, 20.0, "%"),
          Slider("light_writing", "Writing lighter than the ground (0 no, 1 yes)", 0.0, 1.0, 0.0)),
         lambda i, v, h: op.tracing(i, v["patch_px"] * h.scale, v["threshold"] / 100, v["light_writing"] >= 0.5),
         lambda v, h: v["patch_px"] * h.scale + 2),
    View("red channel", "Red light only: hides red seals and rust.", (), _channel(0)),
    View("green channel", "Green light only.", (), _channel(1)),
    View("blue channel", "Blue light only: shows yellow stains, gold and red ink dark.", (), _channel(2)),
    View("colour strength", "How coloured each place is, grey black: inlay and lacquer against the ground.",
         (Slider("gain", "Strength", 1.0, 10.0, 2.0, "times"),), lambda i, v, h: op.colour_strength(i, v["gain"])),
    View("dark and light swapped", "For rubbings and negatives.", (), lambda i, v, h: 255 - i),
    View("mirrored", "For rubbings and casts read from the back; left and right change places.", (),
         lambda i, v, h: np.ascontiguousarray(i[:, ::-1]), mirrors=True),
)}
#: For pictures of a surface's normals only (see ``relief.colours``): the surface lit from wherever it is wanted.
SURFACE_VIEWS: dict[str, View] = {v.name: v for v in (
    View("lamp moved", "The bare surface, without its colour, under a lamp that goes round the piece, clockwise from "
                       "the right; cuts show best when it is low.",
         (Slider("side", "Lamp goes round", 0.0, 360.0, 225.0, "degrees"),
          Slider("height", "Lamp's height", 5.0, 85.0, 25.0, "degrees"),
          Slider("depth", "Slopes steeper", 1.0, 8.0, 2.0, "times")),
         lambda i, v, h: op.relit(i, v["side"], v["height"], v["depth"])),
)}
EVERY = {**VIEWS, **SURFACE_VIEWS}
