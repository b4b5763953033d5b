"""The demo job: every step of the work on an invented piece, without a screen.

Conventions: first the program reads the photographs by itself, and what it finds is kept as it is. Then what a
reader would have judged (zones mended, candidates, confidences) comes from ``data/demo``, and each mend is told.
Everything computed is computed here and now. Nothing in the demo is a real object, maker or school; its photographs
are drawn with brush fonts that the models have learnt from, so real pieces are harder.
"""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from readaid.core.character import Candidate, Inscription, Text
from readaid.core.confidence import Damage, Status
from readaid.core.contents import Record
from readaid.core.entry import Translation
from readaid.core.errors import ReadaidError
from readaid.core.person import Person, Role
from readaid.core.photo import Photo, Point, Scale, rectangle
from readaid.core.places import share
from readaid.piece import folder as places
from readaid.piece.allotment import allot
from readaid.piece.claims import outside_text
from readaid.piece.open_piece import OpenPiece

Say = Callable[[str], Any]
READER = "Demo reader"


def run(folder: str | Path, say: Say = print) -> Path:
    """Do the whole job in ``folder``; returns the path of the HTML report.

    Nothing is ever deleted: where the folder holds a former demo piece, the next free name is taken
    (``readaid-demo-2``); a folder with anything else in it is refused.
    """
    folder = fresh(Path(folder).expanduser().resolve())
    with build(folder, say) as piece:
        say("9 Report")
        written = [piece.report(format=name) for name in ("html", "csv")]
        for path in written:
            say(f"  {path.relative_to(piece.folder)}")
        faults = piece.check_photos()
        say(f"  photos unchanged since they were taken in: {'yes' if not faults else '; '.join(faults)}")
        return written[0]


def build(folder: Path, say: Say = lambda _line: None) -> OpenPiece:
    """The demo piece in ``folder``, whole but for the report."""
    told: dict[str, Any] = json.loads((share("data") / "demo" / "piece.json").read_text(encoding="utf-8"))
    truth: dict[str, Any] = json.loads((share("data") / "demo" / "photos" / "truth.json").read_text(encoding="utf-8"))
    folder = fresh(folder)
    say("1 The piece")
    piece = OpenPiece.new(folder, reader=READER, **told["piece"])
    say(f"  {piece.piece.title}, {piece.piece.width:g} x {piece.piece.height:g} mm, kept in {piece.folder}")
    photos = _photos(piece, told, truth, say)
    say("3 What the program sees by itself, nobody helping")
    say("  (the photographs are drawn with brush fonts that the models have learnt from: real pieces are harder)")
    verse, signature = (_alone(piece, told["inscriptions"][key], photos[f"{key}_left.jpg"], say)
                        for key in ("verse", "signature"))
    say("4 What the reader mends, and what the reader takes each sign for")
    verse = _mended(piece, verse, told, truth, "verse", say)
    signature = _mended(piece, signature, told, truth, "signature", say)
    _read(piece, verse, say)
    _sign(piece, signature, told, say)
    _compare(piece, signature, told, truth, photos, say)
    _survey(piece, told, photos)
    _write_up(piece, {"verse": verse, "signature": signature}, told)
    return piece


def _survey(piece: OpenPiece, told: dict[str, Any], photos: dict[str, Photo]) -> None:
    """The condition as the reader describes it, and the stroke width of a sign at scale."""
    for kind, text in told["condition"]["layers"]:
        piece.survey.add_layer(kind, text)
    for name, outline, cause, advice, note in told["condition"]["regions"]:
        piece.survey.mark(photos[name], [tuple(p) for p in outline], cause, advice, note)


def _write_up(piece: OpenPiece, targets: dict[str, Inscription], told: dict[str, Any]) -> None:
    """The catalogue entry: what can be computed is taken over, the rest is the reader's own."""
    piece.write_up.accept(targets["verse"], "edited", "words", "season", "cutting", "allusions")
    for key, target in targets.items():
        fields: dict[str, Any] = dict(told["entries"][key])
        glosses = fields.pop("glosses", {})
        fields["translations"] = tuple(Translation(*t) for t in fields["translations"])
        words = piece.write_up.of(target).words
        if words:
            fields["words"] = tuple(dataclasses.replace(w, gloss=glosses.get(w.lemma, ""), source="reader")
                                    for w in words)
        piece.write_up.write(target, **fields)


def fresh(folder: Path) -> Path:
    """An empty folder for the demo: the one named, or beside a former demo the next free one.

    Raises ReadaidError where the folder holds anything else.
    """
    told = json.loads((share("data") / "demo" / "piece.json").read_text(encoding="utf-8"))
    for n in range(1, 1000):
        place = folder if n == 1 else folder.with_name(f"{folder.name}-{n}")
        if not place.exists() or (place.is_dir() and not any(place.iterdir())):
            return place
        if not places.is_piece(place):
            raise ReadaidError("The folder is not empty", str(place), "name a new folder for the demo piece")
        with OpenPiece(place, read_only=True) as old:
            # Only beside a former demo is a number put behind the name: in any other piece's folder the reader has
            # mistyped.
            if old.piece.inventory != told["piece"]["inventory"]:
                raise ReadaidError("Another piece is kept in this folder", str(place),
                                   "name a new folder for the demo piece")
    raise ReadaidError("There are too many demo pieces", str(folder), "name a new folder for the demo piece")


def _photos(piece: OpenPiece, told: dict[str, Any], truth: dict[str, Any], say: Say) -> dict[str, Photo]:
    say("2 Photos and scale")
    source = share("data") / "demo" / "photos"
    photos = {}
    for name, fields in told["photos"].items():
        direction = tuple(truth["lights"][name.split("_")[1].split(".")[0]])
        photo = piece.add_photo(source / name, rights=told["piece"]["rights"], light_direction=direction, **fields)
        a, b = (tuple(p) for p in truth["rule_ends"])
        edge = float(photo.height) / 2
        margin = 7.0 * truth["pixels_per_mm"]
        scale = Scale(a, b, truth["rule_mm"], "scale card", (margin, edge), (photo.width - margin, edge), 62.0,
                      "width of the piece, measured beside it on the card")
        photos[name] = piece.set_scale(photo, scale)
    one = photos["verse_left.jpg"]
    assert one.scale is not None
    say(f"  {len(photos)} photos of {one.width} x {one.height} pixels; {1 / one.scale.mm_per_pixel:.1f} pixels per mm;"
        f" second length differs by {100 * (one.scale.disagreement or 0):+.1f} %")
    return photos


def _alone(piece: OpenPiece, entry: dict[str, Any], photo: Photo, say: Say) -> Inscription:
    """The zones that the finder proposes, taken over as they are, and what they read as by shape and language: neither
    the verse form nor how many signs there are is told."""
    target = piece.layout.inscription(Text(entry["kind"]), photo)
    found = piece.layout.propose(photo)
    if not found:
        return target
    target = piece.layout.draw_columns(target, photo, found)
    shapes = ["".join(s.character for c in signs for s in piece.decipherment.suggest(c, k=1))
              for signs in piece.decipherment.characters(target)]
    say(f"  {entry['kind']}: {sum(map(len, found))} zones in {len(found)} columns; by shape alone {' / '.join(shapes)}")
    read = "".join(shapes)
    if target.kind is Text.VERSE:
        best = piece.propose_reading(target, k=1).readings[0]
        read = best.kana
        say(f"    by shape and language together {' / '.join(best.lines)} (share {best.probability:.0%})")
    cut = entry["cut"]
    right = sum(a == b for a, b in zip(read, cut, strict=False))
    say(f"    what was cut is {cut}: " + (f"{right} of {len(cut)} right" if len(read) == len(cut) else
                                          f"{len(read)} signs for {len(cut)}, {right} right from the front"))
    return piece.find(Inscription, target.id)


def _mended(piece: OpenPiece, target: Inscription, told: dict[str, Any], truth: dict[str, Any], key: str,
            say: Say) -> Inscription:
    """Zones that lie wrong are put right, and every sign gets the candidates of the reader.

    The reader's zones are those of the script that made the photographs; only where the finder missed a sign do they
    take the place of its own.
    """
    entry = dict(told["inscriptions"][key])
    columns = entry.pop("characters")
    photo = next(p for p in piece.contents.photos if p.id == target.photo)
    boxes = truth[key]["boxes"]
    own = {z.id: z for z in piece.contents.zones if z.photo == photo.id}
    missed: list[list[tuple[Point, ...]]] = []
    for c, column in enumerate(columns):
        outlines = [_padded(boxes[f"{c}-{i}"]) for i in range(len(column))]
        # Half in common, as the finder is measured everywhere.
        hit = [next((z for z in own.values() if overlap(z.box, _box(o)) >= 0.5), None) for o in outlines]
        for zone in filter(None, hit):
            own.pop(zone.id, None)
        missed.append([o for o, z in zip(outlines, hit, strict=True) if z is None])
    for zone in own.values():
        piece.layout.delete(zone)
    apart = [z.id for z in piece.contents.zones if z.photo == photo.id and outside_text(z)]
    if apart:  # the finder took a worn sign for no writing
        allot(piece, apart, "writing")
    if any(missed):
        piece.layout.draw_columns(target, photo, [m for m in missed if m])
    # Without a confidence it is the reader's own: they have looked and let it stand.
    right = [dataclasses.replace(z, confidence=None) for z in piece.contents.zones
             if z.photo == photo.id and z.confidence is not None]
    piece.save(*right, base=piece.contents, reason="proposed zones found right")
    say(f"  {entry['kind']}: {len(right)} zones right as proposed, {len(own)} taken away, "
        f"{sum(map(len, missed))} drawn by the reader (the demo draws it where the script cut the sign)")
    facts = {name: entry[name] for name in ("title", "surface", "place", "technique", "form") if name in entry}
    target = piece.change(piece.find(Inscription, target.id), reason="described", **facts)
    changed: list[Record] = []
    for signs, entries in zip(piece.decipherment.characters(target), columns, strict=True):
        for character, judged in zip(signs, entries, strict=True):
            candidates = tuple(Candidate(c, p, note) for c, p, note in judged["candidates"])
            changed.append(dataclasses.replace(character, candidates=candidates,
                                               damage=Damage(judged.get("damage", "not stated"))))
    piece.save(*changed, base=piece.contents, reason="candidates entered")
    for signs in piece.decipherment.characters(target):
        say("    " + "  ".join("/".join(c.character for c in sign.candidates) for sign in signs))
    return piece.find(Inscription, target.id)


def _read(piece: OpenPiece, verse: Inscription, say: Say) -> None:
    say("5 Readings")
    first = piece.decipherment.write_down(verse, "すゝはらひとひ？のうらにわらひこゑ".replace("？", "?"), 0.3,
                                     "first look, one lamp only", Status.OPEN)
    solution = piece.decipherment.solve(verse, form="hokku", k=5)
    for n, reading in enumerate(solution.readings[:3], start=1):
        say(f"  {n}. {' / '.join(reading.lines)}   morae {'-'.join(map(str, reading.morae))}"
            f"   share {reading.probability:.0%}")
    best = solution.readings[0]
    say(f"     {best.modern}   {best.romaji}")
    for reason in best.reasons:
        say(f"     {reason}")
    say("6 Register")
    kept = piece.decipherment.keep(verse, best, 0.8, "four lamps; scansion and season word agree with the date",
                              Status.PREFERRED, alternatives=solution.readings[1:])
    piece.decipherment.set_status(first, Status.SET_ASIDE, "a worn sign was left out")
    say(f"  {len(piece.contents.attempts)} attempts; preferred: {kept.kana} (confidence {kept.confidence:g})")


def _sign(piece: OpenPiece, signature: Inscription, told: dict[str, Any], say: Say) -> None:
    say("7 Signature and date")
    parses = piece.signers.parse(signature)
    if parses:
        kept = piece.signers.keep_signature(parses[0])
        say("  " + "  ".join(f"{p.text} ({p.kind})" for p in kept.parts))
    dated = piece.signers.keep_date("文政己丑季冬", signature)
    say(f"  {dated.text}: {dated.first} to {dated.last} ({dated.era} {dated.year}, {dated.cycle})")
    source = piece.add_source(**told["source"])
    persons: dict[str, Person] = {}
    for maker in told["school"]:
        fields: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in maker.items()
                                  if k not in ("key", "teacher", "specimens")}
        if "teacher" in maker:
            fields["teacher"] = persons[maker["teacher"]].id
        persons[maker["key"]] = Person(**fields)
    piece.save(*persons.values(), Role(persons["rotei"].id, "carver", inscription=signature.id, confidence=0.6,
                                       note="as the signature says"),
               Role(persons["rotei"].id, "author", source=source.id, confidence=0.3,
                    note="as the label in the box says"), reason="persons added")


def _compare(piece: OpenPiece, signature: Inscription, told: dict[str, Any], truth: dict[str, Any],
             photos: dict[str, Photo], say: Say) -> None:
    say("8 Monogram and school")
    photo = photos["signature_left.jpg"]
    zone, _ = piece.layout.draw(signature, photo, _padded(truth["signature"]["boxes"]["kao"]))
    say("  the monogram's zone is drawn by the reader (where the script cut it)")
    character = next(c for c in piece.contents.characters if zone.id in c.zones)
    piece.decipherment.tag(character, "花押", 0.9, "monogram, described, not read")
    own = piece.signers.add_specimen(zone, inscription=signature.id, what="monogram", year=1829)
    by_name = {p.name: p for p in piece.contents.persons}
    likeness = []
    for maker in told["school"]:
        for file, year in maker["specimens"]:
            taken = piece.add_photo(share("data") / "demo" / "photos" / file, surface="comparison",
                                    title=f"{maker['name']}, {year}", rights=told["piece"]["rights"])
            other = piece.signers.add_specimen(image=taken.file, person=by_name[maker["name"]].id, year=year)
            record = piece.signers.keep_comparison(own, other)
            likeness.append((record.likeness, maker["name"], year))
    for value, name, year in sorted(likeness, reverse=True):
        say(f"  {name} {year}: likeness {value:.2f}")
    say("  A likeness is evidence of form, not of authorship.")


def _padded(box: list[float], share_of: float = 0.06) -> tuple[Point, ...]:
    x, y, w, h = box
    dx, dy = w * share_of, h * share_of
    return rectangle(x - dx, y - dy, w + 2 * dx, h + 2 * dy)


def _box(outline: tuple[Point, ...]) -> tuple[float, float, float, float]:
    (x0, y0), (x1, y1) = outline[0], outline[2]
    return x0, y0, x1 - x0, y1 - y0


def overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> float:
    """Intersection over union of two rectangles (x, y, width, height), 0..1.

    >>> overlap((0, 0, 2, 2), (1, 0, 2, 2))
    0.3333333333333333
    """
    w = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
    h = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
    if w <= 0 or h <= 0:
        return 0.0
    inter = w * h
    return inter / (a[2] * a[3] + b[2] * b[3] - inter)
