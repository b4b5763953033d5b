"""How the kanji of a name may be read: always alternatives, never one forced reading.

Conventions: readings are in hiragana, the likelier first. Style "name" is a personal name (native readings and
those used in names), "art" an art name (Sino-Japanese). Sources: our own small table (from memory), what UniDic's
given names and words teach (``tables/name_signs.tsv``) and, where one is installed, KANJIDIC2 (EDRDG, CC BY-SA), which
is read from its file and not copied. A likelier reading is a guess from the kanji alone, whatever its source: a maker's
own reading has to be found in the literature. A sign that no source knows stands as it is between the other sounds.
"""

from __future__ import annotations

import gzip
import heapq
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise, zip_longest
from pathlib import Path

from readaid.core.errors import unknown_option
from readaid.script.rows import load
from readaid.script.signs import fold

STYLES = ("name", "art")
#: Where KANJIDIC2 may lie: a file named by the user, then where Debian's kanjidic-xml puts it.
VARIABLE = "READAID_KANJIDIC"
_PATHS = ("/usr/share/edict/kanjidic2.xml.gz", "/usr/share/edict/kanjidic2.xml")
_PER_KANJI = 8
OWN, UNIDIC, KANJIDIC = "own table", "UniDic", "KANJIDIC2"
#: What follows a closed sound, and what it becomes.
_CLOSING = {c: c for c in "かきくけこさしすせそたちつてと"} | dict(zip("はひふへほ", "ぱぴぷぺぽ", strict=True))
_READING = re.compile(r'<reading r_type="(ja_on|ja_kun)"[^>]*>([^<]+)</reading>|<(nanori)>([^<]+)</nanori>')
_LITERAL = re.compile(r"<literal>(.)</literal>")


#: Given names of UniDic that hold every sign of a name, from which it is read as one first and as an art name second.
_COMMON_IN_NAMES = 25


@dataclass(frozen=True, slots=True)
class NameReading:
    """One possible reading and where its parts come from."""

    text: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Learnt:
    name: tuple[str, ...]
    on: tuple[str, ...]
    names: int
    odd: float


@cache
def _learnt() -> dict[str, _Learnt]:
    def make(row: dict[str, str]) -> tuple[str, _Learnt]:
        return row["kanji"], _Learnt(tuple(row["name"].split()), tuple(row["on"].split()), int(row["names"]),
                                     float(row["odd"]))

    return dict(load("name_signs.tsv", ("kanji", "name", "on", "names", "odd"), make))


def oddness(kanji: str) -> float:
    """What it costs (-700 ln p) to meet a sign in a name: nothing for one that is no commoner elsewhere.

    >>> oddness("光"), oddness("府") > 200
    (0.0, True)
    """
    found = _learnt().get(kanji) or _learnt().get(fold(kanji))
    return found.odd if found else 0.0


def is_common(text: str) -> bool:
    """Whether every sign is common in given names, so that native readings come first: 正光, not 蘆汀."""
    return all((s := _learnt().get(fold(c))) is not None and s.names >= _COMMON_IN_NAMES for c in text)


@cache
def _own() -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    def make(row: dict[str, str]) -> tuple[str, tuple[tuple[str, ...], tuple[str, ...]]]:
        if len(row["kanji"]) != 1 or not row["name"] or not row["on"]:
            raise ValueError(f"{row['kanji']!r} needs one kanji and both readings")
        return row["kanji"], (tuple(row["name"].split()), tuple(row["on"].split()))

    return dict(load("name_readings.tsv", ("kanji", "name", "on"), make))


def dictionary() -> Path | None:
    """The installed KANJIDIC2 file, or None."""
    named = os.environ.get(VARIABLE)
    return next((Path(p) for p in ((named,) if named else ()) + _PATHS if Path(p).is_file()), None)


@cache
def _published(path: Path | None) -> dict[str, dict[str, tuple[str, ...]]]:
    """KANJIDIC2's readings by kanji: "nanori", "ja_kun" (stems), "ja_on", in hiragana."""
    if path is None:
        return {}
    open_text = gzip.open if path.suffix == ".gz" else open
    table: dict[str, dict[str, tuple[str, ...]]] = {}
    current: dict[str, tuple[str, ...]] = {}
    with open_text(path, "rt", encoding="utf-8") as lines:
        for line in lines:
            if literal := _LITERAL.search(line):
                current = table.setdefault(literal[1], {})
            elif reading := _READING.search(line):
                kind, text = (reading[1], reading[2]) if reading[1] else ("nanori", reading[4])
                current[kind] = (*current.get(kind, ()), _hiragana(text.split(".")[0].strip("-")))
    return table


def _hiragana(text: str) -> str:
    return "".join(chr(ord(c) - 0x60) if "ァ" <= c <= "ヶ" else c for c in text)


def of_kanji(kanji: str, style: str = "name") -> tuple[str, ...]:
    """Readings of one kanji in names, the likelier first; empty if none is known.

    >>> of_kanji("光")[0], of_kanji("光", "art")[0]
    ('みつ', 'こう')
    """
    if style not in STYLES:
        raise unknown_option("style of name", style, STYLES)
    return tuple(dict.fromkeys(r for r, _ in _sourced(kanji, style, dictionary())))


@lru_cache(maxsize=4000)
def _sourced(kanji: str, style: str, path: Path | None) -> list[tuple[str, str]]:
    """Readings of a kanji, each with its source, the likelier first; ``path`` is KANJIDIC2's."""
    new = fold(kanji)
    names, ons = _own().get(kanji) or _own().get(new) or ((), ())
    learnt = _learnt().get(kanji) or _learnt().get(new) or _Learnt((), (), 0, 0.0)
    table = _published(path)
    published = table.get(kanji) or table.get(new) or {}

    def given(readings: tuple[str, ...], source: str) -> list[tuple[str, str]]:
        return [(r, source) for r in readings]

    own, own_on = given(names, OWN), given(ons, OWN)
    taught, taught_on = given(learnt.name, UNIDIC), given(learnt.on, UNIDIC)
    kun, nanori, chinese = (given(published.get(k, ()), KANJIDIC) for k in ("ja_kun", "nanori", "ja_on"))
    # An art name is read Sino-Japanese first (蘆汀 ろてい): common practice, no source.
    if style == "art":
        return [*own_on, *taught_on, *chinese, *own, *taught, *kun, *nanori]
    # One plain and one Sino-Japanese reading before the rare ones: of 2,500 names of ENAMDICT the stated reading was
    # among eight for 50 %, against 37 % with all native readings first.
    lead = [*own, *taught[:3], *(own_on or taught_on)[:1]] if own or taught else [*kun[:1], *chinese[:1]]
    return [*lead, *taught, *nanori, *kun, *own_on, *taught_on, *chinese]


@lru_cache(maxsize=4000)
def readings(text: str, style: str = "name", most: int = 8) -> tuple[str, ...]:
    """Ways to read a name, the likelier first, at most ``most``; empty if a sign is unread or none is known.

    No way reads two neighbours alike (利寿 is never としとし). A sign of no known reading stands as it is.

    >>> readings("正光")[0]
    'まさみつ'
    >>> readings("?光")
    ()
    >>> "としとし" in readings("利寿", most=40)
    False
    """
    # A name with an unread sign gets no reading at all: half of one would be quoted as whole.
    if not text or any(c in "?□■〇…" for c in text):
        return ()
    known = [of_kanji(c, style)[:_PER_KANJI] for c in text]
    if not any(known):
        return ()
    each = [k or (c,) for k, c in zip(known, text, strict=True)]
    # Two neighbours of one sound (利寿 とし and とし) are possible sign by sign and no name.
    made = (r for parts in _likeliest(each, most) if not any(a == b for a, b in pairwise(parts))
            for r in ((_joined(parts), "".join(parts)) if style == "art" else ("".join(parts),)))
    return tuple(dict.fromkeys(made))[:most]


def possible(text: str, most: int = 8) -> tuple[NameReading, ...]:
    """Native and Sino-Japanese readings by turns, with their sources; an art name's signs are read Sino-Japanese first.

    >>> [r.text for r in possible("正光")][:2], possible("蘆汀")[0].text
    (['まさみつ', 'しょうこう'], 'ろてい')
    """
    native, chinese = readings(text), readings(text, "art")
    pairs = zip_longest(*((native, chinese) if is_common(text) else (chinese, native)))
    made = list(dict.fromkeys(r for pair in pairs for r in pair if r))[:most]
    return tuple(NameReading(r, sources(text)) for r in made)


def sources(text: str) -> tuple[str, ...]:
    """Where the readings of a name's signs come from, in the order they are asked.

    >>> sources("正")[0]
    'own table'
    """
    path = dictionary()
    found = {source for c in text for _, source in _sourced(c, "name", path)}
    return tuple(s for s in (OWN, UNIDIC, KANJIDIC) if s in found)


def _joined(parts: tuple[str, ...]) -> str:
    """Sino-Japanese sounds as they meet: 一峯 いち + ほう makes いっぽう, 吉光 きち + こう きっこう."""
    text = parts[0]
    for part in parts[1:]:
        # 一 and 吉 close before k, s, t and h (いっぽう, きっこう), and h becomes p.
        if len(text) > 1 and text[-1] in "ちつ" and part[0] in _CLOSING:
            text = text[:-1] + "っ" + _CLOSING[part[0]] + part[1:]
        else:
            text += part
    return text


def _likeliest(each: list[tuple[str, ...]], most: int) -> Iterator[tuple[str, ...]]:
    """Combinations in order of the sum of their ranks."""
    heap = [(0, (0,) * len(each))]
    seen = {heap[0][1]}
    given = 0
    # Ranks are summed best first, so that eight signs of eight readings each (16 million ways) are never listed.
    while heap and given < 4 * most:
        _, ranks = heapq.heappop(heap)
        given += 1
        yield tuple(options[r] for options, r in zip(each, ranks, strict=True))
        for i in range(len(ranks)):
            following = (*ranks[:i], ranks[i] + 1, *ranks[i + 1:])
            if following[i] < len(each[i]) and following not in seen:
                seen.add(following)
                heapq.heappush(heap, (sum(following), following))
