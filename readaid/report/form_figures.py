"""The part of a report on forms compared: figures with scale bars, table of measures, overlay, a careful sentence.

Conventions: a scale bar is drawn only where the photo has a scale; counts
are those written by hand or of a form as it was traced, never the machine's; a likeness is 0..1 and
evidence of form, never of authorship. The part can stand alone (format "catalogue").
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any

from PIL import Image

from readaid.core.contents import Contents
from readaid.core.errors import PhotoError, ShapeError
from readaid.core.photo import Photo, Zone, kept_tracing
from readaid.core.specimen import ComparisonRecord, FormCounts, Specimen
from readaid.report.document import Block, Cell, Paragraph, Picture, Section, Table, filled
from readaid.report.pictures import Pictures, jpeg, png, with_bar
from readaid.report.terms import said, word

#: How a form may be turned before it is compared (``forms.comparison.TURNS``, which loads the whole room).
TURNS = ("as it stands", "mirrored", "upside down")
COUNTS = ("proportions", "strokes", "ends", "crossings", "closed_spaces", "dots", "flourishes")


def section(contents: Contents, pictures: Pictures, language: str = "en") -> Section | None:
    """The section on specimens, or None when there is none."""
    if not contents.specimens:
        return None
    names = {p.id: p.name for p in contents.persons}
    blocks: list[Block] = [_measures(contents, pictures, names, language)]
    by_id = {s.id: s for s in contents.specimens}
    compared = sorted((c for c in contents.comparisons if c.a in by_id and c.b in by_id), key=lambda c: -c.likeness)
    if compared:
        blocks.append(_comparisons(compared, by_id, names, language))
        blocks += _nearest(compared, by_id, names, contents, pictures, language)
    blocks.append(Paragraph(word("likeness_caution", language), "caution"))
    return Section("specimens", word("specimens", language), tuple(blocks))


def label(specimen: Specimen, names: dict[str, str], language: str) -> str:
    """Whose form it is said to be, and its year; "this piece" where no owner is recorded."""
    owner = names.get(specimen.person or "", "") or word("this_piece", language)
    return ", ".join(filter(None, (owner, str(specimen.year or ""))))


def nearest(contents: Contents, zones: Iterable[str]) -> list[tuple[float, Specimen]]:
    """The kept forms that a monogram was compared with, the likest first, each with its likeness (0..1)."""
    own = {s.id for s in contents.specimens if s.zone in set(zones)}
    by_id = {s.id: s for s in contents.specimens}
    found = []
    for c in contents.comparisons:
        other = c.b if c.a in own else c.a if c.b in own else None
        if other in by_id:
            found.append((c.likeness, by_id[other]))
    return sorted(found, key=lambda pair: -pair[0])


def nearest_line(contents: Contents, zones: Iterable[str], language: str) -> str:
    """The nearest kept forms of a monogram in one line, with their likeness and the number compared; "" without any."""
    names = {p.id: p.name for p in contents.persons}
    found = nearest(contents, zones)
    if not found:
        return ""
    told = "; ".join(f"{label(form, names, language)} {likeness:.2f}" for likeness, form in found[:3])
    return f"{told} ({word('of_compared', language).format(count=len(found))})"


def comparanda(contents: Contents, pictures: Pictures, zones: Iterable[str], language: str,
               most: int = 2) -> list[tuple[bytes, str]]:
    """Pictures of the nearest kept forms, each with its caption: whose it is said to be and how like it is."""
    names = {p.id: p.name for p in contents.persons}
    out = []
    for likeness, form in nearest(contents, zones)[:most]:
        if (data := figure(form, contents, pictures)) is not None:
            out.append((data, f"{word('comparison', language)}: {label(form, names, language)} {likeness:.2f}"))
    return out


def figure(specimen: Specimen, contents: Contents, pictures: Pictures, longest: int = 220) -> bytes | None:
    """JPEG of a specimen with a scale bar where its photo has a scale; None where there is no picture."""
    photo, box = _where(specimen, contents)
    if photo is None:
        return pictures.plain(specimen.image) if specimen.image else None
    try:
        pixels = pictures.pyramid(photo.id).crop(box, 0.08)
    except PhotoError:
        return None
    image = Image.fromarray(pixels).convert("RGB")
    factor = longest / max(image.size)
    image = image.resize((max(1, round(image.width * factor)), max(1, round(image.height * factor))))
    return jpeg(with_bar(image, photo.scale.mm_per_pixel / factor if photo.scale else None))


def _where(specimen: Specimen, contents: Contents) -> tuple[Photo | None, tuple[float, float, float, float]]:
    photos = {p.id: p for p in contents.photos}
    zone = next((z for z in contents.zones if z.id == specimen.zone), None)
    if isinstance(zone, Zone) and zone.photo in photos:
        return photos[zone.photo], zone.box
    photo = next((p for p in contents.photos if p.id == specimen.photo or p.file == specimen.image), None)
    return photo, (0.0, 0.0, float(photo.width), float(photo.height)) if photo else (0.0, 0.0, 0.0, 0.0)


def _measures(contents: Contents, pictures: Pictures, names: dict[str, str], language: str) -> Table:
    rows = []
    for s in contents.specimens:
        counts, whose = _counts(s, contents)
        data = figure(s, contents, pictures)
        shown = label(s, names, language)
        numbers = [f"{value:.3g}" if counts and (value := getattr(counts, name)) is not None else "" for name in COUNTS]
        by = word(whose, language) if counts else ""
        rows.append((Cell(shown, Picture(data, "image/jpeg", shown, 20) if data else None, japanese=True),
                     Cell(said("kaokind", s.kind, language), japanese=not s.kind.isascii()),
                     *[Cell(n) for n in numbers], Cell(by), Cell(s.rights)))
    heads = ("form", "kind", *COUNTS, "counted", "rights")
    return filled(tuple(word("form_shown" if h == "form" else h, language) for h in heads), tuple(rows))


def _counts(specimen: Specimen, contents: Contents) -> tuple[FormCounts | None, str]:
    from readaid.forms.tracing_counts import hand_counts

    return hand_counts(specimen, contents.tracings)


def _comparisons(compared: list[ComparisonRecord], by_id: dict[str, Specimen], names: dict[str, str],
                 language: str) -> Table:
    def part(record: ComparisonRecord, name: str) -> Cell:
        return Cell(f"{dict(record.parts)[name]:.2f}" if name in dict(record.parts) else "")

    rows = tuple((Cell(label(by_id[c.a], names, language), japanese=True),
                  Cell(label(by_id[c.b], names, language), japanese=True), Cell(f"{c.likeness:.2f}"),
                  *[part(c, n) for n in ("outline", "structure", "dots")],
                  Cell("; ".join(filter(None, (c.note, how(c, language)))))) for c in compared)
    return filled(("A", "B", *(word(w, language) for w in ("likeness", "outline", "structure", "dots", "note"))), rows)


def how(record: ComparisonRecord, language: str) -> str:
    """How two forms were compared, in words; "" where both stood as they are photographed.

    >>> how(ComparisonRecord("x", "y", 0.5, turn="mirrored", traced=("a",)), "en")
    'A as traced, B mirrored'
    """
    said = [f"{side.upper()} {word('as_traced', language)}" for side in ("a", "b") if side in record.traced]
    if record.turn in TURNS[1:]:
        said.append(f"B {word(record.turn.replace(' ', '_'), language)}")
    return ", ".join(said)


def _compared(specimen: Specimen, traced: bool, contents: Contents, pictures: Pictures) -> Any:
    """The picture of a form that was compared: its tracing, or its photograph."""
    from readaid.forms.tracing_picture import drawn

    kept = kept_tracing(contents.tracings, specimen.zone or "") if traced else None
    if kept is not None:
        return drawn(kept.strokes)
    photo, box = _where(specimen, contents)
    if photo is None:
        raise ShapeError("The form has no picture", specimen.id)
    return pictures.pyramid(photo.id).crop(box, 0.08)


def _nearest(compared: list[ComparisonRecord], by_id: dict[str, Specimen], names: dict[str, str], contents: Contents,
             pictures: Pictures, language: str) -> list[Block]:
    """Overlay of the closest pair, the sentence that goes with it, and among how many it is the closest."""
    from readaid.forms.comparison import compare
    best = compared[0]
    try:
        first_crop, second_crop = (_compared(by_id[side], name in best.traced, contents, pictures)
                                   for name, side in (("a", best.a), ("b", best.b)))
        found = compare(first_crop, second_crop, turn=best.turn if best.turn in TURNS else TURNS[0])
    except (ShapeError, PhotoError):
        return []
    # The figures are those that were kept, whatever has been traced or mended since.
    found = dataclasses.replace(found, likeness=best.likeness, parts=dict(best.parts) or found.parts)
    first, second = (label(by_id[s], names, language) for s in (best.a, best.b))
    overlay = Picture(png(found.picture(360)), "image/png", f"{first} / {second}", 60,
                      f"{word('overlay', language)}: {first} / {second}")
    with_first = [c for c in compared if best.a in (c.a, c.b)]
    rank = word("rank_sentence", language).format(count=len(with_first), population=len(contents.specimens))
    return [overlay, Paragraph(_about(found, first, second, language) + " " + rank)]


def _about(found: Any, first: str, second: str, language: str) -> str:
    """The careful sentence on a pair in the report's language."""
    from readaid.forms.wording import about_pair

    if language == "en":
        return about_pair(found, first, second)
    change = found.change
    parts = "、".join(f"{word(name, language)} {value:.2f}" for name, value in found.parts.items())
    return word("about_pair", language).format(
        first=first, second=second, likeness=found.likeness, parts=parts, turn=abs(change.turn),
        stretch=max(change.stretch, 1 / change.stretch), places=len(found.differences))

