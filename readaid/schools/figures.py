"""Figures of a study, to print: matrix, joining tree, tree of teachers, map, drift, calibration curve.

Conventions
-----------
* Each is a ``forms.sheet.Sheet`` in millimetres, ready to be written as SVG, PDF or PNG; labels in either script.
* Below each stands a caption: what is shown, how many forms and makers, by which method and version, and that likeness
  is no proof of authorship. Axes have titles and units; makers differ in mark as well as in colour.
* Figures draw what a study holds and compare nothing anew. What stands on them is in the language spoken now; sentences
  that the study finished are told sentence by sentence.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from PIL import Image

from readaid._version import __version__
from readaid.core.errors import ReadaidError, unknown_option
from readaid.core.texts import plural, told, wording
from readaid.forms.sheet import Sheet
from readaid.forms.sheet_items import COLOURS, width_of
from readaid.forms.wording import CAUTION
from readaid.schools.dendrogram import Dendrogram
from readaid.schools.drift import Drift
from readaid.schools.odds import Odds
from readaid.schools.plane import Map
from readaid.schools.tree import tree_of
from readaid.schools.year_axis import TOLD, level_axis, years_beside, years_of

#: A cell of the matrix in mm, and the widest sheet (a page of A4 less its margins).
_CELL, _WIDE = 7.0, 170.0


class Compared(Protocol):
    """What a figure asks of a study."""

    @property
    def title(self) -> str: ...
    @property
    def entries(self) -> Sequence[Any]: ...
    @property
    def makers(self) -> Sequence[Any]: ...
    @property
    def owners(self) -> Sequence[str | None]: ...
    @property
    def labels(self) -> Sequence[str]: ...
    @property
    def settings(self) -> Sequence[tuple[str, str]]: ...
    @property
    def likeness(self) -> Any: ...
    @property
    def odds(self) -> Odds: ...
    def dendrogram(self) -> Dendrogram: ...
    def map(self) -> Map: ...
    def drift(self, maker: str) -> Drift: ...


def caption(study: Compared, what: str) -> str:
    """What stands under a figure: the subject, n, method and version."""
    makers = len({o for o in study.owners if o})
    what = what.replace(CAUTION, "").strip()  # the short one stands at the end
    forms = plural(len(study.entries), "{0} form", "{0} forms")
    among = plural(makers, "{0} maker", "{0} makers")
    method = told(dict(study.settings)["method"])
    return wording("{0}: {1} n = {2} of {3}. readaid {4}, {5}. Likeness of form is no proof of authorship.",
                   study.title, what, forms, among, __version__, method)


def sentences(text: str) -> str:
    """A text that the study finished, sentence by sentence in the language spoken now.

    >>> sentences("The map shows 61 % of the spread. Look.")
    'The map shows 61 % of the spread. Look.'
    """
    return wording(" |between sentences").join(told(one) for one in re.split(r"(?<=[.]) (?=[A-Z])", text) if one)


def closed(sheet: Sheet, top: float, text: str) -> Sheet:
    """The sheet with its caption set below ``top`` and cut off there."""
    sheet.caption = text
    sheet.height = sheet.paragraph(6, top + 4, sheet.width - 12, text) + 2
    return sheet


def thumbnail(pixels: Any, side: int = 240) -> Image.Image:
    """A form's picture, small enough for a figure (``side`` pixels are 20 mm at 300 dpi)."""
    picture = Image.fromarray(np.asarray(pixels, np.uint8)).convert("RGB")
    picture.thumbnail((side, side))
    return picture


def matrix(study: Compared) -> Sheet:
    """Likeness of every two forms: the darker the more alike, each cell with its figure up to thirty forms."""
    n = len(study.entries)
    order = sorted(range(n), key=lambda i: (study.owners[i] is None, _name(study, i),
                                            study.entries[i].specimen.year or 0))
    left = 8 + max(width_of(f"{k}  {study.labels[i]}", 7) for k, i in enumerate(order, 1))
    cell = min(_CELL, (_WIDE - left - 6) / n)
    sheet = Sheet(max(left + cell * n + 26, 90), 400, wording("Likeness matrix: {0}", study.title))
    top = 14.0
    sheet.words(left + cell * n / 2, 6, wording("form (number as in the rows)"), size=7, anchor="middle")
    low = float(study.likeness[np.triu_indices(n, 1)].min())
    for row, i in enumerate(order):
        y = top + cell * row
        sheet.words(left - 2, y + cell * 0.65, f"{study.labels[i]}  {row + 1}", size=min(7, cell * 2.2), anchor="end")
        sheet.words(left + cell * (row + 0.5), top - 2, str(row + 1), size=min(7, cell * 2.2), anchor="middle")
        for column, k in enumerate(order):
            value = float(study.likeness[i, k])
            grey = _shade(value, low) if i != k else "#ffffff"
            sheet.box(left + cell * column, y, cell, cell, fill=grey, colour="#ffffff", edge=0.15)
            if i != k and n <= 30:
                dark = (value - low) / max(1 - low, 1e-9) > 0.55
                sheet.words(left + cell * (column + 0.5), y + cell * 0.62, f"{value:.2f}"[1:], size=min(6, cell * 0.9),
                            anchor="middle", colour="#ffffff" if dark else "#1a1a1a")
    x = left + cell * n + 6
    for step in range(40):
        sheet.box(x, top + 40 - step, 4, 1.05, fill=_shade(low + (1 - low) * step / 39, low), edge=0)
    for value in (low, (1 + low) / 2, 1.0):
        sheet.words(x + 5, top + 41 - 40 * (value - low) / max(1 - low, 1e-9), f"{value:.2f}", size=6)
    sheet.words(x, top - 4, wording("likeness"), size=7)
    return closed(sheet, top + max(cell * n, 42), caption(study, wording(
        "likeness of every two forms, 0 to 1 (darker is more alike; the diagonal is left white).")))


def _shade(value: float, low: float) -> str:
    share = min(max((value - low) / max(1 - low, 1e-9), 0), 1)
    pale, deep = (247, 248, 250), (0, 54, 92)
    return "#" + "".join(f"{round(p + (d - p) * share):02x}" for p, d in zip(pale, deep, strict=True))


def _name(study: Compared, i: int) -> str:
    maker = study.entries[i].maker
    return maker.name if maker else wording("not known")


def marks(names: Sequence[str]) -> dict[str, int]:
    """The mark of each name, in the order in which they are met."""
    return {name: k for k, name in enumerate(dict.fromkeys(names))}


def joining(study: Compared) -> Sheet:
    """Which forms join first, with thumbnails and the support of each group; years beside where any are known."""
    tree = study.dendrogram()
    n = len(tree.names)
    row = 12.0 if n <= 24 else 6.0
    who = marks([_name(study, i) for i in tree.order])
    text = 10 + max(width_of(name, 8) for name in tree.names) + row + 6
    sheet = Sheet(_WIDE, 16 + row * n + 40, wording("Joining tree: {0}", study.title))
    dated = any(years_of(e).known for e in study.entries)
    top, right = 8.0, _WIDE - 12
    if dated:  # three fifths of the width for the joins, the rest for the years
        right = text + (_WIDE - 12 - text) * 0.6
    high = max(g.height for g in tree.groups) or 1.0
    y = {i: top + row * (k + 0.5) for k, i in enumerate(tree.order)}
    x: dict[int, float] = dict.fromkeys(range(n), text)
    for i in tree.order:
        sheet.words(text - row - 5, y[i] + 1.2, tree.names[i], size=8, anchor="end")
        sheet.picture(text - row - 2, y[i] - row / 2 + 0.5, row - 1, row - 1, thumbnail(study.entries[i].pixels),
                      wording("form: {0}", tree.names[i]))
        sheet.mark(text - row - 3.4, y[i], who[_name(study, i)], 1.8)
    for k, (a, b) in enumerate(tree.joins[:, :2].astype(int)):
        group = tree.groups[k]
        at = text + (right - text) * group.height / high
        sheet.line((x[a], y[a]), (at, y[a]), (at, y[b]), (x[b], y[b]), width=0.7 if group.firm else 0.25)
        y[n + k], x[n + k] = (y[a] + y[b]) / 2, at
        if group.support is not None and len(group.members) < n:
            sheet.words(at + 0.8, y[n + k] - 0.8, f"{round(group.support * 100)}", size=6.5)
    base = top + row * n + 3
    level_axis(sheet, text, right, base, 0.0, high, wording("distance, -ln(likeness)"), "{:.1f}")
    if dated:
        kinds = {i: who[_name(study, i)] for i in tree.order}
        years_beside(sheet, study.entries, {i: y[i] for i in tree.order}, kinds, (right + 10, _WIDE - 8), base)
    drawn = wording("forms joined by mean distance (UPGMA); figures: support in % of {0} resamplings; heavy lines: "
                    "more support than a group of that size reaches by chance in one of twenty trees.", tree.rounds)
    said = [drawn, sentences(tree.text), *([sentences(TOLD)] if dated else [])]
    return closed(sheet, base + 9, caption(study, wording(" |between sentences").join(said)))


def teachers(study: Compared) -> Sheet:
    """Makers from teacher to pupil on an axis of years, a form of each beside the name; undated ones stand apart."""
    tree = tree_of(study.makers)
    places = tree.walk()
    begins = {p.maker.id: p.maker.active_from or p.maker.born for p in places}
    ends = {p.maker.id: p.maker.active_to or p.maker.died for p in places}
    dated = [v for v in (*begins.values(), *ends.values()) if v is not None]
    low, high = (min(dated), max(dated)) if dated else (0, 1)
    high = max(high, low + 1)
    row, left = 13.0, 52.0
    sheet = Sheet(_WIDE, 20 + row * len(places) + 30, wording("Makers and years: {0}", study.title))
    right, top = _WIDE - 8, 8.0
    y = {p.maker.id: top + row * (k + 0.5) for k, p in enumerate(places)}

    def x_of(year: int) -> float:
        return left + (right - left) * (year - low) / (high - low)

    shown = {e.maker.id: e for e in reversed(study.entries) if e.maker is not None}
    for p in places:
        here, begin, end = p.maker.id, begins[p.maker.id], ends[p.maker.id]
        sheet.words(38, y[here] + 1.2, p.maker.name, size=8, anchor="end")
        if here in shown:
            sheet.picture(39.5, y[here] - 5.5, 11, 11, thumbnail(shown[here].pixels),
                          wording("a form of {0}", p.maker.name))
        if begin is not None or end is not None:
            x0, x1 = x_of(begin if begin is not None else end or low), x_of(end if end is not None else begin or high)
            sheet.line((x0, y[here]), (max(x1, x0 + 1), y[here]), width=1.4, colour=COLOURS[0])
            years = "–".join("?" if v is None else str(v) for v in (begin, end))
            sheet.words(x0, y[here] - 1.6, years, size=6.5)
        elif dated:
            sheet.words(left + 1, y[here] + 1.2, wording("no dates"), size=6.5)
    for a, b in tree.lines:
        teacher, pupil = tree.places[a].maker.id, tree.places[b].maker.id
        if begins[pupil] is not None and (begins[teacher] is not None or ends[teacher] is not None):
            x = x_of(begins[pupil] or low)
            sheet.line((x, y[teacher]), (x, y[pupil]), width=0.3, dash=(1.2, 0.8))
            sheet.mark(x, y[teacher], 6, 1.2)
        else:
            sheet.line((4, y[teacher]), (4, y[pupil]), (6, y[pupil]), width=0.3, dash=(1.2, 0.8))
    base = top + row * len(places) + 2
    if dated:
        level_axis(sheet, left, right, base, low, high, wording("year"), "{:.0f}")
    return closed(sheet, base + (9 if dated else 1), caption(
        study, wording("makers with their working years (else years of life); broken lines go from teacher to pupil.")))


def plane(study: Compared) -> Sheet:
    """The forms on a plane, near ones near; one mark a maker."""
    found = study.map()
    who = marks(found.groups)
    legend = 14 + max(width_of(name, 7) for name in who)
    wide = _WIDE - legend - 16
    span = np.ptp(found.at, 0) + 1e-9
    scale = min((wide - 8) / float(span[0]), 150 / float(span[1]))
    high = float(span[1]) * scale + 8
    sheet = Sheet(_WIDE, high + 60, wording("Map: {0}", study.title))
    left, top = 14.0, 6.0
    sheet.box(left, top, wide, max(high, 30))
    xy = (found.at - found.at.min(0)) * scale + (left + (wide - float(span[0]) * scale) / 2, top + 4)
    for (x, y), group in zip(xy, found.groups, strict=True):
        sheet.mark(float(x), float(y), who[group])
    bar = 10 ** np.floor(np.log10(max((wide / 3) / scale, 1e-9)))
    foot = top + max(high, 30)
    sheet.line((left, foot + 4), (left + bar * scale, foot + 4), width=0.6)
    sheet.words(left, foot + 7.5, wording("distance {0} (-ln of likeness)", f"{bar:g}"), size=7)
    sheet.words(left + wide / 2, foot + 7.5, wording("first axis"), size=7, anchor="middle")
    sheet.words(left - 4, top + max(high, 30) / 2, wording("second axis"), size=7, anchor="middle", turn=90)
    for k, (name, kind) in enumerate(who.items()):
        sheet.mark(left + wide + 6, top + 3 + 4.4 * k, kind)
        sheet.words(left + wide + 9, top + 4 + 4.4 * k, name, size=7)
    bottom = max(foot + 8, top + 4.4 * len(who) + 3)
    return closed(sheet, bottom, caption(study, wording(
        "the forms by their distances (classical scaling). {0}", sentences(found.text))))


def drift(study: Compared, maker: str) -> Sheet:
    """Distance from the earliest dated form of one maker (name or id) against the year, thumbnails above."""
    found = study.drift(maker)
    entries = [e for e in study.entries if e.maker is not None and maker in (e.maker.id, e.maker.name)
               and e.specimen.year is not None]
    name = entries[0].maker.name if entries[0].maker else maker
    sheet = Sheet(_WIDE, 120, wording("{0} over the years: {1}", name, study.title))
    left, right, top, foot = 18.0, _WIDE - 10, 22.0, 76.0
    years, far = np.array(found.years), np.array(found.from_first)
    x = left + 5 + (years - years.min()) / max(float(np.ptp(years)), 1) * (right - left - 10)
    most = max(float(far.max()), 1e-9)
    y = foot - far / most * (foot - top - 4)
    sheet.line((left, top), (left, foot))
    for share in (0, 0.5, 1.0):
        at = foot - share * (foot - top - 4)
        sheet.line((left - 1.2, at), (left, at))
        sheet.words(left - 2, at + 1, f"{most * share:.1f}", size=6.5, anchor="end")
    sheet.words(6, (top + foot) / 2, wording("distance from the earliest form"), size=7, anchor="middle", turn=90)
    last = -99.0
    for k, place in enumerate(found.order):
        sheet.mark(float(x[k]), float(y[k]), 0)
        if float(x[k]) - last >= 14:  # where years crowd, only some of the forms can be shown
            sheet.picture(float(x[k]) - 6.5, 4, 13, 13, thumbnail(entries[place].pixels),
                          wording("form of {0}", f"{years[k]:.0f}"))
            sheet.words(float(x[k]), 20, f"{years[k]:.0f}", size=6.5, anchor="middle")
            last = float(x[k])
    level_axis(sheet, left + 5, right - 5, foot + 1, float(years.min()), float(max(years.max(), years.min() + 1)),
               wording("year"), "{:.0f}")
    return closed(sheet, foot + 11, caption(study, sentences(found.text.replace(CAUTION, "").strip())))


def calibration(study: Compared) -> Sheet:
    """Stated against observed likelihood ratio of the odds measured in this study."""
    odds = study.odds
    sheet = Sheet(100, 130, wording("Calibration of odds: {0}", study.title))
    left, right, top, foot = 18.0, 92.0, 6.0, 80.0
    most = max(odds.most, *(abs(v) for p in odds.curve for v in (p.stated, p.observed)), 1.0)

    def at(stated: float, observed: float) -> tuple[float, float]:
        return (left + (right - left) * (stated + most) / 2 / most, foot - (foot - top) * (observed + most) / 2 / most)

    sheet.box(left, top, right - left, foot - top)
    sheet.line(at(-most, -most), at(most, most), dash=(1.5, 1.0))
    for p in odds.curve:
        sheet.mark(*at(p.stated, p.observed), 0, 2.6)
        sheet.words(at(p.stated, p.observed)[0] + 2, at(p.stated, p.observed)[1] + 3, f"{p.same} : {p.other}", size=6)
    for value in (-most, 0.0, most):
        sheet.words(at(value, 0)[0], foot + 4, f"{value:.1f}", size=6.5, anchor="middle")
        sheet.words(left - 1.5, at(0, value)[1] + 1, f"{value:.1f}", size=6.5, anchor="end")
    sheet.words((left + right) / 2, foot + 8, wording("stated, log10 of the likelihood ratio"), size=7, anchor="middle")
    sheet.words(6, (top + foot) / 2, wording("observed, log10"), size=7, anchor="middle", turn=90)
    return closed(sheet, foot + 9, caption(study, wording(
        "{0} Figures beside the points: own maker : others.", sentences(odds.text))))


#: Figures by name; ``drift`` alone wants a maker.
FIGURES: Mapping[str, Callable[..., Sheet]] = {"matrix": matrix, "tree": joining, "makers": teachers, "map": plane,
                                               "drift": drift, "calibration": calibration}


def figure(study: Compared, kind: str, maker: str | None = None) -> Sheet:
    """One of ``FIGURES`` by name; raises OptionError for another, ShapeError where the study is too small for it."""
    if kind not in FIGURES:
        raise unknown_option("figure", kind, FIGURES)
    if kind == "drift":
        name = maker or next((e.maker.name for e in study.entries if e.maker is not None), "")
        return drift(study, name)
    return FIGURES[kind](study)


def drifting(study: Compared) -> list[str]:
    """Names of the makers with three dated forms or more: of fewer no change over the years is drawn unasked."""
    dated = Counter(e.maker.name for e in study.entries if e.maker is not None and e.specimen.year is not None)
    return [name for name, many in dated.items() if many >= 3]


def written(study: Compared, folder: Path, endings: Sequence[str] = ("pdf",)) -> tuple[list[Path], dict[str, str]]:
    """Write every figure that the study allows, drift for each maker with three dated forms; and why others lack.

    Raises ReportError where the folder cannot be written.
    """
    wanted: list[tuple[str, str | None]] = [(kind, None) for kind in FIGURES if kind != "drift"]
    wanted += [("drift", maker) for maker in drifting(study)]
    paths: list[Path] = []
    lacking: dict[str, str] = {}
    for number_of, (kind, of) in enumerate(wanted, 1):
        try:
            sheet = figure(study, kind, of)
        except ReadaidError as error:
            lacking[kind] = str(error)
            continue
        # numbered, not named after makers: a maker's name need not be a file name everywhere
        paths += [sheet.save(folder / f"{number_of:02d}-{kind}.{ending}") for ending in endings]
    return paths, lacking
