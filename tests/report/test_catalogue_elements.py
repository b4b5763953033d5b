"""Side by side: what a printed catalogue entry of an inscribed piece holds, and where the written entry has it.

The list is that of the trade (common practice, no source). A piece with all of it is built and written as HTML and as
PDF in both languages; each element is looked for under its heading, with its value, in the entry and not behind it.
"""

import shutil
import subprocess

import pytest
from lxml import html as lxml_html

from readaid.core.condition import Region
from readaid.core.entry import Allusion, Translation
from readaid.core.photo import Tracing, rectangle
from readaid.core.piece import Source

#: Element of a printed entry; the heading it stands under in English and in Japanese; what must stand there.
ELEMENTS = (
    ("subject", "Subject", "主題・意匠", ("水辺の鷺",)),
    ("kind", "Kind", "種別", ("水滴",)),
    ("maker as signed", "Maker, as signed", "作者（銘による）", ("霜野鷺汀",)),
    ("signed or unsigned", "Maker, as signed", "作者（銘による）", ("signed|在銘",)),
    ("maker as attributed, by whom", "Attributed to", "伝・極め", ("森川派", "谷某")),
    ("period", "Period", "時代", ("文政十二年",)),
    ("dimensions", "Dimensions", "法量", ("41 × 62 × 1.8 mm",)),
    ("weight", "Weight", "重量", ("38.5 g",)),
    ("material and technique", "Material and technique", "品質・形状", ("銅合金", "毛彫")),
    ("signature line: characters", "Signature: 霜野鷺汀", "銘: 霜野鷺汀", ("霜野鷺汀",)),
    ("signature line: reading", "Signature: 霜野鷺汀", "銘: 霜野鷺汀", ("しものろてい",)),
    ("signature line: translation", "Translation (English, Tani)", "訳 (英語, Tani)", ("Carved by Rotei",)),
    ("transcription as it stands", "Transcription", "原文", ("らす",)),
    ("parent kanji", "Parent kanji", "字母", ("者",)),
    ("plain kana", "Plain kana", "翻刻", ("はらす",)),
    ("edited text", "Edited text", "校訂文", ("波羅寿止",)),
    ("reading", "Reading", "読み下し", ("はらすとよむ",)),
    ("translation", "Translation (English, Roth)", "訳 (英語, Roth)", ("A wash of words",)),
    ("poet and source of a known verse", "Known verse or allusion", "典拠・本歌", ("某丸", "古句集")),
    ("or not traced among ...", "Known verse or allusion", "典拠・本歌",
     ("not traced among|所見なし（調査範囲）", "三千首")),
    ("season", "Season word", "季語", ("煤払い",)),
    ("allusion", "Known verse or allusion", "典拠・本歌", ("an allusion to|本歌取り・典拠", "波の歌")),
    ("text and picture together", "Text and picture", "図と文", ("鷺は画かれず",)),
    ("date", "Date", "年紀", ("文政十二年", "1829-02-04 – 1830-01-24")),
    ("its argument", "Why it is dated so", "年代の根拠", ("年号と干支が合う",)),
    ("condition", "Condition", "保存状態", ("摩滅",)),
    ("provenance (where it may be told)", "Provenance", "来歴", ("某家旧蔵",)),
    ("exhibitions", "Exhibited", "展覧会歴", ("某館 2001年",)),
    ("literature", "Literature", "文献", ("某誌 12号", "某図録 34頁")),
    ("who read it", "Readers", "判読者", ("Mori",)),
    ("when", "When", "判読日", ("2026-",)),
    ("from what", "From what", "用いた写真", ("左の灯",)),
    ("what is uncertain and why", "What is uncertain, and why", "不確かな字と理由",
     ("unsure, sulphide stain: 1 𛂥/お|不確か, 硫化の変色: 1 𛂥/お", "lost: 8|欠損: 8")),
    ("what was not read and why", "What was not read, and why", "未読箇所と理由", ("末尾は付着物の下",)),
    ("rights", "Rights", "権利", ("館蔵",)),
)
#: Pictures of the entry by their captions.
PICTURES = (("photograph with scale", "左の灯 · with scale bar|左の灯 · 縮尺付"),
            ("enlarged inscription", "Enhanced|画像処理"), ("monogram to scale", "Monogram, to scale|花押（縮尺付）"),
            ("monogram drawn", "Drawing of the monogram|花押の写し"),
            ("beside comparanda", "for comparison: 霜野鷺汀, 1830 0.81|比較: 霜野鷺汀, 1830 0.81"))


@pytest.fixture
def whole(full, tmp_path):
    """The piece with all that a printed entry may say of one."""
    c = full.contents
    full.describe(subject="水辺の鷺", kind="水滴", maker="霜野鷺汀", signed="signed", attributed="森川派",
                  attributed_by="谷某", made_when="文政十二年", depth=1.8, weight=38.5, material="銅合金",
                  technique="毛彫", condition="摩滅",
                  provenance="某家旧蔵", exhibited="某館 2001年", literature="某誌 12号", rights="館蔵")
    photo = full.change(c.photos[0], light="左の灯")
    verse, signature = c.inscriptions
    full.write_up.write(
        verse, edited="波羅寿止", read_out="はらすとよむ", translations=(Translation("A wash of words", "en", "Roth"),),
        season=("煤払い (winter)",), picture="鷺は画かれず", date_argument="年号と干支が合う",
        not_read="末尾は付着物の下",
        allusions=(Allusion("波の句", "某丸、古句集", "a variant"), Allusion("", "三千首", "not traced"),
                   Allusion("波の歌", "", "an allusion")))
    full.write_up.write(signature, translations=(Translation("Carved by Rotei", "en", "Tani"),))
    zones = {z.id: z for z in c.zones}
    first = next(k for k in full.contents.characters if k.id == verse.characters[0])
    box = zones[first.zones[0]].box
    kao = next(k for k in full.contents.characters if k.id == signature.characters[0]).zones[0]
    stroke = tuple((zones[kao].box[0] + 10.0 + n, zones[kao].box[1] + 20.0) for n in range(40))
    full.save(Region(photo.id, rectangle(*box), "sulphide stain"), Source("literature", "某図録 34頁"),
              Tracing(kao, (stroke,)))
    return full


def at_once(text, language):
    return text.split("|")[-1 if language == "ja" else 0]


@pytest.mark.parametrize("language", ["en", "ja"])
def test_every_element_of_a_printed_entry_has_its_place(whole, language):
    tree = lxml_html.fromstring(whole.report(language=language, part="entry", private=True).read_text(encoding="utf-8"))
    held = {}
    for dt in tree.xpath("//dt"):
        held.setdefault(dt.text_content(), []).append(dt.getnext().text_content())
    for figure in tree.xpath("//figure[figcaption]"):
        shown = "".join(figure.xpath(".//div//text()")) or f"{len(figure.xpath('.//img'))} picture"
        held.setdefault(figure.xpath("./figcaption")[0].text_content(), []).append(shown)
    for table in tree.xpath("//table[caption]"):
        held.setdefault(table.xpath("./caption")[0].text_content(), []).append(table.text_content())
    for element, english, japanese, values in ELEMENTS:
        heading = japanese if language == "ja" else english
        assert heading in held, element
        told = " ".join(held[heading])
        for value in values:
            assert at_once(value, language) in told, f"{element}: {told}"
    for element, caption in PICTURES:
        found = {shown for k, some in held.items() if at_once(caption, language) in k for shown in some}
        assert found == {"1 picture"}, element


@pytest.mark.parametrize("language", ["en", "ja"])
def test_the_printed_page_gives_the_elements_back(whole, language):
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext (poppler-utils) is missing")
    path = whole.report("pdf", language=language, part="entry", private=True)
    told = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True).stdout
    told = "".join(told.split())
    for element, english, japanese, values in ELEMENTS:
        heading = japanese if language == "ja" else english
        for text in (heading, *(at_once(v, language) for v in values)):
            if element != "transcription as it stands":  # set sign by sign, downwards
                assert "".join(text.split()) in told, f"{element}: {text}"


def test_what_may_not_be_told_stays_out_and_the_rest_stays(whole):
    told = whole.report(part="entry").read_text(encoding="utf-8")
    assert "某家旧蔵" not in told
    assert "某誌 12号" in told
    whole.describe(signed="unsigned", maker="")
    assert "<dd>unsigned</dd>" in whole.report(part="entry").read_text(encoding="utf-8")
    assert "<dd>無銘</dd>" in whole.report(part="entry", language="ja").read_text(encoding="utf-8")
    blind = whole.report(blind=True).read_text(encoding="utf-8")
    assert not [v for v in ("某誌", "某館", "無銘", "unsigned", "硫化", "sulphide") if v in blind]


def test_what_is_published_stands_in_tei(whole):
    told = whole.report("tei", language="ja").read_text(encoding="utf-8")
    assert "文献: 某誌 12号" in told
    assert "展覧会歴: 某館 2001年" in told
