"""Columns and signs on rendered pieces with known zones, IoU >= 0.5. Full figures: ``tests/bench/photo.py``."""

import cv2
import numpy as np
import pytest

from readaid.core.errors import OptionError, PhotoError, ZoneError
from readaid.photo.columns import propose
from tests.photo.rendered import FIT, HELD, overlap, render, right


def boxes(columns):
    return [(*z.outline[0], z.outline[2][0] - z.outline[0][0], z.outline[2][1] - z.outline[0][1])
            for c in columns for z in c.zones]


def test_overlap():
    assert overlap((0, 0, 10, 10), (5, 0, 10, 10)) == pytest.approx(1 / 3)
    assert right([(0, 0, 10, 10), (0, 0, 10, 9)], [(0, 0, 10, 10), (50, 50, 5, 5)]) == 1


@pytest.mark.parametrize(("kind", "surface", "least"), [
    ("regular", "metal", 0.8), ("regular", "paper", 0.9), ("regular", "inlay", 0.85), ("scattered", "paper", 0.8)])
def test_most_signs_of_unseen_fonts(kind, surface, least):
    pieces = [render(900 + i, kind, HELD, size=60.0, surface=surface) for i in range(2)]
    got = sum(right(boxes(propose(p.image)), p.boxes) for p in pieces)
    assert got >= least * sum(len(p.boxes) for p in pieces)


def test_order_confidence_and_region():
    piece = render(31, "regular", FIT, size=44.0, surface="paper")
    columns = propose(piece.image)
    centres = [np.mean([z.outline[0][0] for z in c.zones]) for c in columns]
    assert centres == sorted(centres, reverse=True)
    for column in columns:
        tops = [z.outline[0][1] for z in column.zones]
        assert tops == sorted(tops)
        assert 0 <= column.confidence <= 1
        assert all(0 <= z.confidence <= 1 for z in column.zones)
    height, width = piece.image.shape[:2]
    part = propose(piece.image, region=(width / 2, 0, width / 2, height), character_px=44)
    assert part
    assert min(b[0] for b in boxes(part)) >= width / 2 - 1


def test_frame_seal_and_scratch_are_left_out():
    piece = render(31, "regular", FIT, size=44.0, surface="paper")
    image = piece.image.copy()
    height, width = image.shape[:2]
    cv2.rectangle(image, (8, 8), (width - 8, height - 8), (60, 50, 50), 2)
    cv2.rectangle(image, (20, height - 62), (56, height - 26), (190, 50, 40), 4)
    cv2.line(image, (30, 30), (width - 30, 46), (90, 80, 80), 1)
    found = boxes(propose(image))
    assert right(found, piece.boxes) >= 0.85 * len(piece.boxes)
    assert not any(overlap(b, (20, height - 62, 36, 36)) > 0.3 for b in found)
    assert max(b[2] for b in found) < 0.4 * width


def test_joined_signs_are_flagged():
    image = np.full((420, 200), 235, np.uint8)
    wave = [(100 + 24 * np.sin(t / 5), 60 + 3.4 * t) for t in range(84)]  # like running writing, never straight
    cv2.polylines(image, [np.int32(wave)], False, 30, 9)
    (column,) = propose(image, "dark", character_px=60)
    assert any(z.joined for z in column.zones)


@pytest.mark.parametrize("blank", [np.full((200, 150, 3), 240, np.uint8), np.zeros((60, 60), np.uint8),
                                   np.full((5, 5), 9, np.uint8)])
def test_nothing_written(blank):
    assert propose(blank) == []


@pytest.mark.parametrize(("call", "error", "said"), [
    (lambda i: propose(i, writing="drak"), OptionError, "did you mean 'dark'"),
    (lambda i: propose(i, character_px=1), PhotoError, "cannot be looked for"),
    (lambda i: propose(np.tile(i, (20, 20)), character_px=4), PhotoError, "at once.*region around the writing"),
    (lambda i: propose(i, region=(500, 500, 5, 5)), ZoneError, "outside the photo"),
    (lambda i: propose(i[:0]), PhotoError, "empty"),
    (lambda i: propose(i * np.nan), PhotoError, "NaN"),
    (lambda i: propose(np.zeros(7)), PhotoError, "shape")])
def test_bad_input(call, error, said):
    with pytest.raises(error, match=said):
        call(np.full((100, 100), 0.8))
