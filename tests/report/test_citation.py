"""A citation is found again as it stood; a volume has its indexes; a manifest bears the museum's own address."""

import json

import pytest
from lxml import html as lxml_html

import readaid
from readaid.core.errors import OptionError, ReportError
from readaid.report.volume import Volume, document, first_lines, write


def quoted(piece) -> str:
    tree = lxml_html.fromstring(piece.report().read_text(encoding="utf-8"))
    text = " ".join(tree.xpath("//p[@class='note']/text()"))
    return text.split("to be quoted as ")[1].split()[0]


def test_what_the_report_quotes_is_found_again_as_it_stood(full):
    citation = quoted(full)
    attempt = full.contents.attempts[0]
    assert citation == f"{full.piece.id[:8]}-{attempt.id[:8]}-r{full.contents.numbers[attempt.id]}"
    full.change(attempt, kana="changed", confidence=0.1)
    found = full.write_up.cited(citation)
    assert (found.record.kana, found.record.confidence) == ("はらすと", 0.7)
    later = str(full.write_up.cite(attempt.id))
    assert later != citation
    assert full.write_up.cited(later).record.kana == "changed"
    assert quoted(full) == later


@pytest.mark.parametrize(("change", "match"), [
    (lambda c: "nothing", "no citation"), (lambda c: c + "1" * 10, "no citation"), (lambda c: "ab" + c, "no citation"),
    (lambda c: "00000000" + c[8:], "another piece"),
    (lambda c: c[:9] + "00000000" + c[17:], "No attempt"), (lambda c: c.split("-r")[0] + "-r1", "No attempt")])
def test_what_is_no_citation_of_this_piece_is_told(full, change, match):
    with pytest.raises(OptionError, match=match):
        full.write_up.cited(change(str(full.write_up.cite(full.contents.attempts[0]))))


def test_the_command_finds_it(full):
    from click.testing import CliRunner

    from readaid.cli import main
    citation = quoted(full)
    out = CliRunner().invoke(main, ["cited", str(full.folder), citation, "--json"])
    assert out.exit_code == 0, out.output
    assert json.loads(out.output)["kana"] == "はらすと"


def test_a_volume_holds_every_entry_and_both_indexes(full, tmp_path):
    with readaid.new(tmp_path / "second", reader="x", title="Second", maker="Rotei", place_kept="Villa Kuro") as other:
        made = write(Volume("Lids", ((full.contents, full.folder), (other.contents, other.folder))),
                     tmp_path / "lids.html")
        tree = lxml_html.fromstring(made.read_text(encoding="utf-8"))
        heads = tree.xpath("//h2/text()")
        assert "1. Lid <b>" in heads
        assert tree.get_element_by_id("first-lines").xpath(".//td/text()") == ["はら", "1"]
        makers = tree.get_element_by_id("makers").xpath(".//td/text()")
        assert makers == ["Rotei", "2", "霜野鷺汀 しものろてい (carver)", "1"]
        assert "Villa Kuro" not in made.read_text(encoding="utf-8")
        assert not tree.xpath("//*[starts-with(@id,'signs-')]"), "entries, no evidence"
        ids = tree.xpath("//section/@id")
        assert len(ids) == len(set(ids))
        with pytest.raises(OptionError, match="format of a volume"):
            write(Volume("x", ((full.contents, full.folder),)), tmp_path / "x", "tei")
    with pytest.raises(ReportError, match="needs a piece"):
        write(Volume("x", ()), tmp_path / "x.html")
    told = document(Volume("題", ((full.contents, full.folder),)), language="ja")
    assert told.section("first-lines").title == "初句索引"
    assert first_lines(full.contents) == [("はら", "はら")]


def test_a_manifest_bears_the_address_asked_for(full):
    text = full.report("iiif", address="https://museum.example/iiif/").read_text(encoding="utf-8")
    held = json.loads(text)
    assert held["id"] == f"https://museum.example/iiif/{full.piece.id}/manifest.json"
    assert "example.org" not in text
    assert "https://example.org/pieces" in full.report("iiif").read_text(encoding="utf-8")
    for wrong in ("museum", "ftp://x/y", "https://x/y?z=1", "https://x y/"):
        with pytest.raises(OptionError, match="no web address"):
            full.report("iiif", address=wrong)
