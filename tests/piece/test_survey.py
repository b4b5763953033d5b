"""Condition as it bears on reading: regions, the signs they touch, strokes measured at scale."""

import numpy as np
import pytest
from PIL import Image

import readaid
from readaid.core.condition import touches
from readaid.core.errors import OptionError, PhotoError, ShapeError
from readaid.core.photo import Scale, rectangle
from readaid.photo import stroke_width

MM = 0.02  # mm a pixel


def drawn(width: float, dark: bool = True, side: int = 240) -> np.ndarray:
    """Two crossing strokes of a known width, drawn eight times as large and reduced, with noise."""
    import cv2
    big = np.zeros((side * 8, side * 8), np.uint8)
    for a, b in (((40, 30), (200, 200)), ((180, 40), (60, 190))):
        cv2.line(big, tuple(8 * v for v in a), tuple(8 * v for v in b), 255, round(width * 8))
    share = cv2.resize(big, (side, side), interpolation=cv2.INTER_AREA) / 255
    grey = 120 + (-60 if dark else 60) * share + np.random.default_rng(1).normal(0, 4, share.shape)
    return np.clip(grey, 0, 255).astype(np.uint8)


@pytest.fixture
def piece(tmp_path):
    sheet = np.full((400, 600), 120, np.uint8)
    sheet[20:260, 40:280] = drawn(12)
    Image.fromarray(sheet).convert("RGB").save(tmp_path / "front.png")
    with readaid.new(tmp_path / "piece", reader="Mori", title="Lid") as opened:
        photo = opened.add_photo(tmp_path / "front.png", title="front")
        verse = opened.layout.inscription("verse", photo, title="Verse")
        for box in ((40, 20, 240, 240), (330, 20, 60, 80)):
            opened.layout.draw(verse, photo, rectangle(*box))
        yield opened


@pytest.mark.parametrize("width", [5, 8, 12, 20])
@pytest.mark.parametrize("dark", [True, False])
def test_a_stroke_of_known_width_is_measured_within_two_errors(width, dark):
    found = stroke_width.measure(drawn(width, dark))
    assert abs(found.width - width) <= 2 * found.error
    assert found.error < 1.5
    assert found.places > 3


def test_a_groove_of_known_depth_is_measured():
    """A groove of triangular section, 3 deep, on a level ground: on its middle line the depth is nearly 3."""
    heights = np.zeros((200, 200))
    across = np.abs(np.arange(200) - 100.0)
    heights[:, :] = -np.clip(3 - across * 0.5, 0, None)[None, :]
    crop = np.clip(150 + 20 * heights, 0, 255).astype(np.uint8)
    found, error = stroke_width.depth(crop, heights)
    assert found == pytest.approx(3, abs=0.5)
    assert error < 0.5


def test_an_even_ground_has_no_stroke():
    with pytest.raises(ShapeError, match="No stroke stands out"):
        stroke_width.measure(np.full((80, 80, 3), 90, np.uint8))


def test_a_measure_is_at_scale_with_the_scales_error(piece):
    zone = piece.contents.zones[0]
    with pytest.raises(PhotoError, match="has no scale"):
        piece.survey.measure(zone)
    photo = piece.contents.photos[0]
    piece.set_scale(photo, Scale((0, 0), (500, 0), 500 * MM))
    plain = piece.survey.measure(zone)
    assert plain.width == pytest.approx(12 * MM, abs=2 * plain.width_error)
    assert plain.depth is None, "no lamps, no depth"
    piece.set_scale(photo.id, Scale((0, 0), (500, 0), 500 * MM, "", (0, 0), (0, 100), 100 * MM * 0.9))
    wide = piece.survey.measure(zone)
    assert wide.width_error > plain.width_error, "two lengths that disagree by a tenth"
    assert wide.id == plain.id, "a new measure takes the place of the former one"
    assert len(piece.contents.measures) == 1


def test_a_region_touches_the_signs_below_it_and_no_others(piece):
    photo = piece.contents.photos[0]
    stain = piece.survey.mark(photo, ((350, 60), (420, 60), (420, 140)), "sulphide stain", "for the conservator")
    right = piece.contents.inscriptions[0].characters[0]
    assert [c.id for c in piece.survey.touched(stain)] == [right]
    far = piece.survey.mark(photo, ((500, 300), (560, 300), (560, 360)))
    assert piece.survey.touched(far) == []
    assert (far.cause, far.advice) == ("not known", "leave alone")
    with pytest.raises(OptionError, match="did you mean 'corrosion'"):
        piece.survey.mark(photo, stain.outline, "corosion")
    with pytest.raises(OptionError, match="advice"):
        piece.survey.change(stain, advice="scrape")
    piece.survey.remove(far)
    assert [r.id for r in piece.contents.regions] == [stain.id]


def test_each_lost_stroke_names_its_reason_in_the_report(piece):
    from lxml import html as lxml_html
    photo = piece.contents.photos[0]
    signs = piece.contents.inscriptions[0].characters
    piece.decipherment.mark(signs[0], damage="lost")
    piece.survey.add_layer("ground metal", "copper")
    piece.survey.add_layer("plating", "gold", later=True)
    piece.survey.mark(photo, ((350, 60), (420, 60), (420, 140)), "sulphide stain", "for the conservator")
    piece.survey.mark(photo, ((500, 300), (560, 300), (560, 360)), "handling")
    piece.describe(treat="the stain", leave="the gilding")
    tree = lxml_html.fromstring(piece.report().read_text(encoding="utf-8"))
    part = tree.get_element_by_id("condition").text_content()
    for told in ("copper", "gold · put on later", "sulphide stain", "for the conservator", "Verse: 1",
                 "the stain · Regions A", "the gilding · Regions B"):
        assert told in part, told
    rows = tree.xpath("//section[starts-with(@id,'signs-')]//tbody/tr")
    assert "A: sulphide stain" in rows[0].text_content()
    assert "lost" in rows[0].text_content()
    assert "sulphide" not in rows[1].text_content()
    assert "intact" not in rows[1].text_content(), "nobody looked"
    assert "sulphide" not in piece.report(blind=True).read_text(encoding="utf-8")


@pytest.mark.parametrize(("a", "b", "met"), [
    ((0, 0, 10, 10), (20, 0, 5, 5), False), ((0, 0, 10, 10), (5, 5, 20, 20), True),
    ((0, 0, 30, 30), (10, 10, 5, 5), True), ((10, 10, 5, 5), (0, 0, 30, 30), True),
    ((0, 10, 30, 5), (10, 0, 5, 30), True)])
def test_outlines_touch(a, b, met):
    assert touches(rectangle(*a), rectangle(*b)) is met
