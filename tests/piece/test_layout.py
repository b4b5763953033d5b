"""Drawing and ordering zones."""

import pytest

from readaid.core.errors import ZoneError
from readaid.core.photo import rectangle


def draw(piece, verse, x, y, w=40, h=50):
    return piece.layout.draw(verse, piece.contents.photos[0], rectangle(x, y, w, h))


def test_columns_from_the_right_top_to_bottom(piece, verse):
    left, _ = draw(piece, verse, 100, 50)
    right_low, _ = draw(piece, verse, 400, 200)
    right_high, _ = draw(piece, verse, 405, 60)
    between, _ = draw(piece, verse, 398, 130)
    assert piece.layout.number(verse) == {right_high.id: 1, between.id: 2, right_low.id: 3, left.id: 4}


def test_delete_and_undo_are_revisions(piece, verse):
    zone, character = draw(piece, verse, 100, 50)
    piece.judging.tag(character, "か", 0.7)
    version = piece.version
    piece.layout.delete(zone)
    assert piece.contents.zones == ()
    assert piece.contents.characters == ()
    assert piece.undo()
    assert piece.contents.characters[0].candidates[0].character == "か"
    assert piece.version > version + 1, "undo adds revisions, it takes none away"
    assert piece.redo()
    assert piece.contents.zones == ()


def test_joined_characters_and_one_across_two_zones(piece, verse):
    a, first = draw(piece, verse, 100, 50)
    b, _ = draw(piece, verse, 100, 120)
    second = piece.layout.join(a)
    inside = piece.contents.inscriptions[0].columns[0]
    assert inside[:2] == (first.id, second.id)
    merged = piece.layout.spread(a, b)
    assert merged.zones == (a.id, b.id)
    assert len(piece.contents.characters) == 2


def test_reorder_keeps_the_same_characters(piece, verse):
    _, a = draw(piece, verse, 100, 50)
    _, b = draw(piece, verse, 300, 50)
    changed = piece.layout.reorder(verse, [[a.id], [b.id]], note="scattered writing, begins at the left")
    assert changed.columns == ((a.id,), (b.id,))
    with pytest.raises(ZoneError, match="same characters"):
        piece.layout.reorder(verse, [[a.id]])


@pytest.mark.parametrize("outline", [
    rectangle(700, 500, 20, 20), rectangle(-50, -50, 20, 20), rectangle(10, 10, 1, 1), ((1, 1), (2, 2)),
    ((0, 0), (float("nan"), 5), (5, 5)), ((0, 0), (float("inf"), 5), (5, 5)),
])
def test_zone_outside_the_photo_is_refused(piece, verse, outline):
    with pytest.raises(ZoneError):
        piece.layout.draw(verse, piece.contents.photos[0], outline)
    assert piece.contents.zones == ()


def test_zone_is_clipped_to_the_photo(piece, verse):
    zone, _ = draw(piece, verse, 580, 380, 100, 100)
    assert zone.box == (580, 380, 20, 20)
