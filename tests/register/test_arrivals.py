"""What came since, taken in, is what a whole reading gives: held against one after every kind of change."""

from __future__ import annotations

import dataclasses
import random

import pytest

from readaid.core.character import Character
from readaid.core.condition import Region
from readaid.core.errors import OptionError
from readaid.core.photo import Photo, Zone, rectangle
from readaid.core.places import share
from readaid.piece.open_piece import OpenPiece


@pytest.fixture
def piece(tmp_path):
    with OpenPiece.new(tmp_path / "piece", reader="A. Reader", title="A lid") as made:
        photo = made.add_photo(share("data") / "demo" / "photos" / "verse_left.jpg")
        inscription = made.layout.inscription("verse", photo)
        for n in range(4):
            made.layout.draw(inscription, photo, rectangle(100, 100 + 60 * n, 40, 40))
        yield made


def whole(piece):
    return piece.register.contents()


def taken_in(piece, known):
    """What arrivals make of ``known``, held against the whole reading, with the number each record stands at."""
    now = piece.register.newer(known)
    if now is not None:
        assert now == whole(piece)
        assert now.numbers == whole(piece).numbers
    return now


def test_a_drawn_zone_is_taken_in_and_the_rest_stays_the_same_objects(piece):
    known = whole(piece)
    piece.layout.draw(known.inscriptions[0], known.photos[0], rectangle(300, 100, 40, 40))
    now = taken_in(piece, known)
    assert len(now.zones) == len(known.zones) + 1
    assert all(a is b for a, b in zip(known.zones, now.zones, strict=False))


def test_a_hundred_changes_of_every_kind_in_any_order(piece):
    """Seeded; each step is one gesture of the demo's kind: draw, move, delete, judge, note, undo."""
    dice, known, grown = random.Random(7), whole(piece), 0
    for _ in range(100):
        c = piece.contents
        zone = dice.choice(c.zones) if c.zones else None
        sign = dice.choice(c.characters) if c.characters else None
        step = dice.choice(("draw", "draw", "move", "delete", "tag", "clear", "undo"))
        if step == "draw" or zone is None or sign is None:
            x, y = dice.randrange(50, 1200), dice.randrange(50, 900)
            piece.layout.draw(c.inscriptions[0], c.photos[0], rectangle(x, y, 30, 30))
        elif step == "move":
            piece.layout.move(zone, rectangle(dice.randrange(50, 1200), dice.randrange(50, 900), 30, 30))
        elif step == "delete":
            piece.layout.delete(zone)
        elif step == "tag":
            piece.decipherment.tag(sign, dice.choice("かきくけこ"), dice.choice((0.3, 0.6, 0.9)))
        elif step == "clear":
            piece.decipherment.clear(sign)
        else:
            piece.register.undo(reader=piece.reader, gesture=piece.register.since(known.revision - 1)[-1].gesture)
        now = taken_in(piece, known)
        grown += now is not None
        known = whole(piece) if now is None else now
    assert grown > 70, "most gestures are taken in without reading the whole"


def test_what_hangs_on_more_than_itself_is_read_whole(piece):
    known = whole(piece)
    piece.change(known.photos[0], title="left")
    assert piece.register.newer(known) is None
    known = whole(piece)
    zone, _ = piece.layout.draw(known.inscriptions[0], known.photos[0], rectangle(500, 100, 40, 40))
    piece.layout.delete(zone)
    piece.register.undo(reader=piece.reader)
    assert piece.register.newer(dataclasses.replace(whole(piece), faults=("something",))) is None


def test_a_record_that_comes_back_stands_where_it_first_stood(piece):
    known = whole(piece)
    first = known.zones[0]
    piece.layout.delete(first)
    without = taken_in(piece, known)
    assert first.id not in {z.id for z in without.zones}
    piece.register.undo(reader=piece.reader, gesture=piece.register.since(known.revision)[-1].gesture)
    assert piece.register.newer(without) is None
    assert whole(piece).zones[0].id == first.id
    assert piece.contents.zones[0].id == first.id


def test_what_was_all_withdrawn_stays_withdrawn_when_one_more_of_its_kind_comes(piece):
    note = piece.add_note(piece.piece.id, "one")
    known = whole(piece)
    piece.save(withdraw=[note.id])
    piece.add_note(piece.piece.id, "two")
    assert [n.text for n in taken_in(piece, known).notes] == ["two"]


def test_a_zone_or_region_on_no_photo_is_told_by_the_whole_reading(piece):
    known = whole(piece)
    piece.register.save(Zone("nowhere", rectangle(1, 1, 9, 9)), reader="B")
    assert piece.register.newer(known) is None
    assert piece.contents.faults
    known = whole(piece)
    piece.register.save(Region("nowhere", rectangle(1, 1, 9, 9)), reader="B")
    assert piece.register.newer(dataclasses.replace(known, faults=())) is None
    assert [f.split()[0] for f in piece.contents.faults] == ["Zone", "Region"]
    assert piece.contents.regions == (), "one that lies nowhere stopped the page of the report"
    with pytest.raises(OptionError, match="on no photo"):
        piece.save(Region("nowhere", rectangle(1, 1, 9, 9)))
    assert isinstance(piece.contents.photos[0], Photo)
    assert all(isinstance(k, Character) for k in piece.contents.characters)
