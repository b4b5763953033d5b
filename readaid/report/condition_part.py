"""The condition in a report: layers, regions drawn on their photograph, what is to be treated and what left alone.

Conventions: a region is numbered by capital letters and drawn with a pattern of its own beside its letter, so that
regions are told apart without colour; each names the signs it touches, so that a lost stroke has a reason.
"""

from __future__ import annotations

from string import ascii_uppercase

from readaid.core.condition import Region, touches
from readaid.report.document import Block, Cell, Facts, Paragraph, Picture, Section, Table, filled
from readaid.report.matter import Matter


def letters(m: Matter) -> dict[str, str]:
    """The letter of each region by its id: A, B ... Z, A2 ..."""
    return {r.id: ascii_uppercase[n % 26] + (str(n // 26 + 1) if n > 25 else "")
            for n, r in enumerate(m.contents.regions)}


def reasons(m: Matter, zones: tuple[str, ...]) -> list[Region]:
    """The regions that touch any of these zones on their own photo."""
    held = [z for z in m.contents.zones if z.id in zones]
    return [r for r in m.contents.regions
            if any(z.photo == r.photo and touches(z.outline, r.outline) for z in held)]


def section(m: Matter) -> Section:
    """The section, empty where nothing was surveyed."""
    c = m.contents
    blocks: list[Block] = []
    rows = [(m.said("layer", x.kind), " · ".join(filter(None, (x.text, x.surface, m.w("later") if x.later else ""))))
            for x in c.layers]
    blocks += [Facts(tuple(rows))] if rows else []
    names = letters(m)
    for photo in dict.fromkeys(r.photo for r in c.regions):
        if photo in m.photos and photo not in m.gaps:
            shown = m.pictures.regions(photo, {r.id: names[r.id] for r in c.regions if r.photo == photo})
            caption = f"{m.w('regions')}: {m.photos[photo].title or m.photos[photo].file}"
            blocks.append(Picture(shown, "image/jpeg", caption, 95, caption))
    if c.regions:
        blocks.append(_regions(m, names))
    blocks += _measures(m)
    lists = [(key, value) for key, value in (("treat", _advised(m, names, "for the conservator", c.piece.treat)),
                                             ("leave", _advised(m, names, "leave alone", c.piece.leave)),
                                             ("watch", _advised(m, names, "watch", ""))) if value]
    if lists:
        blocks.append(Facts(tuple((m.w(k), v) for k, v in lists)))
    if c.piece.treat or any(r.advice == "for the conservator" for r in c.regions):
        blocks.append(Paragraph(m.w("treat_caution"), "caution"))
    return Section("condition", m.w("condition_explains"), tuple(blocks))


def _advised(m: Matter, names: dict[str, str], advice: str, text: str) -> str:
    marked = [names[r.id] for r in m.contents.regions if r.advice == advice]
    return " · ".join(filter(None, (text, f"{m.w('regions')} {', '.join(marked)}" if marked else "")))


def _regions(m: Matter, names: dict[str, str]) -> Table:
    rows = []
    for r in m.contents.regions:
        touched = []
        for i in m.contents.inscriptions:
            numbers = m.numbers(i)
            mine = [str(numbers[z.id]) for z in m.contents.zones
                    if z.id in numbers and z.photo == r.photo and touches(z.outline, r.outline)]
            if mine:
                touched.append(f"{m.title(i)}: {', '.join(sorted(mine, key=int))}")
        rows.append((Cell(names[r.id]), Cell(m.said("cause", r.cause)), Cell(m.said("advice", r.advice)),
                     Cell("; ".join(touched)), Cell(r.note)))
    heads = ("region", "cause", "advice", "signs_touched", "note")
    return Table(tuple(m.w(h) for h in heads), tuple(rows))


def _measures(m: Matter) -> list[Block]:
    numbers = {z: f"{m.title(i)} {n}" for i in m.contents.inscriptions for z, n in m.numbers(i).items()}
    rows = tuple((Cell(numbers.get(x.zone, "")), Cell(f"{x.width:.3f} ± {x.width_error:.3f}"),
                  Cell(f"{x.depth:.3f} ± {x.depth_error or 0:.3f}" if x.depth is not None else ""), Cell(str(x.places)),
                  Cell(x.note)) for x in m.contents.measures)
    heads = ["sign_measured", "stroke_width", "stroke_depth", "measured_at", "note"]
    return [filled(tuple(m.w(h) for h in heads), rows)] if rows else []
