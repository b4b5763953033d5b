"""A report is whole in one language: every word of ours comes from one table, and no line is mixed."""

import re

import pytest
from lxml import etree
from lxml import html as lxml_html

from readaid.core import entry
from readaid.core.character import Text
from readaid.core.condition import ADVICE, CAUSES, LAYERS
from readaid.core.confidence import Damage, Status
from readaid.core.person import ROLES
from readaid.core.photo import Evidence
from readaid.photo.views import EVERY
from readaid.report import cautions, terms
from readaid.report.departures import listed, own_sound
from readaid.script.season_words import SEASONS
from readaid.script.verse_forms import FORMS

#: Latin letters that a Japanese report may hold: units, hashes, the program's name, marks of the romanisation.
ALLOWED = re.compile(
    r"[0-9a-f]{8}-[0-9a-f]{8}-r\d+|readaid|SHA-256|UTC|\b[0-9a-f]{16,}\b|\bmm\b|\bg\b|\d+x|"
    r"\b[AB]\b|\.(?:jpg|png)\b|photos/\S+")


@pytest.mark.parametrize(("group", "values"), [
    ("text", [t.value for t in Text]), ("evidence", [e.value for e in Evidence]), ("view", list(EVERY)),
    ("status", [s.value for s in Status]), ("role", ROLES), ("cut", entry.CUTS), ("verdict", entry.VERDICTS),
    ("season", SEASONS), ("form", list(FORMS)), ("cause", CAUSES), ("advice", ADVICE), ("layer", LAYERS)])
def test_every_value_of_a_closed_list_has_a_word_in_both_languages(group, values):
    lacking = [v for v in values if f"{group}:{v}" not in terms._table()]
    assert lacking == []


def test_the_table_has_no_gap_and_no_mixed_row():
    for key, row in terms._table().items():
        assert row["en"].strip(), key
        assert not re.search(r"[぀-ヿ一-鿿]", row["en"]), f"{key}: Japanese in the English word"
        told = re.sub(r"\{[^}]*\}|SHA-256|mm", "", row["ja"])
        assert not re.search(r"[A-Za-z]{2,}", told), f"{key}: English in the Japanese word"
    assert [w for w in Damage if w.value not in terms._table()] == []


def test_cautions_stand_once_in_each_language():
    for language in ("en", "ja"):
        rows = [getattr(c, language) for c in cautions.table()]
        assert len(set(rows)) == len(rows)
    assert not [c.ja for c in cautions.table() if re.search(r"[A-Za-z]{2,}", c.ja.replace("CIE", ""))]


@pytest.fixture
def japanese(full):
    """The piece with every text of its reader's in Japanese."""
    c = full.contents
    full.describe(title="水滴の蓋", material="銅合金", condition="摩滅", inventory="甲一", rights="館蔵",
                  technique="毛彫", translation="煤払い", commentary="注", reader="森")
    full.change(c.photos[0], title="表", surface="表", rights="館蔵")
    verse, signature = c.inscriptions
    full.change(verse, title="表の句", order_note="散らし書き")
    full.change(signature, title="裏の銘")
    a = c.attempts[0]
    full.change(a, reader="森", evidence="斜光", note="", romaji="",
                reasons=("𛂥 read は (hentaigana)", "ゝ read ら (voicing)", "line 2 has 8, 1 mora too many"))
    for x in full.contents.characters:
        full.decipherment.mark(x, note="")
        full.change(full.find(type(x), x.id), candidates=tuple(type(k)(k.character, k.confidence, "", k.source)
                                                             for k in x.candidates))
    full.change(c.sources[0], citation="箱の貼紙")
    full.change(full.contents.judgements[0], reader="森")
    full.reader = "森"
    full.save(*[type(j)(j.character, "森", j.sign, j.confidence, j.damage, j.made, j.id)
                for j in full.contents.judgements], base=full.contents, reason="x")
    return full


@pytest.mark.parametrize("edition", ["leiden", "japanese"])
def test_a_japanese_report_holds_no_english(japanese, edition):
    tree = lxml_html.fromstring(japanese.report(language="ja", edition=edition).read_text(encoding="utf-8"))
    body = tree.xpath("//body")[0]
    said = [t for t in body.itertext() if t.strip()] + body.xpath(".//img/@alt")
    mixed = [t for t in said if re.search(r"[A-Za-z]{2,}", ALLOWED.sub("", t))]
    assert mixed == []
    assert len(said) > 100


def test_an_english_report_of_english_words_holds_japanese_only_where_the_piece_does(full):
    tree = lxml_html.fromstring(full.report().read_text(encoding="utf-8"))
    heads = tree.xpath("//h1/text() | //h2/text() | //h3/text() | //th/text() | //dt/text()")
    assert not [h for h in heads if re.search(r"[぀-ヿ一-鿿]", h)]


def strangers(texts):
    """Texts that hold Latin words beyond units, marks and names of files."""
    return [t for t in texts if re.search(r"[A-Za-z]{2,}", ALLOWED.sub("", t))]


def test_tei_and_annotations_are_whole_in_japanese(japanese):
    """Words between the tags, and names in ``n``; tokens of the schemas themselves are no language."""
    c = japanese.contents
    japanese.write_up.write(c.inscriptions[0], words=(entry.GlossedWord("波", "波", "名詞"),), cut="line cut",
                            allusions=(entry.Allusion("", "三千首", "not traced"),))
    japanese.change(c.inscriptions[1], title="")
    sign = c.inscriptions[0].characters[0]
    japanese.decipherment.reject(sign, "お", "点がない")
    first = japanese.decipherment.write_down(c.inscriptions[0].id, "おらすと", 0.3, evidence="斜光")
    japanese.change(japanese.find(type(first), first.id), romaji="", reasons=())
    japanese.decipherment.set_status(first.id, Status.WITHDRAWN, "字足らず")
    tree = etree.fromstring(japanese.report("tei", language="ja").read_bytes())
    told = [t for t in tree.xpath("//text()") if t.strip()] + tree.xpath("//@n")
    assert "line" not in "".join(told)
    assert strangers(told) == []
    assert "取下げ: 字足らず" in told
    assert "判読: 森, 採用, 確度 0.70" in told
    assert "名詞" in " ".join(told)
    for format in ("annotations", "iiif"):
        bodies = re.findall(r'"value": "([^"]*)"', japanese.report(format, language="ja").read_text(encoding="utf-8"))
        assert strangers(b for b in bodies if "svg" not in b) == []
        assert "お: 推測 (0.20); 不採用の理由: 点がない" in bodies
        assert "𛂥: 不確か (0.60)" in bodies


def test_departures_list_no_letter_read_as_its_own_sound(full):
    attempt = full.contents.attempts[0]
    assert attempt.reasons == ("𛂥 read は (hentaigana)",)
    assert listed(attempt, "en") == ()
    assert "Where it departs" not in full.report().read_text(encoding="utf-8")
    assert own_sound("𛂋", "に")
    assert not own_sound("𛂋", "ね")
    full.change(attempt, reasons=(*attempt.reasons, "ゝ read す (repetition)"))
    told = full.report().read_text(encoding="utf-8")
    assert "ゝ read す (repetition)" in told
    assert "(hentaigana)" not in told
    assert "ゝ→す（踊り字）" in full.report(language="ja").read_text(encoding="utf-8")
