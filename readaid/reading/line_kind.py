"""Recognising the kind of a line: verse, signature, date, title, Chinese line, seal text or prose.

Conventions: the evidence is added up in natural logarithms for each kind and made into probabilities that sum to 1. It
comes from the signs, the ends of columns, the best parse of the signature grammar and the morae that the signs may
make; no reading of a verse is searched. The weights are our own, set on the sheet of kinds that was written first
(tests/script/examine/kinds.tsv); words: ``script/tables/line_words.tsv``.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import pairwise

from readaid.core.line import LINE_KINDS, LineKind
from readaid.core.person import Signature
from readaid.script import hentaigana, kana, kana_kanji, signature, verse_forms
from readaid.script.period import PERIOD
from readaid.script.rows import load
from readaid.script.signs import Characters, Signs, fold, signs

#: How often each kind stands on a piece, before anything is read: an experienced eye's estimate, no source.
_PRIOR = {"verse": 0.35, "signature": 0.33, "date": 0.06, "signature with date": 0.09, "title or place": 0.05,
          "Chinese line": 0.04, "seal text": 0.03, "prose": 0.05}
#: Parts that only a signature has; those that say little (a bare name, a place); those of a date.
_STRONG = frozenset(("residence", "rank", "office", "age", "pupil", "verb", "model", "request", "appraisal", "kao",
                     "late signature", "joint", "role word", "material", "usual name", "reign mark", "owner"))
_NAMES = frozenset(("name", "art name", "usual name", "family", "school"))
#: Morae of a kanji in Japanese verse: mean and spread, our own estimate from hokku with few okurigana.
_MORAE_A_KANJI, _SPREAD_A_KANJI, _SPREAD_A_KANA = 2.0, 0.75, 0.25
#: A line with more kana than this is not parsed as a signature: 59 ms of 27 kana would be work for nothing.
_MOST_KANA = 0.6
_KATAKANA = frozenset(chr(c) for c in range(0x30A1, 0x30F5)) - frozenset("ヶヵヽヾ")
_CLASSES = ("chinese", "prose", "ending", "title", "seal")


@cache
def _words() -> dict[str, tuple[str, ...]]:
    def make(row: dict[str, str]) -> tuple[str, str]:
        if row["class"] not in _CLASSES or not row["word"]:
            raise ValueError(f"class {row['class']!r}; known: {', '.join(_CLASSES)}")
        return row["class"], row["word"]

    made: dict[str, list[str]] = {name: [] for name in _CLASSES}
    for name, word in load("line_words.tsv", ("class", "word"), make):
        made[name].append(fold(word) if name in ("chinese", "title", "seal") else word)
    return {name: tuple(dict.fromkeys(words)) for name, words in made.items()}


@dataclass
class _Evidence:
    """A line and what is counted in it; scores in natural logarithms with their reasons."""

    row: Signs
    way: Signature | None
    scores: dict[str, float] = field(default_factory=lambda: {k: math.log(p) for k, p in _PRIOR.items()})
    reasons: dict[str, list[str]] = field(default_factory=lambda: {k: [] for k in LINE_KINDS})

    def add(self, kind: str, amount: float, why: str = "") -> None:
        self.scores[kind] += amount
        if why and amount > 0:
            self.reasons[kind].append(why)

    @cached_property
    def text(self) -> str:
        return self.row.text

    @cached_property
    def classes(self) -> str:
        """One letter a sign: k kana, K kanji, ? unread, m a mark of repetition, o another."""
        return "".join(_class(c) for c in self.text)

    @cached_property
    def kana(self) -> int:
        """Kana, marks, and kanji beside them that are known as kana letters (者 in 者る)."""
        plain = [c in "km" for c in self.classes]
        near = [any(plain[max(0, i - 2):i + 3]) for i in range(len(plain))]
        as_kana = sum(c == "K" and near[i] and _as_kana(self.text[i]) for i, c in enumerate(self.classes))
        # 者る乃海ひね毛須の多りのたり可那: kanji that stand for kana only count where kana are many already
        return sum(plain) + (as_kana if sum(plain) * 2 >= as_kana else 0)

    @cached_property
    def kanji(self) -> int:
        return len(self.text) - self.kana - self.classes.count("?")

    @cached_property
    def columns(self) -> list[int]:
        """Signs of each column."""
        ends = [0, *sorted(self.row.breaks), len(self.row)]
        return [b - a for a, b in pairwise(ends)]

    @cached_property
    def parts(self) -> Counter[str]:
        return Counter(p.kind for p in self.way.parts) if self.way else Counter()

    def share(self, *kinds: str) -> float:
        """Share of the signs in parts of some kinds."""
        return sum(p.end - p.start for p in self.way.parts if p.kind in kinds) / len(self.row) if self.way else 0.0


def _class(sign: str) -> str:
    if sign in "?□■〇…":
        return "?"
    if sign in "ゝゞヽヾ々〻〱〲":
        return "m"
    if kana.is_hiragana(sign) or kana.is_katakana(sign) or kana.is_hentaigana(sign):
        return "k"
    return "K" if kana.is_kanji(sign) else "o"


@cache
def _as_kana(sign: str) -> bool:
    """Whether a kanji stands for kana in verse: 者 は, 可 か, 哉 かな."""
    return bool(kana_kanji.values(sign)) or bool(hentaigana.by_parent(sign))


def kinds(characters: Characters, period: tuple[int, int] = PERIOD) -> list[LineKind]:
    """The kinds a line may be, likeliest first; probabilities sum to 1.

    ``characters`` is text or one entry per sign (see ``script.signs``). Raises TextError where no sign stands.

    >>> [kinds(t)[0].kind for t in ("江戸住蘆香作", "古池や蛙飛こむ水の音", "月落烏啼霜滿天")]
    ['signature', 'verse', 'Chinese line']
    """
    row = signs(characters)
    return recognised(row, parsed(row, 1, period))


def parsed(row: Signs, k: int = 5, period: tuple[int, int] = PERIOD) -> list[Signature]:
    """Ways to take a row apart as a signature; none where it is too long for one, or mostly kana as no signature is."""
    if len(row) > signature.LONGEST or _Evidence(row, None).kana > _MOST_KANA * len(row):
        return []
    return signature.parse(row, k, period)


def recognised(row: Signs, ways: Sequence[Signature]) -> list[LineKind]:
    """The kinds of a row of signs of which ``ways`` are the parses as a signature, see ``parsed``."""
    given = _Evidence(row, ways[0] if ways else None)
    form = _verse(given)
    for weigh in (_signature, _title, _seal, _prose):
        weigh(given)
    chinese = _chinese(given)
    most = max(given.scores.values())
    weights = {k: math.exp(s - most) for k, s in given.scores.items()}
    total = sum(weights.values())
    forms = {"verse": form, "Chinese line": chinese}
    made = [LineKind(k, w / total, "; ".join(given.reasons[k]), forms.get(k)) for k, w in weights.items()]
    return sorted(made, key=lambda m: -m.probability)


def _verse(given: _Evidence) -> str | None:
    """Weighs verse by the morae that the signs may make; gives the form that fits best."""
    n, share = len(given.row), given.kana / len(given.row)
    unread = given.classes.count("?")
    mean = given.kana + _MORAE_A_KANJI * given.kanji + unread
    spread = math.sqrt(0.3 + _SPREAD_A_KANJI ** 2 * given.kanji + _SPREAD_A_KANA ** 2 * given.kana + 0.3 * unread)
    usual = {"hokku": 0.0, "tanka": 0.3, "linked": 2.5, "dodoitsu": 3.0, "sedoka": 4.5, "imayo": 4.0}
    # A Gauss curve round the form's morae, as wide as the kanji in the line leave it open.
    misfits = {f.name: usual[f.name] + 0.5 * ((mean - sum(f.lines)) / spread) ** 2
               for f in verse_forms.BY_NAME.values() if f.name in usual}
    form = min(misfits, key=lambda name: misfits[name])
    given.add("verse", 2.6 - 0.7 * misfits[form] if misfits[form] < 8 else -4.0,
              f"the signs make about {mean:.0f} morae, as a {form} has")
    if share >= 0.3:
        given.add("verse", 1.5, "kana among the kanji")
    elif share == 0:
        given.add("verse", -5.0)
    else:
        given.add("verse", -1.0)
    ending = given.text.rstrip("。、")
    if share > 0 and any(ending.endswith(w) for w in _words()["ending"]):
        given.add("verse", 0.8, "it closes as verse does")
    # Five kana are a word or a name rather than a verse.
    if share > 0 and n < 8:
        given.add("verse", -2.5)
    return form


def _signature(given: _Evidence) -> None:
    n, way = len(given.row), given.way
    if way is None:
        for kind in ("signature", "signature with date", "date"):
            given.add(kind, -8.0)
        return
    strong = sum(given.parts[k] for k in _STRONG)
    named = any(given.parts[k] for k in _NAMES) or bool(given.parts["pupil"]) or bool(given.parts["office"])
    dated = given.share("date")
    lost = given.share("not analysed", "title")
    base = 1.3 * min(strong, 4) + 0.8 * min(given.parts["art name"], 1)
    # Kana in a signature are seldom more than a particle; signs that no rule explains count like kana.
    base -= way.cost / 350 + 5.0 * lost + 5.0 * given.kana / n
    seen = [p.text for p in way.parts if p.kind in _STRONG]
    why = f"words of a signature: {'、'.join(seen[:4])}" if seen else ""
    # A seal by itself is a seal's text; with a monogram beside it, it closes a signature.
    only_seals = given.share("seal") + given.share("kao") == 1 and not given.parts["kao"]
    if not strong:
        short = {1: -1.0, 2: 0.5, 3: 0.3, 4: 0.5}.get(n, -1.5)
        base += short + (1.0 if given.parts["seal"] and named else 0.0)
    given.add("signature", base - (6.0 if dated else 0.0) - (4.0 if only_seals else 0.0), why or "as short as a name")
    given.add("signature with date", base + (2.0 if dated and (named or strong) else -8.0),
              why + "; a date stands in it" if dated else why)
    rest = 1 - dated - given.share("place", "not analysed") * 0.3
    given.add("date", 6.0 - 14.0 * rest if dated else -8.0, "all of it is a date")
    if given.parts["reign mark"]:
        given.add("date", 1.0, "a reign mark")


def _closes(text: str, word: str) -> bool:
    """Whether a subject's word closes a text; 翁 is a subject by itself only, 孤舟蓑笠翁 none."""
    return text == word or (text.endswith(word) and (len(word) > 1 or word == "図"))


def _title(given: _Evidence) -> None:
    text, n = fold(given.text), len(given.row)
    ends = max((w for w in _words()["title"] if _closes(text, w)), key=len, default="")
    whole = text in _words()["title"]
    if ends and n <= 14:
        given.add("title or place", (5.0 if whole else 3.0) + 0.4 * len(ends) - 4.0 * given.kana / n,
                  f"{ends} names a subject")
    elif given.parts and set(given.parts) <= {"place"}:
        given.add("title or place", 4.0, "a place alone")
    elif given.parts and set(given.parts) <= {"title"}:
        given.add("title or place", 4.0, "words of a subject")
    else:
        given.add("title or place", -1.5 - (1.5 if n > 10 else 0.0) - (2.0 if given.kana else 0.0))


def _seal(given: _Evidence) -> None:
    text, n = fold(given.text).strip("()"), len(given.row)
    described = any(w in text for w in ("白文", "朱文", "方印", "円印", "印文"))
    ends = max((w for w in _words()["seal"] if text.endswith(w)), key=len, default="")
    if described:
        given.add("seal text", 7.0, "it describes a seal")
    elif ends in ("之印", "之章", "私印", "信印", "印章") and n <= 8:
        given.add("seal text", 6.5, f"{ends} closes the text of seals")
    elif ends and n <= 5:
        given.add("seal text", 1.5 if given.row.parted else 2.5, f"{ends} closes the text of seals")
    elif n in (2, 4) and not given.kana:
        given.add("seal text", 0.3)
    else:
        given.add("seal text", -5.0)


def _prose(given: _Evidence) -> None:
    n, share = len(given.row), given.kana / len(given.row)
    held = [w for w in _words()["prose"] if w in given.text]
    strong = [w for w in held if len(w) > 1 or w in "候也云両分寸尺匁箱"]
    given.add("prose", 1.5 * min(len(strong), 6) - 0.6, f"words of prose: {'、'.join(strong[:4])}" if strong else "")
    if _KATAKANA & set(given.text) and 0 < share < 0.5:
        given.add("prose", 0.8, "katakana between kanji")
    if any(w in given.text for w in ("候", "仕候", "致し", "申し", "トシテ", "求め", "求ム")):
        given.add("verse", -2.0)
    if share > 0 and given.parts["date"]:
        given.add("prose", 2.0, "a date among kana")
    given.add("prose", 0.5 if n > 14 else -1.0)
    given.add("prose", -3.0 if share == 0 and not strong else 0.0)


def _chinese(given: _Evidence) -> str | None:
    """Weighs a Chinese line by its length and its signs; gives the form."""
    n, share = len(given.row), given.kana / len(given.row)
    if share or "o" in given.classes:
        given.add("Chinese line", -9.0)
        return None
    columns = set(given.columns)
    # Columns as they stand first: a quatrain of five signs a line in two columns of ten; 35 signs are even by both.
    even = next((u for u in (7, 5) if all(c % u == 0 for c in columns)), None) or \
        next((u for u in (7, 5) if n % u == 0), None)
    usual = sum(c in _words()["chinese"] for c in fold(given.text)) / n
    strong = sum(given.parts[k] for k in _STRONG) + 2 * given.parts["date"] + given.parts["art name"]
    given.add("Chinese line", 9.0 * (usual - 0.4) - 1.6 * strong, "signs of Chinese verse" if usual > 0.5 else "")
    if even and n >= 5:
        given.add("Chinese line", 3.0 if n > 5 else 2.2, f"{even} signs a line")
    elif n in (4, 8, 12, 16):
        given.add("Chinese line", 0.5)
    else:
        given.add("Chinese line", -2.5)
    return f"chinese-{even}" if even and n >= 5 else None
