"""Drawing and ordering zones."""

import pytest

from readaid.core.errors import ZoneError
from readaid.core.photo import Scale, rectangle


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
    piece.decipherment.tag(character, "か", 0.7)
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


def test_a_proposal_joins_the_columns_that_are_there(piece, verse):
    """New zones go to the column they stand in; a new column goes between its neighbours."""
    photo = piece.contents.photos[0]
    upper, _ = draw(piece, verse, 400, 50)
    lower, _ = draw(piece, verse, 400, 250)
    left, _ = draw(piece, verse, 100, 50)
    piece.layout.draw_columns(verse, photo, [[rectangle(400, 120, 40, 50), rectangle(402, 190, 40, 50),
                                              rectangle(400, 320, 40, 50)],
                                             [rectangle(250, 60, 40, 50), rectangle(250, 130, 40, 50)]])
    number = piece.layout.number(verse)
    ys = {z.id: z.box[1] for z in piece.contents.zones}
    ordered = sorted(number, key=number.get)
    assert [ys[z] for z in ordered] == [50, 120, 190, 250, 320, 60, 130, 50]
    assert (number[upper.id], number[lower.id], number[left.id]) == (1, 4, 8)
    assert [len(c) for c in piece.contents.inscriptions[0].columns] == [5, 2, 1]


def test_columns_of_a_mirrored_photo_run_from_the_left_of_the_file(piece, verse):
    photo = piece.change(piece.contents.photos[0], mirrored=True)
    first, _ = piece.layout.draw(verse, photo, rectangle(50, 50, 40, 50))
    second, _ = piece.layout.draw(verse, photo, rectangle(300, 50, 40, 50))
    assert piece.layout.number(verse) == {first.id: 1, second.id: 2}


def test_a_mirrored_photo_is_searched_as_it_is_read(piece, monkeypatch):
    from readaid.photo.columns import ProposedColumn, ProposedZone
    from readaid.piece.layout import RUNNING

    photo = piece.change(piece.contents.photos[0], mirrored=True)
    seen = {}

    def found(pixels, **options):
        seen.update(options, first=pixels[0, 0].tolist())
        return [ProposedColumn((ProposedZone(rectangle(10, 20, 30, 40), 0.4, joined=True),), 0.5)]

    monkeypatch.setattr("readaid.photo.columns.propose", found)
    (column,) = piece.layout.propose(photo, region=(0, 0, 100, 200))
    assert column[0].box == (photo.width - 40, 20, 30, 40)
    assert column[0].note == RUNNING
    assert seen["region"] == (photo.width - 100, 0, 100, 200)
    assert seen["first"] == piece.pyramid(photo).level(0)[0, -1].tolist()


@pytest.mark.parametrize(("what", "left"), [
    ("scale card", 1), ("Ruler, bu", 1), ("定規", 1), ("width of the piece", 2), ("", 2)])
def test_figures_of_the_measured_ruler_are_no_signs(piece, monkeypatch, what, left):
    """Only beside a ruler's own line: a width measured across the piece runs through its writing."""
    from readaid.photo.columns import ProposedColumn, ProposedZone

    sign, figure = rectangle(200, 100, 40, 40), rectangle(100, 330, 20, 25)
    photo = piece.set_scale(piece.contents.photos[0], Scale((50, 320), (450, 320), 40.0, what))
    columns = [ProposedColumn((ProposedZone(z, 0.9),), 0.9) for z in (sign, figure)]
    monkeypatch.setattr("readaid.photo.columns.propose", lambda pixels, **options: columns)
    found = piece.layout.propose(photo)
    assert len(found) == left
    assert found[0][0].box == (200, 100, 40, 40)


def test_a_proposed_zone_is_found_right_or_mended(piece, verse):
    from readaid.core.photo import Zone
    from readaid.piece.layout import RUNNING

    photo = piece.contents.photos[0]
    piece.layout.draw_columns(verse, photo, [[Zone(photo.id, rectangle(100, y, 40, 50), confidence=0.4, note=RUNNING)
                                              for y in (50, 150)]])
    one, two = piece.contents.zones
    assert (one.confidence, one.note) == (0.4, RUNNING)
    assert piece.layout.approve(one) == piece.find(Zone, one.id)
    piece.layout.move(two, rectangle(100, 160, 40, 50))
    assert {(z.confidence, z.note) for z in piece.contents.zones} == {(None, "")}
