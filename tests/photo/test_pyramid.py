"""Overview and tiles: put together they are the photo; oracle for the levels is Pillow's ``reduce``."""

import io
import math
import threading

import numpy as np
import pytest
from PIL import Image

from readaid.core.errors import OptionError, PhotoError
from readaid.photo import file, views
from readaid.photo.cache import CACHE, Cache
from readaid.photo.pyramid import TILE, Pyramid


def pixels(data):
    with Image.open(io.BytesIO(data)) as picture:
        return np.asarray(picture.convert("RGB")).astype(int)


@pytest.fixture
def large(saved):
    y, x = np.mgrid[0:1100, 0:2301]
    wave = 128 + 60 * np.sin(x / 37) * np.cos(y / 53) + (x % 256) / 8
    return saved("large.jpg", np.stack([wave, wave * 0.8, 255 - wave], axis=-1).astype(np.uint8), quality=95)


def stitched(pyramid, z, **options):
    across, down = (math.ceil(math.ceil(side / 2**z) / TILE) for side in (pyramid.width, pyramid.height))
    rows = [[pixels(pyramid.tile(z, x, y, **options)) for x in range(across)] for y in range(down)]
    return np.vstack([np.hstack(row) for row in rows])


@pytest.mark.parametrize("z", [0, 1, 2])
def test_tiles_make_up_the_photo(large, z):
    pyramid = Pyramid(large)
    assert (pyramid.width, pyramid.height, pyramid.max_z) == (2301, 1100, 2)
    with Image.open(large) as picture:
        wanted = np.asarray(picture.convert("RGB").reduce(2**z)).astype(int)
    got = stitched(pyramid, z)
    assert got.shape == wanted.shape
    assert np.abs(got - wanted).mean() < 2.0


def test_overview(large):
    pyramid = Pyramid(large)
    shown = pixels(pyramid.overview)
    assert shown.shape == (612, 1280, 3)
    assert not CACHE.bytes, "opening a JPEG must not decode it whole"


def test_one_decode_for_all_threads(large, monkeypatch):
    decoded = []
    real = file.load
    monkeypatch.setattr(file, "load", lambda path: decoded.append(path) or real(path))
    pyramids = [Pyramid(large) for _ in range(4)]
    threads = [threading.Thread(target=p.tile, args=(z, 0, 0)) for p in pyramids for z in (0, 1, 2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(decoded) == 1


def test_memory_is_bounded_for_any_number_of_photos(saved, monkeypatch):
    monkeypatch.setattr(CACHE, "_limit", 1_000_000)
    for i in range(6):
        pyramid = Pyramid(saved(f"{i}.png", np.full((400, 400, 3), i, np.uint8)))
        pyramid.tile(0, 0, 0)
        assert CACHE.bytes <= 1_000_000
    assert pixels(pyramid.tile(0, 0, 0)).max() == 5


def test_changed_file_is_read_again(saved):
    path = saved("p.png", np.zeros((50, 50, 3), np.uint8))
    Pyramid(path).tile(0, 0, 0)
    saved("p.png", np.full((60, 50, 3), 200, np.uint8))
    assert pixels(Pyramid(path).tile(0, 0, 0)).min() > 190


@pytest.mark.parametrize("name", sorted(views.EVERY))
@pytest.mark.parametrize("z", [0, 1])
def test_no_seams(large, name, z):
    """Tiles of a view joined are the view of the whole level (JPEG's own error apart)."""
    pyramid = Pyramid(large)
    got = stitched(pyramid, z, view=name)
    level = pyramid.level(z)
    whole = views.whole(name, pyramid.overview_pixels, views.setting(name)[1], 1280 / 2301)
    wanted = views.apply(name, level, scale=1 / 2**z, whole=whole).astype(int)
    assert got.shape == wanted.shape
    wanted_jpeg = pixels(file.jpeg(wanted.astype(np.uint8)))
    assert np.abs(got - wanted_jpeg)[:, TILE - 12:TILE + 12].mean() < 2.5
    assert np.abs(got - wanted_jpeg).mean() < 2.5


def test_dark_sixteen_bit_photo_is_shown_brightened_and_says_so(tmp_path):
    path = tmp_path / "dark.png"
    Image.fromarray((np.arange(100 * 100) % 4000).astype(np.uint16).reshape(100, 100)).save(path)
    pyramid = Pyramid(path)
    assert pyramid.white == pytest.approx(4000 / 65535, rel=0.01)
    assert pixels(pyramid.overview).max() > 240
    assert pyramid.crop((0, 0, 100, 100)).max() > 250


@pytest.mark.parametrize("tile", [(5, 0, 0), (-1, 0, 0), (0, 5, 0), (0, 0, -1), (0, 0, 3)])
def test_tile_that_is_not_there(large, tile):
    with pytest.raises(PhotoError, match="There is no"):
        Pyramid(large).tile(*tile)


def test_unknown_view(large):
    with pytest.raises(OptionError, match="did you mean 'even light'"):
        Pyramid(large).tile(0, 0, 0, view="even lihgt")


def test_truncated_jpeg_is_refused_at_opening(large, tmp_path):
    path = tmp_path / "cut.jpg"
    path.write_bytes(large.read_bytes()[:20000])
    with pytest.raises(PhotoError, match="cut off"):
        Pyramid(path)


def test_cache_makes_once_and_refuses_nonsense():
    cache = Cache(100)
    assert cache.made(("a", 1), lambda: b"x" * 10) == cache.made(("a", 1), lambda: b"y")
    cache.put(("a", 2), b"z")
    cache.drop("a")
    assert cache.bytes == 0
    with pytest.raises(OptionError, match="memory limit"):
        cache.limit = -1


def test_room_is_made_before_a_photo_is_decoded():
    """The oldest values go first, and only as many as must."""
    from readaid.photo.cache import Cache

    cache = Cache(100)
    for name in "abc":
        cache.put((name,), bytes(30))
    cache.room(35)
    assert [cache.get((n,)) is None for n in "abc"] == [True, False, False]
    cache.room(500)
    assert cache.bytes == 0
