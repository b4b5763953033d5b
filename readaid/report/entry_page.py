"""The entry that an expert signs: what a printed catalogue says of a piece, inscription by inscription.

Conventions: the order is that of a catalogue (subject first; of an inscription: picture, transcription, parent kanji,
plain kana, edited text, reading, romanised, paraphrase, translations, words, season, allusion, date, signature,
monogram, what was not read). What nobody filled in is left out, never made up. No line of ours is in
two languages.
"""

from __future__ import annotations

from collections.abc import Iterator

from readaid.core.attempt import Attempt
from readaid.core.character import Inscription, Text
from readaid.core.citation import cite
from readaid.core.confidence import Damage
from readaid.core.confidence import word as confidence_word
from readaid.core.entry import Entry
from readaid.core.errors import OptionError
from readaid.report import condition_part, departures, signature_part
from readaid.report.document import (
    Block,
    Cell,
    Edition,
    Facts,
    Paragraph,
    Picture,
    Row,
    Section,
    VerseLines,
    Version,
    Versions,
    filled,
)
from readaid.report.edition import EditionText, State, key_to_marks, mark, parents, plain_kana
from readaid.report.matter import Matter
from readaid.script.verse_forms import Form, form

#: Width on paper of the picture of an inscription and of its enhanced copy, in mm.
PICTURE_MM = 62.0


def heading(m: Matter) -> Section:
    """The piece as a catalogue entry opens: subject, kind, maker, period, dimensions, material."""
    p = m.contents.piece
    sides = [f"{v:g}" for v in (p.height, p.width, p.depth) if v is not None]
    stuff = ", ".join(filter(None, (p.material, p.technique)))
    attributed = " · ".join(filter(None, (p.attributed, f"{m.w('by')} {p.attributed_by}" if p.attributed_by else "")))
    maker = " · ".join(filter(None, (p.maker, m.said("signed", p.signed) if p.signed else "")))
    known = [s.citation for s in m.contents.sources if s.kind == "literature"]
    rows = [("subject", p.subject), ("kind", p.kind), ("maker", maker), ("attributed", attributed),
            ("made_when", p.made_when), ("dimensions", " × ".join(sides) + " mm" if sides else ""),
            ("weight", f"{p.weight:g} g" if p.weight is not None else ""), ("material_technique", stuff),
            ("condition", p.condition), ("inventory", p.inventory), ("place_kept", p.place_kept),
            ("provenance", p.provenance), ("exhibited", p.exhibited),
            ("literature", "\n".join(filter(None, (p.literature, *known)))), ("rights", p.rights)]
    facts = Facts(tuple((m.w(k), v) for k, v in rows if v))
    return Section("piece", m.w("piece"), (facts,) if facts.rows else (), part="entry")


def inscription(m: Matter, target: Inscription) -> Section:
    """One inscription whole, in the order of the module's conventions."""
    best, text, entry = m.best(target), m.text(target), m.entry(target)
    blocks: list[Block] = list(_place(m, target))
    cells = _pictures(m, target)
    if text.signs:
        cells.append((Edition(text, m.w("transcription")),))
    if cells:
        blocks.append(Row(tuple(cells)))
    keys = key_to_marks(m.edition, text, m.language)
    blocks += [Paragraph(f"{m.w('vertical')}. " + " · ".join(keys), "note")] if text.signs else []
    blocks += _said(m, target, text, best, entry)
    blocks += _words(m, entry)
    blocks += _found(m, target, entry)
    blocks += signature_part.of(m, target)
    open_ends = (("uncertain", _uncertain(m, target, text)), ("not_read_why", m.told(entry.not_read)))
    if any(v for _, v in open_ends):
        blocks.append(Facts(tuple((m.w(k), v) for k, v in open_ends if v)))
    if target.note:
        blocks.append(Paragraph(target.note, "note"))
    return Section(f"inscription-{target.id}", m.title(target), tuple(blocks), part="entry")


def _place(m: Matter, target: Inscription) -> Iterator[Block]:
    kind = "" if target.kind is Text.UNKNOWN else m.said("text", target.kind.value)
    shape = m.said("form", target.form) if target.form else ""
    line = " · ".join(filter(None, (kind, shape, target.surface, target.place, target.technique)))
    if line and not m.blind:
        yield Paragraph(line, "place")
    if target.order_note:
        yield Facts(((m.w("order_note"), target.order_note),))


def _pictures(m: Matter, target: Inscription) -> list[tuple[Block, ...]]:
    """The picture with its scale bar, and beside it the same through a view; a photo that is gone is told."""
    zones = set(m.numbers(target))
    shown = next((z.photo for z in m.contents.zones if z.id in zones), target.photo)
    photo = m.photos.get(shown or "")
    if photo is None:
        return []
    name = " · ".join(filter(None, (photo.title or photo.file, m.lamp(photo))))
    if photo.id in m.gaps:
        return [(Paragraph(f"{name}: {m.gaps[photo.id]}", "caution"),)]
    plain, enhanced, view = m.pictures.beside(photo.id, zones)
    scaled = m.w("with_bar" if photo.scale else "no_scale")
    left = f"{name} · {scaled}"
    right = f"{m.w('enhanced')}: {m.said('view', view)}"
    return [(Picture(plain, "image/jpeg", left, PICTURE_MM, left),),
            (Picture(enhanced, "image/jpeg", f"{name} · {right}", PICTURE_MM, right),)]


def _said(m: Matter, target: Inscription, text: EditionText, best: Attempt | None, entry: Entry) -> Iterator[Block]:
    """The versions of the text from the signs to the translation, then the verse in its lines."""
    if m.blind:
        return
    between = "" if m.edition == "japanese" else " | "
    # a text without kana has no parents to tell, and its "plain kana" would say it a second time
    kana = any(p != s.text for s, p in zip(text.signs, parents(text).texts, strict=True))
    rows = [("parents", " | ".join("".join(c) for c in parents(text).columns) if kana else "", "ja"),
            ("plain", between.join(mark(plain_kana(text, best), m.edition)) if kana else "", "ja"),
            ("edited", entry.edited or (best.kana if best and kana else ""), "ja"),
            ("read_out", entry.read_out or (best.modern if best else ""), "ja"),
            ("romaji", entry.romanised or (best.romaji if best else ""), "ja-Latn"),
            ("paraphrase", entry.paraphrase, "ja")]
    versions = [Version(m.w(key), value, tongue) for key, value, tongue in rows if value]
    for t in entry.translations:
        by = f"{m.said('tongue', t.language)}" + (f", {t.translator}" if t.translator else "")
        versions.append(Version(f"{m.w('translation')} ({by})", t.text, t.language))
    if best is not None and best.lines and (best.form or target.kind is Text.VERSE):
        yield verse_lines(m, best)
    if versions:
        yield Versions(tuple(versions))
    if best is None and target.kind in (Text.VERSE, Text.PROSE):
        yield Paragraph(m.w("no_reading"))
    if best is not None:
        who = " · ".join(filter(None, (best.reader, best.made[:10], f"{m.w('confidence')} {best.confidence:.2f} "
                                       f"{m.w(confidence_word(best.confidence))}", best.evidence)))
        quoted = cite(m.contents.piece.id, best.id, m.contents.numbers.get(best.id) or m.contents.revision)
        yield Paragraph(f"{m.w('read_by')}: {who} · {m.w('cite_as')} {quoted}", "note")


def _uncertain(m: Matter, target: Inscription, text: EditionText) -> str:
    """The signs that are lost, not legible or doubted, by how sure the reader is and why; what else may stand there.

    "unsure: 2 ゝ/し, 4 う/り" names the number of the zone, the sign and its rivals.
    """
    if m.blind:
        return ""
    numbers = m.numbers(target)
    groups: dict[str, list[str]] = {}
    for sign in text.signs:
        open_ = sign.state in (State.ILLEGIBLE, State.LOST, State.RESTORED)
        if not open_ and not (sign.state is State.UNCLEAR and sign.doubtful):
            continue
        record = m.characters[sign.character]
        sure = m.w(confidence_word(sign.confidence)) if sign.confidence is not None else ""
        damage = "" if record.damage is Damage.NOT_STATED else m.w(record.damage.value)
        causes = [m.said("cause", r.cause) for r in condition_part.reasons(m, sign.zones)]
        why = ", ".join(dict.fromkeys(filter(None, (sure, damage, *causes, record.note))))
        number = ", ".join(str(numbers[z]) for z in sign.zones if z in numbers)
        groups.setdefault(why, []).append(f"{number} {'/'.join(filter(None, (sign.text, *sign.others)))}".strip())
    return "; ".join(f"{why}: {', '.join(signs)}" if why else ", ".join(signs) for why, signs in groups.items())


def verse_lines(m: Matter, best: Attempt) -> VerseLines:
    """The lines of a reading with their morae against the verse form."""
    known = verse_form(best.form)
    surplus = tuple(a - b for a, b in zip(best.morae, known.lines, strict=False)) if known else ()
    unit = m.w("morae" if known is None or known.unit == "mora" else "characters").lower()
    return VerseLines(best.lines, best.morae, surplus, m.said("form", best.form) if best.form else m.w("form_none"),
                      unit)


def verse_form(name: str | None) -> Form | None:
    """The verse form of a record; None where a reader wrote a name of his own."""
    try:
        return form(name) if name else None
    except OptionError:
        return None


def _words(m: Matter, entry: Entry) -> list[Block]:
    if not entry.words:
        return []
    rows = tuple((Cell(w.form, japanese=True), Cell(w.lemma, japanese=True), Cell(m.said("pos", w.part)),
                  Cell(w.gloss), Cell(m.said("source", w.source))) for w in entry.words)
    heads = [m.w(h) for h in ("word_form", "lemma", "word_class", "gloss", "gloss_by")]
    return [filled(tuple(heads), rows, m.w("words"))]


def _found(m: Matter, target: Inscription, entry: Entry) -> list[Block]:
    """What the text holds and alludes to, how it belongs to the picture, why it is dated so."""
    joined = [(key, "、".join(departures.season(w, m.language) for w in values)) for key, values in (
        ("season", entry.season), ("cutting", entry.cutting), ("places", entry.places), ("pillows", entry.pillows))]
    for a in entry.allusions:
        told = (m.said("verdict", a.verdict), a.text, m.told(a.reference))
        joined.append(("known_verse", " · ".join(filter(None, told))))
    cut = m.said("cut", entry.cut) if entry.cut != "not stated" else ""
    if entry.tool_width is not None:
        cut = " · ".join(filter(None, (cut, f"{m.w('tool_width')} {entry.tool_width:g} mm")))
    joined += [("picture_text", entry.picture), ("date_argument", entry.date_argument), ("cut", cut),
               ("comment", entry.comment)]
    rows = tuple((m.w(key), value) for key, value in joined if value)
    return [Facts(rows)] if rows else []


def signing(m: Matter) -> Section:
    """Who answers for the entry, made when and from what, and a line to sign on."""
    if m.blind:
        return Section("signing", "", (), part="entry")
    names = (m.contents.piece.reader, *(a.reader for a in m.contents.attempts))
    readers = "、".join(dict.fromkeys(filter(None, names)))
    used = {z.photo for z in m.contents.zones}
    seen = "; ".join(f"{p.title or p.file} ({m.lamp(p)})" for p in m.contents.photos if p.id in used)
    days = sorted(a.made[:10] for a in m.contents.attempts)
    when = "" if not days else days[0] if days[0] == days[-1] else f"{days[0]} – {days[-1]}"
    rows = [("readers", readers), ("read_when", when), ("read_from", seen), ("not_read", m.contents.piece.not_read)]
    facts = Facts(tuple((m.w(k), v) for k, v in rows if v))
    return Section("signing", m.w("signing"), (facts, Paragraph(m.w("sign_here"), "signing")), 3, "entry")
