"""Repetition marks: what each may repeat, given what stands before it.

Conventions
-----------
* ``before`` is the text that was *chosen* for the signs before the mark, in
  reading order; a mark never copies a candidate that was not chosen.
* An expansion gives the text that the mark stands for, how many signs it
  copied, and a grade. A mark with nothing to copy has no expansion.
* Only the first kana of a repetition is voiced (さまざま), and a kanji's text
  stays: whether its reading is voiced (人々 ひとびと) is for the dictionary.
"""

from __future__ import annotations

from dataclasses import dataclass

from readaid.core.errors import unknown_option
from readaid.script import kana, voicing
from readaid.script.grades import GRADES, Grade
from readaid.script.rows import load


@dataclass(frozen=True, slots=True)
class Mark:
    """A repetition mark: what it repeats and whether the repetition is voiced ("yes" or "may")."""

    mark: str
    unit: str
    voiced: str
    name: str


@dataclass(frozen=True, slots=True)
class Expansion:
    """One thing that a mark may stand for: its text, how many signs were copied, whether voiced, how often."""

    text: str
    copied: int
    voiced: bool
    grade: Grade
    reason: str = "repetition"


def _row(row: dict[str, str]) -> Mark:
    if kana.kind(row["mark"]) is not kana.Kind.REPETITION:
        raise ValueError(f"{row['mark']} is not a repetition mark")
    if row["unit"] not in ("kana", "kanji", "word", "group") or row["voiced"] not in ("yes", "may"):
        raise ValueError(f"unit {row['unit']!r} or voiced {row['voiced']!r} is not known")
    return Mark(row["mark"], row["unit"], row["voiced"], row["name"])


MARKS = {m.mark: m for m in load("repetition.tsv", ("mark", "unit", "voiced", "name"), _row)}
#: Signs a group mark may copy, and how often: いろ〱 two; かへす〱 three; ふしぎや〱 four.
GROUP: dict[int, Grade] = {2: "usual", 3: "frequent", 4: "seldom", 5: "rare"}


def expansions(mark: str, before: str) -> tuple[Expansion, ...]:
    """Everything that a mark may stand for after the text ``before``, usual first.

    Raises
    ------
    OptionError: if ``mark`` is not a repetition mark.

    >>> [e.text for e in expansions("ゝ", "た")], [e.text for e in expansions("ゞ", "た")]
    (['た', 'だ'], ['だ'])
    >>> [e.text for e in expansions("〱", "さま")], [e.text for e in expansions("〲", "とき")]
    (['さま', 'ざま'], ['どき'])
    >>> [e.text for e in expansions("々", "山")], expansions("々", "やま")
    (['山'], ())
    """
    sort = MARKS.get(mark)
    if sort is None:
        raise unknown_option("repetition mark", mark, MARKS)
    signs = kana.signs(before)
    if sort.unit == "kana":
        return _kana(sort, signs)
    if sort.unit in ("kanji", "word"):
        return _kanji(sort, signs)
    return _group(sort, signs)


def _kana(sort: Mark, signs: tuple[str, ...]) -> tuple[Expansion, ...]:
    # ゟ (より) is two kana in one sign: which of them ゝ would copy nobody can say.
    if not signs or kana.kind(signs[-1]) is not kana.Kind.KANA or signs[-1] in kana.LIGATURES:
        return ()
    last = signs[-1]
    bare = voicing.plain(last)
    marked = _as(voicing.voiced(bare), last)
    if sort.voiced == "yes":
        return (Expansion(marked, 1, True, "usual"),) if marked else ()
    if last != bare:  # ばゝ is ばば; たがゝ could still be がか
        return (Expansion(last, 1, True, "usual"), Expansion(bare, 1, False, "frequent"))
    plain = Expansion(bare, 1, False, "usual")
    # たゝ is たた or ただ; うゝ is never うゔ, as an unmarked う is never ゔ (``voicing.READ_VOICED``).
    return (plain, Expansion(marked, 1, True, "frequent")) if marked and bare not in "うウ" else (plain,)


def _as(hira: str | None, like: str) -> str:
    return "" if hira is None else kana.to_katakana(hira) if kana.is_katakana(like) else hira


def _kanji(sort: Mark, signs: tuple[str, ...]) -> tuple[Expansion, ...]:
    run = 0
    while run < len(signs) and kana.kind(signs[-1 - run]) is kana.Kind.KANJI:
        run += 1
    if run == 0:
        return ()
    one = Expansion(signs[-1], 1, False, "usual")
    # 〻 may repeat a word of two kanji, or the last of them alone; the shorter is the usual one.
    if run >= 2 and sort.unit == "word":
        return (one, Expansion("".join(signs[-2:]), 2, False, "frequent"))
    return (one,)


def _group(sort: Mark, signs: tuple[str, ...]) -> tuple[Expansion, ...]:
    out: list[Expansion] = []
    good = (kana.Kind.KANA, kana.Kind.HENTAIGANA, kana.Kind.KANJI)
    usable = 0
    while usable < len(signs) and kana.kind(signs[-1 - usable]) in good:
        usable += 1
    lengths: dict[int, Grade] = dict(GROUP)
    if usable and kana.kind(signs[-1]) is kana.Kind.KANJI:
        lengths = {1: "usual", 2: "frequent", 3: "seldom", 4: "rare"}  # 人〱 copies one kanji
    for length, grade in lengths.items():
        if length > usable:
            break
        group = signs[len(signs) - length:]
        head, rest = group[0], "".join(group[1:])
        marked = _as(voicing.voiced(voicing.plain(head)), head) if kana.kind(head) is kana.Kind.KANA else ""
        if sort.voiced == "may":
            out.append(Expansion(head + rest, length, False, grade))
        if marked and marked != head and voicing.plain(head) not in "うウ":
            out.append(Expansion(marked + rest, length, True, grade))
        elif sort.voiced == "yes" and kana.kind(head) is kana.Kind.KANJI:
            out.append(Expansion(head + rest, length, True, grade))
    # The usual first, of equals the shorter, and the unvoiced before the voiced: いろ〱 before ざま of さま〱.
    return tuple(sorted(out, key=lambda e: (GRADES.index(e.grade), e.copied, e.voiced)))


def written_out(text: str) -> str:
    """A text with every mark replaced by its usual expansion; a mark with nothing to copy stays.

    >>> written_out("いろ〱の"), written_out("たゞ"), written_out("山々")
    ('いろいろの', 'ただ', '山山')
    """
    out = ""
    for sign in kana.signs(text):
        found = expansions(sign, out) if sign in MARKS else ()
        out += found[0].text if found else sign
    return out
