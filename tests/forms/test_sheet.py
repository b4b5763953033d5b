"""A sheet in its three formats: read back by general readers (lxml, Pillow), its words found in each."""

import io
import re
import zlib

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from readaid.core.errors import OptionError, ReportError
from readaid.forms.sheet import Sheet
from readaid.forms.sheet_font import only
from readaid.forms.sheet_items import broken, width_of


@pytest.fixture
def sheet():
    made = Sheet(60, 40, "Marks of 蘆香 & others", "n = 2")
    made.box(5, 5, 20, 10, fill="#0072B2", colour="#0072B2")
    made.line((5, 30), (55, 30), width=1.0, dash=(2, 1))
    made.words(30, 20, "蘆香 <Rokō>", size=10, anchor="middle")
    made.words(4, 38, "distance", turn=90)
    made.picture(40, 2, 10, 10, Image.new("RGB", (20, 10), "#D55E00"), "a form")
    return made


def test_svg_is_well_formed_with_its_words_and_its_font_inside(sheet):
    root = etree.fromstring(sheet.svg().encode())
    ns = {"s": "http://www.w3.org/2000/svg"}
    assert [t.text for t in root.findall("s:text", ns)] == ["蘆香 <Rokō>", "distance"]
    assert root.get("width") == "60mm"
    assert "http" not in sheet.svg().replace("http://www.w3.org/2000/svg", "")  # asks nothing of any server
    font = only("蘆香")
    assert len(font) < 20_000
    assert only("蘆香") == font


def test_pdf_is_one_page_of_its_size_with_words_that_can_be_searched(sheet):
    data = sheet.pdf()
    box = re.search(rb"/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]", data)
    assert [float(v) for v in box.groups()] == pytest.approx([60 / 25.4 * 72, 40 / 25.4 * 72], abs=0.1)
    streams = b"".join(zlib.decompress(s) for s in re.findall(rb"stream\n(.*?)\nendstream", data, re.S)
                       if s[:1] == b"\x78")
    assert b"<8606>" in data + streams  # U+8606 is 蘆: signs can be found by their letters
    assert data.count(b"/FontFile2") == 1
    assert sheet.pdf() == data


def test_png_tells_its_resolution_and_shows_what_was_drawn(sheet):
    picture = Image.open(io.BytesIO(sheet.png(300)))
    assert picture.info["dpi"] == pytest.approx((300, 300), abs=0.1)
    assert picture.size == (round(60 / 25.4 * 300), round(40 / 25.4 * 300))
    pixels = np.asarray(picture.convert("RGB")).astype(int)

    def at(x, y):
        return tuple(pixels[round(y / 25.4 * 300), round(x / 25.4 * 300)])

    assert at(15, 10) == (0, 0x72, 0xB2)
    assert at(45, 7) == (0xD5, 0x5E, 0)
    assert at(30, 39) == (255, 255, 255)
    row = pixels[round(30 / 25.4 * 300), :, 0] < 128
    assert 0.5 < row[60:640].mean() < 0.8  # dashes of 2 mm with gaps of 1 mm
    words = pixels[round(16.5 / 25.4 * 300):round(21 / 25.4 * 300), 150:560, 0] < 128
    assert words.mean() > 0.02


def test_marks_differ_without_their_colours():
    """In black and white no two of the fourteen marks are the same shape."""
    shapes = []
    for kind in range(14):
        sheet = Sheet(6, 6)
        sheet.mark(3, 3, kind, 4)
        shapes.append(np.asarray(sheet.image(200).convert("L")) < 230)
    for i in range(14):
        for j in range(i):
            assert (shapes[i] ^ shapes[j]).sum() > 0.12 * max(shapes[i].sum(), shapes[j].sum()), (i, j)


def test_words_are_broken_where_they_may_be():
    rows = broken("Likeness of form 花押の比較は作者の証明ではない and more words", 30, 8)
    assert all(width_of(row, 8) <= 30 for row in rows)
    assert "".join(rows).replace(" ", "") == "Likenessofform花押の比較は作者の証明ではないandmorewords"


def test_what_cannot_be_written_is_told(sheet, tmp_path):
    with pytest.raises(OptionError, match="gif"):
        sheet.save(tmp_path / "figure.gif")
    with pytest.raises(ReportError, match="fewer dots"):
        sheet.image(50_000)
    (tmp_path / "file").write_text("")
    with pytest.raises(ReportError, match="could not be written"):
        sheet.save(tmp_path / "file" / "figure.png")
