"""What a verse holds beside its words: season words and cutting words.

Conventions: season words as "word (season)", the seasons of the old calendar; cutting words in the order of the
lines. Only words of the reading count, alone or several together, never a part of one. They are matches of words, no
proof of what was meant; tables and sources in ``script``.
"""

from __future__ import annotations

from collections.abc import Sequence

from readaid.core.reading import Word
from readaid.script import cutting_words, kanji, season_words
from readaid.script import kana as letters
from readaid.script.season_words import SeasonWord

#: Words taken together at most: ほし の こひ, あき の ゆふ ぐれ.
_RUN = 4
#: Kana from which on a word is taken for the season word whatever the dictionary thinks it is: ほととぎす 杜鵑 or 郭公.
_PLAIN = 4
_CONTENT = ("名詞", "動詞", "形容詞", "副詞", "形状詞", "接頭辞")
#: One kana that cuts as a particle or auxiliary only: よ is 夜 as well, つ a number, ぬ a verb, か 香.
_PARTICLES = ("助詞", "助動詞", "終助詞", "感動詞")


def seasons(words: Sequence[Word]) -> tuple[str, ...]:
    """Season words among the words, longest first (はるのうみ is one, not はる; ゆく はる is, not はる).

    A word counts by its kana where it is written in kana and the dictionary does not take it for another (か 香 is no
    蚊, あり 有り no 蟻, くも 雲 no 蜘蛛), and by its kanji where it is written so.
    """
    found: dict[str, None] = {}
    at = 0
    while at < len(words):
        for many in range(min(_RUN, len(words) - at), 0, -1):
            run = words[at:at + many]
            told = dict.fromkeys(k.season for k in _named(run) if _meant(k, run)) or dict.fromkeys(
                filter(None, [_begun(run)]))
            if told and (many > 1 or _flower(words, at)):
                found[f"{''.join(w.text for w in run)} ({'/'.join(told)})"] = None
                at += many
                break
        else:
            at += 1
    return tuple(found)


#: A word that begins so is of that season, whatever follows: 冬野, 秋山, 枯柳.
_BEGIN = {"春": "spring", "夏": "summer", "秋": "autumn", "冬": "winter", "枯": "winter"}


def _begun(run: Sequence[Word]) -> str:
    """The season that a noun of two or more signs names by its first (冬野), "" for none."""
    text = kanji.modernised(run[0].text)
    return _BEGIN.get(text[0], "") if len(run) == 1 and len(text) > 1 and run[0].part.startswith("名詞") and all(
        map(letters.is_kanji, text)) and "固有名詞" not in run[0].part else ""


def _flower(words: Sequence[Word], at: int) -> bool:
    """Whether 花 is the blossom of verse, the cherry's, and not a flower told by a word before it: 赤い花, 何の花."""
    if kanji.modernised(words[at].text) not in ("花", "はな") or not at:
        return True
    return not words[at - 1].part.startswith(("形容詞", "連体詞"))


def _named(run: Sequence[Word]) -> tuple[SeasonWord, ...]:
    """Season words with the kana, the historical norm or the writing of a run of words."""
    if not run[0].part.startswith(_CONTENT) and len(run) == 1:
        return ()
    spelled = dict.fromkeys("".join(getattr(w, layer) or w.kana for w in run) for layer in ("kana", "normal", "text"))
    ends = not run[-1].part.startswith(("助詞", "助動詞"))  # 柳散り for 柳散る, 魂祭る for 魂祭, but not 梅が香に
    inflected = season_words.of_stem("".join(w.text for w in run)) if ends else ()
    return tuple(dict.fromkeys((*(k for text in spelled for k in season_words.of(text)), *inflected)))


def _meant(entry: SeasonWord, run: Sequence[Word]) -> bool:
    """Whether a run of words may be this season word and not a namesake."""
    writings = {kanji.modernised(w) for w in entry.writings}
    text = kanji.modernised("".join(w.text for w in run))
    ends = not run[-1].part.startswith(("助詞", "助動詞"))
    if text in writings or (ends and entry in season_words.of_stem(text)):
        return True
    signs = {c for w in writings for c in w if letters.is_kanji(c)}
    written = {c for c in text if letters.is_kanji(c)}
    if written:  # 香 read か is no 蚊, 高野 no 鷹野; but 杜宇 read ほととぎす is the cuckoo, 夕すゞみ holds 涼
        return written <= signs or signs <= written or (len(run) == 1 and len(entry.kana) > _PLAIN)
    if len(run) > 1:
        return len(entry.kana) >= 3
    word = run[0]
    lemma = {c for c in kanji.modernised(word.lemma) if letters.is_kanji(c)}
    if lemma:
        return bool(lemma & signs) or len(entry.kana) > _PLAIN
    return word.part.startswith(_CONTENT) and len(entry.kana) >= 3


def cuts(lines: Sequence[Sequence[Word]]) -> tuple[str, ...]:
    """Cutting words of the lines, each given as its words."""
    told = cutting_words.found([" ".join(_joined(line)) for line in lines])
    return tuple(word.kana for _, word in told)


def _joined(line: Sequence[Word]) -> list[str]:
    """Kana of the words; か な, which the dictionary parts, is one cutting word; a namesake of one is hidden."""
    out: list[str] = []
    for word in line:
        if out and out[-1] == "か" and word.kana == "な":
            out[-1] = "かな"
        elif len(word.kana) == 1 and not word.part.startswith(_PARTICLES) and word.text != "し":
            out.append(word.text + "〇")  # 夜 よ, 津 つ: a word, so that what stands beside it stays a word of its own
        else:
            out.append(word.kana)
    return out
