"""The alignment against a plain recursion written from the definition, and against itself."""

import functools

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from readaid.lexicon import builder
from readaid.reading import verse_alignment
from readaid.reading.kana_profile import ALPHABET, OTHER, PAST, codes, profile
from readaid.reading.verse_alignment import EXTRA, MISSING, OUTSIDE, OUTSIDE_EACH

KANA = "かきくはなの"
BACKGROUND = np.full(PAST + 1, 1.0 / OTHER)


def plain_score(read, verse):
    """Best score of all alignments of signs and kana, by recursion; no spans, no gaps."""
    length = len(verse)

    def outside(n):
        return OUTSIDE + OUTSIDE_EACH * n if n else 0.0

    @functools.cache
    def rest(i, j):
        best = -np.inf
        if i == read.size:
            best = -outside(length - j)
        if i < read.size:
            best = max(best, rest(i + 1, j) - EXTRA)
            if j < length:
                best = max(best, rest(i + 1, j + 1) + read.signs[i, verse[j]])
        if i > 0 and j < length:
            best = max(best, rest(i, j + 1) - MISSING)
        return best

    return max(rest(0, j) - outside(j) for j in range(length + 1))


candidates = st.lists(st.tuples(st.sampled_from(KANA), st.sampled_from((0.2, 0.5, 0.9))), min_size=0, max_size=3,
                      unique_by=lambda p: p[0])


@settings(max_examples=60, deadline=None)
@given(st.lists(candidates, min_size=1, max_size=6), st.lists(st.text(KANA, min_size=1, max_size=7), min_size=1,
                                                             max_size=4))
def test_scores_equal_the_definition(signs, texts):
    lattice = builder.build([s or "?" for s in signs])
    read = profile(lattice, BACKGROUND)
    read.spans = []
    rows = verse_alignment.rows(texts, list(range(len(texts))))
    found = verse_alignment.score(read, rows)
    wanted = [plain_score(read, tuple(codes(t))) for t in texts]
    np.testing.assert_allclose(found, wanted, atol=1e-3)


@settings(max_examples=60, deadline=None)
@given(st.lists(candidates, min_size=1, max_size=7), st.text(KANA, min_size=1, max_size=9))
def test_steps_cover_signs_and_kana_once_in_order(signs, text):
    read = profile(builder.build([s or "?" for s in signs]), BACKGROUND)
    rows = verse_alignment.rows([text], [0])
    steps = verse_alignment.steps(read, rows)
    assert [i for s in steps for i in range(s.start, s.end)] == list(range(read.size))
    assert [j for s in steps for j in range(s.begin, s.stop)] == list(range(len(text)))


def test_more_candidates_never_score_less_where_they_agree():
    rows = verse_alignment.rows(["はなのかき"], [0])
    few = profile(builder.build([[("は", 0.5)], "な", "の", "か", [("く", 0.6)]]), BACKGROUND)
    more = profile(builder.build([[("は", 0.5)], "な", "の", "か", [("く", 0.6), ("き", 0.3)]]), BACKGROUND)
    assert verse_alignment.score(more, rows)[0] > verse_alignment.score(few, rows)[0]


def test_alphabet_is_folded():
    assert codes("ガづぱっゑ") == codes("かつはつゑ")
    assert len(set(ALPHABET)) == OTHER
