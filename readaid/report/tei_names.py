"""Names and versions in TEI: persons with their roles, the parts of a signature, the entry's texts of an inscription.

Conventions: as ``tei``. A role is what an inscription or another source says (``relation`` is for kin, so a role is a
``note`` of the person, with its certainty as a number). Sources: TEI P5 guidelines, chapters 13 and 14.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from lxml.builder import ElementMaker

from readaid.core.contents import Contents
from readaid.core.entry import Entry
from readaid.core.person import Person, Role, Signature
from readaid.report.terms import Words

TEI = "http://www.tei-c.org/ns/1.0"
XML = "{http://www.w3.org/XML/1998/namespace}"
E = ElementMaker(namespace=TEI, nsmap={None: TEI})


def plain(text: str) -> str:
    """Text without the control characters that XML 1.0 cannot hold."""
    return "".join(c for c in text if c in "\t\n\r" or (ord(c) >= 0x20 and not 0xD800 <= ord(c) <= 0xDFFF
                                                        and ord(c) not in (0xFFFE, 0xFFFF)))


def profile(contents: Contents, words: Words) -> Any:
    """The persons of a piece with their roles, None where there are none."""
    if not contents.persons:
        return None
    roles: dict[str, list[Role]] = {}
    for role in contents.roles:
        roles.setdefault(role.person, []).append(role)
    persons = [_person(p, roles.get(p.id, []), words) for p in contents.persons]
    return E.profileDesc(E.particDesc(E.listPerson(*persons)))


def _person(person: Person, roles: list[Role], words: Words) -> Any:
    name = E.persName(plain(person.name))
    name.set(XML + "lang", "ja")
    made = E.person(name)
    made.set(XML + "id", f"person-{person.id}")
    for other in person.aliases:
        made.append(E.persName(plain(other), type="alias"))
    for reading in person.readings:
        made.append(E.persName(plain(reading), type="reading"))
    if person.born is not None:
        made.append(E.birth(when=f"{person.born:04d}"))
    if person.died is not None:
        made.append(E.death(when=f"{person.died:04d}"))
    for role in roles:
        told = ": ".join(filter(None, (words.said("role", role.role), role.note)))
        said = E.note(plain(told), type="role", subtype=_token(role.role))
        said.set(XML + "id", f"role-{role.id}")
        if role.inscription:
            said.set("corresp", f"#inscription-{role.inscription}")
        said.append(E.certainty(locus="value", degree=f"{role.confidence:.2f}"))
        made.append(said)
    return made


def _token(text: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in text) or "other"


def signature(record: Signature) -> Any:
    """A signature taken apart, part by part, with the readings of each."""
    line = E.ab()
    for part in record.parts:
        line.append(E.seg(plain(part.text), type=_token(part.kind)))
    made = E.div(line, type="commentary", subtype="signature")
    made.set(XML + "lang", "ja")
    if record.inscription:
        made.set("corresp", f"#inscription-{record.inscription}")
    return made


#: Fields of an entry that are versions of the text, and their names in the file.
_VERSIONS = (("edited", "edited", "ja"), ("read_out", "reading", "ja"), ("romanised", "romanised", "ja-Latn"),
             ("paraphrase", "paraphrase", "ja"))
_SAID = (("picture", "text-and-picture"), ("date_argument", "date"), ("comment", "comment"), ("not_read", "not-read"))


def entry(record: Entry, words: Words) -> Iterator[Any]:
    """What an entry says of an inscription, as divisions that point to it."""
    where = f"#inscription-{record.inscription}"
    for name, subtype, tongue in _VERSIONS:
        if text := getattr(record, name):
            made = E.div(E.p(plain(text)), type="edition", subtype=subtype, corresp=where)
            made.set(XML + "lang", tongue)
            yield made
    for translation in record.translations:
        made = E.div(E.p(plain(translation.text)), type="translation", corresp=where)
        made.set(XML + "lang", translation.language or "und")
        if translation.translator:
            made.insert(0, E.head(plain(translation.translator)))
        yield made
    for name, subtype in _SAID:
        if text := getattr(record, name):
            yield E.div(E.p(plain(words.told(text))), type="commentary", subtype=subtype, corresp=where)
    if record.allusions:
        told = [(words.said("verdict", a.verdict), a.text, words.told(a.reference)) for a in record.allusions]
        items = [E.bibl(plain("; ".join(filter(None, t)))) for t in told]
        yield E.div(E.listBibl(*items), type="bibliography", subtype="allusions", corresp=where)
    if record.words:
        told = [(w.lemma, words.said("pos", w.part), w.gloss) for w in record.words]
        items = [E.item(E.term(plain(w.form)), E.gloss(plain("; ".join(filter(None, t)))))
                 for w, t in zip(record.words, told, strict=True)]
        yield E.div(E("list", *items), type="commentary", subtype="words", corresp=where)


def rejected(contents: Contents, words: Words) -> Any:
    """What was not taken and why, sign by sign and attempt by attempt; None where no reason was given."""
    found = []
    for character in contents.characters:
        found += [E.app(E.rdg(plain(c.character)), E.note(plain(c.rejected)), {"from": f"#sign-{character.id}"})
                  for c in character.candidates if c.rejected]
    for a in contents.attempts:
        if a.rejected:
            told = f"{words.said('status', a.status.value)}: {a.rejected}"
            found.append(E.app(E.rdg(plain(a.written)), E.note(plain(told)), {"from": f"#inscription-{a.inscription}"}))
    if not found:
        return None
    return E.div(E.listApp(*found), type="apparatus", subtype="rejected")


def published(contents: Contents, words: Words) -> Any:
    """Where the piece is published and was shown, line by line."""
    items = [E.bibl(plain(f"{words.w(key)}: {line}"), type=key) for key in ("literature", "exhibited")
             for line in getattr(contents.piece, key).splitlines() if line.strip()]
    return E.div(E.listBibl(*items), type="bibliography", subtype="piece")
