"""A kept comparison and the report say the same: turned, mirrored or traced as it was compared."""

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.photo import Tracing, rectangle
from readaid.core.specimen import Specimen


@pytest.fixture
def pair(tmp_path):
    """A hook and its mirror image, each with a zone on its own photo."""
    page = np.full((120, 120, 3), 235, np.uint8)
    page[20:28, 20:100] = 30
    page[20:100, 20:28] = 30
    page[92:100, 20:60] = 30
    with readaid.new(tmp_path / "piece", reader="Mori") as piece:
        made = []
        for name, pixels in (("one", page), ("two", page[:, ::-1])):
            path = tmp_path / f"{name}.png"
            Image.fromarray(np.ascontiguousarray(pixels)).save(path)
            photo = piece.add_photo(path)
            inscription = piece.layout.inscription("signature", photo)
            zone, _ = piece.layout.draw(inscription, photo, rectangle(5, 5, 110, 110))
            specimen = Specimen(zone=zone.id, photo=photo.id)
            piece.save(specimen)
            made.append(specimen)
        yield piece, *made


def told(piece):
    text = piece.report().read_text(encoding="utf-8")
    return text[text.index('id="specimens"'):]


@pytest.mark.parametrize("turn", ["as it stands", "mirrored"])
def test_the_report_compares_as_it_was_compared(pair, turn):
    piece, one, two = pair
    kept = piece.signers.keep_comparison(one, two, turn=turn)
    assert kept.turn == turn
    text = told(piece)
    assert f"{kept.likeness:.2f}" in text
    other = piece.signers.compare(one, two, "mirrored" if turn == "as it stands" else "as it stands")
    assert abs(other.likeness - kept.likeness) > 0.02, "else the test would prove nothing"
    if turn == "mirrored":
        assert "mirror" in text.lower()


def test_what_was_traced_later_does_not_change_the_kept_figures(pair):
    piece, one, two = pair
    lines = (((0.0, 0.0), (10.0, 0.0)), ((0.0, 0.0), (0.0, 10.0)), ((0.0, 10.0), (5.0, 10.0)))
    tracing = Tracing(one.zone, lines, "px")
    piece.save(tracing)
    kept = piece.signers.keep_comparison(one, two, turn="mirrored", traced=("a",))
    assert kept.traced == ("a",)
    before = told(piece)
    piece.change(tracing, strokes=(((0.0, 0.0), (1.0, 9.0)),))
    assert f"{kept.likeness:.2f}" in before
    assert f"{kept.likeness:.2f}" in told(piece)
