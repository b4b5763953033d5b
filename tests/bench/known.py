"""Measures of known verse, season words and Chinese lines.

Known verses are every twelfth of ``data/verses/known.tsv``, typed as they are written, with 40 % unread, one line of
them, half of them. False alarms, season words: real verses of a folder named by ``READAID_VERSE_FOLDER`` (see
``verse_texts``), which are in no collection here. ``season_sheet.tsv`` holds what a reader without the table called the
season words of 200 verses drawn by a hash, each verse by a hash of its text; the words there are those of the
dictionary's tagger, not of a full search.
"""

import csv
import hashlib
import re
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from readaid.core.reading import Word
from readaid.lexicon import tagger, verse_model, verses
from readaid.reading import chinese_verse, known_verse, seasons
from readaid.script import chinese_signs, voicing
from readaid.script import kana as letters
from tests.bench import verse_texts

Row = tuple[str, float, str, str]
SHEET = Path(__file__).resolve().parent / "season_sheet.tsv"
STEP = 12
#: Poets of the printed list of whom the collection holds hokku: theirs may be in it, in another writing.
HELD = frozenset({
    "芭蕉", "桃青", "与謝蕪村", "蕪村", "一茶", "小林一茶", "其角", "千代", "千代女", "去来", "凡兆", "鬼貫", "太祇",
    "丈草", "嵐雪", "暁台", "正岡子規", "子規", "良寛", "曾良", "几董", "来山", "白雄", "支考", "蓼太", "守武", "許六",
    "素堂", "宗因", "杉風", "貞徳", "成美", "也有", "宗鑑", "園女", "越人", "野坡", "智月", "季吟", "乙由", "梅室",
    "宗及", "惟然", "夏目漱石", "漱石", "秋色", "路通", "宗祇", "道彦", "荷兮", "星布", "西鶴", "樗良", "野水", "菊舎",
    "捨女", "言水", "北斎", "明智光秀", "正秀", "秋成", "千子", "北枝", "木水", "貞室", "失名"})


def share(right: int, of: int) -> str:
    """Wilson's interval of a share, 95 %."""
    p, z = right / of, 1.96
    middle, half = p + z * z / (2 * of), z * (p * (1 - p) / of + z * z / (4 * of * of)) ** 0.5
    low, high = (middle - half) / (1 + z * z / of), (middle + half) / (1 + z * z / of)
    return f"n {of}, {100 * low:.1f} to {100 * high:.1f}"


def rated(what: str, right: int, of: int, goal: str) -> Row:
    """A row with its share in per cent and its interval."""
    return f"{what} ({share(right, of)})", 100 * right / of, "%", goal


def finding() -> list[Row]:
    """Known verses found, and what is said of a line and of a half."""
    random = np.random.default_rng(19)
    chosen = [v for v in verses.load(verses.demo_path())[::STEP] if len(v.lines) in (3, 5)]
    found = dict.fromkeys(("mixed", "unread", "line", "half", "quoted"), 0)
    lines = 0
    index = known_verse.index(verses.along())
    for v in chosen:
        own = " ".join(v.lines)
        plain = voicing.plain(v.kana)
        asked = {"mixed": re.sub(r"[/\s]", "", v.text),
                 "unread": "".join("?" if random.random() < 0.4 else c for c in plain)}
        for name, text in asked.items():
            best = known_verse.find_verse(text, k=1)[0]
            found[name] += best.verse == own and best.verdict in ("the same", "a variant")
        line = v.lines[1]
        if index.holding(line) == 1:  # a line that stands in one verse only: which verse it is can be told
            lines += 1
            found["line"] += known_verse.find_verse(voicing.plain(line), k=1)[0].verse == own
        half = voicing.plain("".join(v.lines[len(v.lines) // 2:]))
        best = known_verse.find_verse(half, k=1)[0]
        found["half"] += best.verse == own
        found["quoted"] += best.verdict == "quotes a line"
    n = len(chosen)
    return [rated("known verse found as it is written", found["mixed"], n, ">= 99"),
            rated("known verse found, 40 % unread", found["unread"], n, ">= 99"),
            rated("known verse found by a line of its own", found["line"], lines, ">= 95"),
            rated("known verse found by its second half", found["half"], n, ""),
            rated("half a verse called a quoted line", found["quoted"], n, "all")]


def alarms(many: int = 200) -> list[Row]:
    """Real verses of others, called the same, a variant or a quotation of one of the collection; hokku as printed."""
    held = {voicing.plain(v.kana) for v in verses.along()}
    waka = [r["kana"].replace("/", "") for r in verse_texts.rows(verse_texts.there("waka_10c.tsv"))]
    waka = [k for k in waka if verse_texts.part(k) == "examined" and voicing.plain(k) not in held]
    signs = {verse_texts.clean(v.text) for v in verses.along()}
    hokku = {verse_texts.clean(r["text"]): verse_texts.clean(r["reading_machine"])
             for r in verse_texts.rows(verse_texts.there("hokku_printed.tsv")) if r["poet"] not in HELD}
    hokku_left = [text for text, guess in hokku.items()
                  if verse_texts.part(guess) == "examined" and text not in signs and voicing.plain(guess) not in held
                  and all(verse_texts.is_kanji(c) or letters.is_hiragana(c) for c in text)]
    return [*_alarms("waka", waka, many), *_alarms("hokku", hokku_left, many)]


def _alarms(kind: str, texts: list[str], many: int) -> list[Row]:
    chosen = sorted(texts, key=lambda k: hashlib.sha1(k.encode()).hexdigest())[:many]
    told = [known_verse.find_verse(k, k=1)[0] for k in chosen]
    wrong = sum(m.verdict in ("the same", "a variant") for m in told)
    quoted = sum(m.verdict == "quotes a line" for m in told)
    return [rated(f"left-out {kind} called a known verse or a variant", wrong, len(chosen), "< 1"),
            rated(f"left-out {kind} said to quote a line, which they do kana for kana", quoted, len(chosen), "")]


def words(text: str) -> list[Word]:
    """The words of a printed text by the dictionary's tagger, as the readings hold them."""
    out = []
    for w in tagger.best(text)[0]:
        f = next(csv.reader([w.feature]))

        def field(n: int, f: list[str] = f) -> str:
            return f[n] if len(f) > n and f[n] != "*" else ""

        plain = all(letters.is_hiragana(c) for c in w.surface)
        kana = w.surface if plain else letters.to_hiragana(field(17) or field(6) or w.surface)
        out.append(Word(0, 1, w.surface, kana, kana, kana, ",".join(x for x in f[:4] if x != "*"), len(f) > 17, 0.0,
                        field(7).split("-")[0], normal=kana))
    return out


def sheet() -> Iterator[tuple[str, list[tuple[str, set[str]]], list[str]]]:
    """(text, words with their seasons that must be told, words that may be) of each verse on the sheet."""
    texts = {hashlib.sha1(r["text"].encode()).hexdigest()[:12]: r["text"]
             for r in verse_texts.rows(verse_texts.there("hokku_printed.tsv"))}
    with SHEET.open(encoding="utf-8") as file:
        for row in csv.DictReader((x for x in file if not x.startswith("#")), delimiter="\t"):
            pairs = (w.replace("newyear", "new year").split("=") for w in row["words"].split(" ") if w)
            need = [(word, set(names.split("/"))) for word, names in pairs]
            yield texts[row["hash"]], need, row["may"].split()


def seasons_told() -> list[Row]:
    """Season words against a reader's sheet."""
    right = wrong = missed = 0
    for printed, need, may in sheet():
        text = re.sub(r"(.)ゝ", r"\1\1", printed).replace("／″＼", "〱").replace("／＼", "〱").replace("〓", "？")
        left = list(need)
        for told in seasons.seasons(words(text)):
            word, season = told.rsplit(" (", 1)
            kinds = set(season.strip(")").split("/"))
            hit = next((g for g in left if _alike(g[0], word) and g[1] & kinds), None)
            if hit:
                right += 1
                left.remove(hit)
            elif not any(_alike(m, word) for m in may) and not any(_alike(g[0], word) and g[1] & kinds for g in need):
                wrong += 1
        missed += len(left)
    return [rated("season words told, right", right, right + wrong, ">= 95"),
            rated("season words there, told", right, right + missed, ">= 90")]


def _alike(one: str, two: str) -> bool:
    one, two = (re.sub(r"(.)ゝ", r"\1\1", t) for t in (one, two))
    kanji = {c for c in one if letters.is_kanji(c)} & {c for c in two if letters.is_kanji(c)}
    return one in two or two in one or bool(kanji) or any(one[i:i + 2] in two for i in range(len(one) - 1))


def large(many: int = 100_000) -> list[Row]:
    """A reader's own collection of many verses in a plain text file, drawn from the kana models."""
    models = verse_model.models()
    drawn = [*models["unvoiced"].draw((5, 7, 5, 7, 7), many // 2, 90), *models["hokku"].draw((5, 7, 5), many // 2, 91)]
    random = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mine.txt"
        path.write_text("\n".join(" ".join(v) for v in drawn) + "\n", encoding="utf-8")
        start = time.process_time()
        known_verse.index(verses.load(path))
        made = time.process_time() - start
        times, first = [], 0
        asked = random.integers(0, many, 20).tolist()
        known_verse.find_verse("はるのうみ", path, k=1)
        for n in asked:
            text = "".join("?" if random.random() < 0.4 else c for c in "".join(drawn[n]))
            start = time.process_time()
            first += known_verse.find_verse(text, path, k=1)[0].verse == " ".join(drawn[n])
            times.append(time.process_time() - start)
    return [(f"collection of {many:,} verses read and made ready, processor", made, "s", "< 20"),
            (f"answer among {many:,}, 40 % unread, median, processor", float(np.median(times)), "s", "< 0.3"),
            rated(f"right verse first among {many:,}, 40 % unread", first, len(asked), "")]


def chinese() -> list[Row]:
    """Quatrains that rhyme by the table; characters of the first level of JIS X 0208 (2,965) with on, kun and tone."""
    poems = [p for p in chinese_verse.collection() if len(p.lines) == 4]
    rhyme = sum(bool(chinese_verse.taken_apart("".join(p.lines)).rhymes) for p in poems)
    common = []
    for row in range(0x30, 0x50):
        for cell in range(0x21, 0x7F):
            try:
                common.append((b"\x1b$B" + bytes((row, cell)) + b"\x1b(B").decode("iso2022_jp"))
            except UnicodeDecodeError:
                continue
    told = [chinese_signs.of(c) for c in common]
    n = len(told)
    return [rated("well-known quatrains whose rhyme the table tells", rhyme, len(poems), ""),
            (f"common characters with a tone (of {n:,})", 100 * sum(bool(s.tones) for s in told) / n, "%", ""),
            (f"common characters with on (of {n:,})", 100 * sum(bool(s.on) for s in told) / n, "%", ""),
            (f"common characters with kun (of {n:,})", 100 * sum(bool(s.kun) for s in told) / n, "%", ""),
            (f"common characters with a rhyme (of {n:,})", 100 * sum(bool(s.rhymes) for s in told) / n, "%", "")]


def bench() -> list[Row]:
    rows = [*finding(), *chinese(), *large()]
    return [*rows, *alarms(), *seasons_told()] if verse_texts.folder() else rows
