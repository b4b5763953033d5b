"""From the register's records to the one document model.

Conventions: sections come in the order of the work (piece, photos, each
inscription with its reading, signature, comparison, evidence, cautions, how
it was made); a section with nothing in it is left out. A blind copy holds what was
seen and nothing that was guessed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from readaid._version import __version__
from readaid.core.attempt import Attempt
from readaid.core.character import Inscription, Text
from readaid.core.confidence import Status
from readaid.core.confidence import word as confidence_word
from readaid.core.contents import Contents
from readaid.core.errors import OptionError, unknown_option
from readaid.core.identity import now
from readaid.core.photo import Photo
from readaid.register import hashes
from readaid.report import cautions, form_figures
from readaid.report.document import (
    Block,
    Cell,
    Document,
    Edition,
    Facts,
    Paragraph,
    Picture,
    Points,
    Section,
    Table,
    VerseLines,
)
from readaid.report.edition import EDITIONS, EditionSign, State, edit, key_to_marks
from readaid.report.pictures import Pictures
from readaid.report.terms import word
from readaid.script.hentaigana import letter
from readaid.script.verse_forms import Form, form


def build(contents: Contents, folder: Path, edition: str = "leiden", language: str = "en",
          blind: bool = False, files: Mapping[str, str] | None = None) -> Document:
    """Make the document of a piece from contents that have gone through the veil.

    ``files``: where each photo lies in the folder, by its id, where the veil gave it another name.

    A photo that has gone or is no longer the one taken in leaves a told gap. Raises OptionError for an unknown edition
    or language.
    """
    if edition not in EDITIONS:
        raise unknown_option("edition", edition, EDITIONS)
    return _Builder(contents, folder, edition, language, blind, files or {}).document()


@dataclasses.dataclass
class _Builder:
    contents: Contents
    folder: Path
    edition: str
    language: str
    blind: bool
    files: Mapping[str, str]

    def __post_init__(self) -> None:
        found = hashes.check(self.folder, [dataclasses.replace(p, file=self.files.get(p.id, p.file))
                                            for p in self.contents.photos]).photos
        #: why a photo cannot be shown, by its id: a file that is another than the one taken in is no evidence
        self.gaps = {p.photo.id: self.w("photo_changed" if p.state is hashes.State.CHANGED else "photo_missing")
                     for p in found if not p.sound}
        self.pictures = Pictures(self.contents, self.folder, self.files, frozenset(self.gaps))

    def w(self, key: str) -> str:
        return word(key, self.language)

    def document(self) -> Document:
        sections: list[Section | None] = [self.piece(), self.photos()]
        for inscription in self.contents.inscriptions:
            sections += self.inscription(inscription)
        sections += [self.signature(), self.specimens(), self.sources(), self.comment(), self.cautions(),
                     self.record()]
        piece = self.contents.piece
        subtitle = " · ".join(filter(None, (self.w("report"), piece.inventory, piece.place_kept,
                                            self.w("blind") if self.blind else "")))
        return Document(piece.title, subtitle, tuple(s for s in sections if s and s.blocks), self.language,
                        self.edition, now(), f"readaid {__version__}", self.blind)

    # -- the piece and its photos ---------------------------------------------------------------------
    def piece(self) -> Section:
        p = self.contents.piece
        sides = [f"{v:g}" for v in (p.width, p.height, p.depth) if v is not None]
        rows = [("title", p.title), ("inventory", p.inventory), ("kind", p.kind), ("material", p.material),
                ("technique", p.technique), ("dimensions", " x ".join(sides) + " mm" if sides else ""),
                ("weight", f"{p.weight:g} g" if p.weight is not None else ""), ("condition", p.condition),
                ("place_kept", p.place_kept), ("provenance", p.provenance), ("rights", p.rights)]
        blocks: list[Block] = [Facts(tuple((self.w(k), v) for k, v in rows if v))]
        if p.notes:
            blocks.append(Paragraph(p.notes, "note"))
        return Section("piece", self.w("piece"), tuple(blocks))

    def photos(self) -> Section:
        def row(n: int, p: Photo) -> tuple[Cell, ...]:
            scale = f"{1 / p.scale.mm_per_pixel:.1f}" if p.scale else ""
            off = p.scale.disagreement if p.scale else None
            if off is not None:
                scale += f" ({off:+.1%})"
            name = "; ".join(filter(None, (p.title or p.file, self.gaps.get(p.id))))
            return tuple(Cell(t) for t in (str(n), name, p.surface, p.light or p.evidence.value,
                                           f"{p.width} x {p.height}", scale, p.rights))
        heads = ("number", "file", "surface", "light", "size", "scale", "rights")
        rows = tuple(row(n, p) for n, p in enumerate(self.contents.photos, start=1))
        return Section("photos", self.w("photos"), (Table(tuple(self.w(h) for h in heads), rows),) if rows else ())

    # -- an inscription ---------------------------------------------------------------------------------
    def inscription(self, target: Inscription) -> list[Section]:
        attempts = [a for a in self.contents.attempts if a.inscription == target.id]
        best = preferred(attempts)
        text = edit(self.contents, target.id, best)
        title = target.title or f"{self.w('inscription')}: {target.kind.value}"
        facts = [(self.w(k), v) for k, v in (("surface", target.surface), ("place", target.place),
                                            ("technique", target.technique), ("form", target.form or ""),
                                            ("order_note", target.order_note)) if v]
        numbers = self.numbers(target)
        head: list[Block] = [Facts(tuple(facts))] if facts else []
        for photo in dict.fromkeys(z.photo for z in self.contents.zones if z.id in numbers):
            record = next(p for p in self.contents.photos if p.id == photo)
            caption = f"{self.w('numbered')} {record.title or record.file}"
            if photo in self.gaps:  # a told gap: one photo must not keep the whole report from being written
                head.append(Paragraph(f"{caption}: {self.gaps[photo]}.", "caution"))
                continue
            head.append(Picture(self.pictures.overview(photo, numbers), "image/jpeg", caption, 170, caption))
        if text.signs:
            head.append(Edition(text, f"{self.w('transcription')}. {self.w('vertical')}"))
            head += [Points(tuple(keys), "note")] if (keys := key_to_marks(self.edition, text, self.language)) else []
        if target.note:
            head.append(Paragraph(target.note, "note"))
        sections = [Section(f"inscription-{target.id}", title, tuple(head))]
        if text.signs:
            sections.append(Section(f"signs-{target.id}", self.w("signs"), (self.signs(text.signs, numbers),), 3))
        if attempts:
            if target.kind in (Text.VERSE, Text.PROSE) or best:
                sections.append(Section(f"reading-{target.id}", self.w("reading"), tuple(self.reading(best)), 3))
            sections.append(Section(f"attempts-{target.id}", self.w("attempts"), (self.attempts(attempts),), 3))
        return sections

    def numbers(self, target: Inscription) -> dict[str, int]:
        by_id = {c.id: c for c in self.contents.characters}
        zones = dict.fromkeys(z for c in target.characters if c in by_id for z in by_id[c].zones)
        return {zone: n for n, zone in enumerate(zones, start=1)}

    def signs(self, signs: Iterable[EditionSign], numbers: dict[str, int]) -> Table:
        by_id = {c.id: c for c in self.contents.characters}
        rows: list[tuple[Cell, ...]] = []
        for sign in signs:
            record = by_id[sign.character]
            data = self.pictures.crop(sign.zones)
            number = ", ".join(str(numbers[z]) for z in sign.zones if z in numbers)
            picture = Picture(data, "image/jpeg", f"{self.w('crop')} {number}", 18) if data else None
            parent = letter(sign.text) if sign.text else None
            sure = (f"{sign.confidence:.2f} {word(confidence_word(sign.confidence), self.language)}"
                    if sign.confidence is not None else "")
            seen = "; ".join(filter(None, (record.note, *(c.note for c in record.candidates if c.note))))
            others = "、".join(sign.others)
            rows.append((Cell(number), Cell("", picture), self.tracing(sign, number),
                         Cell(sign.text, japanese=True, dotted=sign.state is State.UNCLEAR),
                         Cell(parent.parent if parent else "", japanese=True), Cell(sure),
                         Cell(word(record.damage.value, self.language)), Cell(others, japanese=True), Cell(seen)))
        if self.blind:  # what the others say is judgement, and "intact" would be one
            return Table((self.w("number"), self.w("crop")), tuple(row[:2] for row in rows))
        heads = ["number", "crop", "tracing", "read_as", "parent", "confidence", "damage", "others", "note"]
        if not any(row[2].picture for row in rows):  # no column for nothing
            del heads[2]
            rows = [row[:2] + row[3:] for row in rows]
        return Table(tuple(self.w(h) for h in heads), tuple(rows))

    def tracing(self, sign: EditionSign, number: str) -> Cell:
        """The tracing of a sign (a blind copy has none: a tracing is an interpretation)."""
        found = self.pictures.traced(sign.zones)
        if found is None:
            return Cell("")
        data, by_hand = found
        alt = f"{self.w('tracing' if by_hand else 'tracing_proposed')} {number}"
        return Cell("" if by_hand else self.w("proposed"), Picture(data, "image/png", alt, 18))

    def reading(self, best: Attempt | None) -> Iterator[Block]:
        if best is None:
            yield Paragraph(self.w("no_reading"))
            return
        known = _verse_form(best.form)
        surplus = tuple(m - n for m, n in zip(best.morae, known.lines, strict=False)) if known else ()
        if best.lines:
            unit = self.w("morae" if known is None or known.unit == "mora" else "characters").lower()
            yield VerseLines(best.lines, best.morae, surplus, best.form or self.w("form_none"), unit)
        rows = [("as_written", best.written), ("kana", best.kana), ("normal", best.normal),
                ("modern", best.modern), ("romaji", best.romaji),
                ("confidence", f"{best.confidence:.2f} {word(confidence_word(best.confidence), self.language)}"),
                ("probability", _share(best.probability)),
                ("status", best.status.value), ("evidence", best.evidence), ("reader", best.reader)]
        yield Facts(tuple((self.w(k), v) for k, v in rows if v))
        if best.reasons:
            yield Paragraph(self.w("reasons"), "lead")
            yield Points(best.reasons)
        if best.alternatives:
            yield Paragraph(self.w("alternatives"), "lead")
            yield Points(best.alternatives)

    def attempts(self, attempts: list[Attempt]) -> Table:
        heads = ("time", "reader", "as_written", "modern", "confidence", "probability", "status", "evidence", "note")
        rows = tuple(tuple(Cell(t, japanese=k in (2, 3)) for k, t in enumerate((
            a.made[:16].replace("T", " "), a.reader, a.written, a.modern, f"{a.confidence:.2f}",
            _share(a.probability), a.status.value, a.evidence, a.note)))
            for a in sorted(attempts, key=lambda a: a.made))
        return Table(tuple(self.w(h) for h in heads), rows)

    # -- signature, forms, evidence ---------------------------------------------------------------------
    def signature(self) -> Section | None:
        blocks: list[Block] = []
        for signature in self.contents.signatures:
            rows = tuple((Cell(p.text, japanese=True), Cell(p.kind), Cell("、".join(p.readings), japanese=True),
                          Cell("; ".join(filter(None, (p.meaning, p.value))))) for p in signature.parts)
            blocks.append(Table(tuple(self.w(h) for h in ("as_written", "part", "reading", "meaning")), rows,
                                signature.text))
        for d in self.contents.dates:
            said = f"{d.text}: {d.first} – {d.last}" if d.first else d.text
            told = [f"{d.era} {d.year or '?'}".strip(), d.cycle]
            blocks.append(Facts(((self.w("date"), said + f" ({', '.join(t for t in told if t)})"),
                                 *(((self.w("note"), d.note),) if d.note else ()))))
        names = {p.id: p for p in self.contents.persons}
        rows = tuple((Cell(names[r.person].name, japanese=True), Cell(r.role), Cell(f"{r.confidence:.2f}"),
                      Cell(r.note)) for r in self.contents.roles if r.person in names)
        if rows:
            blocks.append(Table(tuple(self.w(h) for h in ("name", "role", "confidence", "note")), rows,
                                self.w("persons")))
        return Section("signature", self.w("signature"), tuple(blocks))

    def specimens(self) -> Section | None:
        return form_figures.section(self.contents, self.pictures, self.language)

    def sources(self) -> Section:
        rows = tuple((Cell(s.kind), Cell(s.citation), Cell(s.weight), Cell(s.note)) for s in self.contents.sources)
        heads = ("kind", "file", "evidence", "note")
        return Section("sources", self.w("sources"), (Table(tuple(self.w(h) for h in heads), rows),) if rows else ())

    def comment(self) -> Section | None:
        p = self.contents.piece
        rows = [("translation", p.translation), ("comment", p.commentary), ("not_read", p.not_read)]
        notes = tuple(n.text for n in self.contents.notes)
        blocks: list[Block] = [Facts(tuple((self.w(k), v) for k, v in rows if v))] if any(v for _, v in rows) else []
        blocks += [Points(notes)] if notes else []
        return Section("commentary", self.w("commentary"), tuple(blocks))

    def cautions(self) -> Section:
        return Section("cautions", self.w("cautions"), (Points(tuple(cautions.fitting(self.contents, self.language)),
                                                               "caution"),))

    def record(self) -> Section:
        rows = ((self.w("program"), f"readaid {__version__}"), (self.w("revision"), str(self.contents.revision)),
                (self.w("edition"), self.edition.capitalize()), (self.w("time"), now()[:16].replace("T", " ") + " UTC"),
                (self.w("reader"), self.contents.piece.reader))
        sums = tuple((p.file, self.gaps.get(p.id) or f"{self.w('hash')} {p.sha256}") for p in self.contents.photos)
        return Section("record", self.w("record"), (Facts(tuple(r for r in rows if r[1])), Facts(sums)))


def catalogue(document: Document) -> Document:
    """Only what a catalogue entry needs of the signature: signature and date, forms compared, cautions."""
    kept = tuple(s for s in document.sections if s.key in ("signature", "specimens", "cautions"))
    return dataclasses.replace(document, sections=kept)


def preferred(attempts: Iterable[Attempt]) -> Attempt | None:
    """The settled attempt, else the preferred one, the newest of several; None if there is neither."""
    for status in (Status.SETTLED, Status.PREFERRED):
        found = [a for a in attempts if a.status is status]
        if found:
            return max(found, key=lambda a: a.made)
    return None


def _verse_form(name: str | None) -> Form | None:
    """The verse form of a record; None where a reader wrote a name of his own."""
    try:
        return form(name) if name else None
    except OptionError:
        return None


def _share(probability: float | None) -> str:
    """A computed probability as text: never 0 %, since what was found cannot be impossible."""
    if probability is None:
        return ""
    return "< 1 %" if probability < 0.005 else f"{probability:.0%}"
