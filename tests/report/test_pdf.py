"""The PDF: archival, embedded, and it gives its Japanese back. Outside readers: pypdf (PyPI), pdftotext (poppler)."""

import io
import re
import shutil
import subprocess

import pytest

from readaid.report import document as d
from readaid.report.edition import EditionSign, EditionText, State
from readaid.report.line_break import lines, pieces
from readaid.report.pdf import render

pypdf = pytest.importorskip("pypdf", reason="pypdf (PyPI) is the outside reader")


def said(page) -> str:
    """A page's text. pypdf reads the two-byte codes of an embedded CMap byte by byte and leaves a NUL before each
    sign (pdftotext, which reads it too below, does not)."""
    return page.extract_text().replace("\0", "")


def text_of(data: bytes) -> str:
    return "\n".join(said(page) for page in pypdf.PdfReader(io.BytesIO(data)).pages)


@pytest.fixture(scope="module")
def small():
    signs = EditionText(((EditionSign("𛂥", State.UNCLEAR, confidence=0.5), EditionSign("る", State.CLEAR)),
                         (EditionSign("花押", State.DESCRIBED), EditionSign("", State.LOST, least=0, most=3))))
    note = "seen under the lamp at the left, and again under the lamp at the top of the lid"
    word = d.Cell("煤払いの笑い声", japanese=True)
    long = d.Table(("No.", "Word", "Note"), tuple((d.Cell(str(n)), word, d.Cell(note)) for n in range(90)))
    return render(d.Document("蓋 lid", "A-1", (
        d.Section("one", "銘文", (d.Edition(signs), d.Versions((d.Version("Reading", "煤払い扉の裏に笑ひ声", "ja"),)),
                                d.Paragraph("龝 is in the face, 𠮟 is not"),
                                d.VerseLines(("はる", "のうみ"), (2, 3), (-3, -4), "hokku")), part="entry"),
        d.Section("two", "Evidence", (long,))), made="2026-11-26T10:00:00+00:00", program="readaid 0"))


def test_pdf_gives_the_japanese_back(small):
    text = text_of(small)
    assert "煤払い扉の裏に笑ひ声" in text
    assert "𛂥" in text, "hentaigana too, from the face of their own"
    assert "蓋 lid" in text
    assert "〓U+20B9F" in text, "a sign that no face of ours has is told by its number, not dropped"
    assert "(-3)" in text, "what a line has too little"


def test_pdf_is_archival_and_embeds_its_faces(small):
    """PDF/A-2u (ISO 19005-2): identified in the metadata, an output intent, every face embedded with ToUnicode."""
    data = small
    reader = pypdf.PdfReader(io.BytesIO(data))
    root = reader.trailer["/Root"]
    metadata = root["/Metadata"].get_object().get_data().decode()
    assert re.search(r"<pdfaid:part>2</pdfaid:part>", metadata)
    assert re.search(r"<pdfaid:conformance>U</pdfaid:conformance>", metadata)
    assert root["/OutputIntents"]
    assert root["/Lang"] == "en-GB"
    faces = {}
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].get_object().values():
            font = font.get_object()
            faces[font["/BaseFont"]] = font
    assert len(faces) == 2
    for name, font in faces.items():
        assert re.match(r"/[A-Z]{6}\+", name), "a subset"
        held = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert "/FontFile3" in held or "/FontFile2" in held
        assert "/ToUnicode" in font
    assert 'xmp:CreateDate="2026-11-26T10:00:00+00:00"' in metadata
    assert len(data) < 200_000


def test_columns_are_set_sign_by_sign_from_the_right(small):
    """Each sign of a column stands below the one before at the same place across; the second column stands left."""
    at = {}

    def visit(text, _cm, tm, _font, _size):
        if (sign := text.replace("\0", "").strip()) in ("𛂥", "る", "花", "押"):
            at[sign] = (tm[4], tm[5])
    pypdf.PdfReader(io.BytesIO(small)).pages[0].extract_text(visitor_text=visit)
    assert at["る"][1] < at["𛂥"][1], "below (PDF counts from the foot)"
    assert abs(at["る"][0] - at["𛂥"][0]) < 3
    assert at["花"][0] < at["る"][0] - 10
    assert at["押"][1] < at["花"][1]


def test_a_table_goes_on_with_its_heading(small):
    pages = pypdf.PdfReader(io.BytesIO(small)).pages
    assert len(pages) >= 3, "the entry, and a table of ninety rows"
    assert all("Word" in said(p) for p in pages[1:])
    assert "煤払いの笑い声" not in said(pages[0]), "the evidence begins on a page of its own"


def test_a_narrow_table_takes_half_the_lines():
    """Two rows a line, in reading order: 0 and 1 stand at one height."""
    rows = tuple((d.Cell(f"n{n}"), d.Cell("か", japanese=True)) for n in range(9))
    data = render(d.Document("t", "", (d.Section("s", "S", (d.Table(("No.", "Sign"), rows),)),),
                             made="2026-11-26T10:00:00+00:00", program="x"))
    at = {}

    def visit(text, _cm, tm, _font, _size):
        if re.fullmatch(r"n\d", sign := text.replace("\0", "").strip()):
            at[sign] = tm[4], tm[5]
    pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text(visitor_text=visit)
    assert len(at) == 9, "no row is lost where their number is odd"
    assert at["n0"][1] == at["n1"][1] > at["n2"][1]
    assert at["n0"][0] < at["n1"][0]


def test_pdftotext_reads_it_too(full, tmp_path):
    if not shutil.which("pdftotext"):
        pytest.skip("pdftotext (poppler-utils) is missing")
    path = full.report("pdf", language="ja", edition="japanese")
    out = subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True).stdout
    for word in ("霜野鷺汀", "文政十二年", "字母", "はらすと"):
        assert word in out, word


@pytest.mark.parametrize(("text", "width", "expected"), [
    ("春の海、ひねもす", 3, ["春の", "海、ひ", "ねもす"]),  # no line begins with a closing mark
    ("あい「うえ」", 3, ["あい", "「う", "え」"]),  # none ends with an opening one
    ("one two three", 7, ["one two", "three"]), ("abcdefghij", 4, ["abcd", "efgh", "ij"]), ("a\nb", 9, ["a", "b"])])
def test_lines_break_where_they_may(text, width, expected):
    assert lines(text, width, len) == expected
    assert "".join(pieces(text)) == text
