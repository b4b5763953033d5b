"""Numbers on the picture of the signs: none covers writing or another number."""

import itertools

import numpy as np
import pytest

from readaid.report.label_places import places


def meet(a, b):
    return min(a[2], b[2]) > max(a[0], b[0]) and min(a[3], b[3]) > max(a[1], b[1])


def crowded(columns, rows, width, height, apart=1.35):
    """Columns of signs as close as on a small lid: two pixels between signs, a third of a sign between columns."""
    return [(1330 - c * width * apart, 20 + r * (height + 2), 1330 - c * width * apart + width,
             20 + r * (height + 2) + height) for c in range(columns) for r in range(rows)]


@pytest.mark.parametrize("zones", [crowded(13, 8, 70, 90)[:103], crowded(3, 6, 120, 130),
                                   crowded(13, 8, 60, 70, 1.15)[:103]])
def test_no_number_covers_writing_or_another_number(zones):
    sizes = [(9.0 * len(str(n)) + 4, 15.0) for n in range(1, len(zones) + 1)]
    found = places(zones, sizes, (1400, 1000))
    assert all(found), "there is room for every one"
    boxes = [p.box for p in found]
    assert not [1 for b, z in itertools.product(boxes, zones) if meet(b, z)]
    assert not [1 for a, b in itertools.combinations(boxes, 2) if meet(a, b)]
    assert all(b[0] >= 0 and b[1] >= 0 and b[2] <= 1400 and b[3] <= 1000 for b in boxes)


def test_where_there_is_no_room_there_is_no_number():
    assert places([(0, 0, 50, 50)], [(10, 10)], (50, 50)) == [None]


def test_the_picture_shows_the_writing_untouched(full):
    """Inside every zone, away from the outline, the pixels are those of the photograph (JPEG: within a few levels)."""
    import io

    from PIL import Image

    from readaid.report.pictures import Pictures
    contents = full.contents
    pictures = Pictures(contents, full.folder)
    photo = contents.photos[0]
    numbers = {z.id: n for n, z in enumerate(contents.zones, 1)}
    image = np.asarray(Image.open(io.BytesIO(pictures.overview(photo.id, numbers))).convert("RGB")).astype(int)
    for zone in contents.zones:
        x, y, w, h = (round(v) for v in zone.box)
        inside = image[y + 8:y + h - 8, x + 8:x + w - 8]
        assert np.abs(inside - (120, 90, 60)).max() < 12
