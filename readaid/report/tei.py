"""TEI XML for the record, by the EpiDoc guidelines.

Conventions: one ``ab`` per inscription in ``div[@type='edition']`` with ``lb``
per column from the right; each sign points to its zone in ``facsimile``.
``unclear`` says ambiguous outside its context, ``supplied`` lost and restored,
``gap`` lost or illegible, ``choice`` holds the other candidates with ``cert``.
The reader's confidence becomes ``cert`` (high, medium, low: TEI's values) and, as a number, ``certainty/@degree``.
Persons stand in ``listPerson`` with their roles, photographs are the witnesses
(``surrogates``: the EpiDoc schema has no ``listWit`` in a header), a signature's parts are
``seg`` of a ``div`` of its own. White space in the edition is the inscription's: nothing is indented there.
Source: TEI P5 guidelines, chapters 11 and 12, and the EpiDoc schema.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lxml import etree

from readaid._version import __version__
from readaid.core.attempt import Attempt
from readaid.core.character import Character, Inscription
from readaid.core.contents import Contents
from readaid.core.identity import now
from readaid.core.photo import Photo, Zone
from readaid.report import departures, tei_names
from readaid.report.edition import EditionSign, State, edit
from readaid.report.matter import preferred
from readaid.report.tei_names import TEI, XML, E, plain
from readaid.report.terms import Words

MODEL = ('xml-model href="http://epidoc.stoa.org/schema/latest/tei-epidoc.rng" '
         'schematypens="http://relaxng.org/ns/structure/1.0"')


def render(contents: Contents, folder: Path, *, edition: str = "leiden", language: str = "en") -> bytes:
    """TEI bytes. The edition's marks are elements here, so ``edition`` changes nothing."""
    words = Words(language)
    root = E.TEI(_header(contents, words), _facsimile(contents), _text(contents, words))
    root.set(XML + "lang", language)
    etree.indent(root)
    for kept in root.iter(f"{{{TEI}}}div"):
        if kept.get(XML + "space") == "preserve":
            _close(kept)
    body: bytes = etree.tostring(root, encoding="utf-8")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<?{MODEL}?>\n'.encode() + body


def _close(kept: Any) -> None:
    """Take the white space of the indentation out of an element where white space counts."""
    for inner in kept.iter():
        if inner.text is not None and not inner.text.strip():
            inner.text = None
        if inner is not kept and inner.tail is not None and not inner.tail.strip():
            inner.tail = None


def certainty(confidence: float | None) -> str:
    """TEI's word for a reader's confidence.

    >>> certainty(0.95), certainty(0.5), certainty(None)
    ('high', 'medium', 'unknown')
    """
    if confidence is None:
        return "unknown"
    return "high" if confidence > 0.8 else "medium" if confidence > 0.4 else "low"


def _p(text: str) -> Any:
    return E.p(plain(text))


# -- header ---------------------------------------------------------------------------------------------
def _header(contents: Contents, words: Words) -> Any:
    p = contents.piece
    identifier = E.msIdentifier()
    if p.place_kept:
        identifier.append(E.repository(plain(p.place_kept)))
    identifier.append(E.idno(plain(p.inventory or p.id)))
    support = E.support(_p(", ".join(filter(None, (p.kind, p.material))) or words.w("not_described")))
    sizes = [(tag, v) for tag, v in (("height", p.height), ("width", p.width), ("depth", p.depth)) if v is not None]
    if sizes:
        dimensions = E.dimensions(unit="mm")
        for tag, value in sizes:
            dimensions.append(E(tag, f"{value:g}"))
        support.append(E.p(dimensions))
    supported = E.supportDesc(support)
    if p.condition:
        supported.append(E.condition(_p(p.condition)))
    layout = E.layoutDesc(*[E.layout(plain(": ".join(filter(None, (_title(i, words), i.surface, i.place,
                                                                    i.order_note)))),
                                     columns=str(max(1, len(i.columns)))) for i in contents.inscriptions]
                          or [E.layout(words.w("no_inscription"))])
    physical = E.physDesc(E.objectDesc(supported, layout))
    if p.technique:
        physical.append(E.handDesc(E.handNote(plain(p.technique))))
    description = E.msDesc(identifier, physical)
    origin = E.origin()
    for d in contents.dates:
        dated = E.origDate(plain(d.text))
        if d.first and d.last:
            dated.set("notBefore", d.first)
            dated.set("notAfter", d.last)
        origin.append(E.p(dated))
    history = E.history()
    if len(origin):
        history.append(origin)
    if p.provenance:
        history.append(E.provenance(_p(p.provenance)))
    if len(history):
        description.append(history)
    publication = E.publicationStmt(E.p(plain(p.rights) or words.w("no_rights")))
    titles = E.titleStmt(E.title(plain(p.title)))
    readers = (p.reader, *(a.reader for a in contents.attempts), *(j.reader for j in contents.judgements))
    for reader in dict.fromkeys(filter(None, readers)):
        titles.append(E.respStmt(E.resp(words.w("read_by")), E.name(plain(reader))))
    made = words.w("written_from").format(program=f"readaid {__version__}", revision=contents.revision)
    changes = E.revisionDesc(E.change(made, when=now()[:10]))
    if contents.photos:
        witnesses = [_witness(photo, words) for photo in contents.photos]
        description.append(E.additional(E.surrogates(E.listBibl(*witnesses))))
    file = E.fileDesc(titles, publication, E.sourceDesc(description))
    profile = tei_names.profile(contents, words)
    return E.teiHeader(file, *([profile] if profile is not None else []), changes)


def _witness(photo: Photo, words: Words) -> Any:
    lamp = photo.light or words.said("evidence", photo.evidence.value)
    told = ", ".join(filter(None, (photo.title or photo.file, photo.surface, lamp, photo.taken[:10])))
    made = E.bibl(plain(told), type="witness")
    made.set(XML + "id", f"wit-{photo.id}")
    return made


# -- facsimile ------------------------------------------------------------------------------------------
def _facsimile(contents: Contents) -> Any:
    surfaces = []
    for photo in contents.photos:
        surface = E.surface(E.graphic(url=photo.file, width=f"{photo.width}px", height=f"{photo.height}px"),
                            ulx="0", uly="0", lrx=str(photo.width), lry=str(photo.height))
        surface.set(XML + "id", _id("photo", photo))
        surface.extend(_zone(z) for z in contents.zones if z.photo == photo.id)
        surfaces.append(surface)
    return E.facsimile(*surfaces) if surfaces else E.facsimile(E.graphic(url="none"))


def _zone(zone: Zone) -> Any:
    made = E.zone(points=" ".join(f"{max(0, round(x))},{max(0, round(y))}" for x, y in zone.outline))
    made.set(XML + "id", _id("zone", zone))
    return made


def _id(kind: str, record: Photo | Zone | Inscription | Character) -> str:
    return f"{kind}-{record.id}"


# -- text -----------------------------------------------------------------------------------------------
def _text(contents: Contents, words: Words) -> Any:
    edition = E.div(type="edition")
    edition.set(XML + "lang", "ja")
    edition.set(XML + "space", "preserve")
    body = E.body(edition)
    readings = []
    for inscription in contents.inscriptions:
        attempts = [a for a in contents.attempts if a.inscription == inscription.id]
        best = preferred(attempts)
        edition.append(_inscription(contents, inscription, best, words))
        if best is not None:
            readings.append(_reading(inscription, best, words))
        body.extend(tei_names.entry(contents.entry(inscription.id), words))
    body.extend(tei_names.signature(s) for s in contents.signatures)
    if (rejected := tei_names.rejected(contents, words)) is not None:
        body.append(rejected)
    if not len(edition):
        edition.append(E.ab(E.gap(reason="lost", extent="unknown", unit="character")))
    if readings:
        body.append(E.div(*readings, type="commentary", subtype="readings"))
    if contents.piece.translation:
        body.append(E.div(*[_p(t) for t in contents.piece.translation.split("\n") if t.strip()], type="translation"))
    if contents.piece.commentary:
        body.append(E.div(_p(contents.piece.commentary), type="commentary"))
    if contents.piece.literature or contents.piece.exhibited:
        body.append(tei_names.published(contents, words))
    if contents.sources:
        items = [E.bibl(plain(f"{words.said('sourcekind', s.kind)}: {s.citation}")) for s in contents.sources]
        body.append(E.div(E.listBibl(*items), type="bibliography"))
    return E.text(body)


def _title(inscription: Inscription, words: Words) -> str:
    return inscription.title or words.said("text", inscription.kind.value)


def _inscription(contents: Contents, inscription: Inscription, best: Attempt | None, words: Words) -> Any:
    part = E.div(type="textpart", subtype=inscription.kind.value.replace(" ", "-"))
    part.set(XML + "id", _id("inscription", inscription))
    part.set("n", plain(_title(inscription, words)))
    block = E.ab()
    text = edit(contents, inscription.id, best)
    characters = {c.id: c for c in contents.characters}
    for n, column in enumerate(text.columns, start=1):
        block.append(E.lb(n=str(n)))
        for sign in column:
            block.append(_sign(sign, characters[sign.character]))
            if sign.confidence is not None:
                block.append(E.certainty(locus="value", target=f"#sign-{sign.character}",
                                         degree=f"{sign.confidence:.2f}"))
    if not len(block):
        block.append(E.gap(reason="lost", extent="unknown", unit="character"))
    part.append(block)
    return part


def _sign(sign: EditionSign, character: Character) -> Any:
    facs = " ".join(f"#zone-{z}" for z in sign.zones)
    match sign.state:
        case State.CLEAR:
            made = E.seg(E.sic(plain(sign.text)) if sign.sic else plain(sign.text))
        case State.SUPERFLUOUS:
            made = E.seg(E.surplus(plain(sign.text)))
        case State.OMITTED:
            made = E.seg(E.supplied(plain(sign.text), reason="omitted"))
        case State.ERASED:
            made = E.seg(E("del", plain(sign.text), rend="erasure"))
        case State.EXPANDED:
            made = E.seg(E.expan(E.ex(plain(sign.text))))
        case State.CORRECTED:
            made = E.seg(E.choice(E.sic(plain(sign.instead)), E.corr(plain(sign.text))))
        case State.UNCLEAR if sign.others:
            by = {c.character: c.confidence for c in character.candidates}
            made = E.seg(E.choice(E.unclear(plain(sign.text), cert=certainty(sign.confidence)),
                                  *[E.unclear(plain(o), cert=certainty(by.get(o))) for o in sign.others]))
        case State.UNCLEAR:
            made = E.seg(E.unclear(plain(sign.text)))
        case State.RESTORED:
            made = E.seg(E.supplied(plain(sign.text), reason="lost", cert=certainty(sign.confidence)))
        case State.DESCRIBED:
            made = E.seg(E.note(plain(sign.text)))
        case State.ILLEGIBLE:
            made = E.seg(E.gap(reason="illegible", quantity="1", unit="character"))
        case State.LOST:
            gap = E.gap(reason="lost", unit="character")
            if sign.least == sign.most > 0:
                gap.set("quantity", str(sign.most))
            elif sign.most > 0:
                gap.set("atLeast", str(sign.least))
                gap.set("atMost", str(sign.most))
            else:
                gap.set("extent", "unknown")
            made = E.seg(gap)
    made.set(XML + "id", _id("sign", character))
    if facs:
        made.set("facs", facs)
    return made


def _reading(inscription: Inscription, best: Attempt, words: Words) -> Any:
    part = E.div(type="textpart", subtype="reading", corresp=f"#inscription-{inscription.id}")
    said = (best.reader, words.said("status", best.status.value), f"{words.w('confidence')} {best.confidence:.2f}")
    part.append(E.head(plain(f"{words.w('read_by')}: {', '.join(filter(None, said))}")))
    lines = best.lines or (best.kana or best.written,)
    verse = E.lg()
    if best.morae:
        verse.set("met", "-".join(map(str, best.morae)))
    for n, line in enumerate(lines, start=1):
        made = E.l(plain(line), n=str(n))
        made.set(XML + "lang", "ja")
        verse.append(made)
    part.append(verse)
    departed = "; ".join(departures.listed(best, words.language))
    for label, text in (("normal", best.normal), ("modern", best.modern), ("romaji", best.romaji),
                        ("reasons", departed), ("evidence", best.evidence), ("note", best.note)):
        if text:
            part.append(_p(f"{words.w(label)}: {text}"))
    return part
