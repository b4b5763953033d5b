"""Write the class table of the character model: kana, hentaigana parents, kanji.

Conventions: one row a class, in the order of the model's outputs. Sounds and
parents come from the Unicode character names (Python's ``unicodedata``) and from
``NamesList.txt`` of the Unicode character database ("derived from XXXX"); the
kanji from its ``kJoyoKanji`` and ``kJinmeiyoKanji`` fields. ``weight`` is how
common the letter is, a coarse scale from common practice in reading primers
(from memory, no table was copied): 1 standard hiragana, 0.5 / 0.2 / 0.03
common / less common / rare letters.

Run: ``python classes.py OUT.tsv REAL.npz [UNICODE_FOLDER]`` (``REAL.npz`` from ``real.py``)
"""

from __future__ import annotations

import bz2
import re
import sys
import unicodedata
from pathlib import Path

import numpy as np
from glyphs_table import DAILY, SAME

ROMAJI = {
    "A": "あ",
    "I": "い",
    "U": "う",
    "E": "え",
    "O": "お",
    "KA": "か",
    "KI": "き",
    "KU": "く",
    "KE": "け",
    "KO": "こ",
    "SA": "さ",
    "SI": "し",
    "SU": "す",
    "SE": "せ",
    "SO": "そ",
    "TA": "た",
    "TI": "ち",
    "TU": "つ",
    "TE": "て",
    "TO": "と",
    "NA": "な",
    "NI": "に",
    "NU": "ぬ",
    "NE": "ね",
    "NO": "の",
    "HA": "は",
    "HI": "ひ",
    "HU": "ふ",
    "HE": "へ",
    "HO": "ほ",
    "MA": "ま",
    "MI": "み",
    "MU": "む",
    "ME": "め",
    "MO": "も",
    "YA": "や",
    "YU": "ゆ",
    "YO": "よ",
    "RA": "ら",
    "RI": "り",
    "RU": "る",
    "RE": "れ",
    "RO": "ろ",
    "WA": "わ",
    "WI": "ゐ",
    "WE": "ゑ",
    "WO": "を",
    "N": "ん",
}
HIRAGANA = "あいうえおかきくけこさしすせそたちつてとなにぬねのはひふへほまみむめもやゆよらりるれろわゐゑをん"
# The letters a reader meets first, by sound; the first group more often than the second.
COMMON = (
    "阿安以伊宇衣江於加可幾支起久具計介遣希己古左佐之志寸春須世勢曽楚所太多堂知千川徒都津天帝亭止登奈那難仁尓耳丹"
    "奴祢年乃能農波者盤八半比飛日不婦布部遍保本末満万美三見武無女免毛母茂裳也屋由遊与夜良羅利里李留流累類礼連呂路"
    "和王為井恵衛遠越乎无"
)
LESS = (
    "愛意移有盈我閑賀家香喜貴木九氣気故許許散斜新数壽寿勢處処田地遅傳伝東砥南名二児爾子根野濃葉悲倍報萬真間身微舞牟面蒙"
    "耶余世蘭羅梨理麗禮"
)
TRADE = "鐫鏨鐔鍔縁頭鋳鑄彫刻銘作造製國澤壽龍齋齊藝應需畫圖寫谷翁歳軒堂斎庵亭叟哉鳧覧計嘉永慶應寛政享保元禄化貞明曆暦"


def read_parents(folder: Path) -> dict[str, tuple[list[str], list[str]]]:
    out: dict[str, tuple[list[str], list[str]]] = {}
    here = None
    for line in (folder / "NamesList.txt").read_text(encoding="utf-8").splitlines():
        head = re.match(r"(1B0[0-9A-F]{2}|1B1[01][0-9A-F])\tHENTAIGANA LETTER (.+)$", line)
        if head:
            here = chr(int(head[1], 16))
        elif line and line[0] not in "\t;@":
            here = None
        found = re.search(r"derived from ([0-9A-F]{4,5})", line)
        if here and found:
            add(out, chr(int(found[1], 16)), here, unicodedata.name(here))
    add(out, "江", "\U0001b001", "HENTAIGANA LETTER E-1")  # corrected name; the names list gives no parent
    return out


def add(out: dict[str, tuple[list[str], list[str]]], parent: str, letter: str, name: str) -> None:
    # "HENTAIGANA LETTER A-1", and double sounds "HENTAIGANA LETTER N-MU-MO-1" (from 无), "A-WO"
    words = name.removeprefix("HENTAIGANA LETTER ").split("-")
    sounds = [ROMAJI[w] for w in words if w in ROMAJI]
    held = out.setdefault(parent, ([], []))
    held[0].append(letter)
    held[1].extend(s for s in sounds if s not in held[1])


def kanji(folder: Path, field: str) -> list[str]:
    found: list[str] = []
    with bz2.open(folder / "Unihan_OtherMappings.txt.bz2", "rt", encoding="utf-8") as lines:
        for line in lines:
            parts = line.split("\t")
            if len(parts) > 2 and parts[1] == field and parts[0].startswith("U+"):
                char = chr(int(parts[0][2:], 16))
                if char not in found:
                    found.append(char)
    return found


def counts(real: Path) -> dict[str, int]:
    """How many crops of each character the training sees."""
    held = np.load(real)
    found = held["characters"][held["part"] == 0]
    return dict(zip(*(x.tolist() for x in np.unique(found, return_counts=True)), strict=True))


def main(out: Path, folder: Path, real: Path) -> None:
    rows: list[tuple[str, str, str, str, float]] = []
    for char in HIRAGANA:
        rows.append((char, "hiragana", char, "", 1.0))
    for char in HIRAGANA:
        rows.append((chr(ord(char) + 0x60), "katakana", char, "", 0.1))
    parents = read_parents(folder)
    for parent, (held, sounds) in sorted(parents.items()):
        char = DAILY.get(parent, parent)
        forms = {char, parent, *(k for k, v in SAME.items() if v == char)}
        weight = 0.5 if forms & set(COMMON) else 0.2 if forms & set(LESS) else 0.03
        rows.append((char, "letter", "".join(sounds), "".join(held), weight))
    known = {r[0] for r in rows}
    joyo, names = kanji(folder, "kJoyoKanji"), kanji(folder, "kJinmeiyoKanji")
    for char in joyo + names + list(TRADE):
        if char in known or char in SAME or unicodedata.normalize("NFC", char) != char:
            continue
        known.add(char)
        rows.append((char, "kanji", "", "", 1.0 if char in joyo else 0.3))
    crops = counts(real)
    for char in sorted(set(crops) - {r[0] for r in rows}):  # met in old books only: 扨, 臺, 爰
        rows.append((char, "kanji", "", "", 0.3 if crops[char] > 4 else 0.1))
    with out.open("w", encoding="utf-8", newline="\n") as file:
        file.write(
            "# Classes of the character model, in the order of its outputs.\n"
            "# Source: Unicode 15 character names, NamesList.txt (parents), Unihan kJoyoKanji and kJinmeiyoKanji.\n"
            "# weight: how common the letter is, coarse, from memory (see data/train_glyphs/classes.py).\n"
            "# crops: how many crops of real old hands the training saw (counted from Kuzushiji-Kanji, see MODEL.md).\n"
            "character\tkind\tsounds\tletters\tweight\tcrops\n"
        )
        for row in rows:
            file.write("\t".join(str(x) for x in (*row, crops.get(row[0], 0))) + "\n")
    kinds = [r[1] for r in rows]
    print(len(rows), {k: kinds.count(k) for k in sorted(set(kinds))})


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[3] if len(sys.argv) > 3 else "/usr/share/unicode"), Path(sys.argv[2]))
