"""Season words and cutting words."""

import pytest

from readaid.script import cutting_words, season_words, spelling


def test_enough_season_words_of_each_season():
    assert len(season_words.WORDS) >= 300
    for name in season_words.SEASONS:
        assert sum(w.season == name for w in season_words.WORDS) >= 25
    assert len({(w.kana, w.kanji, w.season) for w in season_words.WORDS}) == len(season_words.WORDS)


@pytest.mark.parametrize(
    ("verse", "word", "name"),
    [
        ("ふるいけ や かはづ とびこむ みづ の おと", "かはづ", "spring"),
        ("なつくさ や つはもの ども が ゆめ の あと", "なつくさ", "summer"),
        ("さみだれ を あつめ て はやし もがみがは", "さみだれ", "summer"),
        ("この みち や ゆく ひと なし に あき の くれ", "あきのくれ", "autumn"),
        ("はつしぐれ さる も こみの を ほしげ なり", "はつしぐれ", "winter"),
        ("うめ いち りん いち りん ほど の あたたかさ", "うめ", "spring"),
        ("あさがほ に つるべ とら れ て もらひみづ", "あさがほ", "autumn"),
        ("ともかくも あなたまかせ の とし の くれ", "としのくれ", "winter"),
        ("閑さや岩にしみ入る蝉の声", "せみのこゑ", "summer"),
        ("菜の花や月は東に日は西に", "なのはな", "spring"),
        ("荒海や佐渡によこたふ天の川", "あまのがは", "autumn"),
        ("冬籠りまた寄り添はん此の柱", "ふゆごもり", "winter"),
    ],
)
def test_season_of_published_verse(verse, word, name):
    """Hokku from memory (public domain) and the season every almanac gives them."""
    assert (word, name) in [(w.kana, w.season) for w in season_words.found(verse)]


def test_season_words_are_found_in_modern_spelling_too():
    for word in season_words.WORDS:
        assert word in season_words.of(word.kana)
        assert season_words.of(spelling.modern(word.kana))
    assert season_words.found("つくえ の うへ") == ()
    assert season_words.found("") == ()


@pytest.mark.parametrize(
    ("lines", "cuts"),
    [
        (["ふるいけ や", "かはづ とびこむ", "みづ の おと"], [(0, "や")]),
        (["はる の うみ", "ひねもす のたり", "のたり かな"], [(2, "かな")]),
        (["かれえだ に", "からす の とまり", "けり"], []),
        (["ゆくはるを", "あふみのひとと", "をしみけり"], [(2, "けり")]),
        (["いざ ゆか む", "ゆきみ に", "ころぶ ところ まで"], [(0, "いざ")]),
        (["はな の くも", "かね は うへの か", "あさくさ か"], [(1, "か"), (2, "か")]),
    ],
)
def test_cutting_words(lines, cuts):
    assert [(n, w.kana) for n, w in cutting_words.found(lines)] == cuts


def test_the_eighteen():
    """The eighteen of tradition, from memory."""
    known = {w.kana for w in cutting_words.WORDS}
    assert {
        "かな",
        "もがな",
        "し",
        "じ",
        "や",
        "らむ",
        "か",
        "けり",
        "よ",
        "ぞ",
        "つ",
        "せ",
        "ず",
        "れ",
        "ぬ",
        "へ",
        "け",
        "いかに",
    } <= known
