"""Spelling: the pairs every reader knows, the table of words, exchanges."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readaid.script import exchange, kana, old_words, spelling
from readaid.script.grades import GRADES

PAIRS = dict(
    p.split("=")
    for p in [
        "けふ=きょう",
        "てふ=ちょう",
        "かう=こう",
        "くわ=か",
        "ゐる=いる",
        "こゑ=こえ",
        "かはづ=かわず",
        "をとめ=おとめ",
        "ゆふべ=ゆうべ",
        "おもふ=おもう",
        "いふ=いう",
        "あはれ=あわれ",
        "くれなゐ=くれない",
        "あふぎ=おうぎ",
        "うへ=うえ",
        "いはほ=いわお",
        "たふとし=とうとし",
        "さうらふ=そうろう",
        "よはひ=よわい",
        "かほ=かお",
        "にほひ=におい",
        "きやう=きょう",
        "もみぢ=もみじ",
        "みづ=みず",
        "やう=よう",
        "まうす=もうす",
        "じふ=じゅう",
        "れふ=りょう",
        "ゑふ=よう",
        "えう=よう",
        "わう=おう",
        "くわんおん=かんのん",
        "ぐわん=がん",
        "てふてふ=ちょうちょう",
        "せうやう=しょうよう",
        "うつくしう=うつくしゅう",
        "しうと=しゅうと",
        "つづみ=つづみ",
        "ちぢむ=ちぢむ",
        "みかづき=みかづき",
        "はは=はは",
        "あさひ=あさひ",
        "やはり=やはり",
        "いはば=いわば",
        "あひみての=あいみての",
    ]
)


@pytest.mark.parametrize(("old", "new"), PAIRS.items())
def test_pairs(old, new):
    """The pairs of any grammar of classical Japanese; common practice, from memory."""
    assert spelling.modern(old) == new


def test_particles_and_places():
    assert spelling.modern("はる は あけぼの") == "はる は あけぼの"
    assert spelling.modern("かは を ながめ けふ へ") == "かわ を ながめ きょう へ"
    assert (
        spelling.modern("ほたる ひかる ふね へいけ") == "ほたる ひかる ふね へいけ"
    )  # は-row at the head of a word stays
    assert spelling.modern("こゝろ") == "こころ"
    assert spelling.modern("カハヅ") == "かわず"
    assert spelling.modern("") == ""
    assert spelling.modern("ねむ") == "ねむ"  # the auxiliary stays む


VERSE = [
    ("ふるいけ や かはづ とびこむ みづ の おと", "ふるいけ や かわず とびこむ みず の おと"),
    ("しづかさ や いは に しみいる せみ の こゑ", "しずかさ や いわ に しみいる せみ の こえ"),
    ("ゆく はる を あふみ の ひと と をしみ ける", "ゆく はる を おうみ の ひと と おしみ ける"),
    ("うれひ つつ をか に のぼれ ば はないばら", "うれい つつ おか に のぼれ ば はないばら"),
    ("やれ うつ な はへ が て を する あし を する", "やれ うつ な はえ が て を する あし を する"),
    ("めに は あをば やまほととぎす はつがつを", "めに は あおば やまほととぎす はつがつお"),
    ("こころ なき み に も あはれ は しら れ けり", "こころ なき み に も あわれ は しら れ けり"),
    ("むすび し みづ の こほれ る を", "むすび し みず の こおれ る を"),
    ("かへりみ すれ ば つき かたぶき ぬ", "かえりみ すれ ば つき かたぶき ぬ"),
    ("いは ばしる たるみ の うへ の さわらび の", "いわ ばしる たるみ の うえ の さわらび の"),
    ("ひと は いさ はな ぞ むかし の か に にほひ ける", "ひと は いさ はな ぞ むかし の か に におい ける"),
]


@pytest.mark.parametrize(("old", "new"), VERSE)
def test_running_verse(old, new):
    """Verses from memory (public domain), divided into words by hand."""
    assert spelling.modern(old) == new


@pytest.mark.parametrize("word", old_words.WORDS, ids=lambda w: w.historical + w.kanji)
def test_every_word_of_the_table(word):
    """The table and the rules agree: the historical form gives the modern one and is its own norm."""
    if word.historical in spelling.PARTICLES:
        return  # には 庭: as a whole word the particle wins
    if word.kind == "word":
        assert spelling.modern(word.historical) == word.modern
        assert spelling.norm(word.historical, word.kanji) == word.historical
        assert spelling.norm(word.modern, word.kanji) in {
            w.historical for w in old_words.WORDS if w.kanji[:1] == word.kanji[:1]
        }
        return
    for old, new in old_words.ENDINGS[word.kind].items():
        form = word.historical + old
        if form not in spelling.PARTICLES:
            homophones = {w.modern for w in old_words.WORDS if w.historical == form}
            assert spelling.modern(form) in {word.modern + new, *homophones, *({"よう"} if form == "ゑふ" else ())}


@pytest.mark.parametrize(
    ("written", "kanji", "norm"),
    [
        ("おとめ", "", "をとめ"),
        ("かわ", "", "かは"),
        ("いゑ", "", "いへ"),
        ("まゑ", "", "まへ"),
        ("すへ", "", "すゑ"),
        ("ゆへ", "", "ゆゑ"),
        ("こへ", "", "こゑ"),
        ("もみじ", "", "もみぢ"),
        ("みず", "水", "みづ"),
        ("みず", "見ず", "みず"),
        ("おもゑば", "", "おもへば"),
        ("をもふ", "", "おもふ"),
        ("つえ", "", "つゑ"),
        ("うめ", "", "うめ"),
        ("お", "", "を"),
        ("え", "絵", "ゑ"),
    ],
)
def test_norm(written, kanji, norm):
    """Careless spellings of the 17th-19th century and the norm (common practice)."""
    assert spelling.norm(written, kanji) == norm


def test_norm_of_an_unknown_word_is_not_guessed():
    assert spelling.norm("そらまめ") is None
    assert spelling.normal("そらまめ や をとめ") == "そらまめ や をとめ"


def test_departures():
    assert spelling.departure("をとめ") == "old spelling"
    assert spelling.departure("おとめ") == "free exchange"
    assert spelling.departure("やま") == ""


def test_rules_are_sound():
    assert len({(r.old, r.new, r.place, r.target) for r in exchange.RULES}) == len(exchange.RULES)
    assert {r.grade for r in exchange.RULES} <= set(GRADES)
    assert {r.reason for r in exchange.RULES} <= set(exchange.REASONS)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("を", "お"),
        ("お", "を"),
        ("ほ", "お"),
        ("え", "へ"),
        ("ゑ", "え"),
        ("い", "ゐ"),
        ("ひ", "い"),
        ("わ", "は"),
        ("は", "わ"),
        ("じ", "ぢ"),
        ("ぢ", "じ"),
        ("ず", "づ"),
        ("づ", "ず"),
        ("む", "ん"),
        ("ん", "む"),
    ],
)
def test_every_exchange_is_there(old, new):
    """The list of exchanges readers of amateurs' hands know (common practice, no source)."""
    assert any((r.old, r.new) == (old, new) for r in exchange.RULES)


# In 観音 the ん before sounds in the お: a change of that one word, in the table and in no rule.
@pytest.mark.parametrize(("old", "new"), [p for p in PAIRS.items() if p[0] not in (p[1], "くわんおん")])
def test_variants_lead_back(old, new):
    """Each historical spelling is among the variants of its modern one, by the rules alone."""
    assert old in {e.kana for e in exchange.variants(new, changes=3, most=100000)}


def test_most_words_of_the_table_follow_the_rules():
    """The table of words holds few that the rules cannot reach (あふひ あおい, ははき ほうき)."""
    changed = [w for w in old_words.WORDS if w.historical != w.modern]
    lost = [
        w for w in changed if w.historical not in {e.kana for e in exchange.variants(w.modern, changes=3, most=100000)}
    ]
    assert len(changed) > 500
    assert len(lost) < 0.04 * len(changed), lost


def test_left_out():
    assert [e.kana for e in exchange.left_out("さ")] == ["さん", "さっ"]
    assert all(e.reason == "left out" and e.grade == "rare" for e in exchange.left_out("さ"))
    assert exchange.left_out("っ") == exchange.left_out("ん") == ()


def test_rules_at_are_longest_first():
    lengths = [len(r.old) for r in exchange.rules_at("くわうみやう", 0)]
    assert lengths == sorted(lengths, reverse=True) != []
    assert {r.target for r in exchange.rules_at("おとめ", 0, "norm")} <= {"norm", "both"}


@given(
    st.text(
        st.sampled_from("あいうえおかがきくけこさしすそたちつてとはひふへほまみむめもやゆよらりるれろわゐゑをんぢづ "),
        max_size=14,
    )
)
def test_modern_is_kana_and_settles(text):
    """Words stay words, nothing but kana comes out, and ゐ ゑ are gone."""
    out = spelling.modern(text)
    assert len(out.split()) == len(text.split())
    assert all(c == " " or kana.is_hiragana(c) for c in out)
    assert not set("ゐゑ") & set(out)


@given(st.text(st.sampled_from("かさたなまらんきしちにみりくすつぬむる"), max_size=10))
def test_plain_words_stay(text):
    """Kana that no rule touches come back unchanged."""
    for word in (text,):
        if not any(r.old in word for r in exchange.RULES if r.applied) and not old_words.at_head(word, "historical"):
            assert spelling.modern(word) == word
