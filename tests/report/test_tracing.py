"""Tracings stand in the report beside the crop of their sign, in the same frame."""

import io

import numpy as np
import pytest
from lxml import html
from PIL import Image

from readaid.core.photo import Tracing
from readaid.report.composer import build
from readaid.report.pictures import Pictures


@pytest.fixture
def traced(full):
    """The first sign's zone (60 x 80 px at 10 px a millimetre) traced by a line down its middle and a dot."""
    character = full.contents.characters[0]
    tracing = Tracing(character.zones[0], (((3.0, 1.0), (3.0, 7.0)), ((1.0, 4.0),)))
    full.save(tracing, reason="traced")
    return full, character, tracing


def drawn(piece, zones):
    data, by_hand = Pictures(piece.contents, piece.folder).traced(zones)
    return np.asarray(Image.open(io.BytesIO(data))), by_hand


def test_strokes_lie_where_they_were_traced_in_the_frame_of_the_crop(traced):
    piece, character, _ = traced
    pixels, by_hand = drawn(piece, character.zones)
    crop = Image.open(io.BytesIO(Pictures(piece.contents, piece.folder).crop(character.zones)))
    assert by_hand
    assert abs(pixels.shape[1] - crop.width) <= 1
    assert abs(pixels.shape[0] - crop.height) <= 1
    assert crop.width < 160  # so nothing was reduced: one pixel of the photo is one of the picture
    margin = (crop.width - 60) / 2
    assert margin == (crop.height - 80) / 2
    rows, columns = np.nonzero(pixels < 128)
    line = columns[(columns > pixels.shape[1] * 0.4)]
    assert np.median(line) == pytest.approx(30 + margin, abs=2)
    assert rows.min() == pytest.approx(10 + margin, abs=3)
    assert rows.max() == pytest.approx(70 + margin, abs=3)
    dot = rows[columns < pixels.shape[1] * 0.4]
    assert np.mean(dot) == pytest.approx(40 + margin, abs=2)


def test_the_report_shows_it_beside_the_crop(traced):
    piece, _, tracing = traced
    tree = html.fromstring(piece.report().read_text(encoding="utf-8"))
    (image,) = tree.xpath("//img[starts-with(@alt, 'Tracing')]")
    assert image.get("src").startswith("data:image/png;base64,")
    cells = image.xpath("ancestor::tr/td")
    assert [c.xpath("count(.//img)") for c in cells[1:3]] == [1, 1]
    heads = [h.text for h in image.xpath("ancestor::table/thead//th")]
    assert heads[1:3] == ["Crop", "Tracing"]
    assert len(heads) == len(cells)
    piece.report("docx")
    piece.change(tracing, by="skeleton", reason="now the computer's")
    text = html.fromstring(piece.report().read_text(encoding="utf-8"))
    assert text.xpath("//img[@alt='Tracing proposed by the computer 1']/ancestor::td[contains(., 'by computer')]")


def test_a_readers_tracing_goes_before_the_computers(traced):
    piece, character, _ = traced
    mine, _ = drawn(piece, character.zones)
    piece.save(Tracing(character.zones[0], (((0.0, 0.0), (6.0, 8.0)),), by="skeleton"), reason="proposed")
    now, by_hand = drawn(piece, character.zones)
    assert by_hand
    assert np.array_equal(now, mine)


def test_pixels_without_a_scale_and_no_tracing(full):
    character = full.contents.characters[1]
    assert Pictures(full.contents, full.folder).traced(character.zones) is None
    full.save(Tracing(character.zones[0], (((30.0, 10.0), (30.0, 70.0)),), unit="px"), reason="traced")
    pixels, _ = drawn(full, character.zones)
    assert (pixels < 128).any(axis=0).argmax() == pytest.approx(pixels.shape[1] / 2, abs=4)


def test_no_column_without_a_tracing_and_none_in_a_blind_copy(traced):
    piece, _, tracing = traced
    def heads(**options):
        document = build(piece.contents, piece.folder, **options)
        return {h for s in document.sections for b in s.blocks for h in getattr(b, "headings", ())}
    assert "Tracing" in heads()
    assert "Tracing" not in heads(blind=True)
    piece.save(reason="rubbed out", withdraw=[tracing.id])
    assert "Tracing" not in heads()
