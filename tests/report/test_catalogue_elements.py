"""Side by side: what a printed catalogue entry of an inscribed piece holds, and where the written entry has it.

The list is that of the trade (common practice, no source). A piece with all of it is built and written as HTML and as
PDF in both languages; each element is looked for under its heading, with its value, in the entry and not behind it.
"""

import csv
import shutil
import subprocess
from pathlib import Path

import pytest
from lxml import html as lxml_html

from readaid.core.condition import Region
from readaid.core.entry import Allusion, Translation
from readaid.core.photo import Tracing, rectangle
from readaid.core.piece import Source


def elements(language):
    """Element, heading, and what must stand under it, of every row of the list."""
    lines = Path(__file__).with_name("catalogue_elements.tsv").read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader((line for line in lines if not line.startswith("#")), delimiter="\t")
    names = ("japanese", "in_japanese") if language == "ja" else ("english", "values")
    return [(row["element"], row[names[0]], row[names[1]].split(";")) for row in rows]


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
    listed = elements(language)
    assert len(listed) == 35
    for element, heading, values in listed:
        assert heading in held, element
        told = " ".join(held[heading])
        assert [v for v in values if v not in told] == [], f"{element}: {told}"
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
    for element, heading, values in elements(language):
        for text in (heading, *values):
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
