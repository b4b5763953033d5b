"""What a verse holds beside its words: season words and cutting words.

Conventions: season words as "word (season)", the seasons of the old calendar; cutting words in the order of the
lines. Both are matches of words, not proof of what was meant; tables and sources in ``script``.
"""

from __future__ import annotations

from collections.abc import Sequence

from readaid.core.reading import Word
from readaid.script import cutting_words, season_words


def seasons(words: Sequence[Word]) -> tuple[str, ...]:
    """Season words among the words, alone or two together (はるのうみ is not one, ゆく はる is).

    A word counts by its kana where it is written in kana, and by its kanji where it is written so.
    """
    found: dict[str, None] = {}
    at = 0
    while at < len(words):
        for many in (3, 2, 1):
            run = words[at:at + many]
            if len(run) < many:
                continue
            text = "".join(w.text for w in run)
            kinds = season_words.of("".join(w.kana for w in run)) or season_words.of(text)
            if kinds and (many > 1 or _content(run[0])):
                found[f"{text} ({'/'.join(dict.fromkeys(k.season for k in kinds))})"] = None
                at += many
                break
        else:
            at += 1
    return tuple(found)


def _content(word: Word) -> bool:
    return word.part.startswith(("名詞", "動詞", "形容詞", "副詞", "形状詞"))


def cuts(lines: Sequence[Sequence[Word]]) -> tuple[str, ...]:
    """Cutting words of the lines, each given as its words."""
    told = cutting_words.found([" ".join(_joined(line)) for line in lines])
    return tuple(word.kana for _, word in told)


def _joined(line: Sequence[Word]) -> list[str]:
    """Kana of the words; か な, which the dictionary parts, is one cutting word."""
    out: list[str] = []
    for word in line:
        if out and out[-1] == "か" and word.kana == "な":
            out[-1] = "かな"
        else:
            out.append(word.kana)
    return out
