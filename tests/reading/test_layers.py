"""Layers of a reading and its explanation."""

import pytest

from readaid.core.reading import Word
from readaid.reading.explanation import beside, differences, explain, listing
from readaid.reading.layers import romanise
from readaid.reading.solve import read, solve


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


def test_text_is_printed_in_kanji_and_kana():
    """What stands in kanji stays, okurigana left out come back, nouns and verbs get their kanji (common practice)."""
    found = solve("煤払ひ扉のうらに笑ひ声", form="hokku", k=1).readings[0]
    assert found.text.startswith("煤払ひ扉の")
    assert "笑ひ声" in found.text
    assert solve("むすめ", form="prose", k=1).readings[0].text == "娘"
    assert solve("水の音", form="prose", k=1).readings[0].text == "水の音"
    assert solve("春の海", form="prose", k=1).readings[0].kana == "はるのうみ"
    assert solve("此度", form="prose", k=1).readings[0].text == "此度"  # two words share the run
    assert "散りけり" in solve("旅人の笠に散けり山桜", form="hokku", k=1).readings[0].text


def test_words_tell_their_forms():
    words = solve("けふの水の音", form="linked", k=1).readings[0].words[:3]
    assert [(w.written, w.kana, w.normal, w.modern) for w in words] == [
        ("けふ", "けふ", "けふ", "きょう"), ("の", "の", "の", "の"), ("水", "みづ", "みづ", "みず")]
    assert words[0].lemma == "今日"
    assert words[2].part.startswith("名詞")


def test_words_tell_their_inflection():
    """たかき is the attributive of 高し, which the dictionary has in kanji alone; つつ follows a continuative."""
    found = solve("たかきやまに", form="prose", k=1).readings[0]
    assert (found.words[0].kana, found.words[0].inflection) == ("たかき", "adjective in ku, attributive")
    assert found.text.startswith("高き")
    assert found.romaji.startswith("takaki ya")
    flowers = solve("はなのちりつつ", form="prose", k=1).readings[0]
    assert [w.inflection for w in flowers.words if w.kana == "ちり"] == ["four-step, continuative"]


def test_what_the_carver_left_out_is_counted_and_shown():
    """ぼたん without its ん: eight morae, and the norm writes the ん."""
    found = next(r for r in solve("ほたのはなみる", form="prose", k=4).readings if r.modern == "ぼたんのはなみる")
    assert (found.kana, found.normal, found.morae) == ("ぼたのはなみる", "ぼたんのはなみる", (8,))
    assert any(r.kind == "left out" for r in found.reasons)


def test_long_vowels_end_with_their_word():
    """Modified Hepburn joins vowels within a word; phrases that the dictionary has as one word are parted."""
    assert solve("みつのおと", form="prose", k=1).readings[0].romaji == "mizu no oto"
    assert solve("枯れ枝", form="prose", k=1).readings[0].romaji == "kareeda"
    assert solve("松の葉", form="prose", k=1).readings[0].romaji == "matsu no ha"
    assert solve("鸚鵡", form="prose", k=1).readings[0].romaji == "ōmu"


def test_readings_laid_side_by_side_add_up():
    one, two = solve("はるさめやものかたりゆくみのとかさ", form="hokku", k=2).readings
    rows = beside(one, two)
    assert sum(r[3] for r in rows) == pytest.approx(two.cost - one.cost)
    assert sum(r[1] for r in rows) == pytest.approx(one.cost)


def test_a_list_of_readings_shows_short():
    found = read("はるのうみ", k=2)
    assert len(repr(found).splitlines()) == 2
    html = found._repr_html_()
    assert html.count("<tr>") == 3
    assert "はるのうみ" in html
