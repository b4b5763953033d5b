"""Marks said to be something else: what was entered goes with them, and nothing is lost from the history."""

from __future__ import annotations

import pytest

from readaid.core.character import Text
from readaid.core.errors import OptionError
from readaid.core.photo import rectangle
from readaid.core.places import share
from readaid.piece.allotment import KINDS, allot
from readaid.piece.open_piece import OpenPiece


@pytest.fixture
def piece(tmp_path):
    with OpenPiece.new(tmp_path / "p", reader="Test reader", title="Test piece") as opened:
        photo = opened.add_photo(share("data") / "demo" / "photos" / "verse_left.jpg")
        verse = opened.layout.inscription(Text.VERSE, photo)
        opened.layout.draw_columns(verse, photo, [[rectangle(900, 100 * n, 60, 80) for n in range(1, 4)],
                                                  [rectangle(700, 100 * n, 60, 80) for n in range(1, 4)]])
        for k, sign in zip(opened.contents.characters, "いろはにほへ", strict=True):
            opened.decipherment.tag(k, sign, 0.7)
        yield opened


def zones_of(piece, column):
    by_id = {k.id: k for k in piece.contents.characters}
    return [by_id[c].zones[0] for c in piece.contents.inscriptions[0].columns[column]]


def written(piece, inscription):
    return piece.decipherment.written(inscription)


@pytest.mark.parametrize(("what", "kind"), [("signature", Text.SIGNATURE), ("seal", Text.SEAL),
                                            ("other", Text.UNKNOWN)])
def test_signs_go_into_another_inscription_with_what_was_entered(piece, what, kind):
    before = piece.version
    made = allot(piece, zones_of(piece, 1)[1:], what)
    assert len({r.gesture for r in piece.register.since(before)}) == 1
    assert made.kind is kind
    assert written(piece, made.id) == "ほへ"
    assert written(piece, piece.contents.inscriptions[0].id) == "いろは\nに"
    assert piece.undo()
    assert written(piece, piece.contents.inscriptions[0].id) == "いろは\nにほへ"


def test_a_second_batch_goes_to_the_signature_that_is_there_and_another_inscription_is_always_new(piece):
    first = allot(piece, zones_of(piece, 1)[2:], "signature")
    again = allot(piece, zones_of(piece, 1)[1:], "signature")
    assert again.id == first.id
    assert written(piece, first.id) == "へ\nほ"
    other = allot(piece, zones_of(piece, 0)[2:], "other")
    third = allot(piece, zones_of(piece, 0)[1:], "other")
    assert len({first.id, other.id, third.id}) == 3


def test_a_monogram_is_a_specimen_outside_the_text(piece):
    zone = zones_of(piece, 1)[-1]
    assert allot(piece, [zone], "monogram") is None
    (specimen,) = piece.contents.specimens
    assert (specimen.zone, specimen.what) == (zone, "monogram")
    assert zone in {z.id for z in piece.contents.zones}
    assert written(piece, piece.contents.inscriptions[0].id) == "いろは\nにほ"
    assert len(piece.contents.characters) == 5, "it is no character of a text any more"
    assert set(piece.contents.inscriptions[0].characters) == {k.id for k in piece.contents.characters}, (
        "the order of the text has no place for it, not even an empty one")
    allot(piece, [zone], "monogram")
    assert len(piece.contents.specimens) == 1, "said twice, kept once"


@pytest.mark.parametrize(("what", "kind"), [("signature", Text.SIGNATURE), ("other", Text.UNKNOWN)])
def test_a_monogram_said_to_be_a_sign_after_all_is_read_as_one(piece, what, kind):
    zone = zones_of(piece, 1)[-1]
    allot(piece, [zone], "monogram")
    made = allot(piece, [zone], what)
    assert made.kind is kind
    piece.decipherment.tag(made.characters[0], "へ", 0.7)
    assert written(piece, made.id) == "へ", "the specimen that kept it out of every text has gone"
    assert piece.contents.specimens == ()


@pytest.mark.parametrize("gone", [lambda piece, zone: allot(piece, [zone], "nothing"),
                                  lambda piece, zone: allot(piece, [zone], "damage"),
                                  lambda piece, zone: piece.layout.delete(zone)])
def test_a_specimen_goes_with_its_zone_and_comes_back_with_it(piece, gone):
    zone = zones_of(piece, 1)[-1]
    allot(piece, [zone], "monogram")
    gone(piece, zone)
    assert piece.contents.specimens == ()
    piece.undo()
    (specimen,) = piece.contents.specimens
    assert piece.signers.pixels(specimen).ndim == 3


def test_what_is_no_writing_goes_and_comes_back(piece):
    gone = zones_of(piece, 0)
    allot(piece, gone, "nothing")
    assert not set(gone) & {z.id for z in piece.contents.zones}
    assert written(piece, piece.contents.inscriptions[0].id) == "にほへ"
    piece.undo()
    assert written(piece, piece.contents.inscriptions[0].id) == "いろは\nにほへ"


def test_a_sign_in_two_zones_keeps_the_other_one(piece):
    a, b = zones_of(piece, 0)[:2]
    piece.layout.spread(a, b)
    allot(piece, [b], "nothing")
    sign = next(k for k in piece.contents.characters if a in k.zones)
    assert sign.zones == (a,)
    assert sign.best.character == "い"


def test_unknown_words_and_missing_zones_are_refused(piece):
    with pytest.raises(OptionError, match="did you mean 'signature'"):
        allot(piece, zones_of(piece, 0), "signatur")
    with pytest.raises(OptionError, match="No zone is chosen"):
        allot(piece, ["gone"], "seal")
    assert set(KINDS) == {"signature", "monogram", "seal", "other", "writing", "nothing", "damage"}
