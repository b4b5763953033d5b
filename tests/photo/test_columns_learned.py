"""The net that finds signs: what it is fed, agreement of sizes, falling back on the rules, odd images.

Full figures: ``tests/bench/photo.py``. Overlap is checked against worked examples, the maps against plain SciPy.
"""

import cv2
import numpy as np
import pytest
from scipy import ndimage

from readaid.photo import chains, learned
from readaid.photo.columns import propose
from readaid.photo.learned import Spot
from tests.photo.rendered import FIT, HELD, render, right

fonts = pytest.mark.skipif(not all(f.exists() for f in (*FIT, *HELD)),
                           reason="Debian's fonts-kouzan-mouhitsu and fonts-aoyagi-* are not installed")


def boxes(columns):
    return [(*z.outline[0], z.outline[2][0] - z.outline[0][0], z.outline[2][1] - z.outline[0][1])
            for c in columns for z in c.zones]


@pytest.fixture(scope="module")
def piece():
    return render(31, "regular", HELD, size=44.0, surface="paper")


def test_it_is_shipped():
    assert learned.there()
    assert learned.FILE.stat().st_size < 2 * 2**20


def test_maps_are_the_image_less_its_surroundings():
    # the training's preparation written out with SciPy: means of 4 x 4, a Gaussian cut at three spreads, bilinear
    rng = np.random.default_rng(4)
    level = cv2.GaussianBlur(rng.random((64, 96)).astype(np.float32), (0, 0), 3)

    def around(x):
        small = x.reshape(16, 4, 24, 4).mean((1, 3))
        small = ndimage.gaussian_filter(small, 4.0, mode="nearest", truncate=3.0)
        y, x_ = (np.arange(n) / 4 + 0.125 - 0.5 for n in x.shape)
        return ndimage.map_coordinates(small, np.meshgrid(y, x_, indexing="ij"), order=1, mode="nearest")

    away = level - around(level)
    wanted = away / (np.sqrt(around(away**2) + 1e-4) + 0.01)
    got = learned.maps(level)
    assert got.shape == (2, 64, 96)
    assert got.dtype == np.float32
    np.testing.assert_allclose(got[0], np.clip(wanted, -4, 4), atol=2e-3)
    assert not got[1].any()
    red = np.repeat(level[..., None], 3, 2)
    red[..., 0] += 0.2
    assert np.abs(learned.maps(red)[1]).max() < 1e-4  # evenly red has no surroundings to differ from
    assert learned.maps(level[:50, :70]).shape == (2, 64, 96)  # filled up to whole steps


def test_overlap_of_boxes():
    table = chains.overlaps(np.array([[0, 0, 10, 10], [5, 0, 15, 10], [20, 20, 30, 30]], float))
    np.testing.assert_allclose(table, [[1, 1 / 3, 0], [1 / 3, 1, 0], [0, 0, 1]], atol=1e-6)


def test_sizes_must_agree():
    both = [[Spot(0, 0, 10, 10, 0.9)], [Spot(0, 2, 10, 10, 0.6), Spot(50, 50, 60, 60, 0.8)]]
    first, second = chains.merged(both)
    assert first.sure == pytest.approx(0.75)
    assert first.top == pytest.approx(2 * 0.6 / 1.5)
    assert second.sure == pytest.approx(0.4)  # seen at one size only
    assert chains.merged([[], []]) == []


def test_of_two_over_one_another_the_surer_stays():
    table = np.array([[0, 0, 10, 10], [0, 1, 10, 11], [2, 2, 6, 6], [30, 0, 40, 10]], float)
    assert learned.alone(table, np.array([0.5, 0.9, 0.4, 0.3])) == [1, 3]


def test_a_column_is_tied_from_top_to_bottom():
    spots = [Spot(x, y, x + 10, y + 10, 0.9) for x in (0, 40) for y in (24, 0, 12)]
    tied = sorted(chains.chained(spots, 10), key=lambda c: c[0].left)
    assert [[(s.left, s.top) for s in c] for c in tied] == [[(0, 0), (0, 12), (0, 24)], [(40, 0), (40, 12), (40, 24)]]


@fonts
@pytest.mark.parametrize(("kind", "surface", "least"), [
    ("worn", "metal", 0.85), ("scattered", "metal", 0.8), ("worn", "inlay", 0.85)])
def test_worn_and_scattered_signs_of_unseen_fonts(kind, surface, least):
    pieces = [render(940 + i, kind, HELD, size=60.0, surface=surface) for i in range(2)]
    found = [boxes(propose(p.image)) for p in pieces]
    true = sum(len(p.boxes) for p in pieces)
    got = sum(right(f, p.boxes) for f, p in zip(found, pieces, strict=True))
    assert got >= least * true
    assert sum(map(len, found)) - got <= 0.15 * true


@fonts
@pytest.mark.parametrize(("surface", "own"), [("paper", "dark"), ("inlay", "light"), ("metal", "cut")])
def test_another_kind_of_writing_is_left_out(surface, own):
    for seed in (950, 951):
        p = render(seed, "regular", HELD, surface=surface)
        assert right(boxes(propose(p.image, own)), p.boxes) >= 0.8 * len(p.boxes)
        for asked in {"dark", "light", "cut"} - {own}:
            assert propose(p.image, asked) == []


@fonts
def test_ink_and_inlay_side_by_side_are_told_apart():
    dark, light = (render(s, "regular", FIT, size=50.0, surface=w) for s, w in ((31, "paper"), (33, "inlay")))
    height = min(dark.image.shape[0], light.image.shape[0])
    both = np.hstack([dark.image[:height], light.image[:height]])
    edge = dark.image.shape[1]
    for kind, inside in (("dark", lambda b: b[0] + b[2] <= edge + 4), ("light", lambda b: b[0] >= edge - 4)):
        found = boxes(propose(both, kind))
        assert len(found) >= 6
        assert all(inside(b) for b in found)


@fonts
def test_the_same_at_every_call_and_depth(piece):
    first = propose(piece.image)
    assert first == propose(piece.image)
    deep = propose(piece.image.astype(np.uint16) * 257)
    assert right(boxes(deep), boxes(first)) >= len(boxes(first)) - 1
    grey = cv2.cvtColor(piece.image, cv2.COLOR_RGB2GRAY)
    assert right(boxes(propose(grey)), piece.boxes) >= 0.9 * len(piece.boxes)
    turned = propose(255 - piece.image)  # light on dark
    assert right(boxes(turned), piece.boxes) >= 0.9 * len(piece.boxes)


@fonts
def test_a_large_photo_is_searched_smaller(piece):
    large = cv2.resize(piece.image, None, fx=5, fy=5, interpolation=cv2.INTER_CUBIC)
    found = [tuple(v / 5 for v in b) for b in boxes(propose(large))]
    assert right(found, piece.boxes) >= 0.9 * len(piece.boxes)


@fonts
def test_without_the_net_the_rules_look(piece, monkeypatch, tmp_path):
    monkeypatch.setattr(learned, "FILE", tmp_path / "none.onnx")
    monkeypatch.setattr(chains, "find", lambda *a: pytest.fail("the net was asked"))
    assert right(boxes(propose(piece.image)), piece.boxes) >= 0.85 * len(piece.boxes)


@pytest.mark.parametrize("shape", [(8, 8), (9, 400), (400, 9), (33, 31, 3), (2500, 60), (60, 2500, 3)])
def test_odd_shapes_and_empty_ground(shape):
    rng = np.random.default_rng(5)
    assert propose(np.full(shape, 200, np.uint8)) == []
    for column in propose(rng.integers(100, 156, shape).astype(np.uint8)):  # grain: whatever is found lies inside
        for zone in column.zones:
            xs, ys = zip(*zone.outline, strict=True)
            assert -1 <= min(xs) <= max(xs) <= shape[1] + 1
            assert -1 <= min(ys) <= max(ys) <= shape[0] + 1
            assert 0 <= zone.confidence <= 1


@fonts
def test_confidences_are_about_the_share_that_is_right():
    sure, good = [], []
    for i, (kind, surface) in enumerate([("worn", "metal"), ("scattered", "paper"), ("regular", "inlay")]):
        p = render(3100 + i, kind, FIT, surface=surface)
        for column in propose(p.image):
            for zone in column.zones:
                x, y = zone.outline[0]
                sure.append(zone.confidence)
                good.append(right([(x, y, zone.outline[2][0] - x, zone.outline[2][1] - y)], p.boxes))
    assert abs(np.mean(sure) - np.mean(good)) < 0.15
