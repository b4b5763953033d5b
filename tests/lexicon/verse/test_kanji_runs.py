"""Readings of kanji runs: the table against the dictionary, okurigana left out, arcs and their limits."""

import pytest

from readaid.core import places
from readaid.core.errors import TableError
from readaid.lexicon import dictionary, kanji_runs
from readaid.lexicon.builder import build
from readaid.script import kana as letters
from readaid.script import spelling, subjects

COMMON = tuple("山川花月雪風春夏秋冬水火木草鳥虫人心道里海空雲雨朝夜声色袖枕夢松梅桜柳岩石舟波")


def test_common_kanji_are_read_as_the_dictionary_reads_them():
    """Outside check: the likeliest native reading of a common noun is one of UniDic's, in today's spelling."""
    book = dictionary.opened()
    right = sum(spelling.modern(kanji_runs.runs().readings(c)[0].kana) in
                {letters.to_hiragana(e.modern or e.kana) for e in book.look_up(c)} for c in COMMON)
    assert right >= len(COMMON) - 2


def test_readings_of_the_period_are_near_the_head():
    """Common practice of editions, no source."""
    wanted = {"五月雨": "さみだれ", "郭公": "ほととぎす", "時雨": "しぐれ", "今日": "けふ", "兵": "つはもの"}
    for written, kana in wanted.items():
        assert kana in [r.kana for r in kanji_runs.runs().readings(written)[:6]]


def test_okurigana_that_stand_are_read_with_their_kanji_and_those_left_out_are_restored():
    found = {r.kana: r for r in kanji_runs.runs().readings("散")}
    assert found["ちり"].bare
    assert found["ちる"].bare
    assert "ち" not in found or found["ち"].log < found["ちり"].log - 2.0  # 散 alone is hardly ever ち
    assert kanji_runs.runs().readings("散り")[0].kana == "ちり"


def test_a_word_within_a_run_may_begin_voiced():
    small = kanji_runs.Runs([(w, k, 9.0, 0.0, 9.0, 9.0) for w, k in (("蔀", "はしま"), ("鐘", "かね"), ("風", "かぜ"))])
    assert "ばしま" in {r.kana for r in small.readings("蔀", within=True)}
    assert "ばしま" not in {r.kana for r in small.readings("蔀")}
    within = {r.kana: r.log for r in (*small.readings("鐘", within=True), *small.readings("風", within=True))}
    assert within["がね"] > within["がぜ"] + 1.0  # Lyman's law: a word with a voiced sound seldom begins voiced


def test_a_kanji_between_kana_is_read_as_it_is_read_alone():
    """海 is かい in 海上 and うみ by itself; the sea of spring is a phrase with its kana inside (common knowledge)."""
    alone = {r.kana: r.log for r in kanji_runs.runs().readings("海", alone=True)}
    beside = {r.kana: r.log for r in kanji_runs.runs().readings("海")}
    assert alone["うみ"] - alone["かい"] > beside["うみ"] - beside["かい"] + 0.5
    told = {(a.start, a.end, a.kana): a.cost for a in kanji_runs.arcs(build("海は海上"))}
    assert told[0, 1, "うみ"] + 1400 < told[0, 1, "かい"]
    assert (0, 3, "はるのうみ") in {(a.start, a.end, a.kana) for a in kanji_runs.arcs(build("春の海"))}


def test_old_forms_of_kanji_and_doubled_ones_are_read():
    arcs = kanji_runs.arcs(build("櫻"))
    assert "さくら" in {a.kana for a in arcs}
    assert "ひとびと" in {a.kana for a in kanji_runs.arcs(build("人々"))}


def test_arcs_span_their_signs_and_cost_signs_and_reading():
    lattice = build([[("山", 0.5)], [("桜", 0.9), ("さ", 0.1)]])
    arcs = kanji_runs.arcs(lattice)
    whole = next(a for a in arcs if (a.start, a.end, a.kana) == (0, 2, "やまざくら"))
    signs = sum(a.cost for a in lattice.arcs if a.text in ("山", "桜") and not a.kana)
    told = next(r for r in whole.reasons if r.kind == "kanji reading")
    assert whole.cost == pytest.approx(signs + told.cost)
    assert (whole.written, whole.source) == ("山桜", kanji_runs.SOURCE)
    assert not kanji_runs.arcs(build("やまざくら"))


def test_how_many_arcs_there_are_is_bounded(monkeypatch):
    monkeypatch.setattr(kanji_runs, "MOST_ARCS", 40)
    lattice = build("山川花月雪風春夏秋冬")
    arcs = kanji_runs.arcs(lattice)
    assert len(arcs) < 120
    assert {a.start for a in arcs} == set(range(10))


def test_today_s_readings_turn_historical_where_old_texts_have_them():
    assert kanji_runs.historical("声", "こえ") == "こゑ"
    assert kanji_runs.historical("水", "みず") == "みづ"
    assert kanji_runs.historical("電話", "でんわ") == "でんわ"


def test_a_faulty_table_names_its_rows(tmp_path):
    path = tmp_path / "runs.tsv"
    rows = ("written\tkana\tfull\tbare\theard\talone", "山\tやま\t1\t0\t1\t1", "川\tkawa\t1\t0\t1\t1",
            "花\tはな\tx\t0\t1\t1")
    path.write_text("\n".join(rows), encoding="utf-8")
    with pytest.raises(TableError, match="row 3; row 4"):
        kanji_runs.load(path)


def test_the_table_says_where_it_is_from():
    head = kanji_runs.TABLE.read_text(encoding="utf-8").split("written\t")[0]
    assert all(word in head for word in ("silloi/manyoshu", "aozorabunko_text", "examination"))


def test_places_and_pillow_words_of_the_lists_are_in_the_table():
    """The lists are from memory; what is checked is that they are plain, many, and read."""
    path = places.share("data") / "fit" / "old_readings.tsv"
    rows = [line.split("\t") for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")][1:]
    assert len({(written, kana) for written, kana, _ in rows}) == len(rows)
    assert all(letters.is_hiragana(c) for _, kana, _ in rows for c in kana)
    listed = [(written, kana) for written, kana, kind in rows if kind == "place"]
    pillows = [(written, p.kana) for p in subjects.PILLOW_WORDS for written in p.kanji]
    assert len({kana for _, kana in listed}) >= 400
    assert len({kana for _, kana in pillows}) >= 150
    assert all(kana in kanji_runs.runs().kana(written) for written, kana in listed + pillows
               if len(written) <= kanji_runs.LONGEST)
