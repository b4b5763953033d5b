"""Makes the tables of names out of the installed UniDic: ``python data/make_tables/names.py``.

``family_names.tsv`` and ``place_names.tsv``: the dictionary's family names, and the places that its texts held, with
their reading and its word cost; ``name_signs.tsv``: how each kanji is read in given names and in Sino-Japanese words,
found by aligning signs and sounds (expectation maximisation), and what it costs to meet the sign in a name, from its
share among given names and among common nouns. Needs unidic-lite (UniDic 2.1.2, BSD licence). No makers are listed.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import combinations
from pathlib import Path

from readaid.lexicon.dictionary import opened
from readaid.script.signs import fold

TABLES = Path(__file__).resolve().parents[2] / "readaid" / "script" / "tables"
SOURCE = """# Source: UniDic 2.1.2 (unidic-lite), Copyright (c) 2011-2013, The UniDic Consortium, BSD licence:
# UNIDIC_LICENSE beside this file. Made by data/make_tables/names.py.
"""
KANJI = re.compile(r"[一-鿿々]+$")
#: The word cost from which the dictionary had no example of a place in its texts: the highest of that part of speech.
UNSEEN = 9195


def hiragana(text: str) -> str:
    """Katakana as hiragana."""
    return "".join(chr(ord(c) - 0x60) if "ァ" <= c <= "ヶ" else c for c in text)


def entries() -> Iterator[tuple[int, tuple[str, ...]]]:
    """Cost and fields of every noun of the dictionary that is written in kanji alone."""
    trie = opened().words
    for number in range(len(trie.tokens)):
        text = trie.feature_text(number)
        if text.startswith("名詞"):
            fields = trie.feature(number)
            if len(fields) > 12 and KANJI.match(fields[8]):
                yield int(trie.tokens["cost"][number]), fields


def align(words: Iterable[tuple[str, str]], rounds: int = 8) -> dict[str, Counter[str]]:
    """How often each sign is read how: every cut of a reading among the signs, weighed by expectation maximisation."""
    pairs = [(w, r, list(cuts(len(w), r))) for w, r in words if 0 < len(w) <= len(r) <= 5 * len(w)]
    share: dict[tuple[str, str], float] = defaultdict(lambda: 0.01)
    counts: dict[str, Counter[str]] = {}
    for _ in range(rounds):
        counts = defaultdict(Counter)
        for word, _reading, ways in pairs:
            weights = [math.prod(share[s, p] for s, p in zip(word, way, strict=True)) for way in ways]
            total = sum(weights) or 1.0
            for way, weight in zip(ways, weights, strict=True):
                for sign, part in zip(word, way, strict=True):
                    counts[sign][part] += weight / total
        share = defaultdict(lambda: 1e-6)
        for sign, parts in counts.items():
            whole = sum(parts.values())
            for part, count in parts.items():
                share[sign, part] = count / (whole + 1)
    return dict(counts)


def cuts(signs: int, reading: str) -> Iterator[tuple[str, ...]]:
    """Every way to share a reading among signs, no sign without a sound; small kana never begin one."""
    for places in combinations(range(1, len(reading)), signs - 1):
        parts = tuple(reading[a:b] for a, b in zip((0, *places), (*places, len(reading)), strict=True))
        if not any(p[0] in "ゃゅょっんー" or len(p) > 5 for p in parts):
            yield parts


def kept(counts: Counter[str], share: float, least: float, most: int) -> list[str]:
    """The usual readings, the likelier first; sounds changed by what follows or goes before are left to the reader."""
    whole = sum(counts.values())
    good = [(r, c) for r, c in counts.most_common() if c >= least and c >= share * whole
            and not r.endswith("っ") and r[0] not in "ぱぴぷぺぽ"]
    return [r for r, _ in good[:most]]


def main() -> None:
    given: list[tuple[str, str]] = []
    words: list[tuple[str, str]] = []
    families: dict[str, tuple[int, str]] = {}
    places: dict[str, tuple[int, str]] = {}
    common: Counter[str] = Counter()
    names: Counter[str] = Counter()
    for cost, f in entries():
        written, reading = f[8], hiragana(f[6])
        if f[1] == "普通名詞":
            common.update(dict.fromkeys(written, 1e4 * math.exp(-cost / 700)))
            if f[12] == "漢" and len(written) == 2:
                words.append((written, reading))
        elif f[2] == "人名" and f[3] == "名" and len(written) <= 3:
            given.append((written, reading))
            names.update(set(written))
        elif f[2] == "人名" and f[3] == "姓" and len(written) <= 4:
            families.setdefault(fold(written), (cost, reading))
            families[fold(written)] = min(families[fold(written)], (cost, reading))
        elif f[2] == "地名" and f[3] == "一般" and cost < UNSEEN and 2 <= len(written) <= 5:
            places.setdefault(fold(written), (cost, reading))
            places[fold(written)] = min(places[fold(written)], (cost, reading))
    for name, table in (("family_names.tsv", families), ("place_names.tsv", places)):
        lines = "".join(f"{w}\t{r}\t{c}\n" for w, (c, r) in sorted(table.items()))
        head = "# Names, their usual reading, and UniDic's word cost (-700 ln p).\n"
        (TABLES / name).write_text(f"{head}{SOURCE}name\treading\tcost\n{lines}", encoding="utf-8")
    native, chinese = align(given), align(words)
    rows = []
    for sign in sorted(set(native) | set(chinese)):
        own = kept(native.get(sign, Counter()), 0.03, 1.5, 8)
        on = kept(chinese.get(sign, Counter()), 0.1, 0.9, 3)
        odd = 100 * (math.log((common[sign] + 0.02) / (names[sign] + 3)) - 2)
        if own or on:
            rows.append(f"{sign}\t{' '.join(own)}\t{' '.join(on)}\t{names[sign]}\t{max(0, round(odd))}\n")
    head = ("# Readings of kanji in given names (native and Sino-Japanese, the more frequent first) and in\n"
            "# Sino-Japanese words; how many of the dictionary's given names hold the sign; and what it costs\n"
            "# (-700 ln p, our own weighing) to meet it in a name: nothing unless it is far commoner in nouns.\n")
    whole = f"{head}{SOURCE}kanji\tname\ton\tnames\todd\n{''.join(rows)}"
    (TABLES / "name_signs.tsv").write_text(whole, encoding="utf-8")


if __name__ == "__main__":
    main()
