"""Typed signs that may be misread: told where another kana suits far better, and nowhere else."""

import math

import numpy as np
import pytest

from readaid.lexicon import ear
from readaid.lexicon.builder import build
from readaid.lexicon.costs import standard
from readaid.reading import doubt, hearing
from readaid.reading.explanation import explain
from readaid.reading.solve import solve
from readaid.script import verse_forms


def test_a_sign_that_spoils_a_common_phrase_is_doubted():
    """みつのわと for みつのおと (the sound of water), as a slip of the pen would have it; made up."""
    many = len(standard().fillers("kana"))
    found = solve("ゆふくれやきしうつみつのわと", form="hokku", k=3)
    first = found.readings[0]
    assert first.kana.endswith("みづのおと")
    assert first.written.endswith("みつのわと")  # what was typed stays
    assert [(r.written, r.read) for r in first.reasons if r.kind == "misread"] == [("わ", "お")]
    assert dict(first.costs)["misread"] == pytest.approx(-700 * math.log(doubt.MISREAD / (many - 1)))
    assert sum(c for _, c in first.costs) == pytest.approx(first.cost)
    assert any("misread" in line for line in explain(first))
    told = {s.kana: s.probability for s in found.shares if s.at == 12}
    assert 0.0 < told["わ"] < told["お"] < 1.0


def test_common_phrases_are_not_doubted():
    for text in ("はるのうみ", "あきのゆふくれ", "ほとときす", "けふのやまみち"):
        found = solve(text, form="prose", k=3).readings
        assert not [r for one in found for r in one.reasons if r.kind == "misread"]


def test_signs_with_candidates_are_never_doubted():
    """A reader who gave candidates said what else a sign may be."""
    given = [[(c, 1.0)] for c in "ゆふくれやきしうつみつのわと"]
    assert not any(r.kind == "misread" for found in solve(given, form="hokku", k=5).readings for r in found.reasons)


def test_gains_are_those_of_the_whole_text():
    """What a window of the kana around a sign gains is what the whole text gains."""
    heard, lines, others = ear.ears()["hokku"], ("はるさめや", "きのふのやまの", "みづのおと"), ["の", "か", "ゑ"]
    gains = doubt._gains(lines, others, heard)
    text = "".join(lines)
    ends = np.cumsum([len(line) for line in lines])
    for place in (0, 4, 5, 11, 16):
        for n, other in enumerate(others):
            changed = text[:place] + other + text[place + 1:]
            parts = [changed[a:b] for a, b in zip([0, *ends], ends, strict=False)]
            assert gains[place, n] == pytest.approx(heard.log(parts) - heard.log(lines), abs=1e-4)


def test_a_lattice_without_typed_signs_is_left_alone():
    told = hearing.heard(build([[("は", 0.6), ("ほ", 0.4)], [("る", 1.0)]]), verse_forms.form("prose"), standard(),
                         float("inf"))
    assert not any(a.source == doubt.KIND for a in told.lattice.arcs)
