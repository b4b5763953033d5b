"""The dictionary reader against fugashi (MeCab) as the outside check."""

import random

import fugashi
import pytest

from readaid.core.errors import DictionaryError
from readaid.lexicon import dictionary, tagger, unidic
from readaid.lexicon.dictionary import Dictionary
from tests.lexicon.small import bare, typed


@pytest.fixture(scope="module")
def book():
    return dictionary.opened()


@pytest.fixture(scope="module")
def sampled(book):
    """10,000 words of the dictionary as they are written (field "orth"), drawn with a fixed seed."""
    draw = random.Random(20261125)
    words = []
    while len(words) < 10_000:
        orth = book.words.feature(draw.randrange(book.words.size))[8]
        if orth not in ("", "*") and not any(c.isspace() for c in orth):
            words.append(orth)
    return words


def everything() -> fugashi.GenericTagger:
    """A tagger that tells every node of its lattice (MeCab's option -a)."""
    line = "%m\\t%phl\\t%phr\\t%c\\t%H\\n"
    return fugashi.GenericTagger(f'-r /dev/null -d "{unidic.folder()}" -a -O "" -F "{line}" -U "" -E ""')


def test_tokens_of_ten_thousand_words_equal_those_of_the_tagger(book, sampled):
    """Source: fugashi's own lattice of each word, all its nodes: surface, context ids, cost, feature."""
    tell, compared = everything(), 0
    for word in sampled:
        told = {tuple(line.split("\t", 4)) for line in tell.parse(word).split("\n") if line}
        whole = {t for t in told if t[0] == word}
        ours = {(word, str(e["left"]), str(e["right"]), str(e["cost"]), book.words.feature_text(t))
                for t in book.tokens(word) for e in (book.words.tokens[t],)}
        assert whole == ours, word
        compared += len(ours)
    assert compared > 10_000


def test_connection_costs_equal_those_of_the_tagger(book, sampled):
    """Source: the connection costs that fugashi tells along its best paths through rows of the sampled words."""
    compared = 0
    for start in range(0, len(sampled), 5):
        right = 0
        for word in tagger.best("".join(sampled[start:start + 5]))[0]:
            assert book.connection(right, word.left) == word.connection
            right = word.right
            compared += 1
    assert compared > 10_000


def test_best_path_and_cost_of_three_hundred_sentences_equal_the_taggers(sampled):
    """Source: fugashi's best path. Sentences are rows of sampled words: kanji, kana, katakana, Latin, figures, signs.

    Equal up to ties: the total cost is equal; where the words differ, theirs and ours cost the same.
    """
    draw, same = random.Random(7), 0
    for _ in range(300):
        text = "".join(draw.sample(sampled, draw.randint(2, 6)))
        words, total = tagger.best(text)
        search = bare(typed(text))
        found = search.best("prose", 1).strings[0]
        assert round(found.cost) == total, text
        pieces = ["".join(search.graph.edges[e].text for e in search.words.walk.edges(int(search.words.path[row])))
                  for row in found.rows]
        same += pieces == [w.surface for w in words]
    assert same > 285


def test_features_with_quoted_commas(book):
    token = next(t for t in book.tokens("け") if book.words.feature(t)[0] == "助詞")
    fields = book.words.feature(token)
    assert len(fields) == 26
    assert fields[24] == "動詞%F2@0,形容詞%F2@-1"


def test_missing_dictionary_says_what_to_do(monkeypatch):
    import sys

    monkeypatch.setitem(sys.modules, "unidic_lite", None)
    with pytest.raises(DictionaryError, match="pip install unidic-lite"):
        unidic.folder()


def test_damaged_dictionary_is_refused(tmp_path):
    good = unidic.folder()
    for name in unidic.FILES:
        (tmp_path / name).symlink_to(good / name)
    (tmp_path / "sys.dic").unlink()
    with (good / "sys.dic").open("rb") as whole:
        (tmp_path / "sys.dic").write_bytes(whole.read(4096))
    with pytest.raises(DictionaryError, match="not of a kind"):
        Dictionary(tmp_path)
    (tmp_path / "sys.dic").write_bytes(b"")
    with pytest.raises(DictionaryError):
        Dictionary(tmp_path)


def test_opening_parses_nothing(book):
    """Opening reads two headers, no features: the cache of parsed fields starts empty and grows by what is asked."""
    before = dictionary._cached_fields.cache_info().currsize
    book.look_up("春")
    assert dictionary._cached_fields.cache_info().currsize <= before + len(book.tokens("春"))
