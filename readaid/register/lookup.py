"""Search over all pieces of a register, a page at a time.

Conventions
-----------
* Text is compared folded (NFKC, katakana as hiragana, case ignored) and found anywhere in it.
* ``offset`` and ``limit`` count hits, newest first; ``Found.total`` counts all of them.
* Days are ISO 8601; a bare year stands for all of it.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from html import escape
from typing import Any

from sqlalchemy import ColumnElement, and_, func, literal, or_, select

from readaid.core.character import Character
from readaid.core.confidence import Status
from readaid.core.contents import Record
from readaid.core.errors import RegisterError, unknown_option
from readaid.core.judgement import own
from readaid.core.person import Person, Role
from readaid.register.codec import as_kind
from readaid.register.index import fold
from readaid.register.revision import sound, value_of
from readaid.register.schema import current, revision
from readaid.register.view import View

#: Parts in a piece that make somebody its maker (an owner or appraiser is none).
MAKING = {"author", "designer", "calligrapher", "carver", "maker", "pupil"}
#: Candidates whose confidence is this near to the best one's leave a character disputed.
NEAR = 0.3
#: A best candidate above this confidence ("certain") settles its character.
SETTLED = 0.9
_DAY = re.compile(r"[0-9]{4}(-[0-9]{2}){0,2}")


@dataclass(frozen=True, slots=True)
class Hit:
    """One record found, and the piece it belongs to."""

    id: str
    kind: str
    piece: str
    title: str  # of the piece
    revision: int
    reader: str
    made: str
    record: Record
    why: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """A page of hits."""

    hits: tuple[Hit, ...]
    total: int
    offset: int = 0

    def _repr_html_(self) -> str:
        rows = "".join(f"<tr><td>{escape(h.title)}</td><td>{h.kind}</td><td lang='ja'>{escape(shown(h.record))}</td>"
                       f"<td>{escape(h.reader)}</td><td>{h.made[:10]}</td></tr>" for h in self.hits)
        return f"<p>{self.total} found</p><table>{rows}</table>"


def shown(record: Any) -> str:
    """A record in a few words: what it says, is called or shows."""
    for name in ("written", "text", "name", "title", "character", "citation", "file", "what"):
        if getattr(record, name, ""):
            return str(getattr(record, name))
    return " ".join(c.character for c in getattr(record, "candidates", ()))


def _contains(column: ColumnElement[str], text: str) -> ColumnElement[bool]:
    return column.contains(text, autoescape=True)


def search(view: View, text: str = "", *, kinds: Iterable[str | type] | str | None = None, character: str = "",
           sound: str = "", parent: str = "", maker: str = "", place: str = "", dated: tuple[str, str] | None = None,
           made: tuple[str, str] | None = None, status: str | Iterable[str] | None = None, reader: str = "",
           piece: str | None = None, offset: int = 0, limit: int = 50) -> Found:
    """Records that fit everything asked for.

    Parameters
    ----------
    text: anywhere in the record, in any layer of a reading; several words must all be there.
    kinds: kinds of record; all but those without words of their own, if not given.
    character: a sign as written (は is not ハ, nor a hentaigana).
    sound: a kana; any letter of that sound, hentaigana too.
    parent: a kanji; any kana letter that comes from it, or the kanji itself.
    maker: name, reading or alias of someone who made the piece, or a name in its signature.
    place: where the signature of the piece says, or a person on it is known, to have worked.
    dated: first and last day (or year) of the piece's date as read.
    made: first and last day on which the record was made.
    status: of attempts: one or several of open, preferred, set aside, withdrawn, settled.
    reader: who made it.

    Raises
    ------
    OptionError: for an unknown kind or status. RegisterError: for a sign that has no letters.
    """
    where = _conditions(view, text, kinds, status, reader, piece)
    if character:
        where.append(_contains(current.c.signs, character))
    for letters in filter(None, (_letters_of(sound) if sound else (), _letters_from(parent) if parent else ())):
        where.append(or_(*(_contains(current.c.signs, letter) for letter in letters)))
    if maker:
        where.append(current.c.piece.in_(_pieces_by(view, maker)))
    if place:
        where.append(current.c.piece.in_(_pieces_of(view, place)))
    if dated is not None:
        first, last = days(dated)
        pieces = select(current.c.piece).where(current.c.kind == "date", current.c.withdrawn.is_(False),
                                               current.c.day_first != "", current.c.day_last >= first,
                                               current.c.day_first <= last)
        where.append(current.c.piece.in_(pieces))
    if made is not None:
        first, last = days(made)
        # T99 comes after every hour of that day, in text as in time.
        where += [current.c.made >= first, current.c.made <= last + "T99"]
    return _page(view, and_(*where), offset, limit)


def _conditions(view: View, text: str, kinds: Iterable[str | type] | str | None,
                status: str | Iterable[str] | None, reader: str, piece: str | None) -> list[ColumnElement[bool]]:
    where: list[ColumnElement[bool]] = []
    wanted = [str(s) for s in ([status] if isinstance(status, str) else status or ())]
    for name in wanted:
        if name not in list(Status):
            raise unknown_option("status", name, list(Status))
    if wanted:
        where += [current.c.kind == "attempt", current.c.status.in_(wanted)]
    if Status.WITHDRAWN not in wanted:
        where.append(current.c.withdrawn.is_(False))
    if kinds is not None:
        names = [as_kind(k) for k in ([kinds] if isinstance(kinds, str | type) else kinds)]
        where.append(current.c.kind.in_(names) if len(names) != 1 else current.c.kind == names[0])
    else:
        where.append(current.c.kind != "judgement")  # it has no words of its own, and there are many
    where += [_contains(current.c.text, word) for word in fold(text).split()]
    if reader:
        where.append(current.c.reader == reader)
    scope = view._scope(piece)
    if scope is not None:
        where.append(current.c.piece == scope)
    return where or [literal(True)]


def _letters_of(sound: str) -> list[str]:
    from readaid.script import hentaigana

    kana = fold(sound)
    return list({kana, *(letter.character for letter in hentaigana.letters(kana))})


def _letters_from(kanji: str) -> list[str]:
    from readaid.script import hentaigana

    return list({kanji, *(letter.character for letter in hentaigana.by_parent(kanji))})


def days(span: tuple[str, str]) -> tuple[str, str]:
    """First and last day as they are compared; either may be empty, and a bare year stands for all of it.

    Raises RegisterError for what is no year, month or day.

    >>> days(("1832", "1832")), days(("", "1832-02-20"))
    (('1832', '1832-99'), ('0000', '1832-02-20'))
    """
    first, last = span
    for day in span:
        if day and not _DAY.fullmatch(day):
            raise RegisterError(f"'{day}' is no day", cure="write 1832 or 1832-02-20")
    # A bare year stands for all of it: "1832-99" comes after every day of 1832.
    return first or "0000", (last + "-99" if len(last) == 4 else last) or "9999"


def _pieces_by(view: View, maker: str) -> list[str]:
    """Pieces with a maker of this name, or with the name in a signature."""
    name = fold(maker)
    people = select(current.c.record).where(current.c.kind == "person", current.c.withdrawn.is_(False),
                                            _contains(current.c.text, name))
    named = (select(revision, current.c.piece.label("of"))
             .join(current, current.c.number == revision.c.number)
             .where(current.c.kind.in_(["role", "specimen"]), current.c.withdrawn.is_(False),
                    current.c.link.in_(people)))
    signed = select(current.c.piece).where(current.c.kind == "signature", current.c.withdrawn.is_(False),
                                           _contains(current.c.text, name))
    found = {str(p) for p in view._read(lambda c: c.scalars(signed).all())}
    for row in view._read(lambda c: c.execute(named).mappings().all()):
        record = value_of(row)
        # An owner's pieces are not the owner's work.
        if not isinstance(record, Role) or record.role in MAKING:
            found.add(str(row["of"]))
    return sorted(found)


def _pieces_of(view: View, place: str) -> list[str]:
    """Pieces whose signature names a place, or a person of which worked there."""
    name = fold(place)
    query = (select(revision, current.c.piece.label("of")).join(current, current.c.number == revision.c.number)
             .where(current.c.kind.in_(["signature", "person"]), current.c.withdrawn.is_(False)))
    found = set()
    for row in view._read(lambda c: c.execute(query).mappings().all()):
        record: Any = value_of(row)
        places = record.places if isinstance(record, Person) else tuple(
            t for p in record.parts if p.kind in ("place", "residence") for t in (p.text, *p.readings))
        if any(name in fold(p) for p in places):
            found.add(str(row["of"]))
    return sorted(found)


def _page(view: View, where: ColumnElement[bool], offset: int, limit: int) -> Found:
    if view.cutoff is not None:
        raise RegisterError("The search looks at the register as it is now", view.where,
                            "ask the register itself, or filter the frames of this past moment")
    total = select(func.count()).select_from(current).where(where)
    page = (select(current.c.record).where(where)  # all of it stands in one index, however far the page lies
            .order_by(current.c.made.desc(), current.c.number.desc())
            .offset(offset).limit(limit)).subquery()
    rows = (select(revision, current.c.reader.label("by"), current.c.made.label("when"))
            .select_from(page.join(current, current.c.record == page.c.record)
                         .join(revision, revision.c.number == current.c.number))
            .order_by(current.c.made.desc(), current.c.number.desc()))
    count, found = view._read(lambda c: (c.scalar(total), c.execute(rows).mappings().all()))
    titles = _titles(view, {r["piece"] for r in found})
    hits = tuple(Hit(r["record"], r["kind"], r["piece"], titles.get(r["piece"], ""), r["number"], r["by"], r["when"],
                     value_of(r)) for r in found)
    return Found(hits, int(count or 0), offset)


def _titles(view: View, pieces: set[str]) -> dict[str, str]:
    query = (select(revision).join(current, current.c.number == revision.c.number)
             .where(current.c.record.in_(pieces), current.c.kind == "piece"))
    return {r["record"]: json.loads(sound(r)["body"])["title"]
            for r in view._read(lambda c: c.execute(query).mappings().all())}


def near_candidates(character: Character) -> bool:
    """Whether the reader's own candidates leave the character open: near in confidence and none certain.

    >>> from readaid.core.character import Candidate
    >>> near_candidates(Character(candidates=(Candidate("か", 0.6), Candidate("の", 0.5))))
    True
    >>> near_candidates(Character(candidates=(Candidate("か", 0.95), Candidate("の", 0.7))))
    False
    """
    mine = own(character)
    best = max(mine, key=lambda c: c.confidence, default=None)
    if best is None or character.fixed or best.confidence > SETTLED:
        return False
    # 0.9 - 0.6 is a little above 0.3 in binary: what is exactly as near as allowed must count.
    near = {c.character for c in mine if best.confidence - c.confidence <= NEAR + 1e-9}
    return len(near) > 1


def _standing(view: View, piece: str | None) -> list[tuple[str, dict[str, str]]]:
    """Reader and chosen signs (by character) of the attempts that still stand and chose any."""
    query = (select(revision, current.c.reader.label("by")).join(current, current.c.number == revision.c.number)
             .where(current.c.kind == "attempt", current.c.withdrawn.is_(False),
                    current.c.status.not_in([Status.SET_ASIDE, Status.WITHDRAWN])).order_by(current.c.number))
    query = query.where(~_contains(revision.c.body, '"chosen":[]'))
    if piece is not None:
        query = query.where(current.c.piece == piece)
    found = []
    for row in view._read(lambda c: c.execute(query).mappings().all()):
        data = json.loads(sound(row)["body"])
        found.append((str(row["by"]), dict(data["chosen"])))
    return found


def disputed(view: View, *, piece: str | None = None, offset: int = 0, limit: int = 50) -> Found:
    """Characters still disputed: readers read them differently, or a reader left candidates near each other.

    What each reader reads is their last judgement and their standing attempts, whoever merged them. ``Hit.why`` says
    which signs are in dispute and who reads them. A character the reader fixed is settled.
    """
    from readaid.register.judgements import judgements

    scope = view._scope(piece)
    signs: dict[str, dict[str, set[str]]] = {}
    said: dict[str, dict[str, str]] = {}
    for judged in judgements(view, piece=piece):
        if judged.sign:
            said.setdefault(judged.character, {})[judged.reader] = judged.sign
    for reader, chose in _standing(view, scope):
        for id, sign in chose.items():
            signs.setdefault(id, {}).setdefault(sign, set()).add(reader)
    query = (select(revision, current.c.reader.label("by"), current.c.made.label("when"))
             .join(current, current.c.number == revision.c.number)
             .where(current.c.kind == "character", current.c.withdrawn.is_(False)).order_by(current.c.first))
    if scope is not None:
        query = query.where(current.c.piece == scope)
    found = []
    for row in view._read(lambda c: c.execute(query).mappings().all()):
        character = value_of(row)
        assert isinstance(character, Character)
        chosen = signs.get(character.id, {})
        for reader, sign in said.get(character.id, {}).items():  # a reader who reads on is no second reader
            if not any(reader in readers for readers in chosen.values()):
                chosen.setdefault(sign, set()).add(reader)
        if character.fixed or not (near_candidates(character) or len(chosen) > 1):
            continue
        why = ([f"{c.character} {c.confidence:.2f}" for c in own(character)] if near_candidates(character) else [])
        why += [f"{s} ({', '.join(sorted(r))})" for s, r in chosen.items()] if len(chosen) > 1 else []
        found.append(Hit(character.id, "character", row["piece"], "", row["number"], row["by"], row["when"], character,
                         "; ".join(why)))
    return Found(_titled(view, found[offset:offset + limit]), len(found), offset)


def _titled(view: View, page: list[Hit]) -> tuple[Hit, ...]:
    titles = _titles(view, {h.piece for h in page})
    return tuple(replace(h, title=titles.get(h.piece, "")) for h in page)
