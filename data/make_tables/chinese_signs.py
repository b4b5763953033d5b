"""Make readaid/script/tables/chinese_signs.tsv: tone, rhyme, on and kun of the characters of Chinese lines.

Run from the repository root: ``python data/make_tables/chinese_signs.py``. Needs Debian's ``unicode-data`` (Unihan:
kTang, kCantonese, kJapaneseOn, kJapaneseKun; Unicode licence, see ``readaid/script/tables/UNICODE_LICENSE``).

Tone: by kTang (a reconstruction of the Tang sounds, 3,811 characters); where there is none, level or oblique by the
tone of kCantonese: 1 and 4 without a stop at the end are level, all others oblique. Those take the rhyme of the
characters that sound like them in Canton and in the north, where nine of ten agree.
Rhyme: the finals of kTang put together into the thirty level rhymes of the later tables (東 冬 江 ... 咸), from memory;
an oblique rhyme is named by the level one it goes with.
"""

from __future__ import annotations

import bz2
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

UNIHAN = Path("/usr/share/unicode/Unihan_Readings.txt.bz2")
OUT = Path(__file__).resolve().parents[2] / "readaid" / "script" / "tables" / "chinese_signs.tsv"

#: Level rhyme -> finals of kTang without tone. From memory; 元 holds both iæn and un, as the later tables have it.
RHYMES = {
    "東": "ung iung", "冬": "ong iong", "江": "ang", "支": "iɛ yɛ iuɛ yuɛ i ui yi yui iə", "微": "iəi iuəi",
    "魚": "iu", "虞": "io o", "齊": "ei uei", "佳": "ɛi uɛi æi uæi", "灰": "uəi əi", "真": "in uin yin yun",
    "文": "iən iuən", "元": "iuæn iæn uən ən", "寒": "ɑn uɑn", "刪": "an uan ɛn uɛn",
    "先": "en uen iɛn iuɛn yɛn yuɛn", "蕭": "eu iɛu yɛu", "肴": "au", "豪": "ɑu", "歌": "ɑ uɑ", "麻": "a ua ia",
    "陽": "iɑng ɑng uɑng iuɑng", "庚": "æng iæng ɛng iɛng uæng iuæng uɛng iuɛng", "青": "eng ueng",
    "蒸": "iəng əng uəng", "尤": "iou ou iəu", "侵": "im yim", "覃": "om ɑm", "鹽": "iɛm yɛm em", "咸": "am æm iæm"}
#: Readings of kTang that are slips (園 stands with 圍), and what the later tables have. From memory.
SLIPS = {"園": ["*hiuæn"], "事": ["*zhriə̀"]}
_OF = {final: rhyme for rhyme, finals in RHYMES.items() for final in finals.split()}
_STOP = str.maketrans("ptk", "mnŋ")
_INITIAL = re.compile(r"(?:zhr|shr|chr|dhr|njr|tjr|djr|bh|ph|dh|th|nj|ng|dj|tj|dz|ts|tz|ch|sh|zh|gh|kh|cjh|cz|hr|"
                      r"[bpmdtnlrszjgkqhxv])?[rh]?")


def lines(field: str) -> dict[str, list[str]]:
    found = {}
    for row in bz2.decompress(UNIHAN.read_bytes()).decode("utf-8").splitlines(keepends=True):
        if f"\t{field}\t" in row:
            code, _, value = row.rstrip("\n").split("\t")
            found[chr(int(code[2:], 16))] = value.split()
    return found


def tang(reading: str) -> tuple[str, str]:
    """(tone, rhyme or "") of one reading of kTang."""
    text = unicodedata.normalize("NFD", reading.lstrip("*"))
    tone = "rising" if "\u030c" in text else "departing" if "\u0300" in text else "level"
    text = "".join(c for c in text if not unicodedata.combining(c))
    if text[-1] in "ptk":
        tone = "entering"
        text = text[:-1] + text[-1].translate(_STOP).replace("ŋ", "ng")
    final = text[_INITIAL.match(text).end():]  # type: ignore[union-attr]
    return tone, _OF.get(final, "")


def kana(values: list[str]) -> str:
    import jaconv

    roman = [v.lower().replace("'", "n") if v.endswith("'") else v.lower() for v in values[:4]]
    return " ".join(dict.fromkeys(jaconv.alphabet2kana(r) for r in roman if r.isascii() and r.isalpha()))


def signs() -> Iterator[str]:
    """JIS X 0208 and the characters that Tang verse uses."""
    for row in range(0x30, 0x75):
        for cell in range(0x21, 0x7F):
            try:
                yield (b"\x1b$B" + bytes((row, cell)) + b"\x1b(B").decode("iso2022_jp")
            except UnicodeDecodeError:
                continue


def likely(tangs: dict[str, list[str]], canton: dict[str, list[str]], north: dict[str, list[str]],
           ) -> dict[tuple[str, str], str]:
    """Rhyme of those that sound alike in Canton and in the north: nine of ten, of five or more, must agree (秋 愁)."""
    heard: dict[tuple[str, str], Counter[str]] = {}
    for sign, readings in tangs.items():
        tone, rhyme = tang(readings[0])
        if rhyme and len(readings) == 1 and sign in canton and sign in north:
            heard.setdefault(sound(canton[sign][0], north[sign][0]), Counter())[f"{rhyme}{tone}"] += 1
    return {key: best for key, c in heard.items() for best, n in c.most_common(1)
            if c.total() >= 5 and n >= 0.9 * c.total()}


def sound(south: str, north: str) -> tuple[str, str]:
    """What two readings share with others that rhyme: Cantonese final and tone, northern final without its tone."""
    plain = "".join(c for c in unicodedata.normalize("NFD", north) if not unicodedata.combining(c))
    return (re.sub(r"^(ng|gw|kw|[bpmfdtnlgkhwzcsj])", "", south),
            re.sub(r"^(zh|ch|sh|[bpmfdtnlgkhjqxrzcsyw])", "", plain))


def main() -> None:
    tangs, canton, north = {**lines("kTang"), **SLIPS}, lines("kCantonese"), lines("kMandarin")
    alike = likely(tangs, canton, north)
    ons, kuns = lines("kJapaneseOn"), lines("kJapaneseKun")
    rows, same, both = [], 0, 0
    for sign in sorted({*signs(), *tangs}):
        told = [tang(r) for r in sorted(tangs.get(sign, ()), key=lambda r: not r.startswith("*"))]
        south = ["level" if c[-1] in "14" and c[-2] not in "ptk" else "oblique" for c in canton.get(sign, ())]
        if told and south:
            both += 1
            same += any((t == "level") == (south[0] == "level") for t, _ in told)
        tones = [t for t, _ in told] or south
        if not tones and sign not in ons:
            continue
        rhymes = [f"{r}{t}" for t, r in told if r]
        if not told and south and sign in north:
            rhymes = [r for r in [alike.get(sound(canton[sign][0], north[sign][0]), "")] if r]
            tones = [re.sub("^.", "", rhymes[0])] if rhymes else tones
        rows.append((sign, " ".join(dict.fromkeys(tones)), " ".join(dict.fromkeys(rhymes)),
                     kana(ons.get(sign, [])), kana(kuns.get(sign, [])),
                     "Tang" if told else "Cantonese" if south else ""))
    head = ("# Characters of Chinese lines: tone (level, rising, departing, entering, or oblique where no more is\n"
            "# known; several where there are several), rhyme (level rhyme of the later tables and tone), on, kun.\n"
            "# Source: Unihan (Unicode licence): kTang, kCantonese, kJapaneseOn, kJapaneseKun; rhymes of the\n"
            "# finals from memory.\n"
            f"# The two sources of tones agree on level or oblique for {same} of {both} characters that both have.\n"
            "# Made by data/make_tables/chinese_signs.py.\n"
            "sign\ttone\trhyme\ton\tkun\tfrom\n")
    OUT.write_text(head + "".join("\t".join(r) + "\n" for r in rows), encoding="utf-8")
    print(f"{OUT}: {len(rows)} characters, {sum(bool(r[2]) for r in rows)} with a rhyme; tones agree {same} of {both}")


if __name__ == "__main__":
    main()
