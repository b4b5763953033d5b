"""The catalogue entry: its order, its fields, and that nothing is made up."""

import pytest
from lxml import html as lxml_html

from readaid.core.entry import Allusion, Entry, GlossedWord, Translation
from readaid.core.errors import OptionError
from readaid.piece import entry_lines
from readaid.register.book import Register

FILLED = {"edited": "波羅寿止", "read_out": "はらすと", "romanised": "harasuto", "paraphrase": "今の言葉で",
          "translations": (Translation("A wash of words", "en", "Tani"), Translation("Worte", "de", "Roth")),
          "words": (GlossedWord("波", "波", "名詞", "wave", "reader"),), "season": ("煤払い (winter)",),
          "cutting": ("や",), "places": ("吉野",), "pillows": ("ひさかたの",),
          "allusions": (Allusion("", "3,000 verses", "not traced"),), "picture": "The waves stand for the verse.",
          "date_argument": "Both signs agree.", "not_read": "The last sign lies under residue.", "cut": "line cut",
          "tool_width": 0.4}


@pytest.fixture
def entered(full):
    full.write_up.write(full.contents.inscriptions[0], **FILLED)
    full.describe(subject="Waves", maker="Rotei", attributed="Rosetsu", attributed_by="Kuro", made_when="Edo period")
    return full


def text_of(piece, **options):
    return lxml_html.fromstring(piece.report(**options).read_text(encoding="utf-8"))


def test_the_entry_comes_first_and_in_the_order_of_a_catalogue(entered):
    tree = text_of(entered)
    assert tree.xpath("//div[contains(@class,'part')]/@class") == ["part entry", "part evidence"]
    (piece,) = tree.xpath("//section[@id='piece']")
    assert piece.xpath(".//dt/text()")[:5] == ["Subject", "Maker, as signed", "Attributed to", "Period", "Dimensions"]
    verse = tree.xpath("//section[starts-with(@id,'inscription-')]")[0]
    heads = [e.text_content() for e in verse.xpath(".//figcaption | .//dt | .//caption")]
    # the order the trade expects (common practice, no source): signs, parents, kana, edited, reading, ... not read
    order = ["Transcription", "Parent kanji", "Plain kana", "Edited text",
             "Reading", "Romanised", "Modern paraphrase",
             "Translation (English, Tani)", "Translation (German, Roth)", "Words", "Season word", "Cutting word",
             "Poetic place", "Pillow word", "Known verse or allusion", "Text and picture", "Why it is dated so",
             "What was not read, and why"]
    assert [h for h in heads if h in order] == order
    assert "者" in verse.text_content(), "the parent of 𛂥"


def test_the_entry_alone_holds_no_evidence(entered):
    tree = text_of(entered, part="entry")
    assert tree.xpath("//div[contains(@class,'part')]/@class") == ["part entry"]
    with pytest.raises(OptionError, match="did you mean 'entry'"):
        entered.report(part="entri")


def test_what_nobody_wrote_is_left_out(full):
    told = text_of(full).text_content()
    for heading in ("Modern paraphrase", "Season word", "Poetic place", "Subject", "Attributed to"):
        assert heading not in told


def test_the_picture_stands_beside_its_enhanced_copy_with_lamp_and_view_named(entered):
    photo = entered.contents.photos[0]
    entered.change(photo, light="lamp low at the left")
    captions = text_of(entered).xpath("//section[starts-with(@id,'inscription-')][1]//figcaption/text()")
    assert captions[0] == "front · lamp low at the left · with scale bar"
    assert captions[1] == "Enhanced: local contrast"


def test_signature_date_and_persons_stand_in_the_entry_of_the_signature(entered):
    signature = text_of(entered).xpath("//section[starts-with(@id,'inscription-')]")[1].text_content()
    for said in ("Signature: 霜野鷺汀", "name", "しものろてい", "carver", "文政十二年: 1829-02-04 – 1830-01-24",
                 "Monogram, to scale", "Nearest forms kept", "1830 0.81 (of 1 compared; a likeness of form is no"):
        assert said in signature


def test_the_apparatus_names_photograph_and_lamp_and_who_judged_when(entered):
    from readaid.core.judgement import Judgement
    photo = entered.contents.photos[0]
    entered.change(photo, light="lamp low at the left", taken="2026-03-01")
    sign = entered.contents.inscriptions[0].characters[0]
    entered.save(Judgement(sign, "Tani", "お", 0.4, made="2026-04-02T10:00:00.000+00:00"))
    part = text_of(entered).xpath("//section[starts-with(@id,'signs-')]")[0]
    assert part.xpath("./p[@class='note']/text()") == ["Judged from: front, lamp low at the left, 2026-03-01"]
    heads = part.xpath(".//th/text()")
    row = dict(zip(heads, (c.text_content() for c in part.xpath(".//tbody/tr[1]/td")), strict=True))
    assert "Tani 2026-04-02: お 0.40" in row["Judged by"], "readers who differ are each named with what they saw"
    assert "Mori" in row["Judged by"]
    assert row["Confidence"] == "0.60 unsure"
    assert row["Other candidates"] == "お 0.20"
    entered.decipherment.tag(sign, "お", 0.2, "the loop is open", source="shape", probability=0.31)
    rejected = text_of(entered).xpath("//section[starts-with(@id,'signs-')]//tbody/tr[1]")[0].text_content()
    assert "お 0.20 (by shape 31%) · the loop is open" in rejected


@pytest.mark.parametrize(("language", "heading", "expected"), [
    ("en", "Other candidates", "お 0.20 – not taken because: no room for the dot"),
    ("ja", "他の候補", "お 0.20 – 不採用の理由: no room for the dot")])
def test_the_apparatus_tells_why_a_candidate_and_an_attempt_were_not_taken(full, language, heading, expected):
    sign = full.contents.inscriptions[0].characters[0]
    full.decipherment.reject(sign, "お", "no room for the dot")
    first = full.decipherment.write_down(full.contents.inscriptions[0].id, "おらすと", 0.3)
    full.decipherment.set_status(first, "set aside", "one sign too few")
    tree = text_of(full, language=language)
    signs = tree.xpath("//section[starts-with(@id,'signs-')]")[0]
    at = signs.xpath(".//th/text()").index(heading)
    assert signs.xpath(".//tbody/tr[1]/td")[at].text_content() == expected
    (attempts,) = tree.xpath("//section[starts-with(@id,'attempts-')]")
    at = attempts.xpath(".//th/text()").index("not taken because" if language == "en" else "不採用の理由")
    assert [r.xpath("./td")[at].text_content() for r in attempts.xpath(".//tbody/tr")] == ["", "one sign too few"]
    for format in ("html", "tei", "markdown", "annotations"):
        for blind in (False, True):
            told = full.report(format, language=language, blind=blind).read_text(encoding="utf-8")
            assert ("no room for the dot" in told) is not blind, format
            if format != "annotations":  # zones alone
                assert ("one sign too few" in told) is not blind, format


def test_an_entry_is_one_record_that_only_grows(entered):
    verse = entered.contents.inscriptions[0]
    entered.write_up.write(verse, season=("雁 (autumn)",))
    (entry,) = entered.contents.entries
    assert entry == Entry(verse.id, **{**FILLED, "season": ("雁 (autumn)",)})
    assert len(entered.register.history(entry.id)) == 2
    assert entered.register.entries.loc[entry.id, "romanised"] == "harasuto"
    with pytest.raises(OptionError, match="did you mean 'edited'"):
        entered.write_up.write(verse, editd="x")
    with pytest.raises(OptionError, match="verdict"):
        entered.write_up.write(verse, allusions=(Allusion("x", "y", "sure"),))


def test_a_proposal_is_not_saved_and_says_what_the_reading_says(full):
    verse = full.contents.inscriptions[0]
    full.decipherment.mark(full.contents.characters[7], missing=(1, 3))
    before = full.version
    proposed = full.write_up.propose(verse)
    assert full.version == before
    assert proposed.read_out
    assert proposed.words
    assert proposed.paraphrase == ""
    assert proposed.translations == ()
    assert proposed.allusions[0].verdict in ("not traced", "the same", "a variant")
    assert "verses that come with readaid" in proposed.allusions[0].reference
    full.write_up.write(verse, romanised="mine")
    full.write_up.accept(verse, "edited", "words")
    entry = full.write_up.of(verse)
    assert (entry.romanised, entry.words, entry.season) == ("mine", proposed.words, ())


def test_lines_of_a_form_go_back_to_what_they_came_from():
    entry = Entry("i", **FILLED)
    for name, _long in entry_lines.FIELDS:
        assert entry_lines.taken(name, entry_lines.shown(entry, name)) == getattr(entry, name), name
    for name, text in (("tool_width", "wide"), ("cut", "bitten"), ("allusions", "surely | x"),
                       ("words", "a|b|c|d|e|f")):
        with pytest.raises(OptionError):
            entry_lines.taken(name, text)


def test_nothing_of_an_entry_is_seen_in_a_blind_report(entered):
    told = entered.report(blind=True).read_text(encoding="utf-8")
    for said in ("harasuto", "Waves", "Tani", "Rosetsu", "residue", "吉野"):
        assert said not in told


def test_a_private_word_in_an_entry_is_taken_out(entered):
    entered.describe(place_kept="Villa Kuro", provenance="bought of Tengu & Co")
    entered.write_up.write(entered.contents.inscriptions[0], comment="as the list of Villa Kuro says")
    assert "Villa Kuro" not in entered.report().read_text(encoding="utf-8")
    assert "as the list of Villa Kuro says" in entered.report(private=True).read_text(encoding="utf-8")


def test_a_register_of_an_older_version_gains_entries(tmp_path):
    """The name of the migration keeps a program that knows no entries from a register that may hold some."""
    with Register.open(tmp_path / "register.sqlite") as register:
        assert register.entries.empty
        from readaid.register.schema import applied
        with register._engine.begin() as connection:
            assert "0004-entries" in applied(connection)
