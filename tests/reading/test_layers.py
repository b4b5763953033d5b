"""Layers of a reading and its explanation."""

import pytest

from readaid.core.reading import Word
from readaid.reading.explanation import differences, explain, listing
from readaid.reading.layers import romanise
from readaid.reading.solve import solve


@pytest.mark.parametrize(("text", "modern"), [("けふ", "きょう"), ("くわし", "かし"), ("ゐる", "いる"),
                                              ("こゑ", "こえ"), ("をとめ", "おとめ"), ("ゆふべ", "ゆうべ"),
                                              ("おもふ", "おもう")])
def test_modern_spelling(text, modern):
    """Source: the old spellings that the dictionary knows, listed in the notes on data."""
    assert modern in {r.modern for r in solve(text, form="prose", k=3).readings}


def test_layers_stay_apart():
    found = next(r for r in solve("者るのゆふへ", form="prose", k=5).readings if r.kana == "はるのゆふべ")
    assert found.written == "者るのゆふへ"
    assert found.modern == "はるのゆうべ"
    assert found.normal == "はるのゆふべ"
    assert found.romaji == "haru no yūbe"
    assert [str(r) for r in found.reasons][:1] == ["者 read は (kanji as kana)"]


def test_norm_mends_a_free_spelling():
    """おとめ for をとめ, a free exchange: the carver's kana stay, the norm is told beside them."""
    found = solve("おとめのすがた", form="prose", k=1).readings[0]
    assert (found.kana, found.normal, found.modern) == ("おとめのすがた", "をとめのすがた", "おとめのすがた")


def test_kanji_readings_are_told():
    found = solve("古池", form="prose", k=1).readings[0]
    assert {w.source for w in found.words} == {"kanji"}
    assert "Readings of kanji are those of old texts where these have them, else the dictionary's." in explain(found)


def test_season_and_cutting_word():
    found = solve("あきふかきとなりはなにをするひとぞ", form="hokku", k=1).readings[0]
    assert found.morae == (5, 7, 5)
    found = solve("はるさめやはちのすつたふやねのもり", form="hokku", k=1).readings[0]
    assert any(s.startswith("はるさめ (spring") for s in found.season)
    assert "や" in found.cutting


def test_explanation_tells_costs_by_cause():
    readings = solve("はるさめやものかたりゆくみのとかさ", form="hokku", k=3).readings
    told = listing(readings)
    assert told[0][0] == "As hokku it counts 5-7-5: every line fits."
    assert any("か read が (voicing)" in line for line in told[0])
    assert any("times likelier" in line for line in told[0])
    gap = readings[1].cost - readings[0].cost
    assert sum(d.cost for d in differences(readings[0], readings[1])) == pytest.approx(gap, abs=3)
    over = explain(solve("かれえだにからすのとまりけりあきのくれ", form="hokku", k=1).readings[0])
    assert "line 2 +2" in over[0]


@pytest.mark.parametrize(("kana", "part", "said"), [("は", "助詞,係助詞", "wa"), ("へ", "助詞,格助詞", "e"),
                                                    ("は", "名詞,普通名詞", "ha"), ("へ", "名詞,普通名詞", "he")])
def test_particles_are_written_as_they_are_spoken(kana, part, said):
    """Modified Hepburn writes the particles は and へ as wa and e, and other words as they are spelled."""
    words = (Word(0, 2, "やま", "やま", "やま", "ヤマ", "名詞,普通名詞", True, 0.0),
             Word(2, 3, kana, kana, kana, "", part, True, 0.0))
    assert romanise(words) == f"yama {said}"
