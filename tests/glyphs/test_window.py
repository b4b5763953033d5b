"""The size normalisation: invariances, and the polarity of what it gives."""

import numpy as np
import pytest
from skimage.draw import disk, ellipse_perimeter
from skimage.morphology import dilation
from skimage.morphology import disk as ball

from readaid.glyphs.window import SIZE, views, window


def ring(height: int = 120, width: int = 90) -> np.ndarray:
    page = np.ones((height, width), np.float32)
    line = np.zeros_like(page, bool)
    line[ellipse_perimeter(height // 2, width // 2, height // 3, width // 4, shape=page.shape)] = True
    page[dilation(line, ball(3))] = 0
    return page


def test_strokes_are_high_whatever_the_polarity():
    page = ring()
    assert np.allclose(window(page), window(1 - page), atol=1e-5)
    assert window(page)[0].max() < 0.2 < window(page).max()


def test_contrast_and_brightness_do_not_matter():
    assert np.allclose(window(ring()), window(ring() * 0.3 + 0.4), atol=1e-4)


def test_place_does_not_matter():
    page = np.pad(ring(), ((0, 60), (40, 0)), constant_values=1)
    other = np.pad(ring(), ((60, 0), (0, 40)), constant_values=1)
    # both are reduced to 56 px first, and the sampling grid falls up to half a pixel elsewhere
    assert np.abs(window(page) - window(other)).mean() < 0.03


def test_the_form_fills_the_window():
    seen = window(ring()) > 0.4
    rows = np.flatnonzero(seen.any(1))
    assert 36 <= rows[-1] - rows[0] <= 46
    assert abs((rows[0] + rows[-1]) / 2 - (SIZE - 1) / 2) <= 1.5


def test_a_speck_moves_little():
    page = ring()
    page[disk((5, 5), 1.5)] = 0
    assert np.abs(window(page) - window(ring())).mean() < 0.08


@pytest.mark.parametrize("side", [5, 12, 28, 56, 57, 300])
def test_any_size(side):
    page = np.ones((side, side), np.float32)
    page[side // 3: side // 3 + max(1, side // 6), 1:-1] = 0
    assert window(page).shape == (SIZE, SIZE)


def test_views_begin_with_the_window_itself():
    seen = window(ring())
    assert np.array_equal(views(seen)[0, 0], seen)
    assert views(seen).shape[1:] == (1, SIZE, SIZE)
