"""Verse and prose for measuring, from a folder named by ``READAID_VERSE_FOLDER`` (tables as its README describes them).

A text belongs to one of three parts by a hash of its kana without voicing marks: 2 of 10 are kept for examination, 1
of 10
served for choosing weights, the rest for fitting. Nothing here is fitted on the examined part.
"""

import csv
import gzip
import hashlib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from readaid.script import kana as letters
from readaid.script import voicing

FOLDER = "READAID_VERSE_FOLDER"
_LAYOUT = re.compile(r"[、。，．・「」『』（）()！!？?\s…―—“”〈〉《》：；]")


@dataclass(frozen=True)
class Text:
    """A text as written and as it is read: lines in historical kana with voicing marks; runs of kanji and reading."""

    written: str
    lines: tuple[str, ...]
    runs: tuple[tuple[bool, str, str], ...] = ()  # (kanji?, written, read), "" where the reading is not known

    @property
    def kana(self) -> str:
        return "".join(self.lines)


def part(kana: str) -> str:
    """The part that a text belongs to.

    >>> part("はるのうみ") == part("ばるのうみ")
    True
    """
    number = int(hashlib.sha1(voicing.plain(kana).encode()).hexdigest()[:8], 16) % 20
    return "examined" if number < 4 else "chosen" if number < 6 else "fitted"


def folder() -> Path | None:
    """The folder named, None where none is."""
    named = os.environ.get(FOLDER)
    return Path(named) if named else None


def rows(path: Path) -> Iterator[dict[str, str]]:
    """Rows of a table with ``#`` comments, plain or gzip."""
    with gzip.open(path, "rt", encoding="utf-8") if path.suffix == ".gz" else path.open(encoding="utf-8") as lines:
        yield from csv.DictReader((line for line in lines if not line.startswith("#")), delimiter="\t",
                                  quoting=csv.QUOTE_NONE)


def clean(text: str) -> str:
    """Signs only: no punctuation, hiragana for katakana, ゝ written out."""
    out: list[str] = []
    for sign in letters.to_hiragana(_LAYOUT.sub("", text)):
        if sign in "ゝゞ" and out:
            plain = voicing.plain(out[-1])
            out.append(voicing.VOICED.get(plain, plain) if sign == "ゞ" else plain)
        else:
            out.append(sign)
    return "".join(out)


def is_kanji(sign: str) -> bool:
    return letters.kind(sign) is letters.Kind.KANJI or sign in "々〆ヶ〇"


def aligned(written: str, kana: str) -> tuple[tuple[bool, str, str], ...] | None:
    """Runs of kanji and of kana with what each reads, or None where the kana do not fit."""
    runs: list[tuple[bool, str]] = []
    for sign in written:
        kind = is_kanji(sign)
        if runs and runs[-1][0] == kind:
            runs[-1] = kind, runs[-1][1] + sign
        else:
            runs.append((kind, sign))
    pattern = "".join(f"(.{{{max(1, (len(s) + 1) // 2)},{7 * len(s)}}}?)" if kind else f"({re.escape(s)})"
                      for kind, s in runs)
    found = re.fullmatch(pattern, kana)
    return None if found is None else tuple((k, s, g) for (k, s), g in zip(runs, found.groups(), strict=True))


def old_verse(which: str = "examined", lengths: int = 5) -> list[Text]:
    """Poems of the oldest anthology with their edition text."""
    out = []
    for row in rows(there("waka_8c.tsv")):
        lines = tuple(row["kana"].split("/"))
        written = clean(row["text"].replace("/", ""))
        runs = aligned(written, "".join(lines))
        if runs and len(lines) == lengths and part("".join(lines)) == which:
            out.append(Text(written, lines, runs))
    return out


def printed(which: str = "examined") -> list[Text]:
    """Hokku some of whose kanji have a printed reading; the other readings are ""."""
    out = []
    for row in rows(there("hokku_printed.tsv")):
        own = part(clean(row["reading_true"] or row["reading_machine"]))
        if row["reading_status"] in ("part", "full") and own == which:
            written, read = clean(row["text"]), clean(row["text_with_printed_readings"])
            runs = aligned(written, read)
            if runs and any(k and not any(map(is_kanji, g)) for k, _, g in runs):
                told = tuple((k, s, "" if any(map(is_kanji, g)) else g) for k, s, g in runs)
                out.append(Text(written, (read,), told))
    return out


def prose(which: str = "examined") -> list[Text]:
    """Sentences in historical kana beside their kanji text."""
    path = there("kana_sentences.tsv.gz")
    out = []
    for row in rows(path):
        kana, written = clean(row["kana"]), clean(row["text"])
        if part(kana) == which and 8 <= len(kana) <= 60:
            runs = aligned(written, kana)
            if runs and any(k for k, _, _ in runs):
                out.append(Text(written, (kana,), runs))
    return out


def there(name: str) -> Path:
    """Where a list lies: in the folder named, or in its ``verse`` or ``prose``."""
    base = folder()
    if base is None:
        raise FileNotFoundError(f"no folder of verse is named by {FOLDER}")
    for path in (base / name, base / "verse" / name, base / "prose" / name):
        if path.exists():
            return path
    raise FileNotFoundError(f"{name} is not in {base}")


def spread(texts: list[Text], many: int) -> list[Text]:
    """``many`` of the texts, in the order of a hash of their kana: the same for all, and nobody's choice."""
    return sorted(texts, key=lambda t: hashlib.sha1(t.kana.encode()).hexdigest())[:many]
