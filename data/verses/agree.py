"""Compares ``known.tsv``, typed from memory, with printed lists, and marks each verse or takes it out.

    python data/verses/agree.py FOLDER

``FOLDER`` holds printed lists as ``tests/bench/verse_texts.py`` describes them (they are not part of this project).

Conventions: a verse *agrees* when a list has it kana for kana (voicing marks aside, spellings of the time folded), or,
where a list has no readings, when the printed kana stand in its kana in their order with something for every kanji.
A verse that is near one in a list (three lines of five in common, two of three, or few kana apart) and agrees with
none *differs* and is dropped; it is never mended from a list. All others stand in none of the lists: "from memory".
"""

from __future__ import annotations

import csv
import difflib
import re
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

from readaid.script import kana as letters
from readaid.script import voicing

KNOWN = Path(__file__).resolve().parent / "known.tsv"
AGREES, MEMORY = "from memory, agrees with a printed text", "from memory"
#: Spellings that changed places freely are no difference of wording: をとめ おとめ, いふ いう, らむ らん.
_FREE = str.maketrans("をほゑへゐひはむぢづ", "おおええいいわんじず")
#: How alike two verses must be to be taken for versions of one, 0..1 (difflib's ratio).
NEAR = 0.72


def folded(kana: str) -> str:
    return voicing.plain(letters.full(letters.to_hiragana(kana.replace("/", "")))).translate(_FREE)


def printed(folder: Path) -> Iterator[tuple[str, str]]:
    """(kana or "", text or "") of every verse of the lists."""
    def rows(name: str) -> Iterator[list[str]]:
        with (folder / name).open(encoding="utf-8") as lines:
            yield from csv.reader((x for x in lines if not x.startswith("#")), delimiter="\t", quoting=csv.QUOTE_NONE)

    for row in rows("hundred_poets_1_50.tsv"):
        yield row[2], ""
    for row in list(rows("waka_8c.tsv"))[1:]:
        yield row[2], ""
    for row in list(rows("waka_10c.tsv"))[1:]:
        yield row[1], ""
    for row in list(rows("hokku_printed.tsv"))[1:]:
        yield (row[5], "") if row[5] else (row[6], row[2])


def _pattern(text: str) -> re.Pattern[str]:
    """Printed kanji and kana as a pattern over folded kana: each run of kanji stands for anything."""
    text = re.sub(r"[\s、。・「」]", "", text)
    text = re.sub(r"(.)[ゝヽ]", r"\1\1", text)
    runs = re.findall(r"[ぁ-ゖ]+|[^ぁ-ゖ]+", letters.to_hiragana(text))
    return re.compile("".join(re.escape(folded(r)) if re.match("[ぁ-ゖ]", r) else ".+?" for r in runs))


def main(folder: Path) -> None:
    prints = [(folded(kana), text) for kana, text in printed(folder) if kana]
    grams: dict[str, list[int]] = defaultdict(list)
    for n, (kana, _) in enumerate(prints):
        for gram in {kana[i:i + 3] for i in range(len(kana) - 2)}:
            grams[gram].append(n)
    lines = KNOWN.read_text(encoding="utf-8").splitlines()
    head = [x for x in lines if x.startswith("#")]
    names, *rows = [x.split("\t") for x in lines if x and not x.startswith("#")]
    kept, told = [], Counter[str]()
    for row in rows:
        kana = folded(row[0])
        shared = Counter(n for i in range(len(kana) - 2) for n in grams.get(kana[i:i + 3], ()))
        verdict = MEMORY
        for n, _ in shared.most_common(12):
            other, text = prints[n]
            if (kana == other) if not text else _pattern(text).fullmatch(kana):
                verdict = AGREES
                break
            if difflib.SequenceMatcher(None, kana, other, autojunk=False).ratio() >= NEAR:
                verdict = "differs"
        told[verdict] += 1
        if verdict != "differs":
            kept.append([*row[:3], verdict])
        else:
            print("differs:", row[0])
    KNOWN.write_text("\n".join([*head, "\t".join(names), *("\t".join(r) for r in kept), ""]), encoding="utf-8")
    print(dict(told))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
