"""Zones of monograms and seals stand outside every text, whoever put them there; kinds have a probability."""

from __future__ import annotations

import json

import pytest

from readaid.core.character import Text
from readaid.core.errors import OptionError, TextError
from readaid.core.photo import ZONE_KINDS, Zone, rectangle
from readaid.core.places import share
from readaid.glyphs.classes import classes, index
from readaid.piece.allotment import allot
from readaid.piece.claims import GUESS, outside_text
from readaid.piece.demo import overlap
from readaid.piece.open_piece import OpenPiece


@pytest.fixture
def piece(tmp_path):
    with OpenPiece.new(tmp_path / "p", reader="Test reader", title="Test piece") as opened:
        opened.add_photo(share("data") / "demo" / "photos" / "verse_left.jpg")
        yield opened


def zone(n, kind="", sure=None):
    return Zone("", rectangle(900, 100 * n, 60, 80), kind=kind, kind_share=sure)


def drawn(piece, *kinds, into=Text.VERSE):
    photo = piece.contents.photos[0]
    target = piece.layout.inscription(into, photo)
    zones = [zone(n, *kind) for n, kind in enumerate(kinds, 1)]
    return piece.layout.draw_columns(target, photo, [zones])


@pytest.mark.parametrize("kind", ["monogram", "seal"])
def test_a_zone_proposed_as_no_text_is_kept_without_a_sign(piece, kind):
    text = drawn(piece, ("writing", 0.9), (kind, 0.95), ("writing", 0.9))
    assert len(text.characters) == 2
    assert [z.kind for z in piece.contents.zones] == ["writing", kind, "writing"]
    assert piece.decipherment.written(text) == "??"


def test_a_doubtful_proposal_stays_in_the_text(piece):
    """A worn sign is easily taken for dirt: only the reader says that."""
    assert len(drawn(piece, ("seal", 0.45), ("figure", 0.99), ("not writing", 0.99)).characters) == 3
    assert len(drawn(piece, ("figure", None), ("not writing", None), ("writing", None)).characters) == 1


@pytest.mark.parametrize("how", ["kind", "specimen"])
def test_a_monogram_enters_no_text_even_where_somebody_put_it_there(piece, how):
    """Below the screen: a record drawn, imported or merged with the monogram among the signs is read without it."""
    text = drawn(piece, *[("", None)] * 4)
    characters = piece.contents.characters
    for k, sign in zip(characters, "いろはに", strict=True):
        piece.decipherment.tag(k, sign, 0.8)
    last = piece.find(Zone, characters[3].zones[0])
    if how == "kind":
        piece.change(last, reason="imported", kind="monogram")
    else:
        piece.signers.add_specimen(last, what="monogram")
    assert piece.decipherment.written(text.id) == "いろは"
    for found in (piece.decipherment.solve(text.id, form="prose", k=1), piece.propose_reading(text.id, k=1).solution):
        reading = found.readings[0]
        assert len(reading.chosen) == 4, "places are those of all signs"
        assert reading.chosen[3] == ""
        assert reading.kana == "いろは"
        assert all(s.at != 3 for s in found.shares)
    assert all(w.end <= 3 for w in reading.words)


def test_shape_is_not_asked_of_a_seal_and_places_stay(piece):
    text = drawn(piece, *[("", None)] * 3)
    characters = piece.contents.characters
    piece.decipherment.tag(characters[0], "い", 0.8)
    piece.decipherment.tag(characters[2], "は", 0.8)
    middle = piece.find(Zone, characters[1].zones[0])
    piece.change(middle, reason="merged", kind="seal")
    found = piece.propose_reading(text.id, k=1)
    assert found.by_shape == frozenset()
    assert found.readings[0].chosen == ("い", "", "は")
    assert piece.write_up.propose(text.id, known=False).not_read == "", "a seal is no sign that was not read"
    with pytest.raises(OptionError, match="Unknown field 'seasons': did you mean 'season'"):
        piece.write_up.accept(text.id, "seasons")


def test_a_seals_own_text_is_read_and_a_text_of_seals_alone_is_none(piece):
    seal = drawn(piece, ("", None), into=Text.SEAL)
    (k,) = piece.contents.characters
    piece.decipherment.tag(k, "印", 0.8)
    piece.change(piece.find(Zone, k.zones[0]), reason="said", kind="seal")
    assert piece.decipherment.written(seal.id) == "印"
    piece.decipherment.untag(k.id, "印")
    piece.decipherment.tag(k.id, "い", 0.8)
    assert piece.decipherment.written(seal.id) == "い"
    piece.change(piece.contents.inscriptions[0], kind=Text.VERSE)
    with pytest.raises(TextError, match="Nothing here is a text"):
        piece.decipherment.solve(seal.id)


def test_what_the_reader_says_takes_the_place_of_the_proposal(piece):
    text = drawn(piece, ("writing", 0.9), ("seal", 0.9), ("writing", 0.9))
    apart = next(z for z in piece.contents.zones if z.kind == "seal")
    allot(piece, [apart.id], "writing")
    said = piece.find(Zone, apart.id)
    assert (said.kind, said.kind_share) == ("writing", None)
    assert not outside_text(said)
    assert len(piece.decipherment.characters(text.id)[0]) == 3, "in its place in the column"
    assert piece.decipherment.characters(text.id)[0][1].zones == (apart.id,)
    allot(piece, [apart.id], "monogram")
    assert outside_text(piece.find(Zone, apart.id))
    allot(piece, [apart.id], "writing")
    assert len(piece.decipherment.characters(text.id)[0]) == 3, "taken back, its specimen too"
    assert piece.contents.specimens == ()


def test_kinds_are_proposed_with_a_probability(piece):
    found = [z for column in piece.layout.propose(piece.contents.photos[0]) for z in column]
    assert found
    assert all(z.kind in ZONE_KINDS for z in found)
    assert all(z.note == GUESS or 1 / len(ZONE_KINDS) <= z.kind_share <= 1 for z in found)
    truth = json.loads((share("data") / "demo" / "photos" / "truth.json").read_text(encoding="utf-8"))
    signs = [tuple(b) for b in truth["verse"]["boxes"].values()]
    apart = [z for z in found if outside_text(z)]
    assert not any(overlap(z.box, b) > 0.2 for z in apart for b in signs), "no sign of the verse is left out"


def test_panel_and_reading_share_one_condition_kanji_are_rarer_in_a_verse_than_in_a_signature(piece):
    """Odds of kanji against kana rise with the share of kanji expected (Bayes; 57 times for one view)."""
    photo = piece.contents.photos[0]
    zones = [z for column in piece.layout.propose(photo) for z in column][:1]
    text = piece.layout.draw_columns(piece.layout.inscription(Text.VERSE, photo), photo, [zones])
    sign = text.characters[0]
    assert piece.decipherment.expected(sign) == 0.25

    def odds():
        seen = piece.decipherment.weigh(sign, k=5000)
        kana = sum(s.probability for s in seen.suggestions if index()[s.character] in plain)
        kanji = sum(s.probability for s in seen.suggestions if index()[s.character] in only)
        return kanji / kana

    plain = {c.number for c in classes() if c.kind == "hiragana"}
    only = {c.number for c in classes() if c.kind == "kanji"}
    before = odds()
    piece.change(piece.contents.inscriptions[0], kind=Text.SIGNATURE)
    assert piece.decipherment.expected(sign) == 0.95
    assert odds() > 5 * before
