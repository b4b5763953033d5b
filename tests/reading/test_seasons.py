"""Season words of a reading, verse and picture: only words count."""

import itertools

import pytest

from readaid.core.reading import Reading, Word
from readaid.lexicon import verses
from readaid.lexicon.kanji_runs import runs
from readaid.reading import seasons, verse_picture
from readaid.script import season_words, subjects, voicing


def word(text, kana, part="名詞,普通名詞", lemma=""):
    return Word(0, 1, text, kana, kana, kana, part, True, 0.0, lemma or text, normal=kana)


NOUN, VERB, PARTICLE = "名詞,普通名詞,一般", "動詞,一般", "助詞,格助詞"


@pytest.mark.parametrize(("words", "told"), [
    ([word("梅", "うめ"), word("が", "が", PARTICLE), word("香", "か"), word("に", "に", PARTICLE)],
     ("梅が香 (spring)",)),
    ([word("香", "か"), word("に", "に", PARTICLE)], ()),
    ([word("あり", "あり", VERB, "有る"), word("て", "て", PARTICLE)], ()),
    ([word("あり", "あり", NOUN, "蟻"), word("の", "の", PARTICLE)], ("あり (summer)",)),
    ([word("くも", "くも", NOUN, "雲")], ()),
    ([word("たび", "たび", NOUN, "旅")], ()),
    ([word("凩", "こがらし")], ("凩 (winter)",)),
    ([word("杜鵑", "ほととぎす")], ("杜鵑 (summer)",)),
    ([word("後", "のち"), word("の", "の", PARTICLE), word("月", "つき")], ("後の月 (autumn)",)),
    ([word("は", "は", "助詞,係助詞"), word("か", "か", "助詞,係助詞")], ()),
])
def test_only_words_of_the_reading_count(words, told):
    assert seasons.seasons(words) == told


@pytest.mark.parametrize(("writing", "season"), [
    ("冬至", "winter"), ("帰り咲", "winter"), ("夏負", "summer"), ("旱魃", "summer"), ("花火", "autumn"),
    ("凩", "winter"), ("後の月", "autumn"), ("十三夜", "autumn"), ("明月", "autumn"), ("初鶯", "spring"),
    ("郭公", "summer"), ("子規", "summer"), ("七夕", "autumn"), ("朝顔", "autumn"), ("相撲", "autumn"),
])
def test_season_by_the_old_almanacs(writing, season):
    """Autumn begins in the seventh month; common practice, from memory."""
    assert season in {w.season for w in season_words.of(writing)}


def test_the_table_has_each_word_once_and_knows_the_reading_of_the_solstice():
    keys = [(w.kana, w.season, w.kanji) for w in season_words.WORDS]
    assert len(set(keys)) == len(keys) > 1000
    assert [w.kana for w in season_words.of("冬至")] == ["とうじ"]


def test_cutting_words_are_particles_not_namesakes():
    night = [word("春", "はる"), word("の", "の", PARTICLE), word("夜", "よ")]
    assert seasons.cuts([night]) == ()
    assert seasons.cuts([[word("古池", "ふるいけ"), word("や", "や", "助詞,係助詞")]]) == ("や",)


def reading(*words, season=()):
    kana = "".join(w.kana for w in words)
    return Reading(kana, kana, kana, kana, "", (kana,), (len(kana),), 1.0, (), words=tuple(words), season=season)


def test_verse_and_picture_both_ways():
    verse = reading(word("鶯", "うぐひす"), word("や", "や", PARTICLE), word("竹", "たけ"), season=("鶯 (spring)",))
    both = verse_picture.named(verse, "warbler on a plum branch")
    assert [d.name for d in both.designs] == ["warbler", "bamboo"]
    assert "a hint that they belong together" in both.hints[1]
    assert "plum; in verse it goes with warbler" in both.hints[0]
    against = verse_picture.named(verse, "maple leaves on a river")
    assert any("look at both again" in h for h in against.hints)
    assert verse_picture.named(verse, "").hints == ()
    frog = verse_picture.beside("frog and old pond")
    assert {w.design.name for w in frog} == {"frog", "old pond"}
    assert any(v.author == "Basho" for w in frog for v in w.verses)


def test_places_and_pillow_words_are_told():
    found = verse_picture.named(reading(word("久方", "ひさかた"), word("の", "の", PARTICLE), word("光", "ひかり"),
                                        word("吉野", "よしの", "名詞,固有名詞,地名,一般")))
    assert found.places == ("吉野",)
    assert found.pillows == ("ひさかたの, before 天 雨 月 光 空 都",)


def test_known_verses_go_on_from_a_pillow_word_with_what_the_table_says():
    """Verses typed from memory and compared with print are the judge: 71 lines are a pillow word with entered words,
    48 are followed by one of them; the others stand before a word that lies further on, or are no pillow there."""
    before = {voicing.plain(p.kana): {voicing.plain(kana) for word in p.before for kana in runs().kana(word)}
              for p in subjects.PILLOW_WORDS if p.before}
    followed = [(line, after.startswith(tuple(before[line])))
                for verse in verses.along() for line, after in itertools.pairwise(map(voicing.plain, verse.lines))
                if line in before]
    assert len(followed) >= 71
    assert sum(so for _, so in followed) >= 48
    assert len({line for line, so in followed if so}) >= 27


def test_designs_go_with_designs_that_are_there():
    names = {s.name for s in subjects.SUBJECTS}
    assert len(names) == len(subjects.SUBJECTS) >= 60
    assert len(subjects.PILLOW_WORDS) >= 40
    assert subjects.designs("a monkey reaching for the moon's reflection")[0].name == "moon"
    assert subjects.designs("moonlike disc") == ()
