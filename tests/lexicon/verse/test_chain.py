"""The chain of letters against every way through a small lattice, written down by plain recursion."""

import itertools
import math
from functools import cache

import numpy as np
import pytest

from readaid.core.character import Candidate, Character
from readaid.core.lattice import COST_FACTOR
from readaid.lexicon import chain, verse_model
from readaid.lexicon.builder import build
from readaid.lexicon.kbest import Search
from readaid.script import verse_forms, voicing

UNIT = 2 * COST_FACTOR


def weighed(given, form="linked"):
    search = Search(build(given))
    search.weigh(verse_forms.form(form))
    return search, search.metre(verse_forms.form(form))


def ways(made, metre, at=0, line=0, used=0, texts=("",), score=0.0):
    """Every way through the groups and every way to part it into lines: groups, lines, evidence less metre."""
    final = made.size - 1
    for number, group in enumerate(made.groups):
        if group.start != at:
            continue
        kana = "".join(verse_model.SYMBOLS[c - 1] for c in group.codes)
        here, told = used + group.units, score + group.evidence
        so_far = (*texts[:-1], texts[-1] + kana)
        if group.end == final:
            if here > 0:
                yield (number,), so_far, told - metre.closing(line, here) / UNIT
            continue
        last = line == len(metre.lines) - 1
        following = []
        if last or here <= metre.lines[line] + chain.OVER:
            following.append((line, here, so_far, told))
        if not last and here > 0 and metre.lines[line] - chain.UNDER <= here <= metre.lines[line] + chain.OVER:
            following.append((line + 1, 0, (*so_far, ""), told - metre.line_cost(line, here, False) / UNIT))
        for n, u, t, p in following:
            for rest, whole, price in ways(made, metre, group.end, n, u, t, p):
                yield (number, *rest), whole, price


@cache
def logs(line, power):
    """Logarithm of a line and its end under the letters' models, to the power."""
    codes = [1, *(verse_model.code(c) for c in line), 2]
    total = 0.0
    for i in range(1, len(codes)):
        before = np.zeros((1, 1, verse_model.ORDER - 1), dtype=np.uint32)
        told = codes[max(0, i - verse_model.ORDER + 1):i][::-1]
        before[0, 0, :len(told)] = told
        total += power * math.log(verse_model.letters_after(before, np.array([[codes[i]]], dtype=np.uint32))[0, 0])
    return total


def test_sums_equal_enumeration(monkeypatch):
    """Six zones of two letters: every way through their groups, and every way to part it into lines."""
    monkeypatch.setattr(chain, "BEAM", 10**6)
    pairs = ["なれ", "のも", "まむ", "みら", "ぬね", "もの"]
    search, metre = weighed([[(c, 0.7 - 0.2 * i) for i, c in enumerate(p)] for p in pairs], "hokku")
    made = chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7)
    whole, mass = 0.0, np.zeros(len(made.groups))
    for numbers, lines, score in ways(made, metre):
        weight = math.exp(score + sum(logs(line, 0.7) for line in lines))
        whole += weight
        mass[list(numbers)] += weight
    assert made.log_total == pytest.approx(math.log(whole))
    assert made.posterior == pytest.approx(mass / whole)


def test_a_narrow_beam_changes_little(monkeypatch):
    pairs = ["なれ", "のもや", "まむ", "みら", "ぬね", "ものか", "さき", "ちさ", "ける", "はに", "なた", "やか"]
    search, metre = weighed([[(c, 0.5) for c in p] for p in pairs], "hokku")
    wide = chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7).posterior
    monkeypatch.setattr(chain, "BEAM", 100)
    narrow = chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7).posterior
    assert narrow == pytest.approx(wide, abs=0.03)


def test_shares_of_arcs_sum_to_one_and_keep_the_words_parting():
    search, metre = weighed([[("け", 0.5), ("は", 0.5)], [("ふ", 0.6), ("か", 0.4)], [("の", 1.0)]], "hokku")
    shares = search.arc_shares()
    made = chain.made(search.graph, metre, shares, UNIT, 0.5, 0.7)
    out = made.arcs(shares)
    for at in range(3):
        here = [p for p, a in zip(out, search.graph.arcs, strict=True) if a.start <= at < a.end]
        assert sum(here) == pytest.approx(1.0)
    written = [n for n, a in enumerate(search.graph.arcs) if a.start == 1 and a.end == 2 and a.text in ("か", "が")]
    assert len(written) == 2
    assert out[written[0]] / out[written[1]] == pytest.approx(shares[written[0]] / shares[written[1]])


def test_one_way_holds_its_share():
    search, metre = weighed([[(c, 0.5) for c in p] for p in ("はほ", "るろ", "のも", "やむ", "まよ")], "hokku")
    made = chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7)
    total = 0.0
    for letters in itertools.product("はほ", "るろ", "のも", "やむ", "まよ"):
        total += made.probability([next(n for n, a in enumerate(search.graph.arcs) if a.start == i and a.end == i + 1
                                        and a.text == c) for i, c in enumerate(letters)])
    assert 0.9 < total <= 1.0 + 1e-9  # the rest has ん or っ left out, which are other ways


def test_no_chain_with_kanji_or_long_gaps_or_without_lines():
    for given, form in (("春のやま", "hokku"), ("はるのやま", "prose")):
        search, metre = weighed(given, form)
        assert chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7) is None
    lost = Character("a", (), missing=(2, 3))
    given = [Character("b", (Candidate("は", 1.0),)), lost, Character("c", (Candidate("な", 1.0),))]
    search, metre = weighed(given, "hokku")
    assert chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7) is None


def test_an_unread_sign_is_weighed_too():
    search, metre = weighed("ほとと?す", "hokku")
    made = chain.made(search.graph, metre, search.arc_shares(), UNIT, 0.5, 0.7)
    best = max(((made.posterior[n], g) for n, g in enumerate(made.groups) if g.start == 3), key=lambda x: x[0])
    assert best[1].codes == (verse_model.code("き"),)


def test_letters_model_is_the_folded_hokku_model():
    found = verse_model.models()["letters"]
    before = np.zeros((1, 1, verse_model.ORDER - 1), dtype=np.uint32)
    before[0, 0, 0] = 1
    codes = np.arange(1, len(verse_model.SYMBOLS) + 1, dtype=np.uint32)
    wide = np.broadcast_to(before, (1, len(codes), verse_model.ORDER - 1))
    assert verse_model.letters_after(wide, codes[None, :]).sum() == pytest.approx(1.0)
    for run in ("かせ", "はな", "とき"):
        voiced = verse_model.models()["hokku"]
        values = [[c, *voicing.VOICED.get(c, ""), *voicing.HALF.get(c, "")] for c in run]
        wanted = sum(voiced._look(verse_model.packed({"".join(v): 1})[0])[0] for v in itertools.product(*values))
        assert found._look(verse_model.packed({run: 1})[0])[0] == wanted
