"""The evidence behind the entry: photographs, each sign with who saw what, readings and attempts, other sources.

Conventions: what is told here is told by the register; the reader's sureness and a computed probability stand in
columns of their own. A blind copy shows photographs and crops, and no word that anybody wrote about them.
"""

from __future__ import annotations

from collections.abc import Iterator

from readaid._version import __version__
from readaid.core.attempt import Attempt
from readaid.core.character import Inscription
from readaid.core.confidence import word as confidence_word
from readaid.core.identity import now
from readaid.core.photo import Photo
from readaid.report import apparatus, cautions, departures
from readaid.report.document import Block, Cell, Facts, Paragraph, Picture, Points, Section, Table, filled
from readaid.report.matter import Matter, share


def photos(m: Matter) -> Section:
    """The table of photographs."""
    def row(n: int, p: Photo) -> tuple[Cell, ...]:
        scale = f"{1 / p.scale.mm_per_pixel:.1f}" if p.scale else ""
        off = p.scale.disagreement if p.scale else None
        if off is not None:
            scale += f" ({off:+.1%})"
        name = "; ".join(filter(None, (p.title or p.file, m.gaps.get(p.id))))
        return tuple(Cell(t) for t in (str(n), name, p.surface, m.lamp(p), f"{p.width} × {p.height}", scale,
                                       p.taken[:10], p.rights))
    heads = ("number", "file", "surface", "light", "size", "scale", "taken", "rights")
    rows = [row(n, p) for n, p in enumerate(m.contents.photos, start=1)]
    common = {r[-1].text for r in rows}
    blocks: list[Block] = []
    if rows:
        kept = [k for k in range(len(heads)) if any(r[k].text for r in rows)]
        if len(common) == 1 and len(rows) > 1 and "" not in common:  # one owner of all: told once, not in every row
            kept.remove(len(heads) - 1)
            blocks.append(Facts(((m.w("photo_rights"), common.pop()),)))
        blocks.insert(0, Table(tuple(m.w(heads[k]) for k in kept), tuple(tuple(r[k] for k in kept) for r in rows)))
    return Section("photos", m.w("photos"), tuple(blocks))


def inscription(m: Matter, target: Inscription) -> list[Section]:
    """Overview with numbers, apparatus, reading and attempts of one inscription."""
    numbers = m.numbers(target)
    head: list[Block] = []
    for photo in dict.fromkeys(z.photo for z in m.contents.zones if z.id in numbers):
        record = m.photos[photo]
        caption = f"{m.w('numbered')} {record.title or record.file}"
        if photo in m.gaps:  # a told gap: one photo must not keep the whole report from being written
            head.append(Paragraph(f"{caption}: {m.gaps[photo]}", "caution"))
            continue
        head.append(Picture(m.pictures.overview(photo, numbers), "image/jpeg", caption, 105, caption))
    signs = m.text(target).signs
    blocks = [*head, *(apparatus.tables(m, target, signs, numbers) if signs else [])]
    found = [Section(f"signs-{target.id}", f"{m.w('signs')}: {m.title(target)}", tuple(blocks))]
    attempts = m.attempts(target)
    best = m.best(target)
    if best is not None:
        found.append(Section(f"reading-{target.id}", m.w("reading"), tuple(reading(m, best)), 3))
    if attempts and attempts != [best]:  # the only one stands above, whole
        found.append(Section(f"attempts-{target.id}", m.w("attempts"), (_attempts(m, attempts),), 3))
    return found


def reading(m: Matter, best: Attempt) -> Iterator[Block]:
    """The layers of the reading that the report follows, where it departs from the signs, and its rivals."""
    rows = [("as_written", best.written), ("kana", best.kana), ("normal", best.normal), ("modern", best.modern),
            ("romaji", best.romaji),
            ("confidence", f"{best.confidence:.2f} {m.w(confidence_word(best.confidence))}"),
            ("probability", share(best.probability)), ("status", m.said("status", best.status.value)),
            ("evidence", best.evidence), ("reader", best.reader),
            ("time", best.made[:16].replace("T", " ")), ("note", best.note)]
    yield Facts(tuple((m.w(k), v) for k, v in rows if v))
    if told := departures.listed(best, m.language):
        yield Paragraph(m.w("reasons"), "lead")
        yield Points(told)
    if best.alternatives:
        yield Paragraph(m.w("alternatives"), "lead")
        yield Points(best.alternatives)


def _attempts(m: Matter, attempts: list[Attempt]) -> Table:
    heads = ("time", "reader", "as_written", "modern", "confidence", "probability", "status", "rejected", "evidence",
             "note")
    ordered = sorted(attempts, key=lambda a: a.made)
    rows = [tuple(Cell(t, japanese=k in (2, 3)) for k, t in enumerate((
        a.made[:16].replace("T", " "), a.reader, a.written, a.modern, f"{a.confidence:.2f}", share(a.probability),
        m.said("status", a.status.value), a.rejected, a.evidence, a.note))) for a in ordered]
    return filled(tuple(m.w(h) for h in heads), tuple(rows))


def sources(m: Matter) -> Section:
    """Evidence beside the piece, each with its weight."""
    rows = tuple((Cell(m.said("sourcekind", s.kind)), Cell(s.citation), Cell(m.said("weight", s.weight)), Cell(s.note))
                 for s in m.contents.sources)
    heads = ("kind", "citation", "weight_of", "note")
    return Section("sources", m.w("sources"), (Table(tuple(m.w(h) for h in heads), rows),) if rows else ())


def comment(m: Matter) -> Section:
    """What stands about the piece as a whole: translation and commentary of old registers, notes."""
    p = m.contents.piece
    rows = [("translation", p.translation), ("comment", p.commentary)]
    notes = tuple(filter(None, (p.notes, *(n.text for n in m.contents.notes))))
    blocks: list[Block] = [Facts(tuple((m.w(k), v) for k, v in rows if v))] if any(v for _, v in rows) else []
    blocks += [Points(notes)] if notes else []
    return Section("commentary", m.w("commentary"), tuple(blocks))


def handling(m: Matter) -> Section:
    """The cautions that fit the piece, once."""
    return Section("cautions", m.w("cautions"), (Points(tuple(cautions.fitting(m.contents, m.language)), "caution"),))


def record(m: Matter) -> Section:
    """How the report was made, and by which bytes each photograph is known."""
    rows = ((m.w("program"), f"readaid {__version__}"), (m.w("revision"), str(m.contents.revision)),
            (m.w("edition"), m.w(f"edition_{m.edition}")), (m.w("time"), now()[:16].replace("T", " ") + " UTC"),
            (m.w("reader"), m.contents.piece.reader))
    sums = tuple((p.file, m.gaps.get(p.id) or f"{m.w('hash')} {p.sha256}") for p in m.contents.photos)
    return Section("record", m.w("record"), (Facts(tuple(r for r in rows if r[1])), Facts(sums)))
