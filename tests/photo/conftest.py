"""Photos made for the tests, small ones."""

import numpy as np
import pytest
from PIL import Image

from readaid.photo.cache import CACHE


@pytest.fixture(autouse=True)
def _fresh_cache():
    CACHE.drop()
    yield
    CACHE.drop()


@pytest.fixture
def picture():
    """RGB, 300 x 200, no symmetry: every turning shows."""
    y, x = np.mgrid[0:200, 0:300]
    return np.stack([x * 255 // 299, y * 255 // 199, (x // 30 + y // 30) % 2 * 200], axis=-1).astype(np.uint8)


@pytest.fixture
def saved(tmp_path, picture):
    def save(name="photo.png", pixels=None, **options):
        path = tmp_path / name
        Image.fromarray(picture if pixels is None else pixels).save(path, **options)
        return path

    return save
