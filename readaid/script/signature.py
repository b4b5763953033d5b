"""A signature taken apart: place, rank, school, names, age, pupil, verb, request, date, monogram, seal.

Conventions: ``parse`` gives several ways, best first; ``cost`` is in -700 ln p, 0 where the usual formula fits
without a leap. Positions count signs from 0; ``text[part.start:part.end]`` is the part as it stands, ``?`` where a
sign is unread. The end of a column (a line break in the text) and white space are evidence: no name runs over them.
Readings of names are alternatives. Signs that no rule explains are a part "not analysed". ``persons`` says who may
have had which part in the piece, and why; nothing here tells who made it. Word lists: ``tables/signature_*.tsv``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice, product
from typing import TypeAlias

from readaid.core import options
from readaid.core.errors import TextError
from readaid.core.person import Signature, SignaturePart
from readaid.script import address, dates, datetext, datings, foreign_eras, grammar, names, part_classes
from readaid.script.grammar import Found
from readaid.script.part_classes import Row
from readaid.script.period import PERIOD
from readaid.script.signerfit import ProposedPerson, proposed
from readaid.script.signs import UNREAD_COST, Characters, Signs, fold, signs

#: Ways kept at one place for the same last part, and for a whole signature before sorting; those written out.
_KEPT, _WHOLE = 4, 60
_LEAST_WAYS, _WAYS_A_RESULT = 12, 4
#: Ties: fewer parts, then fewer free signs. Too small to outweigh any cost of the tables.
_PER_PART, _PER_FREE = 0.02, 0.05
#: Words that stand before a name begin a column or follow white space: 彫 in 友朧彫信楳 is the first one's verb.
_LEADING, _NOT_LEADING = frozenset(("role word", "kin")), 220.0
#: 父兼逸子兼友: the second word of kin begins the second name; 子 is no ending of an art name there.
_KIN_AGAIN = -40.0
#: A family name set apart from the name (高岡 方豊: rather a place), a verb set apart from the name before, not after.
_FAMILY_APART, _VERB_APART = 30.0, 200.0
#: Four signs before 合作 are rather two makers than one.
_JOINT_OF_FOUR = 150.0
#: A date of which only the cycle name, or only a month or season with a cycle name, stands.
_VAGUE_DATE = 150.0
#: An unread sign inside a date costs this here: the words around it say well enough that it is a date.
_UNREAD_IN_DATE = 120.0
#: Parts by sign that differ from the best one in a candidate list; each place offers at most this many signs.
_SIGNS_A_PLACE, _VARIANTS = 3, 12
LONGEST = 80
#: Most ways asked for at once.
MOST = 200
_READINGS = 8


@dataclass(frozen=True, slots=True)
class _Way:
    """Parts so far: true cost, cost for sorting, parts as rules or datings."""

    cost: float
    rank: float
    parts: tuple[Found | _Dated, ...] = ()
    last: str = "start"  # kind of the last part


@dataclass(frozen=True, slots=True)
class _Dated:
    start: int
    end: int
    cost: float
    wording: datetext.Wording | None
    abroad: foreign_eras.ForeignDate | None = None


#: Each part of the ways as it is written out, by its identity: many ways share most of their parts.
_Made: TypeAlias = dict[int, list[tuple[SignaturePart, float]]]


def parse(characters: Characters | Signs, k: int = 5, period: tuple[int, int] = PERIOD) -> list[Signature]:
    """Ways to take a signature apart, best first, at most ``k``.

    ``characters`` is text (``?`` or □ for an unread sign, line breaks or white space between columns) or one list of
    (character, confidence) pairs per sign; ``period`` is the working period that ranks dates. Raises TextError for an
    empty or overlong text, OptionError for a ``k`` outside 1..``MOST``.

    >>> [(p.kind, p.text) for p in parse("江戸住 一峯斎 正光作 花押")[0].parts]
    [('residence', '江戸住'), ('art name', '一峯斎'), ('name', '正光'), ('verb', '作'), ('kao', '花押')]
    >>> parse("行年七十三歳 秀民鐫之")[0].parts[0].value
    '73'
    """
    k = options.whole(k, "k", "ways", MOST)
    row = characters if isinstance(characters, Signs) else signs(characters)
    if len(row) > LONGEST:
        raise TextError(f"{len(row)} signs are too many for a signature",
                        cure=f"give at most {LONGEST}: the signature alone")
    made: dict[tuple[tuple[str, str], ...], Signature] = {}
    made_parts: _Made = {}
    # More than asked for, since several ways end in the same parts once they are written out.
    for way in _ways(row, period)[:max(_LEAST_WAYS, _WAYS_A_RESULT * k)]:
        for signature in _signatures(row, way, period, made_parts):
            key = tuple((p.kind, p.text) for p in signature.parts)
            if key not in made or signature.cost < made[key].cost:
                made[key] = signature
    ordered = sorted(made.values(), key=lambda s: s.cost)  # stable: equal costs keep the order of ways
    return ordered[:k]


def persons(signature: Signature) -> list[ProposedPerson]:
    """Who may stand in a signature, in which role and why; the owner of a monogram may be another than the maker.

    >>> [(p.name, p.role) for p in persons(parse("梅渓画 正光鐫之 花押")[0])]
    [('梅渓', 'designer'), ('正光', 'carver')]
    """
    return proposed(signature)


def _kind(part: Found | _Dated) -> str:
    if isinstance(part, _Dated):
        return "reign mark" if part.abroad else "date"
    return part.rule.kind


def _ways(signs_: Signs, period: tuple[int, int]) -> list[_Way]:
    row = Row(signs_, signs_.parted)
    abroad = foreign_eras.dates(signs_)
    reached: dict[int, list[_Way]] = {0: [_Way(0.0, 0.0)]}
    for place in range(len(signs_)):
        if place not in reached:
            continue
        following: list[Found | _Dated] = [*grammar.found(row, place)]
        following += [_Dated(d.start, d.end, 0.0, None, d) for d in abroad if d.start == place]
        # 大明宣徳年製: within another country's mark no part of it is a Japanese date.
        if not any(d.start <= place < d.end for d in abroad):
            following += _datings(signs_, place)
        # Some of each last kind of part: what follows a name is priced otherwise than what follows a place.
        for way in _best(reached[place], _KEPT):
            for part in following:
                kind = _kind(part)
                added = part.cost + grammar.order_cost(way.last, kind) + _parting(way, kind, place, row.parted)
                tie = _PER_PART + (_PER_FREE * part.free if isinstance(part, Found) else 0.0)
                reached.setdefault(part.end, []).append(
                    _Way(way.cost + added, way.rank + added + tie, (*way.parts, part), kind))
    ended = [replace(w, cost=w.cost + last, rank=w.rank + last) for w in _best(reached.get(len(signs_), []), _WHOLE)
             for last in (grammar.order_cost(w.last, "end"),)]
    return sorted(ended, key=lambda w: w.rank)[:_WHOLE]


def _parting(way: _Way, kind: str, place: int, parted: frozenset[int]) -> float:
    """What the ends of columns and white space say of a part after another."""
    if kind == "kin" and any(_kind(p) == "kin" for p in way.parts):
        return _KIN_AGAIN
    if kind in _LEADING and place and place not in parted:
        return _NOT_LEADING
    if place in parted:
        return _FAMILY_APART if way.last in ("family", "school") else 0.0
    if kind == "joint" and way.last == "name" and way.parts[-1].end - way.parts[-1].start == 4:
        return _JOINT_OF_FOUR
    led = way.last == "verb" and way.parts[-1].start in parted
    return _VERB_APART if led and kind in ("name", "art name", "usual name", "family") else 0.0


def _best(ways: list[_Way], most: int) -> list[_Way]:
    groups: dict[str, list[_Way]] = {}
    for way in sorted(ways, key=lambda w: w.rank):
        groups.setdefault(way.last, []).append(way)
    return [w for group in groups.values() for w in group[:most]]


def _datings(row: Signs, start: int) -> Iterator[_Dated]:
    """Dates that begin here, the longest wording for each end."""
    seen: set[int] = set()
    for wording in datetext.wordings(row, start):
        # 壬申 alone is a date here too: it stands where a name would be odd
        surely = dates.is_surely_a_date(wording) or {t.kind for t in wording.tokens} == {"cycle"}
        if wording.end in seen or not surely:
            continue
        seen.add(wording.end)
        # A cycle name alone comes round every sixty years, and 子 and 寅 stand in names.
        vague = not wording.get("era") and not wording.get("western")
        unread = sum(min(u for _, u in t.values.values()) for t in wording.tokens)
        # Three unread signs fit hundreds of dates and say nothing of any.
        if 2 * unread > wording.end - start:
            continue
        cost = max(0.0, wording.cost - unread * (UNREAD_COST - _UNREAD_IN_DATE)) + (_VAGUE_DATE if vague else 0.0)
        yield _Dated(start, wording.end, cost, wording)


def _signatures(row: Signs, way: _Way, period: tuple[int, int], made: _Made) -> Iterator[Signature]:
    """The signature of a way, and, where signs have several candidates, those with other signs in the names."""
    for part in way.parts:
        if id(part) not in made:
            made[id(part)] = list(_part(row, part, period))
    each = [made[id(part)] for part in way.parts]
    for combined in islice(product(*each), _VARIANTS):
        parts = tuple(p for p, _ in combined)
        cost = max(0.0, way.cost + sum(c for _, c in combined))
        yield Signature("".join(p.text for p in parts), parts, round(cost, 3), note="; ".join(_notes(parts)))


def _part(row: Signs, part: Found | _Dated, period: tuple[int, int]) -> Iterator[tuple[SignaturePart, float]]:
    text = row.text[part.start:part.end]
    if isinstance(part, _Dated) and part.abroad:
        meaning = f"{part.abroad.words}; such marks were copied long after"
        yield SignaturePart("reign mark", text, part.start, part.end, (), meaning), 0.0
        return
    if isinstance(part, _Dated) and part.wording:
        found = datings.fitting(row, [part.wording], dates.WITHIN, (), period)
        first = found[0] if found else None
        near = sum(not d.folded for d in found)
        several = f" (first of {near} that fit)" if near > 1 else ""
        yield SignaturePart("date", text, part.start, part.end, (), dates.describe(first) + several if first else "",
                            f"{first.first}/{first.last}" if first else ""), 0.0
        return
    assert isinstance(part, Found)
    for written, added in _writings(row, part):
        yield _made(part, written), added


def _writings(row: Signs, part: Found) -> Iterator[tuple[str, float]]:
    """What a part may be written as: literals with the sign that matched, names with each likely candidate."""
    choices: list[list[tuple[str, float]]] = []
    free = {i for c, a, b, _ in part.inside if c in _NAMED_CLASSES for i in range(a, b)}
    for place in range(part.start, part.end):
        sign = row.places[place]
        # Only in names: a rule's own word was taken for the sign that fits it, and no other would.
        if place in free and len(sign.options) > 1:
            ranked = sorted(zip(sign.written, sign.options, strict=True), key=lambda w: w[1][1])[:_SIGNS_A_PLACE]
            choices.append([(written, cost - ranked[0][1][1]) for written, (_, cost) in ranked])
        elif len(sign.options) > 1:
            choices.append([(_literal(row, part, place), 0.0)])
        else:
            choices.append([(row.text[place], 0.0)])
    combined = [("".join(w for w, _ in c), sum(x for _, x in c)) for c in islice(product(*choices), 3 ** 4)]
    yield from sorted(combined, key=lambda c: c[1])[:_VARIANTS]


def _literal(row: Signs, part: Found, place: int) -> str:
    """The candidate that the rule's word took: 作 of a place that may be 作 or 竹."""
    wanted = {literal for _, literal in part.rule.elements if literal}
    for written, (folded, _) in sorted(zip(row.places[place].written, row.places[place].options, strict=True),
                                       key=lambda w: w[1][1]):
        if folded in wanted:
            return written
    return row.text[place]


def _made(part: Found, text: str) -> SignaturePart:
    rule = part.rule
    readings: tuple[str, ...] = ()
    meaning, value = rule.meaning, ""
    for name, start, end, found in part.inside:
        inside = text[start - part.start:end - part.start]
        today = fold(inside)
        if name == "name" or (name == "someone" and part.rule.side == "="):
            value = inside[:len(found)] if name == "someone" else inside
            readings = name_readings(value)
            if readings:
                meaning += f"; readings possible, from {' and '.join(names.sources(value))}"
        elif name == "art":
            tail = part_classes.endings().get(fold(text[end - part.start:]), "")
            readings, value = tuple(r + tail for r in names.readings(inside, "art")), inside
        elif name in ("number", "agename"):
            value = found
            if name == "agename" and (since := part_classes.age_word_since(inside)):
                meaning += f"; a word in use from about {since} only"
        elif name in ("family", "surname"):
            readings, value = (part_classes.surnames().get(today, ""),), value or inside
        elif name == "usual":
            readings, value = (found,) if found else names.readings(inside)[:_READINGS], inside
        elif name in ("address", "place", "province"):
            place = address.places().get(today)
            reading = address.reading(today)
            readings, value = (reading,) if reading else (), inside
            meaning += f" {inside}" + (f" ({place.meaning})" if place and place.kind != "province" else "")
        elif name in ("word", "slot", "object", "material", "title"):
            value += inside
    if rule.kind == "seal":
        meaning += "; its script is not read here"
    if "?" in text or "□" in text:
        meaning += "; signs unread"
    if rule.kind == "generation" and not value:
        value = str(_GENERATIONS.get(fold(text).removesuffix("目").replace("世", "代"), ""))
    return SignaturePart(rule.kind, text, part.start, part.end, tuple(r for r in readings if r), meaning.strip(), value)


def name_readings(name: str) -> tuple[str, ...]:
    """Possible readings of a person's names; a family name of the tables at their head keeps its own reading.

    >>> name_readings("田中正光")[0]
    'たなかまさみつ'
    """
    known = part_classes.surnames()
    if fold(name) in known:
        return (known[fold(name)],)
    # The longest family name first; one sign alone might as well be part of a given name.
    head = next((name[:n] for n in (4, 3, 2) if n < len(name) and fold(name[:n]) in known), "")
    rest = tuple(r.text for r in names.possible(name[len(head):], _READINGS))
    return tuple(known[fold(head)] + r for r in rest) if head else rest


_NAMED_CLASSES = ("name", "art", "word", "someone")
_GENERATIONS = {"初代": 1, "元祖": 1, "二代": 2, "三代": 3, "四代": 4, "五代": 5}
_NAMING = frozenset(("name", "art name", "usual name", "family", "school", "pupil", "kao", "rank", "office"))


def _notes(parts: tuple[SignaturePart, ...]) -> list[str]:
    held = {p.kind for p in parts}
    notes = []
    # An appraiser's line names somebody, though not as a signer.
    judged = any(p.kind == "appraisal" and p.value for p in parts)
    if not judged and not held & _NAMING:
        notes.append("no name stands there")
    if "not analysed" in held:
        rest = "、".join(p.text for p in parts if p.kind == "not analysed")
        notes.append(f"not analysed: {rest}")
    for part in parts:
        if part.kind == "late signature":
            notes.append(f"{part.text}: {part.meaning}; the name need not be the hand's")
        if part.kind == "appraisal":
            notes.append(f"{part.text}: an appraiser's words; name and monogram beside them may be the appraiser's")
    if "kao" in held and len([p for p in parts if p.kind == "verb"]) > 1:
        notes.append("several people stand there: the monogram's owner is to be judged")
    return notes
