"""Make ``readaid/lexicon/own_words.tsv`` from lists of words in historical spelling.

    python data/fit/own_words.py [--offset -1500]

Words: ``vocabulary.tsv`` and the forms of ``inflected.tsv`` beside this script (from memory, what hokku and waka are
made of), the season words and the words of known spelling of ``readaid/script/tables``. The dictionary writes most of
them in kanji and takes a kana spelling for something rare; on an object kana are the rule. So each gets the context ids
and cost of its kanji spelling where the dictionary has that with the same reading (a common noun's ids and ``UNKNOWN``
otherwise), plus ``offset``.
"""

import argparse
import itertools
from collections.abc import Iterator
from pathlib import Path

import fugashi

from readaid.core import tsv
from readaid.lexicon import connection, dictionary, own_words
from readaid.script import conjugation, kana, season_words, spelling
from readaid.script.old_words import WORDS

HERE = Path(__file__).resolve().parent
TAGGER = fugashi.Tagger()
OLD = set("はひふへほゐゑをぢづ")
UNKNOWN, MOST = 9000, 9500
PARTS = ("名詞", "代名詞", "副詞", "形状詞", "連体詞", "動詞", "形容詞", "感動詞")


def listed() -> dict[tuple[str, str], str]:
    """Words as (kana, kanji), and where they are from."""
    found: dict[tuple[str, str], str] = {}
    for row in tsv.load(HERE / "vocabulary.tsv", ("kana", "kanji"), dict):
        found.setdefault((row["kana"], row["kanji"]), "vocabulary, from memory")
    for word in season_words.WORDS:
        found.setdefault((word.kana, word.kanji), "season words")
    for old in WORDS:
        if old.kind == "word" and len(old.historical) > 1:
            found.setdefault((old.historical, old.kanji), "words of known spelling")
    return found


def modern_of(book: dictionary.Dictionary, spelled: str, kanji: str) -> str:
    """Today's spelling of a word, in hiragana.

    The rules change は inside a word (かは, かわ), but not where the second word of a compound begins: すす|はらひ is
    すすはらい. So the word is tried with one seam or two, and what the dictionary's readings of the kanji bear out is
    taken: the whole, else its parts joined, else the kanji on both sides of a seam.
    """
    plain, n = spelling.modern(spelled), len(spelled)
    cuts = [(i,) for i in range(1, n)] + [(i, j) for i in range(1, n) for j in range(i + 1, n)]
    seams = {cut: spelling.modern(" ".join(spelled[a:b] for a, b in zip((0, *cut), (*cut, n), strict=True)))
             .replace(" ", "") for cut in cuts}
    if not kanji or all(m == plain for m in seams.values()) or OLD & set(kanji):
        return plain  # a word with old spelling in its okurigana (笑ひ) is one word
    tried = [plain, *seams.values()]

    def readings(text: str) -> set[str]:
        return {kana.to_hiragana(e.modern) for e in book.look_up(text) if e.modern}

    for known in (readings(kanji), {"".join(kana.to_hiragana(w.feature.kana or w.surface) for w in TAGGER(kanji))}):
        fitting = [m for m in tried if m in known]
        if fitting:
            return fitting[0]
    for (i, *more), modern in seams.items():
        if more or modern == plain:
            continue
        for j in range(1, len(kanji)):
            after = spelling.modern(spelled[i:])
            if (spelling.modern(spelled[:i]) in readings(kanji[:j])
                    and any(after.startswith(r) for r in readings(kanji[j:]) | readings(kanji[j]))):
                return modern
    return plain


def inflected(book: dictionary.Dictionary) -> Iterator[tuple[str, str, int, str]]:
    """Forms of the verbs and adjectives of ``inflected.tsv`` in kana: たかき, which the dictionary knows as 高き alone.

    Each with today's kana, the token of the form in kanji that lends ids and cost, and the dictionary form.
    """
    for row in tsv.load(HERE / "inflected.tsv", ("kana", "kanji", "class"), dict):
        for form, cell in conjugation.forms(row["kana"], row["class"]).items():
            for spelled in cell:
                same = sum(1 for _ in itertools.takewhile(lambda two: two[0] == two[1],
                                                          zip(row["kana"], spelled, strict=False)))
                written = row["kanji"].removesuffix(row["kana"][same:]) + spelled[same:]
                fits = [t for t in book.tokens(written)
                        if connection.inflections()[int(book.words.tokens["left"][t])].form == form
                        and book.fields(t)[0] in ("動詞", "形容詞")
                        and spelling.modern(spelled) == kana.to_hiragana(book.fields(t)[17])]
                known = {int(book.words.tokens["left"][t]) for t in book.tokens(spelled)}
                token = min(fits, key=lambda t: int(book.words.tokens["cost"][t]), default=None)
                if token is not None and int(book.words.tokens["left"][token]) not in known and len(spelled) > 1:
                    yield spelled, book.fields(token)[17], token, row["kanji"]


def main(offset: int, short: int) -> None:
    book = dictionary.opened()
    common = next(t for t in book.tokens("鶯") if book.fields(t)[1] == "普通名詞")
    rows: dict[tuple[str, int, int], list[str]] = {}
    for (spelled, kanji), source in listed().items():
        modern = kana.to_katakana(modern_of(book, spelled, kanji))
        fits = [t for t in book.tokens(kanji) if kanji and book.fields(t)[0] in PARTS
                and book.fields(t)[1] != "固有名詞" and len(book.fields(t)) > 19 and book.fields(t)[17] == modern]
        names = [t for t in book.tokens(kanji)
                 if kanji and book.fields(t)[1] == "固有名詞" and book.fields(t)[17] == modern]
        token = min(fits or names, key=lambda t: int(book.words.tokens["cost"][t]), default=None)
        if token is None and len(spelled) < 3:
            continue  # a short word without a place in the dictionary would be found everywhere
        entry = book.words.tokens[common if token is None else token]
        base = UNKNOWN if token is None else min(MOST, int(entry["cost"]))
        fields = book.fields(common if token is None else token)
        key = (spelled, int(entry["left"]), int(entry["right"]))
        cost = base + (short if len(spelled) < 3 else offset)
        if key not in rows or int(rows[key][3]) > cost:
            part = ",".join(f for f in fields[:4] if f != "*")
            rows[key] = [spelled, str(key[1]), str(key[2]), str(cost), part, kana.to_katakana(spelled), modern,
                         modern, kanji or spelled, "", source]
    for row in tsv.load(HERE / "endings.tsv", ("kana", "like", "note"), dict):
        alike = [t for t in book.tokens(row["like"]) if book.fields(t)[0] in ("助詞", "助動詞")]
        token = min(alike, key=lambda t: int(book.words.tokens["cost"][t]))
        entry, spoken = book.words.tokens[token], kana.to_katakana(row["kana"])
        key = (row["kana"], int(entry["left"]), int(entry["right"]))
        part = ",".join(f for f in book.fields(token)[:4] if f != "*")
        rows[key] = [row["kana"], str(key[1]), str(key[2]), str(int(entry["cost"]) + offset), part, spoken, spoken,
                     spoken, row["kana"], "", f"endings, like {row['like']}"]
    for spelled, modern, token, lemma in inflected(book):
        entry, fields = book.words.tokens[token], book.fields(token)
        key = (spelled, int(entry["left"]), int(entry["right"]))
        cost = int(entry["cost"]) + short  # forms are many and short: at the nouns' price they stood in wrong places
        if key not in rows or int(rows[key][3]) > cost:
            part = ",".join(f for f in fields[:4] if f != "*")
            rows[key] = [spelled, str(key[1]), str(key[2]), str(cost), part, kana.to_katakana(spelled), modern, modern,
                         lemma, "", "verbs and adjectives, from memory"]
    head = ("# Words added to the dictionary, one row per word form. Made by data/fit/own_words.py: change its lists,\n"
            "# not this file. left, right: context ids of the dictionary (its left-id.def); cost: that of the\n"
            f"# kanji spelling {offset:+d} ({short:+d} for two kana); kana, modern, spoken: katakana.\n")
    lines = ["\t".join(r) for r in sorted(rows.values())]
    own_words.TABLE.write_text(head + "\t".join(own_words.COLUMNS) + "\n" + "\n".join(lines) + "\n", encoding="utf-8")
    print(len(lines), "words")


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--offset", type=int, default=-1500)
    parser.add_argument("--short", type=int, default=-500)
    given = parser.parse_args()
    main(given.offset, given.short)
