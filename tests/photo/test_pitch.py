"""What the pitch of a column asks for: signs under a stain, rows, single signs. Lengths are made up."""

import numpy as np

from readaid.core.photo import rectangle
from readaid.photo.columns import propose
from readaid.photo.pitch import ProposedColumn, ProposedZone, box, levelled, supplied
from tests.photo.rendered import FIT, glyph, overlap, right


def column(*tops, x=100, side=40):
    return ProposedColumn(tuple(ProposedZone(rectangle(x, t, side, side), 0.9) for t in tops), 0.9)


def test_a_hole_of_one_pitch_is_a_guess():
    (found,) = supplied([column(0, 50, 100, 200, 250, 300)])
    assert [z.guess for z in found.zones] == [False, False, False, True, False, False, False]
    assert overlap(box(found.zones[3]), (100, 150, 40, 40)) > 0.9


def test_no_guess_where_the_pitch_is_uneven_or_short_or_the_hole_is_larger():
    for tops in ((0, 50, 130, 180, 290, 330), (0, 50, 150), (0, 50, 100, 260, 310, 360), (0, 50, 100, 150, 200)):
        (found,) = supplied([column(*tops)])
        assert not any(z.guess for z in found.zones), tops


def test_a_row_is_read_from_the_right_and_columns_stay():
    row = [column(100, x=x) for x in (300, 250, 200, 150)]
    (found,) = levelled(row)
    assert found.level
    assert [box(z)[0] for z in found.zones] == [300, 250, 200, 150]
    two = levelled([column(100, 190, x=x) for x in (300, 250, 200)])
    assert [[box(z)[:2] for z in r.zones] for r in two] == [[(x, y) for x in (300, 250, 200)] for y in (100, 190)]
    for upright in ([column(0, 50, 100), column(0, 50, 100, x=30)], [column(0), column(0, x=200), column(0, x=400)]):
        assert levelled(upright) == upright


def _page(places, shape):
    page, boxes = np.full(shape, 235, np.uint8), []
    for sign, (x, y) in places:
        mark = glyph(sign, FIT[1], 60)
        h, w = mark.shape
        page[y:y + h, x:x + w] = (235 - 200 * mark).astype(np.uint8)
        boxes.append((float(x), float(y), float(w), float(h)))
    return page, boxes


def test_pictures_of_a_row_a_single_sign_and_a_stained_column():
    row, boxes = _page([(s, (60 + 72 * n, 80)) for n, s in enumerate("山水花雪")], (220, 400))
    found = propose(row)
    assert [c.level for c in found] == [True]
    assert right([box(z) for z in found[0].zones], boxes) == 4
    middles = [x + w / 2 for x, _, w, _ in map(box, found[0].zones)]
    assert middles == sorted(middles, reverse=True)
    one, boxes = _page([("花", (70, 60))], (190, 200))
    assert right([box(z) for c in propose(one) for z in c.zones], boxes) == 1
    stained, boxes = _page([(s, (70, 40 + 78 * n)) for n, s in enumerate("春花山水風雪竹")], (640, 200))
    x, y, w, h = (int(v) for v in boxes[3])
    stained[y - 6:y + h + 6, x - 8:x + w + 8] = 120  # the ink is gone under it
    zones = [z for c in propose(stained) for z in c.zones]
    (guess,) = [z for z in zones if z.guess or overlap(box(z), boxes[3]) > 0.3]
    assert overlap(box(guess), boxes[3]) > 0.4
