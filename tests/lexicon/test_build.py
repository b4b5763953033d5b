"""The lattice from what was read: rules as arcs with costs and reasons."""

import pytest

from readaid.core.errors import TableError
from readaid.lexicon import costs, own_words
from readaid.lexicon.builder import build
from readaid.lexicon.graph import build as graph


def arcs(text, start=0, end=None):
    return [a for a in build(text).arcs if a.start == start and (end is None or a.end == end)]


def reading_of(text, kana):
    return next(a for a in build(text).arcs if a.text == kana)


@pytest.mark.parametrize(("written", "asked", "kind"), [
    # Source: the sixteen-plus pairs of the trade notes (common knowledge of historical kana usage).
    ("けふ", "きょう", "old spelling"), ("てふ", "ちょう", "old spelling"), ("かう", "こう", "old spelling"),
    ("くわ", "か", "old spelling"), ("ゐ", "い", "old spelling"), ("ゑ", "え", "old spelling"),
    ("は", "わ", "old spelling"), ("ひ", "い", "old spelling"), ("ふ", "う", "old spelling"),
    ("へ", "え", "old spelling"), ("ほ", "お", "old spelling"), ("ぢ", "じ", "old spelling"),
    ("づ", "ず", "old spelling"),
    ("お", "を", "free exchange"), ("え", "ゑ", "free exchange"), ("い", "ゐ", "free exchange"),
    ("わ", "は", "free exchange"), ("じ", "ぢ", "free exchange"), ("ず", "づ", "free exchange"),
    ("む", "ん", "free exchange"), ("か", "かん", "left out"), ("か", "かっ", "left out"),
    ("か", "が", "voicing"), ("は", "ぱ", "half voicing"), ("や", "ゃ", "small kana"), ("つ", "っ", "small kana"),
    ("者", "は", "kanji as kana"), ("之", "の", "kanji as kana"), ("哉", "かな", "kanji as kana"),
    ("國", "国", "old kanji"), ("𛀁", "え", "hentaigana"), ("ハ", "は", "katakana"), ("ゟ", "より", "ligature"),
    ("ヿ", "こと", "ligature"), ("たゞ", "ただ", "repetition"), ("つゝ", "つづ", "voiced repetition"),
    ("いろ〱", "いろいろ", "repetition"), ("さま〱", "さまざま", "voiced repetition"), ("山々", "山々", "repetition"),
    ("日ゝ", "日日", "repetition"),
])
def test_every_rule_is_an_arc_with_its_reason(written, asked, kind):
    found = [a for a in build(written).arcs if a.text == asked and a.written == written]
    assert found, written
    best = min(found, key=lambda a: a.cost)
    assert kind in {r.kind for r in best.reasons}
    assert best.end > best.start


def test_holds_inside_a_word_only():
    assert {a.place for a in arcs("は", end=1) if a.text == "わ" and a.reasons[-1].kind == "old spelling"} == {"inside"}
    assert not any(e.inside for e in graph(build("か"), costs.standard()).edges)


def test_free_exchange_is_dearer_than_the_norm():
    assert reading_of("は", "わ").cost < reading_of("お", "を").cost


def test_marked_letters_are_never_unvoiced():
    assert "か" not in {a.text for a in arcs("が")}


def test_carvers_kana_is_kept():
    arc = reading_of("けふ", "きょう")
    assert (arc.kana, arc.written) == ("けふ", "けふ")
    assert [(r.written, r.read, r.at) for r in arc.reasons] == [("けふ", "きょう", 0)]


def test_columns_and_spaces():
    lattice = build("はる の\nうみ")
    assert (lattice.last, lattice.column_ends) == (5, (3,))


def test_plain_costs_switch_the_rules_off():
    assert [a.text for a in build("けふは", costs=costs.bare()).arcs] == ["け", "ふ", "は"]


def test_mark_copies_only_what_was_chosen():
    lattice = build([[("か", 0.5), ("は", 0.5)], [("ゞ", 1.0)]])
    assert {a.text for a in lattice.arcs if a.end == 2} == {"かが", "がが", "はば", "ばば"} | {
        a.text for a in lattice.arcs if a.end == 2 and a.text[0] == "ぱ"}
    assert all(a.start == 0 for a in lattice.arcs if a.end == 2)


def test_tables_name_their_faulty_rows(tmp_path):
    bad = tmp_path / "own_words.tsv"
    bad.write_text("\t".join(own_words.COLUMNS) + "\nけり\t1\t1\tx\n\t1\t1\t5\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"row 2.*row 3.*own_words\.tsv"):
        own_words.load(bad)
    weights = tmp_path / "weights.tsv"
    weights.write_text("name\tcost\na\t1\na\t2\nb\tmany\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"row 3.*row 4"):
        costs.load(weights)


def test_own_words_are_found_beside_the_dictionary(tmp_path, monkeypatch):
    """A word of our own with a very low cost wins; it is told apart by its token number."""
    from readaid.lexicon.kbest import Search
    table = tmp_path / "own.tsv"
    row = ("ふもやの", "5142", "5142", "-9000", "名詞", "フモヤノ", "", "", "ふもやの", "", "test")
    table.write_text("\t".join(own_words.COLUMNS) + "\n" + "\t".join(row) + "\n", encoding="utf-8")
    monkeypatch.setattr(own_words, "shipped", lambda: own_words.load(table))
    search = Search(build("ふもやの"))
    best = search.best("prose", 1).strings[0]
    assert [search.entry(row, "ふもやの").lemma for row in best.rows] == ["ふもやの"]
    assert int(search.words.token[best.rows[0]]) >= own_words.FIRST


@pytest.mark.parametrize(("spelled", "kanji", "modern"), [
    ("あうむ", "鸚鵡", "オウム"), ("あわ", "泡", "アワ"), ("いわし", "鰯", "イワシ"), ("こち", "東風", "コチ"),
    ("しじま", "静寂", "シジマ"), ("ほほゑむ", "微笑む", "ホホエム"), ("をつと", "夫", "オット"),
    ("せうえう", "逍遥", "ショウヨウ"),
    ("さうぶ", "菖蒲", "ソウブ"), ("いんきよ", "隠居", "インキョ"), ("くひ", "杭", "クイ"), ("うぢ", "氏", "ウジ"),
    ("すまひ", "住居", "スマイ"), ("ほふし", "法師", "ホウシ"), ("くわんおん", "観音", "カンノン")])
def test_own_words_have_the_spelling_of_the_period(spelled, kanji, modern):
    """Historical kana usage as dictionaries of classical Japanese give it (common knowledge, from memory)."""
    found = {e.surface: e.modern for e in own_words.shipped().entries if e.lemma == kanji}
    assert found.get(spelled) == modern
    wrong = {"鸚鵡": "あふむ", "泡": "あは", "鰯": "いはし", "静寂": "しぢま", "逍遥": "せうやう", "隠居": "ゐんきよ",
             "杭": "くい", "氏": "うじ", "住居": "すまゐ", "法師": "はうし", "観音": "くわんのん"}
    assert wrong.get(kanji) not in found
