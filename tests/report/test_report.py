"""The report: edition marks, escaping, self-containedness, privacy."""

import csv
import io
import re

import pytest
from lxml import etree
from lxml import html as lxml_html
from PIL import Image

import readaid
from readaid.core.attempt import Attempt
from readaid.core.character import Candidate, Character
from readaid.core.confidence import Damage
from readaid.core.errors import OptionError, ReportError
from readaid.core.photo import Evidence, rectangle
from readaid.report.attempts_csv import DANGEROUS, safe
from readaid.report.cautions import fitting
from readaid.report.edition import DOT, EditionText, State, _sign, mark

EVIL = "<script>alert('x')</script>\"&"


@pytest.fixture
def piece(tmp_path):
    Image.new("RGB", (600, 400), (120, 90, 60)).save(tmp_path / "front.jpg")
    with readaid.new(tmp_path / "piece", reader=EVIL, title=EVIL, provenance="from Mr A.", place_kept="House of B.",
                     material="copper alloy") as opened:
        photo = opened.add_photo(tmp_path / "front.jpg", rights=EVIL)
        verse = opened.layout.inscription("verse", photo, title=EVIL, form="hokku")
        for n in range(3):
            _, sign = opened.layout.draw(verse, photo, rectangle(100, 20 + 100 * n, 60, 80))
            opened.decipherment.tag(sign, "𛂥", 0.7, EVIL)
        opened.save(Attempt(inscription=verse.id, written="𛂥𛂥𛂥", kana="ははは", evidence=EVIL, reader=EVIL,
                            lines=("ははは",), morae=(3,), form="hokku", status="preferred", note="=cmd()"))
        yield opened


def test_html_is_whole_and_carries_no_script(piece):
    text = piece.report().read_text(encoding="utf-8")
    tree = lxml_html.fromstring(text)
    assert tree.xpath("//script") == []
    assert not re.search(r"\son\w+=", re.sub(r">[^<]*<", "><", text)), "no event attribute"
    assert EVIL in tree.xpath("//h1")[0].text_content(), "the user's text is shown as text"
    assert all(i.get("src").startswith("data:") and i.get("alt") for i in tree.xpath("//img"))
    assert not re.search(r"(?:src|href|url)\s*[=(]\s*[\"']?(?:https?:)?//", text), "nothing is fetched"
    assert "font/woff2" in text, "hentaigana occur, so their font is embedded"
    assert piece.contents.photos[0].sha256 in text
    assert "Leave rust and patina as they are." in text, "the caution that fits copper alloy"
    assert "Read without touching" in text


def test_owner_is_left_out_unless_asked(piece):
    assert "House of B." not in piece.report().read_text(encoding="utf-8")
    assert "House of B." in piece.report(private=True).read_text(encoding="utf-8")


def test_blind_copy_holds_no_guess(piece):
    text = piece.report(blind=True).read_text(encoding="utf-8")
    assert "𛂥" not in text
    assert "ははは" not in text


def test_japanese_wording(piece):
    text = piece.report(language="ja", edition="japanese").read_text(encoding="utf-8")
    assert '<html lang="ja">' in text
    assert "翻刻" in text
    with pytest.raises(OptionError, match="Unknown language 'jp'"):
        piece.report(language="jp")


def test_csv_of_attempts(piece):
    data = piece.report("csv").read_bytes().decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(data)))
    assert rows[0]["kana"] == "ははは"
    assert rows[0]["note"] == "'=cmd()"


@pytest.mark.parametrize("start", DANGEROUS)
def test_no_cell_is_a_formula(start):
    assert safe(start + "1+1").startswith("'")
    assert safe(" " + start + "1+1").startswith("'")


def test_unknown_format_and_unwritable_place(piece, tmp_path):
    with pytest.raises(OptionError, match="Unknown report format"):
        piece.report("hmtl")
    (tmp_path / "file").write_text("x")
    with pytest.raises(ReportError, match="could not be written"):
        piece.report(path=tmp_path / "file" / "report.html")


def edited(character: Character):
    return _sign(character, None)


@pytest.mark.parametrize(("character", "state", "leiden", "japanese"), [
    # EpiDoc guidelines: unclear = U+0323 under the sign; Leiden brackets; Japanese marks: common practice, no source
    (Character(candidates=(Candidate("か", 0.97),)), State.CLEAR, "か", "か」"),
    (Character(candidates=(Candidate("か", 0.97), Candidate("う", 0.2))), State.UNCLEAR, "か" + DOT, "か」"),
    (Character(candidates=(Candidate("か", 0.97),), damage=Damage.WORN), State.CLEAR, "か", "か」"),
    (Character(candidates=(Candidate("か", 0.6),), damage=Damage.WORN), State.UNCLEAR, "か" + DOT, "か［カ］」"),
    (Character(damage=Damage.TRACES), State.ILLEGIBLE, "." + DOT, "□」"),
    (Character(damage=Damage.LOST, missing=(0, 3)), State.LOST, "[...]", "［　　］」"),
    (Character(damage=Damage.LOST, missing=(2, 2)), State.LOST, "[. .]", "□□」"),
    (Character(damage=Damage.LOST, candidates=(Candidate("か", 0.4),)), State.RESTORED, "[か]", "［かカ］」"),
    (Character(candidates=(Candidate("花押", 0.9),)), State.DESCRIBED, "((花押))", "（花押）」"),
    (Character(candidates=(Candidate("か", 0.97),), editorial="omitted"), State.OMITTED, "<か>", "（か脱）」"),
    (Character(candidates=(Candidate("か", 0.97),), editorial="superfluous"), State.SUPERFLUOUS, "{か}", "か（衍）」"),
    (Character(candidates=(Candidate("か", 0.97),), editorial="erased"), State.ERASED, "⟦か⟧", "■」"),
    (Character(candidates=(Candidate("か", 0.97),), editorial="expanded"), State.EXPANDED, "(か)", "（か）」"),
    (Character(candidates=(Candidate("き", 0.97),), editorial="corrected", instead="か"), State.CORRECTED, "⌜か⌝",
     "き（か）」"),
    (Character(candidates=(Candidate("き", 0.97),), editorial="sic"), State.CLEAR, "き(!)", "き（ママ）」"),
])
def test_edition_marks(character, state, leiden, japanese):
    sign = edited(character)
    assert sign.state is state
    text = EditionText(((sign,),))
    assert mark(text) == [leiden]
    assert mark(text, "japanese") == [japanese]


def test_a_probability_never_takes_the_dot_away():
    sign = edited(Character(candidates=(Candidate("か", 0.5, probability=0.9999), Candidate("う", 0.1))))
    assert sign.state is State.UNCLEAR


def test_cautions_fit_the_piece(piece):
    told = fitting(piece.contents)
    assert any("without touching" in c for c in told)
    assert any("Lamps heat metal" in c for c in told)
    assert not any("CIE 157" in c for c in told)
    piece.describe(sensitive=("lacquer",))
    assert any("CIE 157" in c for c in fitting(piece.contents))


def test_catalogue_part_holds_signature_forms_and_cautions_alone(full):
    tree = lxml_html.fromstring(full.report("catalogue").read_text(encoding="utf-8"))
    ids = tree.xpath("//section/@id")
    assert [i.split("-")[0] for i in ids] == ["piece", "inscription", "inscription", "signing", "cautions", "specimens"]
    part = tree.get_element_by_id("specimens").text_content()
    assert "never of authorship" in part
    assert "0.81" in part


def test_scale_bar_has_the_length_it_says():
    """The bar's pixels times mm per pixel is the length written beside it (0.1 mm a pixel, 100 px wide: 5 mm)."""
    import numpy as np

    from readaid.report.form_figures import with_bar
    out = np.asarray(with_bar(Image.new("RGB", (100, 50), "white"), 0.1))
    bar = out[59]  # the middle of the strip below the picture
    assert (bar.sum(1) == 0)[:60].sum() == 51
    assert with_bar(Image.new("RGB", (100, 50)), None).size == (100, 50)


def test_figure_shows_the_writing_where_it_is_small_in_the_photo(piece):
    """Zones in a corner of a photo: the figure is cut to them and a margin, never past the photo's edge."""
    from readaid.report.pictures import Pictures
    pictures = Pictures(piece.contents, piece.folder)
    photo = piece.contents.photos[0]
    small = {piece.contents.zones[0].id: 1}
    assert pictures._part(photo.id, small) == (0.0, 0.0, 280.0, 220.0)
    assert pictures._part(photo.id, {z.id: n for n, z in enumerate(piece.contents.zones)}) == (0.0, 0.0, 600.0, 400.0)
    assert pictures._part(photo.id, {}) == (0.0, 0.0, 600.0, 400.0)


def test_the_table_of_signs_dots_what_is_unsure_and_nothing_else(piece):
    """HTML sets the browser's own dot: the class "unclear" in the column of what was read."""
    _, sign = piece.layout.draw(piece.contents.inscriptions[0], piece.contents.photos[0], rectangle(300, 20, 60, 80))
    piece.decipherment.tag(sign, "や", 0.95)
    cells = {}
    tree = lxml_html.fromstring(piece.report().read_text(encoding="utf-8"))
    for row in tree.xpath("//section[starts-with(@id,'signs-')]//tr"):
        for cell in row.xpath("./td[@lang='ja'][1]"):
            cells[cell.text_content()] = len(cell.xpath(".//span[@class='unclear']"))
    assert cells == {"𛂥": 1, "や": 0}
    assert len(tree.xpath("//section[starts-with(@id,'signs-')]//td[@lang='ja' and .='者']")) == 3, "the parents"


@pytest.mark.parametrize(("confidence", "state"), [(0.5, State.UNCLEAR), (0.9, State.UNCLEAR), (0.91, State.CLEAR)])
def test_a_lone_candidate_is_dotted_until_the_reader_is_certain(confidence, state):
    """"Certain" is the word for more than 0.9 (``core.confidence.WORDS``)."""
    assert edited(Character(candidates=(Candidate("か", confidence),))).state is state


def test_cautions_of_a_likeness_a_signature_and_of_ultraviolet(full, tmp_path):
    told = " ".join(fitting(full.contents))
    assert "evidence of form, never of authorship" in told
    assert "A signature may be added later" in told
    assert "Ultraviolet harms urushi and eyes" not in told
    Image.new("RGB", (60, 40)).save(tmp_path / "uv.png")
    full.add_photo(tmp_path / "uv.png", evidence=Evidence.ULTRAVIOLET)
    assert "Ultraviolet harms urushi and eyes" in " ".join(fitting(full.contents))
    with readaid.new(tmp_path / "bare", reader="x", title="Bare") as bare:
        told = " ".join(fitting(bare.contents))
        assert "authorship" not in told
        assert "signature" not in told.lower()


def test_a_blind_table_of_signs_holds_numbers_and_crops_alone(full):
    tree = lxml_html.fromstring(full.report(blind=True).read_text(encoding="utf-8"))
    tables = tree.xpath("//section[starts-with(@id,'signs-')]//table")
    assert [t.xpath(".//th/text()") for t in tables] == [["No.", "Crop"]] * 2
    assert "Judged from" not in tree.text_content(), "where others looked steers a second reader"


@pytest.mark.parametrize("format", ["html", "tei", "markdown"])
def test_a_blind_report_shows_no_rival_either(full, format):
    """The first sign has お as a second candidate; に and it stand nowhere else on the piece."""
    assert "お" in full.report(format).read_text(encoding="utf-8")
    assert "お" not in full.report(format, blind=True).read_text(encoding="utf-8")


def test_lines_tell_what_they_have_too_much_or_too_little(full):
    """Two lines of two morae against 5-7-5: three and five too few."""
    tree = lxml_html.fromstring(full.report().read_text(encoding="utf-8"))
    (verse,) = tree.xpath("//div[@class='verse']")
    assert [e.text_content() for e in verse.xpath(".//span[@class='off']")] == ["-3", "-5"]
    assert [e.text_content() for e in verse.xpath(".//span[@class='m']")] == ["2 morae", "2 morae"]
    assert "はら (2 morae)" in full.report("markdown").read_text(encoding="utf-8")
    assert ">2 拍<" in full.report(language="ja").read_text(encoding="utf-8")
    full.change(full.contents.attempts[0], lines=("はらはらはら", "すとすとすとす"), morae=(6, 7))
    tree = lxml_html.fromstring(full.report().read_text(encoding="utf-8"))
    assert [e.text_content() for e in tree.xpath("//div[@class='verse']//span[@class='off']")] == ["+1"]


def test_tei_tells_the_metre(full):
    tree = etree.fromstring(full.report("tei").read_bytes())
    names = {"t": "http://www.tei-c.org/ns/1.0"}
    assert tree.xpath("//t:lg/@met", namespaces=names) == ["2-2"]
    assert tree.xpath("//t:lg/t:l/text()", namespaces=names) == ["はら", "すと"]
